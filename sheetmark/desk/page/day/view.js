// The day's list: opened as a file or typed row by row, its problems, the tray, and the PDF out.

import { element, filePlace, folded, labelled, problemList } from "../shared/elements.js";
import { announce } from "../shared/page.js";
import { withProgress } from "../shared/progress.js";
import { fetchJson, Problems, problemsIn } from "../shared/server.js";
import { counted } from "../shared/text.js";
import { keepList, keepUnread, listOfBefore, openedList, readList } from "./list.js";
import { mappingPart } from "./mapping.js";
import { cardsWanted, output } from "./output.js";
import { addRow, rowTable } from "./rows.js";
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
      "machine, and nothing of it is kept once this tab is closed.",
    (file) => open(file, result),
  );
  root.append(element("h1", {}, "The day's list"), place, help(), result);
  const opened = openedList();
  const before = opened ? null : await listOfBefore();
  if (opened) fill(result, opened.list, opened.day);
  else if (before) await read(before, result);
  else empty(result);
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
  const replace = "The list here was changed and may not be saved. Open another in its place?";
  if (openedList()?.list.rows && !window.confirm(replace)) return;
  latest = file;
  keepList(null);
  result.replaceChildren(element("p", {}, `Reading ${file.name} …`));
  try {
    const content = await contentOf(file);
    if (latest === file) await read({ name: file.name, content, on: "", rows: null }, result);
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
 * @param {string} [focus] id of what gets the focus then
 */
async function read(list, result, focus) {
  latest = list;
  const progress = element("div");
  result.append(progress);
  try {
    const day = await withProgress(progress, `Reading ${list.name}`, (signal) =>
      readList(list, cardsWanted(), signal),
    );
    if (latest !== list) return; // ignore stale answers
    if (!day) {
      if (list.rows && !location.hash.startsWith("#/day")) keepUnread(list); // the view was left
      else cancelled(result);
      return;
    }
    keepList({ list, day });
    fill(result, list, day);
    announce(summaryOf(day));
    if (focus) document.getElementById(focus)?.focus();
  } catch (error) {
    if (latest !== list) return;
    const { lines } = problemsIn(error);
    keepList(null);
    result.replaceChildren(problemList(lines), dayField(list, result), mapping(list, result, true));
  }
}

/**
 * The list stays as it was before.
 * @param {HTMLElement} result
 */
function cancelled(result) {
  const before = openedList();
  if (before) fill(result, before.list, before.day);
  else empty(result);
}

/**
 * Takes over a changed list, or that it has no row any more.
 * @param {HTMLElement} result
 * @returns {(list: List | null, focus: string) => Promise<void>}
 */
function taking(result) {
  return async (list, focus) => {
    if (list) {
      await read(list, result, focus);
      return;
    }
    keepList(null);
    empty(result);
    document.getElementById(focus)?.focus();
  };
}

/** @param {HTMLElement} result */
function empty(result) {
  result.replaceChildren(
    element("p", {}, "No list is open. Type one here, row by row, or open a file."),
    addRow({ columns, take: taking(result) }),
  );
}

/**
 * @param {HTMLElement} result
 * @param {List} list
 * @param {Day} day
 */
function fill(result, list, day) {
  const { cases, doubts, notes } = day;
  const changing = { columns, take: taking(result) };
  result.replaceChildren(
    summary(day),
    ...doubts.map((doubt) => element("p", { class: "warning" }, doubt)),
    ...notesPart(notes),
    output(list, cases),
    rowTable(list.name, day, changing),
    addRow(changing),
    ...(cases ? [trayPart(day)] : []),
    ...(list.rows ? [] : [dayField(list, result)]),
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
