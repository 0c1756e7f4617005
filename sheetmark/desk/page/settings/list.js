// A list of the settings, such as the clamps of the tray: rows to change, move, add and remove.

import { element, folded } from "../shared/elements.js";
import { announce } from "../shared/page.js";
import { hintOf, labelOf, problemLine, showProblem } from "./field.js";
import { Row } from "./row.js";
import { framed } from "./section.js";
import { helpFor } from "./terms.js";

/** @import { FormRows } from "../shared/types.js" */
/** @import { Place } from "./field.js" */
/** @import { Values } from "./row.js" */

/** A list; `node` holds all of it. */
export class List {
  #list;
  #comma;
  #changed;
  /** @type {Row[]} */
  #rows = [];
  #box = element("div");
  #problem = problemLine();
  #add;
  #title;
  #before;

  /**
   * @param {FormRows} list
   * @param {Set<string>} open keys of the frames that are open
   * @param {boolean} comma whether numbers are written with a comma
   * @param {() => void} changed called after each change that is not typed
   */
  constructor(list, open, comma, changed) {
    this.#list = list;
    this.#comma = comma;
    this.#changed = changed;
    this.key = list.key;
    this.#problem.id = `f-${list.key}-problem`;
    const attributes = { type: "button", id: `f-${list.key}`, onclick: () => this.#addRow() };
    this.#add = element("button", attributes, `Add a ${list.row}`);
    const help = helpFor(list.key, list.label);
    const about = element("p", { class: "hint" }, list.description, help);
    const { node, title } = framed(
      list, open, about, this.#meanings(), this.#problem, this.#box, this.#add,
    );
    this.node = node;
    this.#title = title;
    this.#rows.push(...(list.rows ?? list.default).map((values) => this.#row(values)));
    this.#arrange();
    this.#before = JSON.stringify(this.#read());
  }

  /**
   * The list itself, its rows and their fields.
   * @returns {Place[]}
   */
  get fields() {
    const whole = {
      key: this.key,
      controls: [this.#add],
      refuse: (/** @type {string} */ line) => showProblem(this.#add, this.#problem, line),
    };
    return [whole, ...this.#rows.flatMap((row) => [row, ...row.fields])];
  }

  /**
   * All rows, where any of them has changed.
   * @returns {Record<string, Values[]>}
   */
  get changes() {
    const now = this.#read();
    return JSON.stringify(now) === this.#before ? {} : { [this.key]: now };
  }

  #read() {
    return this.#rows.map((row) => row.read());
  }

  #meanings() {
    const { row, columns } = this.#list;
    const meanings = columns.flatMap((column) => [
      element("dt", {}, labelOf(column)),
      element("dd", {}, hintOf(column, this.#comma)),
    ]);
    return folded(`The fields of a ${row}`, element("dl", {}, meanings));
  }

  /** @param {Values} values */
  #row(values) {
    return new Row(this.#list, values, this.#comma, {
      move: (row, by) => this.#move(row, by),
      remove: (row) => this.#remove(row),
    });
  }

  #arrange() {
    const { length } = this.#rows;
    this.#box.replaceChildren(...this.#rows.map(({ node }) => node));
    this.#rows.forEach((row, place) => row.rename(place + 1, length));
    this.#title.textContent = `${this.#list.label} (${length})`;
  }

  /**
   * @param {Row} row
   * @param {number} by
   */
  #move(row, by) {
    const place = this.#rows.indexOf(row);
    this.#rows.splice(place, 1);
    this.#rows.splice(place + by, 0, row);
    this.#arrange();
    row.focusMove(by);
    announce(`Now ${this.#list.row} ${place + by + 1} of ${this.#rows.length}.`);
    this.#changed();
  }

  /** @param {Row} row */
  #remove(row) {
    const place = this.#rows.indexOf(row);
    this.#rows.splice(place, 1);
    this.#arrange();
    (this.#rows[Math.min(place, this.#rows.length - 1)]?.node ?? this.#add).focus();
    announce(`Removed. ${this.#rows.length} left.`);
    this.#changed();
  }

  #addRow() {
    const row = this.#row({});
    this.#rows.push(row);
    this.#arrange();
    row.fields[0]?.controls[0]?.focus();
    this.#changed();
  }
}
