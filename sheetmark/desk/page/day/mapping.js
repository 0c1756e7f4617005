// Which heading of a list is which column, and what its words mean: taught once, kept for all.

import { choice, element, folded, problemList, table } from "../shared/elements.js";
import { announce } from "../shared/page.js";
import { fetchJson, problemsIn } from "../shared/server.js";

/** @import { Taught } from "../shared/types.js" */
/** @import { List } from "./list.js" */

const LEAVE = "";

/**
 * The columns of the open list, folded away; `again` reads the list once they are kept.
 * @param {List} list
 * @param {boolean} open whether it stands open, since the list cannot be read without it
 * @param {() => void} again
 * @returns {HTMLElement}
 */
export function mappingPart(list, open, again) {
  const place = element("div");
  const part = folded("Columns and words of this list", place);
  const fill = async () => {
    if (place.childElementCount) return;
    try {
      place.replaceChildren(await form(list, again));
    } catch (error) {
      place.replaceChildren(problemList(problemsIn(error).lines));
    }
  };
  part.addEventListener("toggle", () => {
    if (part.open) fill();
  });
  part.open = open;
  return part;
}

/**
 * @param {List} list
 * @param {() => void} again
 */
async function form({ name, content }, again) {
  const read = await fetchJson("/api/day/headings", {
    query: new URLSearchParams({ name }),
    body: content,
  });
  /** @type {Map<string, string>} */
  const columns = new Map();
  /** @type {Map<string, string>} */
  const procedures = new Map();
  const problems = element("div");
  const headings = read.headings.map(({ heading, column }) => [
    heading,
    choice(
      read.columns.map((known) => [known, known]),
      column,
      (value) => columns.set(heading, value),
      { "aria-label": `Read ${heading} as` },
    ),
  ]);
  const meanings = read.unknown.map((word) => [
    word,
    choice(
      [LEAVE, ...read.meanings].map((known) => [known, known || "not known"]),
      LEAVE,
      (value) => procedures.set(word, value),
      { "aria-label": `${word} means` },
    ),
  ]);
  const save = async () => {
    const body = {
      headings: [...columns].map(([heading, column]) => ({ heading, column })),
      procedures: [...procedures]
        .filter(([, means]) => means)
        .map(([word, means]) => ({ word, means })),
    };
    try {
      const { file } = await fetchJson("/api/day/teach", { body: /** @type {Taught} */ (body) });
      announce(`Kept in ${file}`);
      again();
    } catch (error) {
      problems.replaceChildren(problemList(problemsIn(error).lines));
    }
  };
  return element(
    "div",
    {},
    element("p", { class: "hint" }, "A column that is ignored is not read: names stay out."),
    table("Columns", ["Heading", "Read as"], headings),
    ...(meanings.length ? [table("Words that are not known", ["Word", "Means"], meanings)] : []),
    element("button", { type: "button", onclick: save }, "Keep for all lists"),
    problems,
  );
}
