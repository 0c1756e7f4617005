// A section of the settings, and the frame of sections and lists.

import { element } from "../shared/elements.js";
import { Field } from "./field.js";

/** @import { FormSection } from "../shared/types.js" */
/** @import { Value } from "./values.js" */

/** Keys of what changes from day to day, and so is always open. The rest is set once. */
export const DAILY = ["", "page", "sheets"];

/**
 * The frame of a section or list: folded away, unless it changes from day to day.
 * @param {{ key: string, label: string }} about
 * @param {Set<string>} open keys of the frames that are open; kept up to date
 * @param {...HTMLElement} children
 * @returns {{ node: HTMLElement, title: HTMLElement }} the frame, and what its label stands in
 */
export function framed({ key, label }, open, ...children) {
  const legend = element("legend", {}, label);
  const frame = element("fieldset", {}, legend, children);
  if (DAILY.includes(key)) return { node: frame, title: legend };
  legend.className = "quiet";
  const summary = element("summary", {}, label);
  const fold = element("details", { class: "fold", open: open.has(key) }, summary, frame);
  fold.addEventListener("toggle", () => {
    if (fold.open) open.add(key);
    else open.delete(key);
  });
  return { node: fold, title: summary };
}

/**
 * Opens everything that is folded around a node.
 * @param {Element} node
 */
export function unfold(node) {
  for (let fold = node.closest("details"); fold; ) {
    fold.open = true;
    fold = fold.parentElement?.closest("details") ?? null;
  }
}

/** A section; `node` holds all of it. */
export class Section {
  #section;

  /**
   * @param {FormSection} section
   * @param {Set<string>} open keys of the frames that are open
   * @param {boolean} comma whether numbers are written with a comma
   */
  constructor(section, open, comma) {
    this.#section = section;
    this.key = section.key;
    this.fields = section.fields.map((field) => new Field(field, field.value, { comma }));
    const nodes = this.fields.map(({ node }) => node);
    this.node = framed(section, open, element("div", { class: "fields" }, nodes)).node;
  }

  /**
   * Values that differ from the file, by key.
   * @returns {Record<string, Value>}
   */
  get changes() {
    /** @type {Record<string, Value>} */
    const changes = {};
    this.#section.fields.forEach(({ key, value }, place) => {
      const now = this.fields[place]?.read() ?? null;
      if (JSON.stringify(value) !== JSON.stringify(now)) changes[key] = now;
    });
    return changes;
  }
}
