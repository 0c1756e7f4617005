// A PDF that the desk makes, to be printed or saved: its progress, and the way back where no
// print dialog comes.

import { element, problemList } from "./elements.js";
import { announce } from "./page.js";
import { printPdf } from "./printing.js";
import { withProgress } from "./progress.js";
import { nameOf, problemsIn } from "./server.js";

/** @type {WeakSet<HTMLElement>} the places whose PDF is being made */
const making = new WeakSet();

/**
 * Makes a PDF and uses it; `place` shows that it goes on, or why there is none. A second press
 * meanwhile does nothing.
 * @param {HTMLElement} place
 * @param {string} label such as "Drawing: Hole size"
 * @param {(signal: AbortSignal) => Promise<Response>} ask
 * @param {(pdf: Blob, name: string) => unknown} use
 */
export async function makePdf(place, label, ask, use) {
  if (making.has(place)) return;
  making.add(place);
  place.replaceChildren();
  try {
    const made = await withProgress(place, label, async (signal) => {
      const answer = await ask(signal);
      return { pdf: await answer.blob(), name: nameOf(answer) };
    });
    if (made) await use(made.pdf, made.name);
  } catch (error) {
    place.replaceChildren(problemList(problemsIn(error).lines));
  } finally {
    making.delete(place);
  }
}

/**
 * Opens the print dialog, or says in `place` that this browser opens none.
 * @param {Blob} pdf
 * @param {HTMLElement} place
 * @param {string} instead what to do then, such as "save the PDF"
 * @returns {Promise<boolean>} whether the dialog was opened
 */
export async function printOrSay(pdf, place, instead) {
  if (await printPdf(pdf)) return true;
  const text = `This browser opens no print dialog: ${instead} and print it.`;
  place.replaceChildren(element("p", {}, text));
  announce(text);
  return false;
}
