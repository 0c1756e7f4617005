// A number that is typed: taken over after a pause, since teeth are clicked next.

import { element } from "../shared/elements.js";

/** @import { Attributes } from "../shared/elements.js" */

const TYPING_MS = 300; // a pause this long ends a number that is being typed

/**
 * @param {string} value what stands there
 * @param {Attributes} attributes
 * @param {(value: string) => void} put takes a number that has changed, "" for none
 * @returns {HTMLInputElement}
 */
export function typedNumber(value, attributes, put) {
  /** @type {number | undefined} */
  let pause;
  let known = value;
  const take = () => {
    clearTimeout(pause);
    if (input.value === known) return;
    known = input.value;
    put(known);
  };
  const input = element("input", {
    type: "number",
    ...attributes,
    value,
    oninput: () => {
      clearTimeout(pause);
      pause = setTimeout(take, TYPING_MS);
    },
    onchange: take,
  });
  return input;
}
