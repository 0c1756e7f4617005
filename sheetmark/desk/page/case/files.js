// The files of the case, and the command line that makes them.

import { element, folded } from "../shared/elements.js";
import { announce, download } from "../shared/page.js";
import { nameOf, problemsIn, send } from "../shared/server.js";
import { fileChoices } from "./address.js";
import { state } from "./state.js";

/** @type {Array<[form: string, label: string]>} */
const FORMS = [
  ["pdf", "PDF"],
  ["svg", "SVG"],
  ["json", "JSON"],
  ["toml", "Case file"],
  ["cut.svg", "Stencil, SVG"],
  ["dxf", "Stencil, DXF"],
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
  #command = element("code", { tabindex: 0, "aria-label": "Command line" });
  #copy = element("button", { type: "button", onclick: () => this.#copied() }, "Copy");

  /** @param {Actions} actions */
  constructor(actions) {
    this.#actions = actions;
    const buttons = FORMS.map(([form, label]) => {
      const onclick = () => this.#save(form);
      return element("li", {}, element("button", { type: "button", onclick }, label));
    });
    this.node = folded(
      "Files and command line",
      element("ul", { class: "files" }, buttons),
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

  /** @param {string} form */
  async #save(form) {
    if (!this.#actions.isReady()) return;
    try {
      const answer = await send(`/api/case.${form}`, { query: fileChoices() });
      download(await answer.blob(), nameOf(answer));
      announce("Saved");
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
