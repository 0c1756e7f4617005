// Pages to print once and keep: the drawer set, and the handouts of the class.

import { element } from "../shared/elements.js";
import { download } from "../shared/page.js";
import { makePdf, printOrSay } from "../shared/pdf.js";
import { printsPdf } from "../shared/printing.js";
import { fetchJson, send } from "../shared/server.js";

/**
 * A PDF that can be made.
 * @typedef {object} Offer
 * @property {string} title
 * @property {string} shows
 * @property {string} path
 * @property {URLSearchParams} [query]
 */

/** @type {Offer} */
const DRAWER = {
  title: "Drawer set",
  shows: "a page for each usual situation of an average mouth, and an index; for your settings",
  path: "/api/drawer.pdf",
};

/**
 * Fills the view.
 * @param {HTMLElement} root
 */
export async function show(root) {
  const handouts = await fetchJson("/api/handouts");
  const offers = handouts.map(({ name, shows }) =>
    offer({ title: titleOf(name), shows, path: "/api/handout.pdf", query: queryOf(name) }),
  );
  root.append(
    element("h1", {}, "Sets and handouts"),
    element("p", { class: "hint" }, "Print at 100 % (actual size), never “fit to page”."),
    element("ul", { class: "offers" }, offer(DRAWER), offers),
  );
}

/** @param {string} name */
const queryOf = (name) => new URLSearchParams({ name });

/** @param {string} name such as `hole-size` */
function titleOf(name) {
  const text = name.replaceAll("-", " ");
  return `${text[0]?.toUpperCase()}${text.slice(1)}`;
}

/** @param {Offer} about */
function offer({ title, shows, path, query }) {
  const state = element("div");
  /** @type {(label: string, use: (pdf: Blob, name: string) => unknown) => HTMLElement} */
  const button = (label, use) => {
    const ask = (/** @type {AbortSignal} */ signal) =>
      send(path, { ...(query && { query }), signal });
    const onclick = () => makePdf(state, `Drawing: ${title}`, ask, use);
    const name = `${label}: ${title}`;
    return element("button", { type: "button", "aria-label": name, onclick }, label);
  };
  return element(
    "li",
    {},
    element("p", {}, element("strong", {}, title), `: ${shows}`),
    element(
      "div",
      { class: "row" },
      printsPdf() ? button("Print", (pdf) => printOrSay(pdf, state, "save the PDF")) : null,
      button("Save as PDF", download),
    ),
    state,
  );
}
