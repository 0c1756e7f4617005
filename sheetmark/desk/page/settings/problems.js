// Problems of the settings: all of them in a summary, and each beside its field.

import { element } from "../shared/elements.js";
import { counted } from "../shared/text.js";
import { unfold } from "./section.js";

/** @import { Found } from "../shared/types.js" */
/** @import { Place } from "./field.js" */

/**
 * The field of a problem: `punch.labels[2]` is shown beside `punch.labels`.
 * @param {string} key
 * @param {Place[]} fields
 */
function fieldOf(key, fields) {
  const whole = key.replace(/\[\d+\]$/, "");
  return [key, whole, whole.replace(/\.[^.]*$/, "")]
    .map((wanted) => fields.find((field) => field.key === wanted))
    .find(Boolean);
}

/**
 * Shows problems in a summary and beside their fields; without problems, clears both.
 * @param {HTMLElement} summary
 * @param {Place[]} fields
 * @param {{ heading: string, lines: string[], found: Found[] }} problems `found` has the keys
 *   of the lines, in the same order
 */
export function showProblems(summary, fields, { heading, lines, found }) {
  for (const field of fields) field.refuse("");
  if (!lines.length) {
    summary.replaceChildren();
    return;
  }
  /** @type {Map<Place, string[]>} */
  const beside = new Map();
  const items = lines.map((line, place) => {
    const problem = found[place];
    const field = problem && fieldOf(problem.key, fields);
    const control = field?.controls[0];
    if (!problem || !field || !control) return element("li", {}, line);
    beside.set(field, [...(beside.get(field) ?? []), problem.text]);
    unfold(control);
    return element("li", {}, linkTo(control, line));
  });
  for (const [field, texts] of beside) field.refuse(texts.join(". "));
  const count = counted(lines.length, "problem");
  summary.replaceChildren(
    element(
      "div",
      {
        class: "problems to-correct",
        tabindex: "-1",
        role: "group",
        "aria-labelledby": "problems-title",
      },
      element("h2", { id: "problems-title" }, `${heading}: ${count}`),
      element("ul", {}, items),
    ),
  );
}

/**
 * @param {HTMLElement} control
 * @param {string} line
 */
function linkTo(control, line) {
  /** @type {(event: Event) => void} */
  const go = (event) => {
    event.preventDefault(); // the address belongs to the views
    unfold(control);
    control.focus();
  };
  return element("a", { href: `#${control.id || "main"}`, onclick: go }, line);
}
