// The rows of the day's list, each with its problems and remarks below it, and what changes it.

import { element, table } from "../shared/elements.js";
import { counted, NO_CLAMP } from "../shared/text.js";
import { openAsCase, withMore, withRow } from "./list.js";
import { fields } from "./mend.js";

/** @import { Day, RowShown, Trouble } from "../shared/types.js" */
/** @import { List } from "./list.js" */
/**
 * What a row needs to be changed: the columns of a list, and who reads the changed list, then
 * moves the focus to the element of that id.
 * @typedef {object} Changing
 * @property {string[]} columns
 * @property {(list: List | null, focus: string) => Promise<void>} take
 */

/** The id of the button that adds a row. */
export const ADD = "add-row";
// What must be seen first stands first: a narrow screen scrolls to the rest.
const HEADS = ["Row", "Change", "Time", "Teeth", "For", "Reference", "Sheet", "Clamps"];

/**
 * The table of all rows.
 * @param {string} name of the list
 * @param {Day} day
 * @param {Changing} changing
 * @returns {HTMLElement}
 */
export function rowTable(name, { rows }, changing) {
  const caption = `${name}, ${counted(rows.length, "row")}`;
  // Focusable, so that the keyboard can scroll it.
  const region = { class: "wide", tabindex: "0", role: "region", "aria-label": "Rows" };
  const lines = rows.flatMap((row) => linesOf(row, changing));
  return element("div", region, table(caption, HEADS, lines));
}

/**
 * The button that opens the fields of a new row below it.
 * @param {Changing} changing
 * @returns {HTMLElement}
 */
export function addRow({ columns, take }) {
  const place = element("div");
  const close = () => {
    place.replaceChildren();
    button.focus();
  };
  const onclick = () => {
    if (!place.childElementCount) {
      const row = { name: "New row", key: "new", cells: {}, wrong: new Set() };
      const use = async (/** @type {Record<string, string>} */ cells) =>
        take(await withMore(cells), ADD);
      place.replaceChildren(fields(row, columns, { use, close }));
    }
    place.querySelector("input")?.focus();
  };
  const button = element("button", { type: "button", id: ADD, onclick }, "Add a row");
  return element("div", { class: "new-row" }, button, place);
}

/**
 * @param {RowShown} row
 * @param {Changing} changing
 */
function linesOf(row, changing) {
  const notes = [
    ...row.problems.map((problem) => note("Left out", problem)),
    ...row.remarks.map((remark) => note("Check", remark)),
  ];
  const clamps = row.clamps.map(({ anchor, clamp }) =>
    element("div", {}, `${anchor}: ${clamp || NO_CLAMP}`),
  );
  const classes = [!row.done && "left-out", notes.length && "with-notes"].filter(Boolean);
  const place = element("div");
  const below = element(
    "tr",
    { class: row.done ? "notes" : "notes left-out" },
    element("td", { colspan: HEADS.length }, element("div", { class: "note" }, notes, place)),
  );
  const button = changeButton(row, changing, place, (open) => {
    if (!notes.length && open) line.after(below);
    else if (!notes.length) below.remove();
  });
  const line = element(
    "tr",
    { class: classes.join(" ") || null },
    element("th", { scope: "row" }, String(row.row)),
    element("td", {}, button),
    [row.time, row.teeth, row.procedure, row.reference, row.sheet].map((text) =>
      element("td", {}, text || "–"),
    ),
    element("td", {}, row.done ? clamps : "–"),
  );
  return notes.length ? [line, below] : [line];
}

/**
 * The button that shows a row's fields below it.
 * @param {RowShown} row
 * @param {Changing} changing
 * @param {HTMLElement} place
 * @param {(open: boolean) => void} opened is called before the fields are shown, or after they go
 */
function changeButton(row, { columns, take }, place, opened) {
  const id = `change-row-${row.row}`;
  const show = (/** @type {boolean} */ open) => {
    button.setAttribute("aria-expanded", String(open));
    if (open) {
      opened(true);
      place.replaceChildren(asCase(row), form());
      place.querySelector("input")?.focus();
    } else {
      place.replaceChildren();
      opened(false);
      button.focus();
    }
  };
  const form = () => {
    const wrong = new Set(row.problems.map(({ column }) => column));
    const about = { name: `Row ${row.row}`, key: `row-${row.row}`, cells: row.cells, wrong };
    return fields(about, columns, {
      use: async (cells) => take(await withRow(row.row, cells), id),
      remove: async () => take(await withRow(row.row, null), ADD),
      close: () => show(false),
    });
  };
  const button = element(
    "button",
    {
      type: "button",
      id,
      "aria-expanded": "false",
      "aria-label": `Change row ${row.row}`,
      onclick: () => show(!place.childElementCount),
    },
    "Change",
  );
  return button;
}

/**
 * What opens a row as a case; nothing for one that could not be read at all.
 * @param {RowShown} row
 */
function asCase({ row, address }) {
  if (!Object.keys(address).length) return "";
  const choices = new URLSearchParams(address).toString().replaceAll("+", "%20");
  const link = { class: "as-case", href: `#/case?${choices}`, onclick: () => openAsCase(row) };
  return element("p", {}, element("a", link, `Open row ${row} as a case`));
}

/**
 * @param {string} kind
 * @param {Trouble} trouble
 */
function note(kind, { column, value, advice }) {
  const where = column ? ` ${column}${value ? ` “${value}”` : ""}:` : "";
  return element("p", {}, element("strong", {}, `${kind}.`), `${where} ${advice}`);
}
