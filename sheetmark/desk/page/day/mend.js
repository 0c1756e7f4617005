// The fields of a row of the list: a new row, or one that is put right where it stands.

import { choice, element, folded, problemList } from "../shared/elements.js";
import { problemsIn } from "../shared/server.js";

/** @import { Cells } from "./list.js" */

/** @type {Array<[column: string, label: string, example: string]>} */
const COMMON = [
  ["time", "Time", "8:30"],
  ["teeth", "Teeth", "16 15"],
  ["procedure", "For", ""],
  ["age", "Age", "adult"],
  ["exceptions", "What is different", "15 missing"],
  ["reference", "Reference", "room 2"],
];
/** @type {Record<string, string>} */
const RARE = {
  notation: "Numbers", arch: "Arch", access: "Access", sheet: "Sheet", measure: "Measured",
};
/** @type {Array<[string, string]>} */
const PROCEDURES = [
  ["", "Restoration"],
  ["crown", "Crown"],
  ["root-canal", "Root canal"],
  ["cervical", "Cervical (gumline)"],
  ["full-arch", "Full arch"],
];

/**
 * A row in the fields.
 * @typedef {object} Row
 * @property {string} name such as "Row 2"
 * @property {string} key of its own on the page
 * @property {Cells} cells as they are
 * @property {Set<string>} wrong columns that have a problem
 */
/**
 * What becomes of the row.
 * @typedef {object} Actions
 * @property {(cells: Cells) => Promise<void>} use takes the row as it was filled in
 * @property {() => Promise<void>} [remove] takes it out of the list
 * @property {() => void} close leaves it as it was
 */

/**
 * A field for each column, filled with the row; the wrong ones are marked.
 * @param {Row} row
 * @param {string[]} columns of a list
 * @param {Actions} actions
 * @returns {HTMLElement}
 */
export function fields(row, columns, { use, remove, close }) {
  const common = COMMON.map(([column, label, example]) => field(row, column, label, example));
  const rare = columns
    .filter((column) => !COMMON.some(([known]) => known === column))
    .map((column) => field(row, column, RARE[column] ?? column, ""));
  const more = folded("More columns", element("div", { class: "mend" }, rare.map(nodeOf)));
  more.open = rare.some(({ column }) => row.wrong.has(column) || Boolean(row.cells[column]));
  const problems = element("div");
  const act = async (/** @type {() => Promise<void>} */ work) => {
    try {
      await work();
    } catch (error) {
      problems.replaceChildren(problemList(problemsIn(error).lines));
    }
  };
  const filled = () =>
    Object.fromEntries(
      [...common, ...rare]
        .map(({ column, control }) => [column, control.value.trim()])
        .filter(([, value]) => value),
    );
  const button = (/** @type {string} */ label, /** @type {() => unknown} */ onclick) =>
    element("button", { type: "button", onclick }, label);
  return element(
    "form",
    {
      "aria-label": row.name,
      onsubmit: (/** @type {Event} */ event) => {
        event.preventDefault();
        act(() => use(filled()));
      },
    },
    element("div", { class: "mend" }, common.map(nodeOf)),
    more,
    element(
      "div",
      { class: "row" },
      element("button", { class: "main-action" }, "Use this row"),
      remove ? button("Remove this row", () => act(remove)) : null,
      button("Cancel", close),
    ),
    problems,
  );
}

/** @type {(field: { node: HTMLElement }) => HTMLElement} */
const nodeOf = ({ node }) => node;

/**
 * @param {Row} row
 * @param {string} column
 * @param {string} label
 * @param {string} example
 */
function field({ key, cells, wrong }, column, label, example) {
  const id = `${key}-${column}`;
  const value = cells[column] ?? "";
  const control =
    column === "procedure"
      ? choice(withOwn(value), value, undefined, { id })
      : element("input", { id, type: "text", value, placeholder: example, autocomplete: "off" });
  if (wrong.has(column)) control.setAttribute("aria-invalid", "true");
  const node = element("div", { class: `cell-${column}` }, element("label", { for: id }, label));
  node.append(control);
  return { column, control, node };
}

/**
 * The procedures, and the list's own word for one where it has another.
 * @param {string} value
 * @returns {Array<[string, string]>}
 */
function withOwn(value) {
  return PROCEDURES.some(([known]) => known === value)
    ? PROCEDURES
    : [...PROCEDURES, [value, value]];
}
