// The page around the views: its fixed parts, what a screen reader hears, focus, downloads.

import { element } from "./elements.js";

const HOLDS_FOCUS = "a, button, input, select, summary, [tabindex]";
const REVOKE_MS = 60_000; // time for the browser to begin the download

/**
 * An element that is always on the page.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const node = document.getElementById(id);
  if (!node) throw new Error(`no element #${id}`);
  return node;
}

/**
 * Has a screen reader speak, without moving anything.
 * @param {string} text
 */
export function announce(text) {
  byId("live").textContent = text;
}

/**
 * Names the tab.
 * @param {string} title
 */
export function nameTab(title) {
  document.title = `${title} · sheetmark`;
}

/**
 * Draws a part again. The focus stays at its place in the part, or goes to the last control.
 * @param {Element} part
 * @param {() => void} draw
 */
export function keepFocus(part, draw) {
  /** @type {() => HTMLElement[]} */
  const holders = () => [...part.querySelectorAll(HOLDS_FOCUS)].map(asHtml);
  const place = holders().findIndex((holder) => holder === document.activeElement);
  draw();
  if (place < 0) return;
  const left = holders();
  (left[Math.min(place, left.length - 1)] ?? byId("main")).focus();
}

/** @type {(node: Element) => HTMLElement} */
const asHtml = (node) => /** @type {HTMLElement} */ (node);

/**
 * Has the browser save a file.
 * @param {Blob} blob
 * @param {string} name
 */
export function download(blob, name) {
  const address = URL.createObjectURL(blob);
  element("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), REVOKE_MS);
}
