// The rows of the day's list, each with its problems and remarks below it.

import { element, table } from "../shared/elements.js";
import { counted, NO_CLAMP } from "../shared/text.js";

/** @import { Day, RowShown, Trouble } from "../shared/types.js" */

const HEADS = ["Row", "Time", "Reference", "Teeth", "For", "Sheet", "Clamps"];

/**
 * The table of all rows.
 * @param {string} name of the list
 * @param {Day} day
 * @returns {HTMLElement}
 */
export function rowTable(name, { rows }) {
  const caption = `${name}, ${counted(rows.length, "row")}`;
  // Focusable, so that the keyboard can scroll it.
  const region = { class: "wide", tabindex: "0", role: "region", "aria-label": "Rows" };
  return element("div", region, table(caption, HEADS, rows.flatMap(linesOf)));
}

/** @param {RowShown} row */
function linesOf(row) {
  const notes = [
    ...row.problems.map((problem) => note("Left out", problem)),
    ...row.remarks.map((remark) => note("Check", remark)),
  ];
  const clamps = row.clamps.map(({ anchor, clamp }) =>
    element("div", {}, `${anchor}: ${clamp || NO_CLAMP}`),
  );
  const classes = [!row.done && "left-out", notes.length && "with-notes"].filter(Boolean);
  const line = element(
    "tr",
    { class: classes.join(" ") || null },
    element("th", { scope: "row" }, String(row.row)),
    [row.time, row.reference, row.teeth, row.procedure, row.sheet].map((text) =>
      element("td", {}, text || "–"),
    ),
    element("td", {}, row.done ? clamps : "–"),
  );
  if (!notes.length) return [line];
  const below = element(
    "tr",
    { class: row.done ? "notes" : "notes left-out" },
    element("td"),
    element("td", { colspan: HEADS.length - 1 }, notes),
  );
  return [line, below];
}

/**
 * @param {string} kind
 * @param {Trouble} trouble
 */
function note(kind, { column, value, advice }) {
  const where = column ? ` ${column}${value ? ` “${value}”` : ""}:` : "";
  return element("p", {}, element("strong", {}, `${kind}.`), `${where} ${advice}`);
}
