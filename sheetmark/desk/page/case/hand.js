// The teeth in hand: what a press on a tooth does, and each tooth's number, system and name.

import { element, radios } from "../shared/elements.js";
import { keepFocus } from "../shared/page.js";
import { choices } from "./address.js";
import { state, toothOf } from "./state.js";

/** @import { ChartTooth } from "../shared/types.js" */

/** @type {Record<string, string>} */
export const SYSTEMS = { iso: "ISO 3950", universal: "Universal", palmer: "Palmer" };
/** @type {Array<["treat" | "describe", string]>} */
const PRESSING = [["treat", "treats it"], ["describe", "describes it"]];

/** The switch (`pressing`) above the chart and the teeth (`node`) below it. */
export class Hand {
  #describe;

  /** @param {(iso: string) => void} describe the menu of a tooth is wanted */
  constructor(describe) {
    this.#describe = describe;
    this.pressing = element(
      "div",
      { class: "switch", role: "radiogroup", "aria-labelledby": "pressing" },
      element("span", { id: "pressing" }, "A press on a tooth"),
      radios("pressing", PRESSING, state.pressing, (value) => {
        state.pressing = value === "describe" ? "describe" : "treat";
        this.draw();
      }),
    );
    this.node = element("div", { class: "hand" });
  }

  /** Draws the teeth in hand: those to treat, and the one that was pressed last. */
  draw() {
    const isos = new Set(choices().getAll("treat"));
    if (state.current) isos.add(state.current);
    const teeth = [...isos].map(toothOf).filter((tooth) => tooth !== undefined);
    const empty =
      state.pressing === "treat"
        ? "Choose the teeth to treat: press them on the chart, or type their numbers there."
        : "Choose the tooth to describe.";
    keepFocus(this.node, () =>
      this.node.replaceChildren(
        teeth.length
          ? element("ul", {}, teeth.map((tooth) => this.#row(tooth)))
          : element("p", { role: "status" }, empty),
      ),
    );
  }

  /** @param {ChartTooth} tooth */
  #row({ tooth: iso, label, name }) {
    const system = SYSTEMS[state.answer.notation] ?? "";
    const onclick = () => this.#describe(iso);
    return element(
      "li",
      {},
      element("p", {}, element("strong", {}, label), ` (${system}) ${name}`),
      element("button", { type: "button", onclick }, `Describe ${label} …`),
    );
  }
}
