// A list of the settings, such as the clamps of the tray: rows to change, move, add and remove.

import { Field, hintOf, labelOf } from "./field.js";
import { announce, element } from "../shared/elements.js";
import { framed } from "./section.js";

// What few rows need folds away in each.
const RARE = ["jaws", "version", "span_mm", "secondary", "retired"];

/** Puts a problem beside what has no control of its own; an empty line takes it back. */
function mark(node, problem, line) {
  problem.hidden = !line;
  problem.textContent = line;
  if (line) node.setAttribute("aria-describedby", problem.id);
  else node.removeAttribute("aria-describedby");
}

const wrong = () => element("p", { class: "wrong", hidden: true });

/** `noted` is called after each change that is not typed. */
export class List {
  #list;
  #comma;
  #noted;
  #rows = [];
  #box = element("div");
  #problem = wrong();
  #add;
  #title;
  #before;

  constructor(list, open, comma, noted) {
    this.#list = list;
    this.#comma = comma;
    this.#noted = noted;
    this.key = list.key;
    this.#problem.id = `f-${list.key}-problem`;
    const add = { type: "button", id: `f-${list.key}`, onclick: () => this.#added() };
    this.#add = element("button", add, `Add a ${list.row}`);
    const about = element("p", { class: "hint" }, list.description);
    this.node = framed(
      list, open, about, this.#meanings(), this.#problem, this.#box, this.#add,
    );
    this.#title = this.node.querySelector("summary, legend");
    this.#rows.push(...(list.rows ?? list.default).map((values) => this.#row(values)));
    this.#arrange();
    this.#before = JSON.stringify(this.#read());
  }

  get fields() {
    const whole = {
      key: this.key,
      controls: [this.#add],
      refuse: (line) => mark(this.#add, this.#problem, line),
    };
    return [whole, ...this.#rows.flatMap((row) => [row, ...row.fields])];
  }

  /** All its rows where any of them has changed. */
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
    const title = element("summary", {}, `What a ${row} has`);
    return element("details", {}, title, element("dl", {}, meanings));
  }

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

  #move(row, by) {
    const place = this.#rows.indexOf(row);
    this.#rows.splice(place, 1);
    this.#rows.splice(place + by, 0, row);
    this.#arrange();
    row.focusMove(by);
    announce(`Now ${this.#list.row} ${place + by + 1} of ${this.#rows.length}.`);
    this.#noted();
  }

  #remove(row) {
    const place = this.#rows.indexOf(row);
    this.#rows.splice(place, 1);
    this.#arrange();
    (this.#rows[Math.min(place, this.#rows.length - 1)]?.node ?? this.#add).focus();
    announce(`Removed. ${this.#rows.length} left.`);
    this.#noted();
  }

  #added() {
    this.#rows.push(this.#row({}));
    this.#arrange();
    this.#rows.at(-1).fields[0].controls[0].focus();
    this.#noted();
  }
}

/** `act` is told to `move` it up (-1) or down (1), or to `remove` it. */
class Row {
  #list;
  #unknown;
  #legend = element("legend");
  #more = element("summary");
  #problem = wrong();
  #buttons;

  constructor(list, values, comma, act) {
    this.#list = list;
    this.#unknown = unknownIn(values, list.columns);
    this.fields = list.columns.map(
      (column) => new Field(column, values[column.key] ?? null, { comma, hints: false }),
    );
    this.#buttons = [
      rowButton("Move up", () => act.move(this, -1)),
      rowButton("Move down", () => act.move(this, 1)),
      rowButton("Remove", () => act.remove(this)),
    ];
    this.node = this.#arranged();
    this.controls = [this.node];
  }

  #arranged() {
    const rare = this.fields.filter(({ column }) => RARE.includes(column));
    const usual = this.fields.filter((field) => !rare.includes(field));
    const box = (fields) => element("div", { class: "fields" }, fields.map(({ node }) => node));
    return element(
      "fieldset",
      { class: "one-row", tabindex: "-1" },
      this.#legend,
      this.#problem,
      box(usual),
      rare.length ? element("details", {}, this.#more, box(rare)) : null,
      element("div", { class: "row" }, this.#buttons.map(({ node }) => node)),
    );
  }

  rename(number, last) {
    const { key, row } = this.#list;
    this.#legend.textContent = `${row[0].toUpperCase()}${row.slice(1)} ${number}`;
    this.#more.textContent = `More about ${row} ${number}`;
    this.key = `${key}[${number}]`;
    this.#problem.id = `f-${this.key}-problem`;
    for (const field of this.fields) field.rename(`${this.key}.${field.column}`);
    for (const { about } of this.#buttons) about.textContent = ` ${row} ${number}`;
    this.#buttons[0].node.disabled = number === 1;
    this.#buttons[1].node.disabled = number === last;
  }

  refuse(line) {
    mark(this.node, this.#problem, line);
  }

  read() {
    const said = this.fields.map((field) => [field.column, field.read()]);
    return {
      ...this.#unknown,
      ...Object.fromEntries(said.filter(([, value]) => value !== null)),
    };
  }

  /** The focus stays on the button of a move, or goes to the other where that can do no more. */
  focusMove(by) {
    const [up, down] = this.#buttons.map(({ node }) => node);
    const [same, other] = by < 0 ? [up, down] : [down, up];
    (same.disabled ? other : same).focus();
  }
}

/** Keys of a row that no column is for, so that the desk can say so. */
function unknownIn(values, columns) {
  const known = new Set(columns.map(({ key }) => key));
  return Object.fromEntries(Object.entries(values).filter(([key]) => !known.has(key)));
}

function rowButton(words, onclick) {
  const about = element("span", { class: "quiet" });
  return { about, node: element("button", { type: "button", onclick }, words, about) };
}
