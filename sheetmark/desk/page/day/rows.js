// The rows of the day's list, each with its problems and remarks below it, and what changes it.

import { element, table } from "../shared/elements.js";
import { counted, NO_CLAMP } from "../shared/text.js";
import { openAsCase } from "./list.js";
import { fields } from "./mend.js";

/** @import { Day, RowShown, Trouble } from "../shared/types.js" */
/** @import { List } from "./list.js" */
/**
 * What a row needs to be changed: the columns of a list, and who reads the changed list.
 * @typedef {{ columns: string[], take: (list: List) => Promise<void> }} Changing
 */

const HEADS = ["Row", "Time", "Reference", "Teeth", "For", "Sheet", "Clamps", "Change"];

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
    element("td"),
    element("td", { colspan: HEADS.length - 1 }, notes, place),
  );
  const line = element(
    "tr",
    { class: classes.join(" ") || null },
    element("th", { scope: "row" }, String(row.row)),
    [row.time, row.reference, row.teeth, row.procedure, row.sheet].map((text) =>
      element("td", {}, text || "–"),
    ),
    element("td", {}, row.done ? clamps : "–"),
    element(
      "td",
      {},
      changeButton(row, changing, place, (open) => {
        if (!notes.length && open) line.after(below);
        else if (!notes.length) below.remove();
      }),
    ),
  );
  return notes.length ? [line, below] : [line];
}

/**
 * The button that shows a row's fields below it; none for a row that could not be read at all.
 * @param {RowShown} row
 * @param {Changing} changing
 * @param {HTMLElement} place
 * @param {(open: boolean) => void} opened is called before the fields are shown, or after they go
 */
function changeButton(row, changing, place, opened) {
  if (!Object.keys(row.cells).length) return [];
  const address = new URLSearchParams(row.address).toString().replaceAll("+", "%20");
  const button = element(
    "button",
    {
      type: "button",
      "aria-expanded": "false",
      "aria-label": `Change row ${row.row}`,
      onclick: () => {
        const open = place.childElementCount > 0;
        button.setAttribute("aria-expanded", String(!open));
        opened(!open);
        if (open) place.replaceChildren();
        else {
          const link = element(
            "a",
            { href: `#/case?${address}`, onclick: () => openAsCase(row.row) },
            `Open row ${row.row} as a case`,
          );
          place.replaceChildren(element("p", {}, link), fields(row, changing));
          place.querySelector("input")?.focus();
        }
      },
    },
    "Change",
  );
  return [button];
}

/**
 * @param {string} kind
 * @param {Trouble} trouble
 */
function note(kind, { column, value, advice }) {
  const where = column ? ` ${column}${value ? ` “${value}”` : ""}:` : "";
  return element("p", {}, element("strong", {}, `${kind}.`), `${where} ${advice}`);
}
