// Adding the case to today's list.

import { element, problemList } from "../shared/elements.js";
import { announce } from "../shared/page.js";
import { fetchJson, problemsIn } from "../shared/server.js";
import { addToList } from "../day/list.js";
import { fileChoices } from "./address.js";
import { state } from "./state.js";

/** The button and what came of it; `node` is hidden while there is no sheet. */
export class ToList {
  #state = element("div", { role: "status" });

  constructor() {
    const onclick = () => this.#add();
    this.node = element(
      "div",
      { class: "to-list" },
      element("button", { type: "button", onclick }, "Add to today's list"),
      this.#state,
    );
  }

  /** Draws the button for the latest answer. */
  draw() {
    this.node.hidden = !state.answer.sheet;
    this.#state.replaceChildren();
  }

  async #add() {
    try {
      const cells = await fetchJson("/api/case.row", { query: fileChoices() });
      const { name, row } = await addToList(cells);
      const added = `Added to ${name} as row ${row}`;
      const link = element("a", { href: "#/day" }, "Day's list");
      this.#state.replaceChildren(element("p", {}, `${added}: `, link));
      announce(added);
    } catch (error) {
      this.#state.replaceChildren(problemList(problemsIn(error).lines));
    }
  }
}
