// The cases printed in this tab, to be opened again. They go when the tab is closed.

import { element } from "../shared/elements.js";
import { recall, remember } from "../shared/remembered.js";

/**
 * A case that was printed.
 * @typedef {object} Recent
 * @property {string} title
 * @property {string} address `#/case?…`
 */

const KEPT = "recent";
const MOST = 8; // as many as stand on a screen (assumption)

/** The list; `node` is empty while nothing was printed. */
export class RecentCases {
  constructor() {
    this.node = element("div", { class: "recent" });
    this.#draw(kept());
  }

  /**
   * Puts the case in the address first.
   * @param {string} title
   */
  add(title) {
    const address = location.hash;
    const others = kept().filter((recent) => recent.address !== address);
    const now = [{ title, address }, ...others].slice(0, MOST);
    remember("session", KEPT, now);
    this.#draw(now);
  }

  /** @param {Recent[]} recent */
  #draw(recent) {
    const items = recent.map(({ title, address }) =>
      element("li", {}, element("a", { href: address, "aria-label": `Again: ${title}` }, title)),
    );
    this.node.replaceChildren(
      ...(items.length ? [element("h2", {}, "Again"), element("ul", {}, items)] : []),
    );
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
  const { title, address } = /** @type {{ title?: unknown, address?: unknown }} */ (value ?? {});
  return typeof title === "string" && typeof address === "string" && address.startsWith("#/case?");
}
