// The day's list: a file in, its rows with their problems, the tray, and the PDF out.

import { element, filePlace, folded, labelled, problemList, ticked } from "../shared/elements.js";
import { announce, download } from "../shared/page.js";
import { fetchJson, Problems, problemsIn, send } from "../shared/server.js";
import { counted } from "../shared/text.js";
import { TodayEditor } from "./editor.js";
import { keepList, openedList, queryOf, readList } from "./list.js";
import { mappingPart } from "./mapping.js";
import { rowTable } from "./rows.js";
import { trayPart } from "./tray.js";

/** @import { Day } from "../shared/types.js" */
/** @import { List } from "./list.js" */

const FILES = ".csv,.tsv,.txt,.xlsx,.ics,.toml,text/csv,text/plain,text/calendar";
const EXAMPLE = [
  "time;reference;teeth;procedure",
  "8:30;A-1;16 15;restoration",
  "9:00;A-2;36;root-canal",
].join("\n");

// What was asked for last: an answer to anything else is stale.
/** @type {object | null} */
let latest = null;
let withCards = false;
/** @type {string[]} */
let columns = [];

/**
 * Fills the view.
 * @param {HTMLElement} root
 */
export async function show(root) {
  columns = await fetchJson("/api/day/columns");
  const result = element("div", { class: "day-result" });
  const place = filePlace(
    "list",
    FILES,
    "Open a day's list, or drop it here",
    "CSV, spreadsheet, calendar or TOML, one row for each case. It goes only to the desk on this " +
      "machine and is not kept.",
    (file) => open(file, result),
  );
  const today = new TodayEditor(columns, (file) => open(file, result));
  root.append(element("h1", {}, "The day's list"), place, help(), today.node, result);
  const opened = openedList();
  if (opened) fill(result, opened.list, opened.day);
}

function help() {
  return folded(
    "What a list contains",
    element(
      "p",
      {},
      `The first line names the columns, in any order: ${columns.join(", ")}. Only the column ` +
        "teeth is required; other columns are not read. Usual names in German, French and " +
        "Spanish are known, others can be taught once a list is open.",
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
  keepList(null);
  result.replaceChildren(element("p", {}, `Reading ${file.name} …`));
  try {
    const content = await contentOf(file);
    if (latest === file) await read({ name: file.name, content, on: "", changed: false }, result);
  } catch (error) {
    if (latest === file) result.replaceChildren(problemList(problemsIn(error).lines));
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

/**
 * Reads a list and shows it, or what is wrong with it as a whole.
 * @param {List} list
 * @param {HTMLElement} result
 */
async function read(list, result) {
  latest = list;
  try {
    const day = await readList(list, withCards);
    if (latest !== list) return; // ignore stale answers
    keepList({ list, day });
    fill(result, list, day);
    announce(summaryOf(day));
  } catch (error) {
    if (latest !== list) return;
    const { lines } = problemsIn(error);
    keepList(null);
    result.replaceChildren(problemList(lines), dayField(list, result), mapping(list, result, true));
  }
}

/**
 * @param {HTMLElement} result
 * @param {List} list
 * @param {Day} day
 */
function fill(result, list, day) {
  const { cases, doubts, notes } = day;
  const hint = "Print at 100 % (actual size), never “fit to page”.";
  const take = (/** @type {List} */ changed) => read(changed, result);
  result.replaceChildren(
    summary(day),
    ...doubts.map((doubt) => element("p", { class: "warning" }, doubt)),
    ...notesPart(notes),
    buttons(list, cases, result),
    ...(cases ? [element("p", { class: "hint" }, hint)] : []),
    rowTable(list.name, day, { columns, take }),
    ...(cases ? [trayPart(day)] : []),
    dayField(list, result),
    mapping(list, result, false),
  );
}

/**
 * @param {List} list
 * @param {HTMLElement} result
 * @param {boolean} unfolded
 */
function mapping(list, result, unfolded) {
  return list.name.endsWith(".toml")
    ? element("div")
    : mappingPart(list, unfolded, () => read(list, result));
}

/**
 * The day whose rows are wanted, for a list of several.
 * @param {List} list
 * @param {HTMLElement} result
 */
function dayField(list, result) {
  const day = openedList()?.day.day ?? "";
  const input = element("input", {
    id: "list-day",
    type: "date",
    value: list.on || day,
    onchange: () => {
      read({ ...list, on: input.value }, result);
    },
  });
  const field = labelled("Day", input, "Of a list of several days, the rows of this one.");
  return element("div", { class: "list-day" }, field);
}

/** @param {string[]} notes how the list was read */
function notesPart(notes) {
  const text = `How the list was read: ${notes.join("; ")}.`;
  return notes.length ? [element("p", { class: "hint" }, text)] : [];
}

/** @param {Day} day */
function summary(day) {
  return element(
    "p",
    { id: "day-summary", class: day.left_out ? "summary some-left-out" : "summary" },
    day.cases ? summaryOf(day) : "No row can be planned. Put the rows right below, or open a list.",
  );
}

/**
 * What will be printed and what not.
 * @param {Day} day
 */
function summaryOf({ cases, left_out: leftOut }) {
  const printed = `${counted(cases, "case")} can be printed`;
  if (!leftOut) return `${printed}. No row is left out.`;
  const rows = counted(leftOut, "row is", "rows are");
  return `${printed}. ${rows} left out and will have no page.`;
}

/**
 * @param {List} list
 * @param {number} cases
 * @param {HTMLElement} result
 */
function buttons(list, cases, result) {
  const print = async () => {
    button.disabled = true;
    announce("Making the PDF of the day");
    try {
      const query = queryOf(list, withCards);
      const pdf = await send("/api/day.pdf", { query, body: list.content });
      download(await pdf.blob(), "day.pdf");
      announce("The PDF of the day is ready. Print it at 100 %.");
    } catch (error) {
      result.prepend(problemList(problemsIn(error).lines));
    }
    button.disabled = false;
  };
  const button = element(
    "button",
    {
      class: "main-action",
      disabled: cases === 0,
      "aria-describedby": "day-summary",
      onclick: print,
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
  const save = element(
    "button",
    { type: "button", onclick: () => download(new Blob([list.content]), list.name) },
    "Save the changed list",
  );
  return element(
    "div",
    { class: "row" },
    button,
    ticked(cards, "Case card behind each sheet"),
    ...(list.changed ? [save] : []),
  );
}
