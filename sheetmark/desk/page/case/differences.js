// What is different in this mouth, as a list to change, and how the address keeps it.

import { element } from "../shared/elements.js";
import { keepFocus } from "../shared/page.js";
import { choices, removeValue, setAll } from "./address.js";
import { labelOf, state } from "./state.js";

/** @import { Different } from "../shared/types.js" */
/** @import { Description } from "./tooth-menu.js" */

/**
 * What the list asks of the view.
 * @typedef {object} Actions
 * @property {(iso: string) => void} describe the menu of a tooth is wanted
 * @property {(alter: (next: URLSearchParams) => void) => void} change
 * @property {(alter: (next: URLSearchParams, different: Different[]) => void) => void}
 *   changeDifferences as `change`, with the differences of an answer that is up to date
 */

/** @typedef {{ text: string, change?: () => void, remove: () => void }} Row */

const SPANS = { anchor: "Clamp on", slit: "One slit", expose: "Only these come through:" };

/**
 * Puts the answer of a tooth's menu into the choices.
 * @param {URLSearchParams} next the choices
 * @param {string} iso
 * @param {Different[]} different what has been different so far
 * @param {Description} description
 */
export function putDescription(next, iso, different, description) {
  const byTooth = new Map(different.map(({ tooth, states }) => [tooth, states.join(" ")]));
  byTooth.delete(iso);
  byTooth.set(description.tooth, description.state);
  const withs = [...byTooth].filter(([, text]) => text).map(([tooth, text]) => `${tooth} ${text}`);
  setAll(next, "with", [...withs, ...description.bridges]);
  for (const name of /** @type {const} */ (["treat", "anchor"])) {
    const others = next.getAll(name).filter((tooth) => tooth !== iso);
    setAll(next, name, description[name] ? [...others, iso] : others);
  }
  if (description.slit) next.append("slit", description.slit);
  if (description.expose) setAll(next, "expose", [description.expose]);
}

/**
 * @param {URLSearchParams} next the choices
 * @param {Different[]} different
 * @param {string} iso
 */
function removeTooth(next, different, iso) {
  const others = different.filter(({ tooth }) => tooth !== iso);
  setAll(next, "with", others.map(({ tooth, states }) => `${tooth} ${states.join(" ")}`));
}

/** The list; `node` is empty while nothing is different. */
export class DifferenceList {
  #actions;

  /** @param {Actions} actions */
  constructor(actions) {
    this.#actions = actions;
    this.node = element("div");
  }

  /** Draws the differences of the latest answer. */
  draw() {
    const rows = [
      ...this.#undrawn(), ...this.#teeth(), ...this.#spans(), ...this.#measures(),
    ];
    const list = element("ul", { class: "differences" }, rows.map(item));
    const parts = rows.length ? [element("h2", {}, "In this mouth"), list] : [];
    keepFocus(this.node, () => this.node.replaceChildren(...parts));
  }

  /**
   * Teeth to treat that this dentition does not have.
   * @returns {Row[]}
   */
  #undrawn() {
    return state.answer.undrawn.map(({ value, label }) => ({
      text: `${label} to treat: not in this dentition`,
      remove: () => this.#remove("treat", value),
    }));
  }

  /** @returns {Row[]} */
  #teeth() {
    return state.answer.different.map(({ tooth, label, states }) => ({
      text: `${label} ${states.join(", ")}`,
      change: () => this.#actions.describe(tooth),
      remove: () =>
        this.#actions.changeDifferences((next, different) => removeTooth(next, different, tooth)),
    }));
  }

  /** @returns {Row[]} */
  #spans() {
    const now = choices();
    return Object.entries(SPANS).flatMap(([name, text]) =>
      now.getAll(name).map((span) => ({
        text: `${text} ${span.split("-").map(labelOf).join(" to ")}`,
        remove: () => this.#remove(name, span),
      })),
    );
  }

  /** @returns {Row[]} */
  #measures() {
    const inNotation = (/** @type {string} */ text) => text.replace(/\d\d(?=[ -])/g, labelOf);
    return choices().getAll("measure").map((text) => ({
      text: `Measured: ${inNotation(text)} mm`,
      remove: () => this.#remove("measure", text),
    }));
  }

  /**
   * @param {string} name
   * @param {string} value
   */
  #remove(name, value) {
    this.#actions.change((next) => removeValue(next, name, value));
  }
}

/** @param {Row} row */
function item({ text, change, remove }) {
  /** @type {(label: string, onclick: () => void) => HTMLElement} */
  const button = (label, onclick) =>
    element("button", { type: "button", "aria-label": `${label}: ${text}`, onclick }, label);
  return element(
    "li",
    {},
    element("span", {}, text),
    change ? button("Change", change) : null,
    button("Remove", remove),
  );
}
