// The row that prints the case: what of it, how often, and the way back where no dialog comes.

import { choice, element, labelled } from "../shared/elements.js";
import { helpButton } from "../shared/help.js";
import { announce } from "../shared/page.js";
import { printPdf, printsPdf } from "../shared/printing.js";
import { recall, remember } from "../shared/remembered.js";
import { problemsIn, send } from "../shared/server.js";
import { fileChoices } from "./address.js";

/** @typedef {"both" | "overlay" | "card"} Part */

/** @type {Array<[Part, string]>} */
const PARTS = [["both", "Overlay and card"], ["overlay", "Overlay"], ["card", "Card"]];
const KEPT = "print";

/**
 * What the row asks of the view.
 * @typedef {object} Actions
 * @property {() => boolean} isReady whether the sheet on screen is the one of the choices
 * @property {() => void} printed a print dialog was opened
 * @property {(lines: string[]) => void} refuse shows why there is nothing to print
 */

/** The row; `node` stays while sheets come and go. */
export class PrintRow {
  #actions;
  #most;
  #printer;
  /** @type {Part} */
  #part = "both";
  #copies = 1;
  #open = element("a", { class: "open-pdf", target: "_blank", rel: "noopener" }, "Open the PDF");
  #state = element("p", { class: "print-state", role: "status" });

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
    this.node = element(
      "div",
      { class: "print" },
      element("div", { class: "row print-bar" }, this.#button(), this.#partChoice(), this.#count()),
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
    this.#state.textContent = "";
    this.#open.href = `/api/case.print?${this.#query()}`;
  }

  #recall() {
    const kept = recall("habits", KEPT);
    if (typeof kept !== "object" || kept === null) return;
    const { part, copies } = /** @type {{ part?: unknown, copies?: unknown }} */ (kept);
    this.#part = PARTS.find(([known]) => known === part)?.[0] ?? "both";
    if (this.#may(copies)) this.#copies = Number(copies);
  }

  #button() {
    const onclick = () => this.#print();
    return element("button", { type: "button", class: "main-action", onclick }, "Print");
  }

  #partChoice() {
    const change = (/** @type {string} */ part) => {
      this.#part = /** @type {Part} */ (part);
      this.#keep();
    };
    return labelled("Pages", choice(PARTS, this.#part, change));
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
      value: this.#copies,
      onchange: () => {
        this.#copies = input.valueAsNumber;
        const may = this.#may(this.#copies);
        if (may) input.removeAttribute("aria-invalid");
        else input.setAttribute("aria-invalid", "true");
        if (may) this.#keep();
        else this.#tell(this.#refusal());
      },
    });
    return labelled("Copies", input);
  }

  #keep() {
    remember("habits", KEPT, { part: this.#part, copies: this.#copies });
    this.draw();
  }

  #query() {
    const query = fileChoices();
    query.set("part", this.#part);
    query.set("copies", String(this.#copies));
    return query;
  }

  #refusal() {
    return `Copies: a whole number of 1 to ${this.#most}.`;
  }

  async #print() {
    if (!this.#actions.isReady()) return;
    if (!this.#may(this.#copies)) {
      this.#tell(this.#refusal());
      return;
    }
    if (!printsPdf()) {
      this.#open.click();
      this.#actions.printed();
      return;
    }
    this.#tell("Opening the print dialog …");
    try {
      const answer = await send("/api/case.print", { query: this.#query() });
      const opened = await printPdf(await answer.blob());
      this.#actions.printed();
      this.#tell(opened ? "" : "This browser opens no print dialog: open the PDF and print it.");
      if (!opened) this.#open.focus();
    } catch (error) {
      this.#tell("");
      this.#actions.refuse(problemsIn(error).lines);
    }
  }

  /** @param {string} text */
  #tell(text) {
    this.#state.textContent = text;
    if (text) announce(text);
  }
}
