// The day's list: a file in, its rows with their problems, the tray, and the PDF out.

import { element, filePlace, folded, problemList, ticked } from "../shared/elements.js";
import { announce, download } from "../shared/page.js";
import { fetchJson, Problems, problemsIn, send } from "../shared/server.js";
import { counted } from "../shared/text.js";
import { rowTable } from "./rows.js";
import { trayPart } from "./tray.js";

/** @import { Day } from "../shared/types.js" */
/** @typedef {{ name: string, content: ArrayBuffer }} List the file that was opened */

const FILES = ".csv,.tsv,.txt,.toml,text/csv,text/plain";
const EXAMPLE = [
  "time;reference;teeth;procedure",
  "8:30;A-1;16 15;restoration",
  "9:00;A-2;36;root-canal",
].join("\n");

// What was opened last, kept while another view is open.
/** @type {File | null} */
let latest = null;
/** @type {{ list: List, day: Day } | null} */
let opened = null;
let withCards = false;

/**
 * Fills the view.
 * @param {HTMLElement} root
 */
export async function show(root) {
  const columns = await fetchJson("/api/day/columns");
  const result = element("div", { class: "day-result" });
  const place = filePlace(
    "list",
    FILES,
    "Open a day's list, or drop it here",
    "CSV or TOML, one row for each case. It goes only to the desk on this machine and is not kept.",
    (file) => open(file, result),
  );
  root.append(element("h1", {}, "The day's list"), place, help(columns), result);
  if (opened) fill(result, opened);
}

/** @param {string[]} columns */
function help(columns) {
  return folded(
    "What a list contains",
    element(
      "p",
      {},
      `The first line names the columns, in any order: ${columns.join(", ")}. ` +
        "Only the column teeth is required. Save a spreadsheet as CSV in UTF-8.",
    ),
    element("pre", {}, EXAMPLE),
  );
}

/**
 * @param {File} file
 * @param {HTMLElement} result
 */
async function open(file, result) {
  latest = file;
  opened = null;
  result.replaceChildren(element("p", {}, `Reading ${file.name} …`));
  try {
    const list = { name: file.name, content: await contentOf(file) };
    const day = await fetchJson("/api/day", { query: queryFor(list), body: list.content });
    if (latest !== file) return; // ignore stale answers
    opened = { list, day };
    fill(result, opened);
    announce(summaryOf(day));
  } catch (error) {
    if (latest === file) showProblems(error, result);
  }
}

/** @param {File} file */
async function contentOf(file) {
  try {
    return await file.arrayBuffer();
  } catch {
    throw new Problems([`${file.name} cannot be read. Open it again.`]);
  }
}

/** @param {List} list */
function queryFor({ name }) {
  return new URLSearchParams({ name, cards: String(withCards) });
}

/**
 * @param {unknown} error
 * @param {HTMLElement} result
 */
function showProblems(error, result) {
  const { lines } = problemsIn(error);
  opened = null;
  result.replaceChildren(problemList(lines));
}

/**
 * @param {HTMLElement} result
 * @param {{ list: List, day: Day }} content
 */
function fill(result, { list, day }) {
  const { cases } = day;
  const hint = "Print at 100 % (actual size), never “fit to page”.";
  result.replaceChildren(
    summary(day),
    pdfRow(list, cases, result),
    ...(cases ? [element("p", { class: "hint" }, hint)] : []),
    rowTable(list.name, day),
    ...(cases ? [trayPart(day)] : []),
  );
}

/** @param {Day} day */
function summary(day) {
  return element(
    "p",
    { id: "day-summary", class: day.left_out ? "summary some-left-out" : "summary" },
    day.cases ? summaryOf(day) : "No row can be planned. Correct the list, then open it again.",
  );
}

/**
 * What will be printed and what not.
 * @param {Day} day
 */
function summaryOf({ cases, left_out: leftOut, remarks }) {
  const also = remarks ? ` ${remarks}.` : "";
  const printed = `${counted(cases, "case")} can be printed`;
  if (!leftOut) return `${printed}. No row is left out.${also}`;
  const rows = counted(leftOut, "row is", "rows are");
  return `${printed}. ${rows} left out and will have no page.${also}`;
}

/**
 * @param {List} list
 * @param {number} cases
 * @param {HTMLElement} result
 */
function pdfRow(list, cases, result) {
  const save = async () => {
    button.disabled = true;
    announce("Making the PDF of the day");
    try {
      const pdf = await send("/api/day.pdf", { query: queryFor(list), body: list.content });
      download(await pdf.blob(), "day.pdf");
      announce("The PDF of the day is ready. Print it at 100 %.");
    } catch (error) {
      showProblems(error, result);
    }
    button.disabled = false;
  };
  const button = element(
    "button",
    {
      class: "main-action",
      disabled: cases === 0,
      "aria-describedby": "day-summary",
      onclick: save,
    },
    "PDF of the day",
  );
  const cards = element("input", {
    type: "checkbox",
    checked: withCards,
    onchange: () => {
      withCards = cards.checked;
    },
  });
  return element("div", { class: "row" }, button, ticked(cards, "Case card behind each sheet"));
}
