// The files of the case, and the command line that makes them.

import { element, folded } from "../shared/elements.js";
import { announce, download } from "../shared/page.js";
import { withProgress } from "../shared/progress.js";
import { nameOf, problemsIn, send } from "../shared/server.js";
import { fileChoices } from "./address.js";
import { state } from "./state.js";

/** @type {Array<[path: string, label: string, needs?: string]>} */
const FILES = [
  ["/api/case.pdf", "PDF"],
  ["/api/case.svg", "SVG"],
  ["/api/case.json", "JSON"],
  ["/api/case.toml", "Case file"],
  ["/api/case.cut.svg", "Stencil, SVG", "stencil"],
  ["/api/case.dxf", "Stencil, DXF", "stencil"],
  ["/api/strain.pdf", "How it is stretched, PDF", "strain"],
];

/**
 * What the files ask of the view.
 * @typedef {object} Actions
 * @property {() => boolean} isReady whether the sheet on screen is the one of the choices
 * @property {(lines: string[]) => void} refuse shows why there is no file
 */

/** The files; `node` is hidden while there is no sheet. */
export class CaseFiles {
  #actions;
  #progress = element("div");
  #command = element("code", { tabindex: 0, "aria-label": "Command line" });
  #copy = element("button", { type: "button", onclick: () => this.#copied() }, "Copy");

  /** @param {Actions} actions */
  constructor(actions) {
    this.#actions = actions;
    const buttons = FILES.map(([path, label, needs = ""]) => {
      const onclick = () => this.#save(label, path);
      const button = element("button", { type: "button", onclick }, label);
      return element("li", { "data-needs": needs }, button);
    });
    this.node = folded(
      "Files and command line",
      element("ul", { class: "files" }, buttons),
      this.#progress,
      element("div", { class: "row" }, this.#command, this.#copy),
    );
  }

  /** Draws the command line of the latest answer. */
  draw() {
    const { sheet } = state.answer;
    this.node.hidden = !sheet;
    this.#command.textContent = sheet?.command ?? "";
    this.#copy.textContent = "Copy";
  }

  /**
   * @param {string} label
   * @param {string} path
   */
  async #save(label, path) {
    if (!this.#actions.isReady() || this.#progress.childElementCount) return;
    try {
      await withProgress(this.#progress, label, async (signal) => {
        const answer = await send(path, { query: fileChoices(), signal });
        download(await answer.blob(), nameOf(answer));
        announce("Saved");
      });
    } catch (error) {
      this.#actions.refuse(problemsIn(error).lines);
    }
  }

  async #copied() {
    await navigator.clipboard.writeText(this.#command.textContent);
    announce("Copied");
    this.#copy.textContent = "Copied";
  }
}
