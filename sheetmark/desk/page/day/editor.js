// The editor of today's list: a line of fields for each case.

import { choice, element } from "../shared/elements.js";
import { announce, keepFocus } from "../shared/page.js";
import { counted } from "../shared/text.js";
import { keepTodaysRows, todaysFile, todaysRows } from "./today.js";

/** @import { Cells } from "./today.js" */

/** @type {Array<[column: string, label: string, example: string]>} columns that are typed */
const TYPED = [
  ["time", "Time", "8:30"],
  ["teeth", "Teeth", "16 15"],
  ["procedure", "For", ""],
  ["age", "Age", "adult"],
  ["exceptions", "What is different", "15 missing"],
  ["reference", "Reference", "room 2"],
];
/** @type {Array<[string, string]>} */
const PROCEDURES = [
  ["", "Restoration"],
  ["crown", "Crown"],
  ["root-canal", "Root canal"],
  ["cervical", "Cervical (gumline)"],
  ["full-arch", "Full arch"],
];

/** The editor; `node` holds all of it. */
export class TodayEditor {
  #columns;
  #open;
  #rows = todaysRows();

  /**
   * @param {string[]} columns of a list
   * @param {(file: File) => void} open takes the list to be planned
   */
  constructor(columns, open) {
    this.#columns = columns;
    this.#open = open;
    this.node = element("section", { class: "today", "aria-labelledby": "today-title" });
    this.#draw();
  }

  #draw() {
    const rows = this.#rows;
    const button = (/** @type {string} */ label, /** @type {() => void} */ onclick) =>
      element("button", { type: "button", onclick }, label);
    keepFocus(this.node, () =>
      this.node.replaceChildren(
        element("h2", { id: "today-title" }, "Today's list, typed here"),
        element("ol", {}, rows.map((row, place) => this.#line(row, place))),
        element(
          "div",
          { class: "row" },
          button("Add a row", () => this.#add()),
          rows.length
            ? [
              button("Plan this list", () => this.#open(todaysFile(this.#rows, this.#columns))),
              button("Empty this list", () => this.#take([])),
            ]
            : null,
        ),
      ),
    );
  }

  /** @param {Cells[]} rows */
  #take(rows) {
    this.#rows = rows;
    keepTodaysRows(rows);
    this.#draw();
    announce(`Today's list: ${counted(rows.length, "row")}`);
  }

  #add() {
    this.#take([...this.#rows, {}]);
    /** @type {HTMLElement | null} */
    const first = this.node.querySelector("li:last-child input");
    first?.focus();
  }

  /**
   * @param {Cells} row
   * @param {number} place
   */
  #line(row, place) {
    const number = place + 1;
    const rest = this.#columns
      .filter((column) => row[column] && !TYPED.some(([typed]) => typed === column))
      .map((column) => `${column} ${row[column]}`);
    const remove = () => this.#take(this.#rows.filter((_, other) => other !== place));
    return element(
      "li",
      {},
      TYPED.map(([column, label, example]) => this.#field(row, number, column, label, example)),
      rest.length ? element("p", {}, rest.join(", ")) : null,
      element(
        "button",
        { type: "button", "aria-label": `Remove row ${number}`, onclick: remove },
        "Remove",
      ),
    );
  }

  /**
   * @param {Cells} row
   * @param {number} number of the row
   * @param {string} column
   * @param {string} label
   * @param {string} example
   */
  #field(row, number, column, label, example) {
    const id = `today-${number}-${column}`;
    /** @type {(value: string) => void} */
    const put = (value) => {
      row[column] = value.trim();
      keepTodaysRows(this.#rows);
    };
    const known = row[column] ?? "";
    const input = element("input", {
      id,
      type: "text",
      value: known,
      placeholder: example,
      autocomplete: "off",
      oninput: () => {
        put(input.value);
      },
    });
    return element(
      "div",
      { class: `field cell-${column}` },
      element("label", { for: id }, label, element("span", { class: "quiet" }, `, row ${number}`)),
      column === "procedure" ? choice(PROCEDURES, known, put, { id }) : input,
    );
  }
}
