// The sheet of the case: print it, look at it, its holes, clamps and findings.

import {
  element, findingList, group, problemList, radios, svgPicture, table,
} from "../shared/elements.js";
import { helpButton } from "../shared/help.js";
import { announce, keepFocus } from "../shared/page.js";
import { counted, NO_CLAMP } from "../shared/text.js";
import { choices } from "./address.js";
import { labelOf, state } from "./state.js";

/** @import { Sheet, Suggestion } from "../shared/types.js" */
/** @import { PrintRow } from "./printing.js" */

const SIGNS = "□ takes the clamp, ◇ to treat, ○ comes through. Dots: to the nose.";
const WHY_MOVED =
  "Dashed: the sheet placed otherwise. Its middle goes towards the teeth, so that it reaches " +
  "the frame on their side, as far as the rules for upper lip, nostrils and edges let it.";

/**
 * What the sheet asks of the view.
 * @typedef {object} Actions
 * @property {(name: string, value: string) => void} put takes a changed choice, "" for its default
 * @property {(name: string, value: string) => void} take takes over a suggestion
 * @property {() => void} cancel the answer is no longer wanted
 */

/** The sheet: `panel` to print and look at, `findings` to know, other `facts` about it. */
export class SheetView {
  #print;
  #actions;
  #title = element("h2", { id: "sheet-title" });
  #body = element("div");

  /**
   * @param {PrintRow} print
   * @param {Actions} actions
   */
  constructor(print, actions) {
    this.#print = print;
    this.#actions = actions;
    this.panel = element(
      "section",
      { class: "sheet", "aria-labelledby": "sheet-title" },
      this.#title,
      print.node,
      element(
        "div",
        { class: "busy row" },
        element("span", {}, "Computing, a few seconds …"),
        element("button", { type: "button", onclick: () => actions.cancel() }, "Cancel"),
      ),
      this.#body,
    );
    this.findings = element("div");
    this.facts = element("div");
  }

  /** Draws the sheet of the latest answer, or its problems. */
  draw() {
    const { sheet } = state.answer;
    this.#title.textContent = sheet?.title ?? "Sheet";
    this.#print.node.hidden = !sheet;
    this.#print.draw();
    keepFocus(this.#body, () =>
      this.#body.replaceChildren(...(sheet ? this.#bodyOf(sheet) : withoutSheet())),
    );
    this.findings.replaceChildren(
      ...state.answer.suggestions.map((suggestion) => this.#suggestion(suggestion)),
      ...findingList(sheet?.findings ?? []),
    );
    keepFocus(this.facts, () => this.facts.replaceChildren(...(sheet ? factsOf(sheet) : [])));
    if (sheet) announce(spoken(sheet));
  }

  /** @param {Suggestion} suggestion */
  #suggestion({ text, name, value }) {
    const onclick = () => this.#actions.take(name, value);
    return element(
      "p",
      { class: "suggestion" },
      `${text} `,
      element("button", { type: "button", onclick }, "Use it"),
    );
  }

  /**
   * Shows why the sheet cannot be printed.
   * @param {string[]} lines
   */
  refuse(lines) {
    this.#body.prepend(problemList(lines));
  }

  /** @param {Sheet} sheet */
  #bodyOf(sheet) {
    const view = choices().get("view") ?? "sheet";
    const teeth = sheet.isolated.map(labelOf).join(", ");
    const description = `${holesOf(sheet)}: ${teeth}. Middle: ${sheet.middle}.`;
    return [
      this.#viewSwitch(view),
      svgPicture("picture", sheet.svg, description),
      element("p", { class: "hint" }, SIGNS, view === "arch" ? ` ${WHY_MOVED}` : null),
    ];
  }

  /** @param {string} view */
  #viewSwitch(view) {
    /** @type {Array<[string, string]>} */
    const views = [["sheet", "on its own"], ["arch", "on the arch"]];
    const change = (/** @type {string} */ value) =>
      this.#actions.put("view", value === "sheet" ? "" : value);
    const fields = group("Show the sheet", radios("view", views, view, change));
    fields.className = "switch";
    fields.firstElementChild?.classList.add("quiet");
    return fields;
  }
}

function withoutSheet() {
  const { problems } = state.answer;
  return [
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
    termed(holeTable(sheet), "punch-hole", "Punch hole"),
    termed(clampTable(sheet), "clamp", "Clamps"),
    element("p", {}, place, helpButton("shift", "Middle of the sheet")),
  ];
}

/**
 * @param {HTMLTableElement} node
 * @param {string} term
 * @param {string} title
 */
function termed(node, term, title) {
  node.caption?.append(helpButton(term, title));
  return node;
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
