// Pages to print once and keep: the drawer set, and the handouts of the class.

import { element, problemList } from "../shared/elements.js";
import { announce, download } from "../shared/page.js";
import { printPdf, printsPdf } from "../shared/printing.js";
import { withProgress } from "../shared/progress.js";
import { fetchJson, nameOf, problemsIn, send } from "../shared/server.js";

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
function offer(about) {
  const state = element("div");
  /** @type {(label: string, use: (pdf: Blob, name: string) => unknown) => HTMLElement} */
  const button = (label, use) => {
    const onclick = () => make(about, state, use);
    const name = `${label}: ${about.title}`;
    return element("button", { type: "button", "aria-label": name, onclick }, label);
  };
  return element(
    "li",
    {},
    element("p", {}, element("strong", {}, about.title), `: ${about.shows}`),
    element(
      "div",
      { class: "row" },
      printsPdf() ? button("Print", (pdf) => print(pdf, state)) : null,
      button("Save as PDF", download),
    ),
    state,
  );
}

/**
 * @param {Offer} about
 * @param {HTMLElement} state
 * @param {(pdf: Blob, name: string) => unknown} use
 */
async function make({ title, path, query }, state, use) {
  if (state.childElementCount) return; // it is being made
  try {
    const made = await withProgress(state, `Drawing: ${title}`, async (signal) => {
      const answer = await send(path, { ...(query && { query }), signal });
      return { pdf: await answer.blob(), name: nameOf(answer) };
    });
    if (made) await use(made.pdf, made.name);
  } catch (error) {
    state.replaceChildren(problemList(problemsIn(error).lines));
  }
}

/**
 * @param {Blob} pdf
 * @param {HTMLElement} state
 */
async function print(pdf, state) {
  if (await printPdf(pdf)) return;
  const text = "This browser opens no print dialog: save the PDF and print it.";
  state.replaceChildren(element("p", {}, text));
  announce(text);
}
