// Problems of the settings: all of them in a summary, each beside the field that it is of.

import { element } from "../shared/elements.js";
import { unfold } from "./section.js";

/** The field that a problem is of: `punch.labels[2]` is shown beside `punch.labels`. */
function fieldOf(key, fields) {
  const find = (wanted) => fields.find((field) => field.key === wanted);
  const whole = key.replace(/\[\d+\]$/, "");
  return find(key) ?? find(whole) ?? find(whole.replace(/\.[^.]*$/, ""));
}

/** Shows lines in `summary` and beside `fields`; `found` has the keys that they are of. */
export function refuse(summary, fields, { lines, found, heading }) {
  for (const field of fields) field.refuse("");
  if (!lines.length) {
    summary.replaceChildren();
    return;
  }
  const beside = new Map();
  const items = lines.map((line, place) => {
    const field = found[place] && fieldOf(found[place].key, fields);
    if (!field) return element("li", {}, line);
    beside.set(field, [...(beside.get(field) ?? []), found[place].words]);
    return element("li", {}, linkTo(field.controls[0], line));
  });
  for (const [field, said] of beside) {
    field.refuse(said.join(". "));
    unfold(field.controls[0]);
  }
  const count = lines.length === 1 ? "1 problem" : `${lines.length} problems`;
  const titled = { role: "group", "aria-labelledby": "problems-title" };
  summary.replaceChildren(
    element(
      "div",
      { class: "problems to-correct", tabindex: "-1", ...titled },
      element("h2", { id: "problems-title" }, `${heading}: ${count}`),
      element("ul", {}, items),
    ),
  );
}

function linkTo(control, line) {
  const go = (event) => {
    event.preventDefault(); // the address is for the views
    unfold(control);
    control.focus();
  };
  return element("a", { href: `#${control.id || "main"}`, onclick: go }, line);
}
