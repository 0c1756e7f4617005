// Building blocks of every view: elements, labelled controls, tables, lists.

/** @import { FindingShown } from "./types.js" */

/**
 * What an element may hold; null and undefined are left out.
 * @typedef {Node | string | null | undefined | Child[]} Child
 */

/**
 * Attributes of an element. `onclick` and the like are listeners, true is an empty attribute;
 * false, null and undefined are left out.
 * @typedef {{
 *   [Name in keyof GlobalEventHandlersEventMap as `on${Name}`]?:
 *     (event: GlobalEventHandlersEventMap[Name]) => unknown
 * } & { [name: string]: unknown }} Attributes
 */

const SVG = "http://www.w3.org/2000/svg";

/**
 * @template {Element} Node
 * @param {Node} node
 * @param {Attributes} attributes
 * @param {Child[]} children
 */
function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") {
      node.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    } else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) {
      node.setAttribute(name, String(value));
    }
  }
  append(node, children);
  return node;
}

/**
 * @param {Element} node
 * @param {Child[]} children
 */
function append(node, children) {
  for (const child of children) {
    if (Array.isArray(child)) append(node, child);
    else if (child !== null && child !== undefined) node.append(child);
  }
}

/**
 * An HTML element.
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {Attributes} [attributes]
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[Tag]}
 */
export function element(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

/**
 * An SVG element.
 * @template {keyof SVGElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {Attributes} [attributes]
 * @param {...Child} children
 * @returns {SVGElementTagNameMap[Tag]}
 */
export function svgElement(tag, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

/**
 * A picture that the desk drew.
 * @param {string} name its class
 * @param {string} text its SVG
 * @param {string} description for who does not see it
 * @returns {Element}
 */
export function svgPicture(name, text, description) {
  const { documentElement } = new DOMParser().parseFromString(text, "image/svg+xml");
  const svg = document.importNode(documentElement, true);
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", description);
  svg.classList.add(name);
  return svg;
}

/**
 * A control under its label, with a hint below it where there is one.
 * @param {string} label
 * @param {HTMLElement} control
 * @param {string} [hint]
 * @param {HTMLElement} [help] a button that explains the label
 * @returns {HTMLElement}
 */
export function labelled(label, control, hint, help) {
  const id = control.id || `c-${label.toLowerCase().replace(/[^a-z0-9]+/g, "-")}`;
  control.id = id;
  if (hint) control.setAttribute("aria-describedby", `${id}-hint`);
  return element(
    "div",
    { class: "field" },
    help
      ? element("div", { class: "term" }, element("label", { for: id }, label), help)
      : element("label", { for: id }, label),
    control,
    hint ? element("p", { class: "hint", id: `${id}-hint` }, hint) : null,
  );
}

/**
 * A tick box or radio button with its label behind it.
 * @param {HTMLInputElement} input
 * @param {string} label
 * @returns {HTMLLabelElement}
 */
export function ticked(input, label) {
  return element("label", {}, input, ` ${label}`);
}

/**
 * Radio buttons of [value, label] pairs.
 * @param {string} name
 * @param {Iterable<[string, string]>} pairs
 * @param {string} value the one that is checked
 * @param {(value: string) => void} [change]
 * @returns {HTMLLabelElement[]}
 */
export function radios(name, pairs, value, change) {
  return [...pairs].map(([key, label]) => {
    const onchange = change && (() => change(key));
    const attributes = { type: "radio", name, value: key, checked: key === value, onchange };
    return ticked(element("input", attributes), label);
  });
}

/**
 * A select of [value, label] pairs.
 * @param {Iterable<[string, string]>} pairs
 * @param {string | null} value the one that is selected
 * @param {(value: string) => void} [change]
 * @param {Attributes} [attributes]
 * @returns {HTMLSelectElement}
 */
export function choice(pairs, value, change, attributes = {}) {
  const options = [...pairs].map(([key, label]) =>
    element("option", { value: key, selected: key === value }, label),
  );
  const select = element("select", attributes, options);
  if (change) select.addEventListener("change", () => change(select.value));
  return select;
}

/**
 * Fields that belong together, under their legend.
 * @param {string} legend
 * @param {...Child} children
 * @returns {HTMLFieldSetElement}
 */
export function group(legend, ...children) {
  return element("fieldset", {}, element("legend", {}, legend), children);
}

/**
 * Content that is folded away under a summary.
 * @param {Child} summary
 * @param {...Child} children
 * @returns {HTMLDetailsElement}
 */
export function folded(summary, ...children) {
  return element("details", {}, element("summary", {}, summary), children);
}

/**
 * A table. A row is a list of cells, the first its heading, or a <tr> as it is.
 * @param {string} caption
 * @param {string[]} heads column headings, empty for a column without one
 * @param {Array<Child[] | HTMLTableRowElement>} rows
 * @param {{ rowHeads?: boolean }} [options] `rowHeads` false: the first cell is no heading
 * @returns {HTMLTableElement}
 */
export function table(caption, heads, rows, { rowHeads = true } = {}) {
  /** @type {(cells: Child[]) => HTMLElement[]} */
  const line = (cells) =>
    cells.map((cell, column) =>
      rowHeads && column === 0 ? element("th", { scope: "row" }, cell) : element("td", {}, cell),
    );
  const headCells = heads.map((head) =>
    head ? element("th", { scope: "col" }, head) : element("td"),
  );
  return element(
    "table",
    {},
    element("caption", {}, caption),
    element("thead", {}, element("tr", {}, headCells)),
    element(
      "tbody",
      {},
      rows.map((row) => (Array.isArray(row) ? element("tr", {}, line(row)) : row)),
    ),
  );
}

/**
 * Problems as a list that a screen reader reads out at once.
 * @param {string[]} lines
 * @returns {HTMLElement}
 */
export function problemList(lines) {
  return element(
    "div",
    { class: "problems", role: "alert" },
    element("ul", {}, lines.map((line) => element("li", {}, line))),
  );
}

/**
 * Findings as a list, where there are any.
 * @param {FindingShown[]} findings
 * @returns {HTMLElement[]} the list, or nothing
 */
export function findingList(findings) {
  if (!findings.length) return [];
  const items = findings.map(({ severity, text }) =>
    element("li", { class: severity }, severity === "warning" ? `Warning: ${text}` : text),
  );
  return [element("ul", { class: "findings", "aria-label": "Findings" }, items)];
}

/**
 * A place to choose a file or to drop one on.
 * @param {string} name
 * @param {string} accept
 * @param {string} label
 * @param {string} hint
 * @param {(file: File) => void} open takes the file
 * @returns {HTMLElement}
 */
export function filePlace(name, accept, label, hint, open) {
  /** @type {(files: FileList | null | undefined) => void} */
  const openFirst = (files) => {
    if (files?.[0]) open(files[0]);
  };
  const input = element("input", {
    type: "file",
    id: `${name}-file`,
    accept,
    "aria-describedby": `${name}-hint`,
    // So that the same file, corrected, can be opened again.
    onclick: () => {
      input.value = "";
    },
    onchange: () => {
      openFirst(input.files);
    },
  });
  const place = element(
    "div",
    {
      class: "drop",
      ondragover: (event) => {
        event.preventDefault();
        place.classList.add("over");
      },
      ondragleave: () => {
        place.classList.remove("over");
      },
      ondrop: (event) => {
        event.preventDefault();
        place.classList.remove("over");
        openFirst(event.dataTransfer?.files);
      },
    },
    element("label", { for: input.id }, label),
    input,
    element("p", { class: "hint", id: `${name}-hint` }, hint),
  );
  return place;
}
