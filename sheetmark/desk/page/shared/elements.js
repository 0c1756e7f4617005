// What every view uses: building elements, asking the server, saying what happened.

const SVG = "http://www.w3.org/2000/svg";

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) {
      node.setAttribute(name, String(value));
    }
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return node;
}

/** An element with attributes (`onclick` and the like are listeners) and children. */
export function element(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

export function svgElement(tag, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

/** What was asked cannot be done: one line for each problem; `found` has the fields they are of. */
export class Problems extends Error {
  constructor(problems, found = []) {
    super(problems.join("\n"));
    this.problems = problems;
    this.found = found;
  }
}

const token = document.querySelector('meta[name="token"]').content;

/** The answer to a request; a body makes it a POST. Throws Problems where there are any. */
export async function ask(path, { body, type = "application/json", signal } = {}) {
  const options = { signal };
  if (body !== undefined) {
    options.method = "POST";
    options.headers = { "X-Sheetmark-Token": token, "Content-Type": type };
    options.body = type === "application/json" ? JSON.stringify(body) : body;
  }
  let answer;
  try {
    answer = await fetch(path, options);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Problems(["The desk does not answer. Is it still open? Start it again, then reload."]);
  }
  if (answer.ok) return answer;
  let problems, found;
  try {
    ({ problems, found } = await answer.json());
  } catch (error) {
    if (error.name === "AbortError") throw error;
    problems = [`The desk failed (${answer.status}). Please report what you did.`];
  }
  throw new Problems(problems, found);
}

export async function fetchJson(path, options) {
  return (await ask(path, options)).json();
}

/** Problems as a list that is read out at once. */
export function problemList(problems) {
  return element(
    "div",
    { class: "problems", role: "alert" },
    element("ul", {}, problems.map((line) => element("li", {}, line))),
  );
}

const live = document.getElementById("live");

/** Words for a screen reader, without moving anything. */
export function announce(words) {
  live.textContent = words;
}

const HOLDS_FOCUS = "a, button, input, select, summary, [tabindex]";

/** Draws a part anew; the focus stays in it, at its place or at the last one that there is. */
export function keepFocus(part, draw) {
  const holders = () => [...part.querySelectorAll(HOLDS_FOCUS)];
  const place = holders().indexOf(document.activeElement);
  draw();
  if (place < 0) return;
  const now = holders();
  const next = now[Math.min(place, now.length - 1)];
  (next ?? document.getElementById("main")).focus();
}

/** A file that the browser saves. */
export function download(blob, name) {
  const address = URL.createObjectURL(blob);
  const link = element("a", { href: address, download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}

/** A control under its label, with words below it where they help. */
export function labelled(words, control, hint) {
  const id = control.id || `c-${words.toLowerCase().replace(/[^a-z0-9]+/g, "-")}`;
  control.id = id;
  const parts = [element("label", { for: id }, words), control];
  if (hint) {
    control.setAttribute("aria-describedby", `${id}-hint`);
    parts.push(element("p", { class: "hint", id: `${id}-hint` }, hint));
  }
  return element("div", { class: "field" }, parts);
}

/** A select of [value, words] pairs. */
export function choice(pairs, value, onchange, attributes = {}) {
  const options = pairs.map(([key, words]) =>
    element("option", { value: key, selected: key === value }, words),
  );
  return element("select", { ...attributes, onchange }, options);
}

/** A table. A row is a list of cells, the first its heading unless said otherwise, or a <tr>. */
export function table(caption, heads, rows, { rowHeads = true } = {}) {
  const line = (cells) =>
    cells.map((cell, at) =>
      rowHeads && at === 0 ? element("th", { scope: "row" }, cell) : element("td", {}, cell),
    );
  const head = (words) => (words ? element("th", { scope: "col" }, words) : element("td"));
  return element(
    "table",
    {},
    element("caption", {}, caption),
    element("thead", {}, element("tr", {}, heads.map(head))),
    element(
      "tbody",
      {},
      rows.map((row) => (Array.isArray(row) ? element("tr", {}, line(row)) : row)),
    ),
  );
}

/** A place to choose a file, or to drop one on; `open` is given it. */
export function filePlace(name, accept, words, hint, open) {
  const file = element("input", {
    type: "file",
    id: `${name}-file`,
    accept,
    "aria-describedby": `${name}-hint`,
    // So that the same file, corrected, can be opened again.
    onclick: () => {
      file.value = "";
    },
    onchange: () => file.files.length && open(file.files[0]),
  });
  const place = element(
    "div",
    { class: "drop" },
    element("label", { for: file.id }, words),
    file,
    element("p", { class: "hint", id: `${name}-hint` }, hint),
  );
  place.addEventListener("dragover", (event) => {
    event.preventDefault();
    place.classList.add("over");
  });
  place.addEventListener("dragleave", () => place.classList.remove("over"));
  place.addEventListener("drop", (event) => {
    event.preventDefault();
    place.classList.remove("over");
    if (event.dataTransfer.files.length) open(event.dataTransfer.files[0]);
  });
  return place;
}
