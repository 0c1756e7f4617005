// Help beside a term: a button that opens what the term means, from the desk's glossary.

import { element } from "./elements.js";
import { fetchJson, problemsIn } from "./server.js";

/** @import { TermShown } from "./types.js" */

/** @type {Promise<TermShown[]> | null} */
let glossary = null;

/**
 * A button that explains a term.
 * @param {string} key of the term in the glossary
 * @param {string} title what the page calls it
 * @returns {HTMLButtonElement}
 */
export function helpButton(key, title) {
  const label = `What is this? ${title}`;
  /** @type {HTMLButtonElement} */
  const button = element(
    "button",
    { type: "button", class: "help", "aria-label": label, onclick: () => open(key, button) },
    "?",
  );
  return button;
}

/**
 * @param {string} key
 * @param {HTMLElement} button
 */
async function open(key, button) {
  glossary ??= fetchJson("/api/glossary");
  try {
    const term = (await glossary).find((known) => known.key === key);
    if (term) show(term, button);
  } catch (error) {
    glossary = null;
    show({ key, title: "Help", text: problemsIn(error).lines.join(" "), see: [] }, button);
  }
}

/**
 * @param {TermShown} term
 * @param {HTMLElement} button gets the focus back
 */
function show({ title, text, see }, button) {
  /** @type {HTMLDivElement} */
  const panel = element(
    "div",
    { class: "explained", popover: "auto", role: "dialog", "aria-labelledby": "explained-title" },
    element("h2", { id: "explained-title" }, title),
    element("p", {}, text),
    see.length ? element("p", { class: "hint" }, `See also: ${see.join(", ")}.`) : null,
    element("button", { type: "button", onclick: () => panel.hidePopover() }, "Close"),
  );
  panel.addEventListener("toggle", (event) => {
    if (/** @type {ToggleEvent} */ (event).newState !== "closed") return;
    panel.remove();
    button.focus();
  });
  // Within the dialog that is open, since all else is out of reach then.
  (button.closest("dialog") ?? document.body).append(panel);
  panel.showPopover();
  panel.querySelector("button")?.focus();
}
