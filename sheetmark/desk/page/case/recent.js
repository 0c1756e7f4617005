// The cases printed in this tab, to be printed again as they were. They go when the tab is closed.

import { element } from "../shared/elements.js";
import { recall, remember } from "../shared/remembered.js";

/** @import { Pages } from "./printing.js" */
/**
 * A case that was printed, and which of its pages.
 * @typedef {{ title: string, address: string } & Pages} Recent `address` is `#/case?…`
 */

const KEPT = "recent";
const MOST = 8; // as many as stand on a screen (assumption)

/** The list; `node` is empty while nothing was printed. */
export class RecentCases {
  #again;

  /** @param {(recent: Recent) => void} again opens the case and prints it */
  constructor(again) {
    this.#again = again;
    this.node = element("div", { class: "recent" });
    this.#draw(kept());
  }

  /**
   * Puts the case in the address first.
   * @param {string} title
   * @param {Pages} pages
   */
  add(title, { part, copies }) {
    const address = location.hash;
    const others = kept().filter((recent) => recent.address !== address);
    const now = [{ title, address, part, copies }, ...others].slice(0, MOST);
    remember("session", KEPT, now);
    this.#draw(now);
  }

  /** @param {Recent[]} recent */
  #draw(recent) {
    const items = recent.map((about) => {
      const { title, address } = about;
      const onclick = () => this.#again(about);
      return element(
        "li",
        {},
        element("a", { href: address, "aria-label": `Open: ${title}` }, title),
        element("button", { type: "button", "aria-label": `Again: ${title}`, onclick }, "Again"),
      );
    });
    const parts = [element("h2", {}, "Print again"), element("ul", {}, items)];
    const focused = this.node.contains(document.activeElement);
    this.node.replaceChildren(...(items.length ? parts : []));
    // What is printed again moves to the top, and the focus with it.
    if (focused) this.node.querySelector("button")?.focus();
  }
}

/** @returns {Recent[]} */
function kept() {
  const found = recall("session", KEPT);
  return Array.isArray(found) ? found.filter(isRecent) : [];
}

/**
 * @param {unknown} value
 * @returns {value is Recent}
 */
function isRecent(value) {
  const { title, address, part, copies } = /** @type {{ [name: string]: unknown }} */ (value ?? {});
  const pages = typeof part === "string" && typeof copies === "number";
  const place = typeof address === "string" && address.startsWith("#/case?");
  return pages && place && typeof title === "string";
}
