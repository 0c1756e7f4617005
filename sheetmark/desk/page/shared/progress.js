// Work that takes longer than a second: how long it has taken, and a button that ends it.

import { element } from "./elements.js";
import { announce } from "./page.js";
import { isAbort } from "./server.js";

const SHOWN_AFTER_MS = 1000;

/** @type {Set<AbortController>} */
const running = new Set();

/**
 * Work that ends when its view is left.
 * @param {AbortController} work
 * @returns {() => void} to be called when it is done
 */
export function endWithView(work) {
  running.add(work);
  return () => {
    running.delete(work);
  };
}

/** Ends all work under way: its view is left. */
export function endAll() {
  for (const work of running) work.abort();
}

/**
 * Does some work; after a second, `place` shows that it goes on, with a button that ends it.
 * @template Result
 * @param {HTMLElement} place
 * @param {string} label such as "Drawing the set"
 * @param {(signal: AbortSignal) => Promise<Result>} work
 * @returns {Promise<Result | null>} null where it was ended
 */
export async function withProgress(place, label, work) {
  const control = new AbortController();
  const begun = Date.now();
  const seconds = element("span", { "aria-hidden": "true" });
  const tick = () => {
    seconds.textContent = ` ${Math.floor((Date.now() - begun) / 1000)} s `;
  };
  const shown = element(
    "div",
    { class: "progress row" },
    element("progress", { "aria-label": label }),
    element("span", {}, `${label} …`, seconds),
    element("button", { type: "button", onclick: () => control.abort() }, "Cancel"),
  );
  const later = setTimeout(() => {
    tick();
    place.append(shown);
    announce(`${label}, a few seconds`);
  }, SHOWN_AFTER_MS);
  const ticking = setInterval(tick, SHOWN_AFTER_MS);
  const done = endWithView(control);
  try {
    return await work(control.signal);
  } catch (error) {
    if (!isAbort(error)) throw error;
    announce("Cancelled");
    return null;
  } finally {
    done();
    clearTimeout(later);
    clearInterval(ticking);
    shown.remove();
  }
}
