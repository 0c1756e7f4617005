// A section of the settings, and the frame that sections and lists have.

import { Field } from "./field.js";
import { element } from "../shared/elements.js";

// Open from the start: what changes from day to day. The rest is set once.
export const DAILY = ["", "page", "sheets"];

/** What is set once folds away; `open` has the keys of what does not. */
export function framed({ key, label }, open, ...children) {
  const frame = element("fieldset", {}, element("legend", {}, label), children);
  if (DAILY.includes(key)) return frame;
  const fold = element("details", { class: "fold", open: open.has(key) });
  fold.append(element("summary", {}, label), frame);
  frame.firstChild.className = "quiet";
  fold.addEventListener("toggle", () => (fold.open ? open.add(key) : open.delete(key)));
  return fold;
}

/** Opens whatever is folded around a node. */
export function unfold(node) {
  for (let at = node.closest("details"); at; at = at.parentElement.closest("details")) {
    at.open = true;
  }
}

export class Section {
  #section;

  constructor(section, open, comma) {
    this.#section = section;
    this.key = section.key;
    this.fields = section.fields.map((field) => new Field(field, field.value, { comma }));
    const nodes = this.fields.map(({ node }) => node);
    this.node = framed(section, open, element("div", { class: "fields" }, nodes));
  }

  /** What is no longer as the file has it, by key. */
  get changes() {
    return Object.fromEntries(
      this.#section.fields
        .map((field, place) => [field.key, field.value, this.fields[place].read()])
        .filter(([, was, is]) => JSON.stringify(was) !== JSON.stringify(is))
        .map(([key, , is]) => [key, is]),
    );
  }
}
