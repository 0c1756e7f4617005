// The sheet of the case: print it, look at it, its holes, clamps, findings and files.

import {
  element, findingList, folded, group, problemList, radios, svgPicture, table,
} from "../shared/elements.js";
import { announce, keepFocus } from "../shared/page.js";
import { counted, NO_CLAMP } from "../shared/text.js";
import { choices } from "./address.js";
import { labelOf, state } from "./state.js";

/** @import { Sheet } from "../shared/types.js" */

const SIGNS = "□ takes the clamp, ◇ to treat, ○ comes through. Dots: upper edge, to the nose.";
const WHY_MOVED =
  "Dashed: the sheet placed otherwise. Its middle goes towards the teeth, so that it reaches " +
  "the frame on their side; the upper lip stays covered, the nostrils free.";

/** The sheet: `panel` to print and look at, `findings` to know, other `facts` about it. */
export class SheetView {
  #printer;
  #put;

  /**
   * @param {string} printer the printer in use, in words, or empty
   * @param {(name: string, value: string) => void} put takes a changed choice, "" for its default
   */
  constructor(printer, put) {
    this.#printer = printer;
    this.#put = put;
    this.panel = element("section", { class: "sheet", "aria-labelledby": "sheet-title" });
    this.findings = element("div");
    this.facts = element("div");
  }

  /** Draws the sheet of the latest answer, or its problems. */
  draw() {
    const { sheet } = state.answer;
    keepFocus(this.panel, () =>
      this.panel.replaceChildren(...(sheet ? this.#panelOf(sheet) : withoutSheet())),
    );
    this.findings.replaceChildren(...findingList(sheet?.findings ?? []));
    this.facts.replaceChildren(...(sheet ? factsOf(sheet) : []));
    if (sheet) announce(spoken(sheet));
  }

  /** @param {Sheet} sheet */
  #panelOf(sheet) {
    const view = choices().get("view") ?? "sheet";
    const teeth = sheet.isolated.map(labelOf).join(", ");
    const description = `${holesOf(sheet)}: ${teeth}. Middle: ${sheet.middle}.`;
    return [
      title(sheet.title),
      this.#printRow(),
      this.#viewSwitch(view),
      element("p", { class: "busy" }, "Computing, a few seconds …"),
      svgPicture("picture", sheet.svg, description),
      element("p", { class: "hint" }, SIGNS, view === "arch" ? ` ${WHY_MOVED}` : null),
    ];
  }

  #printRow() {
    const opened = { href: fileAddress("pdf"), target: "_blank", rel: "noopener" };
    return element(
      "div",
      { class: "row print" },
      element("a", { class: "main-action", ...opened }, "Print"),
      element(
        "p",
        {},
        element("strong", {}, "Choose 100 %"),
        " (actual size). Measure both 100 mm bars.",
      ),
      this.#printer ? element("p", {}, `${this.#printer}.`) : null,
    );
  }

  /** @param {string} view */
  #viewSwitch(view) {
    /** @type {Array<[string, string]>} */
    const views = [["sheet", "on its own"], ["arch", "on the arch"]];
    const change = (/** @type {string} */ value) =>
      this.#put("view", value === "sheet" ? "" : value);
    const fields = group("Show the sheet", radios("view", views, view, change));
    fields.className = "switch";
    fields.firstElementChild?.classList.add("quiet");
    return fields;
  }
}

/** @param {string} text */
const title = (text) => element("h2", { id: "sheet-title" }, text);

function withoutSheet() {
  const { problems } = state.answer;
  return [
    title("Sheet"),
    problems.length
      ? problemList(problems)
      : element("p", { class: "empty" }, "No tooth chosen yet."),
  ];
}

/** @param {Sheet} sheet */
const holesOf = (sheet) => counted(sheet.isolated.length, "hole");

/**
 * What a screen reader says about a new sheet.
 * @param {Sheet} sheet
 */
function spoken(sheet) {
  const clamps = sheet.clamps.map(({ tooth, clamp }) => `${tooth} ${clamp || NO_CLAMP}`);
  const findings = sheet.findings.map(({ text }) => text);
  const facts = `${sheet.title}. ${holesOf(sheet)}. Clamp: ${clamps.join("; ")}.`;
  return [facts, ...findings].join(" ");
}

/** @param {Sheet} sheet */
function factsOf(sheet) {
  const place = `Sheet ${sheet.sheet}. Its middle, from the middle of the mouth: ${sheet.middle}.`;
  return [
    holeTable(sheet),
    clampTable(sheet),
    element("p", {}, place),
    files(sheet),
  ];
}

/** @param {Sheet} sheet */
function holeTable({ holes }) {
  return table(
    "Punch in this order",
    ["Punch hole", "mm", "Teeth"],
    holes.map(({ position, diameter, teeth }) => [position, diameter, teeth.join(", ")]),
  );
}

/** @param {Sheet} sheet */
function clampTable({ clamps }) {
  return table(
    "Clamps",
    ["Anchor", "Clamp"],
    clamps.map(({ tooth, clamp, reason, next_best: next }) => [
      tooth,
      [
        element("strong", {}, clamp || NO_CLAMP),
        reason ? element("div", {}, reason) : null,
        next ? element("div", {}, `Next best: ${next}`) : null,
      ],
    ]),
  );
}

/**
 * The choices without `view`, which no file depends on.
 * @param {string} form
 */
function fileAddress(form) {
  const now = choices();
  now.delete("view");
  return `/api/case.${form}?${now}`;
}

/** @param {Sheet} sheet */
function files({ command }) {
  /** @type {(form: string, label: string) => HTMLElement} */
  const link = (form, label) =>
    element("li", {}, element("a", { href: fileAddress(form), download: "" }, label));
  const code = element("code", { tabindex: 0, "aria-label": "Command line" }, command);
  return folded(
    "Files and command line",
    element(
      "ul",
      { class: "files" },
      link("pdf", "PDF"),
      link("svg", "SVG"),
      link("json", "JSON"),
      link("toml", "Case file"),
    ),
    element("div", { class: "row" }, code, copyButton(command)),
  );
}

/** @param {string} text */
function copyButton(text) {
  const copy = async () => {
    await navigator.clipboard.writeText(text);
    announce("Copied");
    button.textContent = "Copied";
  };
  const button = element("button", { type: "button", onclick: copy }, "Copy");
  return button;
}
