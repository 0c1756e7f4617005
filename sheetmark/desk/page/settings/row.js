// A row of a list of the settings.

import { element, folded } from "../shared/elements.js";
import { Field, problemLine, showProblem } from "./field.js";

/** @import { FormField, FormRows } from "../shared/types.js" */
/** @import { Value } from "./values.js" */

/** @typedef {Record<string, Value>} Values of a row, by column */

// Columns that few rows need, folded away in each row.
const RARE = [
  "jaws",
  "version",
  "span_mm",
  "secondary",
  "cervical",
  "jaws_towards_gum",
  "retired",
];

/** A row; `node` holds all of it. */
export class Row {
  #list;
  #unknown;
  #legend = element("legend");
  #moreTitle = element("span");
  #problem = problemLine();
  #up;
  #down;
  #remove;

  /**
   * @param {FormRows} list
   * @param {Values} values
   * @param {boolean} comma whether numbers are written with a comma
   * @param {{ move: (row: Row, by: number) => void, remove: (row: Row) => void }} actions
   *   `move` by -1 is up, by 1 down
   */
  constructor(list, values, comma, actions) {
    this.#list = list;
    this.#unknown = unknownIn(values, list.columns);
    this.key = list.key;
    this.fields = list.columns.map(
      (column) => new Field(column, values[column.key], { comma, hints: false }),
    );
    this.#up = rowButton("Move up", () => actions.move(this, -1));
    this.#down = rowButton("Move down", () => actions.move(this, 1));
    this.#remove = rowButton("Remove", () => actions.remove(this));
    this.node = this.#arranged();
    this.controls = [this.node];
  }

  #arranged() {
    const rare = this.fields.filter(({ column }) => RARE.includes(column));
    const common = this.fields.filter((field) => !rare.includes(field));
    /** @type {(fields: Field[]) => HTMLElement} */
    const box = (fields) => element("div", { class: "fields" }, fields.map(({ node }) => node));
    return element(
      "fieldset",
      { class: "list-row", tabindex: "-1" },
      this.#legend,
      this.#problem,
      box(common),
      rare.length ? folded(this.#moreTitle, box(rare)) : null,
      element("div", { class: "row" }, this.#up.node, this.#down.node, this.#remove.node),
    );
  }

  /**
   * Takes over the row's place in its list.
   * @param {number} number from 1
   * @param {number} last
   */
  rename(number, last) {
    const { key, row } = this.#list;
    const name = `${row} ${number}`;
    this.#legend.textContent = name.charAt(0).toUpperCase() + name.slice(1);
    this.#moreTitle.textContent = `More about ${name}`;
    this.key = `${key}[${number}]`;
    this.#problem.id = `f-${this.key}-problem`;
    for (const field of this.fields) field.rename(`${this.key}.${field.column}`);
    for (const { about } of [this.#up, this.#down, this.#remove]) about.textContent = ` ${name}`;
    this.#up.node.disabled = number === 1;
    this.#down.node.disabled = number === last;
  }

  /**
   * Shows a problem. An empty line removes it.
   * @param {string} line
   */
  refuse(line) {
    showProblem(this.node, this.#problem, line);
  }

  /**
   * The values of the row that are set, by column.
   * @returns {Values}
   */
  read() {
    const values = { ...this.#unknown };
    for (const field of this.fields) {
      const value = field.read();
      if (value !== null) values[field.column] = value;
    }
    return values;
  }

  /**
   * Keeps the focus on the button of a move, or moves it to the other where that is at its end.
   * @param {number} by
   */
  focusMove(by) {
    const [up, down] = [this.#up.node, this.#down.node];
    const [pressed, other] = by < 0 ? [up, down] : [down, up];
    (pressed.disabled ? other : pressed).focus();
  }
}

/**
 * Values without a column; they stay, so that the desk can refuse them.
 * @param {Values} values
 * @param {FormField[]} columns
 * @returns {Values}
 */
function unknownIn(values, columns) {
  const known = new Set(columns.map(({ key }) => key));
  return Object.fromEntries(Object.entries(values).filter(([key]) => !known.has(key)));
}

/**
 * A button; `about` names the row to a screen reader.
 * @param {string} label
 * @param {() => void} onclick
 */
function rowButton(label, onclick) {
  const about = element("span", { class: "quiet" });
  return { about, node: element("button", { type: "button", onclick }, label, about) };
}
