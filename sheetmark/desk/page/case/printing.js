// The row that prints the case: what of it, how often, and the way back where no dialog comes.

import { choice, element, labelled } from "../shared/elements.js";
import { helpButton } from "../shared/help.js";
import { announce } from "../shared/page.js";
import { makePdf, printOrSay } from "../shared/pdf.js";
import { printsPdf } from "../shared/printing.js";
import { recall, remember } from "../shared/remembered.js";
import { send } from "../shared/server.js";
import { fileChoices } from "./address.js";

/** @typedef {"both" | "overlay" | "card"} Part */
/** @typedef {{ part: Part, copies: number }} Pages which pages, and how often */

/** @type {Array<[Part, string]>} */
const PARTS = [["both", "Overlay and card"], ["overlay", "Overlay"], ["card", "Card"]];
const KEPT = "print";
const PATH = "/api/case.print";
const ELSEWHERE = "The PDF opens in a tab of its own, or is saved: print it there.";

/**
 * What the row asks of the view.
 * @typedef {object} Actions
 * @property {() => boolean} isReady whether the sheet on screen is the one of the choices
 * @property {(pages: Pages) => void} printed a print dialog was opened
 */

/** The row; `node` stays while sheets come and go. */
export class PrintRow {
  #actions;
  #most;
  #printer;
  /** @type {Pages} */
  #pages = { part: "both", copies: 1 };
  #part;
  #copies;
  #open = element("a", { class: "open-pdf", target: "_blank", rel: "noopener" }, "Open the PDF");
  #state = element("div", { class: "print-state", role: "status" });

  /**
   * @param {string} printer the printer in use, in words, or empty
   * @param {number} most copies at once
   * @param {Actions} actions
   */
  constructor(printer, most, actions) {
    this.#actions = actions;
    this.#printer = printer;
    this.#most = most;
    this.#recall();
    this.#part = this.#partChoice();
    this.#copies = this.#count();
    const onclick = () => this.#print();
    this.node = element(
      "div",
      { class: "print" },
      element(
        "div",
        { class: "row print-bar" },
        element("button", { type: "button", class: "main-action", onclick }, "Print"),
        labelled("Pages", this.#part),
        labelled("Copies", this.#copies),
      ),
      element(
        "p",
        {},
        element("strong", {}, "Choose 100 %"),
        helpButton("actual-size", "100 %"),
        " (actual size). Measure both 100 mm bars. ",
        this.#printer ? `${this.#printer}. ` : null,
        "No print dialog? ",
        this.#open,
        " and print it.",
      ),
      this.#state,
    );
  }

  /** Takes over the choices: the link leads to what would be printed. */
  draw() {
    this.#state.replaceChildren();
    this.#open.href = `${PATH}?${this.#query()}`;
  }

  /**
   * Prints the case with these pages, which the row then shows.
   * @param {Pages} pages
   */
  async printAgain(pages) {
    if (!PARTS.some(([part]) => part === pages.part) || !this.#may(pages.copies)) return;
    this.#pages = { part: pages.part, copies: pages.copies };
    this.#part.value = pages.part;
    this.#copies.value = String(pages.copies);
    this.#copies.removeAttribute("aria-invalid");
    this.draw();
    await this.#print();
  }

  #recall() {
    const kept = recall("habits", KEPT);
    if (typeof kept !== "object" || kept === null) return;
    const { part, copies } = /** @type {{ part?: unknown, copies?: unknown }} */ (kept);
    this.#pages.part = PARTS.find(([known]) => known === part)?.[0] ?? "both";
    if (this.#may(copies)) this.#pages.copies = Number(copies);
  }

  #partChoice() {
    return choice(PARTS, this.#pages.part, (part) => {
      this.#pages.part = /** @type {Part} */ (part);
      this.#keep();
    });
  }

  /** @param {unknown} copies */
  #may(copies) {
    return Number.isInteger(copies) && Number(copies) >= 1 && Number(copies) <= this.#most;
  }

  #count() {
    const limits = { inputmode: "numeric", min: 1, max: this.#most, step: 1, required: true };
    const input = element("input", {
      type: "number",
      ...limits,
      value: this.#pages.copies,
      onchange: () => {
        this.#pages.copies = input.valueAsNumber;
        const may = this.#may(this.#pages.copies);
        if (may) input.removeAttribute("aria-invalid");
        else input.setAttribute("aria-invalid", "true");
        if (may) this.#keep();
        else this.#tell(this.#refusal());
      },
    });
    return input;
  }

  #keep() {
    remember("habits", KEPT, this.#pages);
    this.draw();
  }

  #query() {
    const query = fileChoices();
    query.set("part", this.#pages.part);
    query.set("copies", String(this.#pages.copies));
    return query;
  }

  #refusal() {
    return `Copies: a whole number of 1 to ${this.#most}.`;
  }

  async #print() {
    if (!this.#actions.isReady()) return;
    const pages = { ...this.#pages };
    if (!this.#may(pages.copies)) {
      this.#tell(this.#refusal());
      return;
    }
    if (!printsPdf()) {
      this.#open.click();
      this.#actions.printed(pages);
      this.#tell(ELSEWHERE);
      return;
    }
    const query = this.#query();
    const ask = (/** @type {AbortSignal} */ signal) => send(PATH, { query, signal });
    await makePdf(this.#state, "Making the PDF", ask, async (pdf) => {
      if (this.#query().toString() !== query.toString()) {
        this.#tell("The case has changed meanwhile: press Print again.");
        return;
      }
      const opened = await printOrSay(pdf, this.#state, "open the PDF");
      this.#actions.printed(pages);
      if (!opened) this.#open.focus();
    });
  }

  /** @param {string} text */
  #tell(text) {
    this.#state.textContent = text;
    announce(text);
  }
}
