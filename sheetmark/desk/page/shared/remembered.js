// What the page remembers in this browser. Where a browser keeps nothing, it starts anew.

/**
 * The store for good (`habits`) and the one of this tab alone (`session`). A reading or writing
 * that the browser refuses is as if nothing had been kept.
 * @typedef {"habits" | "session"} Place
 */

const PREFIX = "sheetmark.";

/** @type {{ [place in Place]: () => Storage }} */
const STORES = { habits: () => window.localStorage, session: () => window.sessionStorage };

/**
 * @param {Place} place
 * @param {string} name
 * @returns {unknown} what was kept under that name, or null; to be checked before use
 */
export function recall(place, name) {
  try {
    return JSON.parse(STORES[place]().getItem(PREFIX + name) ?? "null");
  } catch {
    return null;
  }
}

/**
 * @param {Place} place
 * @param {string} name
 * @param {unknown} value
 */
export function remember(place, name, value) {
  try {
    STORES[place]().setItem(PREFIX + name, JSON.stringify(value));
  } catch {
    // Full, or switched off: the page works without.
  }
}
