// One field of the settings: its label, its control, its hint and what is wrong in it.

import { element } from "../shared/elements.js";
import { READ, words } from "./values.js";

const YES_NO = [["true", "yes"], ["false", "no"]];

/** What a field is called, with its unit. */
export function labelOf({ label, unit }) {
  return unit ? `${label}, ${unit}` : label;
}

export function hintOf(field, comma) {
  const parts = [field.description];
  if (field.least !== null && field.kind !== "pair") {
    const unit = field.unit ? ` ${field.unit}` : "";
    parts.push(`${words(field.least, comma)} to ${words(field.most, comma)}${unit}.`);
  }
  const typed = ["number", "numbers", "pair"].includes(field.kind);
  if (field.kind === "numbers" || field.kind === "texts") parts.push("Set apart by semicolons.");
  if (typed && field.default !== null) parts.push(`Left empty: ${words(field.default, comma)}.`);
  return parts.join(" ");
}

/** `comma`: how its numbers are written; `hints`: whether it has a line of help of its own. */
export class Field {
  #kind;
  #value; // as the file has it
  #before;
  #titles = [];
  #offered = null;
  #hint;
  #problem = element("p", { class: "wrong", hidden: true });

  constructor(field, value, { comma, hints = true }) {
    this.#kind = field.kind;
    this.#value = value;
    this.column = field.key;
    this.controls = controlsOf(field, value, comma);
    this.#hint = hints ? element("p", { class: "hint" }, hintOf(field, comma)) : null;
    if (field.kind === "choice-or-number") {
      const offered = field.choices.map((word) => element("option", { value: word }));
      this.#offered = element("datalist", {}, offered);
    }
    this.node = this.#arranged(labelOf(field));
    this.#before = JSON.stringify(this.#raw());
    this.rename(field.key);
  }

  get #ticked() {
    return this.controls[0].type === "checkbox";
  }

  #arranged(label) {
    const below = [this.#hint, this.#problem];
    if (this.#kind === "pair") {
      const sides = this.controls.map((input, side) => {
        this.#titles.push(element("label", {}, ["from", "to"][side]));
        return element("div", {}, this.#titles[side], input);
      });
      const row = element("div", { class: "row" }, sides);
      return element("fieldset", { class: "pair" }, element("legend", {}, label), row, ...below);
    }
    if (this.#ticked) {
      const title = element("label", {}, this.controls[0], ` ${label}`);
      return element("div", { class: "field" }, title, ...below);
    }
    this.#titles.push(element("label", {}, label));
    const control = [...this.#titles, ...this.controls, this.#offered];
    return element("div", { class: "field" }, ...control, ...below);
  }

  #raw() {
    if (this.#kind === "pair") return this.controls.map((input) => input.value);
    return this.#ticked ? String(this.controls[0].checked) : this.controls[0].value;
  }

  /** What it holds; what was not touched stays as the file has it, said or not. */
  read() {
    const raw = this.#raw();
    return JSON.stringify(raw) === this.#before ? this.#value : READ[this.#kind](raw);
  }

  rename(key) {
    this.key = key;
    this.controls.forEach((input, side) => {
      input.id = `f-${key}${side || ""}`;
      if (this.#titles[side]) this.#titles[side].htmlFor = input.id;
    });
    if (this.#hint) this.#hint.id = `f-${key}-hint`;
    this.#problem.id = `f-${key}-problem`;
    if (this.#offered) {
      this.#offered.id = `f-${key}-words`;
      this.controls[0].setAttribute("list", this.#offered.id);
    }
    this.#describe();
  }

  /** Shows what is wrong in it; an empty line takes that back. */
  refuse(line) {
    this.#problem.hidden = !line;
    this.#problem.textContent = line;
    for (const input of this.controls) {
      if (line) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
    this.#describe();
  }

  #describe() {
    const told = [this.#hint, this.#problem.hidden ? null : this.#problem];
    const ids = told.filter(Boolean).map(({ id }) => id).join(" ");
    for (const input of this.controls) {
      if (ids) input.setAttribute("aria-describedby", ids);
      else input.removeAttribute("aria-describedby");
    }
  }
}

function controlsOf(field, value, comma) {
  const shown = value ?? field.default;
  const inputmode = field.kind === "number" || field.kind === "pair" ? "decimal" : null;
  const text = (content) =>
    element("input", { type: "text", autocomplete: "off", inputmode, value: content });
  if (field.kind === "choice") {
    // Nothing is chosen for anyone where the file must say it.
    const none = shown === null ? [["", field.required ? "choose" : "not said"]] : [];
    return [select([...none, ...choicesOf(field, shown)], shown)];
  }
  if (field.kind === "yes-no") {
    if (!field.required) return [element("input", { type: "checkbox", checked: shown === true })];
    return [select([...(value === null ? [["", "choose"]] : []), ...YES_NO], value)];
  }
  if (field.kind === "pair") {
    const two = Array.isArray(shown) && shown.length === 2 ? shown : ["", ""];
    return two.map((side) => text(words(side, comma)));
  }
  return [text(words(shown, comma))];
}

/** The words of a choice; one that the file has though it is none stays to be seen. */
function choicesOf(field, shown) {
  const known = field.choices.map((word) => [word, word]);
  const other = shown !== null && !field.choices.includes(String(shown));
  return other ? [[String(shown), `${shown} (not known)`], ...known] : known;
}

function select(pairs, value) {
  const options = pairs.map(([key, said]) =>
    element("option", { value: key, selected: key === String(value) }, said),
  );
  return element("select", {}, options);
}
