// A field of the settings: its label, its controls, its hint and its problem.

import { choice, element, ticked } from "../shared/elements.js";
import { helpFor } from "./terms.js";
import { textOf, valueOf } from "./values.js";

/** @import { FormField } from "../shared/types.js" */
/** @import { Value } from "./values.js" */

/** @typedef {HTMLInputElement | HTMLSelectElement} Control */

/**
 * Where a problem can be shown. `controls` are what it is about.
 * @typedef {{ key: string, controls: HTMLElement[], refuse: (line: string) => void }} Place
 */

/** @type {Array<[string, string]>} */
const YES_NO = [["true", "yes"], ["false", "no"]];

/**
 * The name of a field, with its unit.
 * @param {FormField} field
 * @returns {string}
 */
export function labelOf({ label, unit }) {
  return unit ? `${label}, ${unit}` : label;
}

/**
 * What a field means, its limits and its default.
 * @param {FormField} field
 * @param {boolean} comma whether numbers are written with a comma
 * @returns {string}
 */
export function hintOf(field, comma) {
  const { kind, unit, least, most, default: usual } = field;
  const parts = [field.description];
  if (least !== null && kind !== "pair") {
    const limits = `${textOf(least, comma)} to ${textOf(most, comma)}`;
    parts.push(unit ? `${limits} ${unit}.` : `${limits}.`);
  }
  if (kind === "numbers" || kind === "texts") parts.push("Separate them by semicolons.");
  if (["number", "numbers", "pair"].includes(kind) && usual !== null) {
    parts.push(`If empty: ${textOf(usual, comma)}.`);
  }
  return parts.join(" ");
}

/**
 * Shows a problem where there is no control for it. An empty line removes it.
 * @param {HTMLElement} node
 * @param {HTMLElement} problem
 * @param {string} line
 */
export function showProblem(node, problem, line) {
  problem.hidden = !line;
  problem.textContent = line;
  describeBy([node], line ? [problem] : []);
}

/** @returns {HTMLElement} a place for a problem, hidden until there is one */
export function problemLine() {
  return element("p", { class: "wrong", hidden: true });
}

/**
 * @param {HTMLElement[]} nodes
 * @param {HTMLElement[]} texts
 */
function describeBy(nodes, texts) {
  const ids = texts.map(({ id }) => id).join(" ");
  for (const node of nodes) {
    if (ids) node.setAttribute("aria-describedby", ids);
    else node.removeAttribute("aria-describedby");
  }
}

/** A field; `node` holds all of it. */
export class Field {
  #kind;
  #value;
  #typedBefore;
  /** @type {HTMLLabelElement[]} */
  #labels = [];
  /** @type {HTMLDataListElement | null} */
  #suggestions = null;
  #hint;
  #problem = problemLine();

  /**
   * @param {FormField} field
   * @param {Value | undefined} value as the file has it
   * @param {{ comma: boolean, hints?: boolean }} options `comma`: how numbers are written;
   *   `hints` false: without a hint
   */
  constructor(field, value, { comma, hints = true }) {
    this.#kind = field.kind;
    this.#value = value ?? null;
    this.column = field.key;
    this.key = field.key;
    /** @type {Control[]} */
    this.controls = controlsOf(field, this.#value, comma);
    this.#hint = hints ? element("p", { class: "hint" }, hintOf(field, comma)) : null;
    if (field.kind === "choice-or-number") {
      const options = field.choices.map((name) => element("option", { value: name }));
      this.#suggestions = element("datalist", {}, options);
    }
    this.node = this.#arranged(labelOf(field), hints ? helpFor(field.key, field.label) : null);
    this.#typedBefore = JSON.stringify(this.#typed());
    this.rename(field.key);
  }

  /**
   * @param {string} label
   * @param {HTMLElement | null} help
   */
  #arranged(label, help) {
    const below = [this.#hint, this.#problem];
    const [control] = this.controls;
    if (this.#kind === "pair") {
      const sides = this.controls.map((input, side) => {
        const title = element("label", {}, side ? "to" : "from");
        this.#labels.push(title);
        return element("div", {}, title, input);
      });
      const row = element("div", { class: "row" }, sides);
      return element("fieldset", { class: "pair" }, element("legend", {}, label), row, below);
    }
    if (isTickBox(control)) {
      return element("div", { class: "field" }, withHelp(ticked(control, label), help), below);
    }
    const title = element("label", {}, label);
    this.#labels.push(title);
    const head = withHelp(title, help);
    return element("div", { class: "field" }, head, control, this.#suggestions, below);
  }

  #typed() {
    return this.controls.map((control) =>
      isTickBox(control) ? String(control.checked) : control.value,
    );
  }

  /**
   * The value; one that was not touched stays as the file has it, set or not.
   * @returns {Value}
   */
  read() {
    const typed = this.#typed();
    const touched = JSON.stringify(typed) !== this.#typedBefore;
    return touched ? valueOf(this.#kind, typed) : this.#value;
  }

  /** @param {string} key */
  rename(key) {
    this.key = key;
    this.controls.forEach((control, side) => {
      control.id = `f-${key}${side || ""}`;
      const label = this.#labels[side];
      if (label) label.htmlFor = control.id;
    });
    if (this.#hint) this.#hint.id = `f-${key}-hint`;
    this.#problem.id = `f-${key}-problem`;
    if (this.#suggestions) {
      this.#suggestions.id = `f-${key}-options`;
      this.controls[0]?.setAttribute("list", this.#suggestions.id);
    }
    this.#describe();
  }

  /**
   * Shows a problem. An empty line removes it.
   * @param {string} line
   */
  refuse(line) {
    this.#problem.hidden = !line;
    this.#problem.textContent = line;
    for (const control of this.controls) {
      if (line) control.setAttribute("aria-invalid", "true");
      else control.removeAttribute("aria-invalid");
    }
    this.#describe();
  }

  #describe() {
    const texts = [this.#hint, this.#problem.hidden ? null : this.#problem];
    describeBy(this.controls, texts.filter((text) => text !== null));
  }
}

/**
 * @param {HTMLElement} label
 * @param {HTMLElement | null} help
 */
function withHelp(label, help) {
  return help ? element("div", { class: "term" }, label, help) : label;
}

/**
 * @param {Control | undefined} control
 * @returns {control is HTMLInputElement}
 */
function isTickBox(control) {
  return control instanceof HTMLInputElement && control.type === "checkbox";
}

/**
 * @param {FormField} field
 * @param {Value} value
 * @param {boolean} comma
 * @returns {Control[]}
 */
function controlsOf(field, value, comma) {
  const { kind, required } = field;
  const shown = value ?? field.default;
  const inputmode = kind === "number" || kind === "pair" ? "decimal" : null;
  /** @type {(content: string) => Control} */
  const input = (content) =>
    element("input", { type: "text", autocomplete: "off", inputmode, value: content });
  if (kind === "choice") {
    // A required value is never chosen for anyone.
    /** @type {Array<[string, string]>} */
    const none = shown === null ? [["", required ? "choose" : "not set"]] : [];
    return [choice([...none, ...optionsOf(field, shown)], String(shown ?? ""))];
  }
  if (kind === "yes-no") {
    if (!required) return [element("input", { type: "checkbox", checked: shown === true })];
    /** @type {Array<[string, string]>} */
    const none = value === null ? [["", "choose"]] : [];
    return [choice([...none, ...YES_NO], String(value))];
  }
  if (kind === "pair") {
    const sides = Array.isArray(shown) && shown.length === 2 ? shown : ["", ""];
    return sides.map((side) => input(textOf(side, comma)));
  }
  return [input(textOf(shown, comma))];
}

/**
 * The options of a choice. A value of the file that is not among them stays visible.
 * @param {FormField} field
 * @param {Value} shown
 * @returns {Array<[string, string]>}
 */
function optionsOf({ choices }, shown) {
  /** @type {Array<[string, string]>} */
  const known = choices.map((name) => [name, name]);
  if (shown === null || choices.includes(String(shown))) return known;
  return [[String(shown), `${shown} (unknown)`], ...known];
}
