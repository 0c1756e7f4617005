// What comes of the day's list: its PDF printed or saved, and the list itself saved.

import { element, ticked } from "../shared/elements.js";
import { announce, download } from "../shared/page.js";
import { makePdf, printOrSay } from "../shared/pdf.js";
import { printsPdf } from "../shared/printing.js";
import { send } from "../shared/server.js";
import { queryOf } from "./list.js";

/** @import { List } from "./list.js" */

let withCards = false;

/** @returns {boolean} whether a case card goes behind each case */
export function cardsWanted() {
  return withCards;
}

/**
 * The buttons.
 * @param {List} list
 * @param {number} cases that have a page
 * @returns {HTMLElement}
 */
export function output(list, cases) {
  const state = element("div");
  const cards = element("input", {
    type: "checkbox",
    checked: withCards,
    onchange: () => {
      withCards = cards.checked;
    },
  });
  /** @type {(label: string, main: boolean, use: (pdf: Blob) => unknown) => HTMLElement} */
  const button = (label, main, use) => {
    const onclick = () =>
      makePdf(
        state,
        "Making the PDF of the day",
        (signal) =>
          send("/api/day.pdf", { query: queryOf(list, withCards), body: list.content, signal }),
        use,
      );
    return element(
      "button",
      {
        type: "button",
        class: main ? "main-action" : null,
        disabled: cases === 0,
        "aria-describedby": "day-summary",
        onclick,
      },
      label,
    );
  };
  const print = (/** @type {Blob} */ pdf) => printOrSay(pdf, state, "save the PDF of the day");
  const save = (/** @type {Blob} */ pdf) => {
    download(pdf, "day.pdf");
    announce("The PDF of the day is ready. Print it at 100 %.");
  };
  const saveList = () => download(new Blob([list.content]), list.name);
  const prints = printsPdf();
  return element(
    "div",
    {},
    element(
      "div",
      { class: "row" },
      prints ? button("Print the day", true, print) : null,
      button("PDF of the day", !prints, save),
      ticked(cards, "Case card behind each sheet"),
      list.rows
        ? element("button", { type: "button", onclick: saveList }, "Save the changed list")
        : null,
    ),
    state,
    cases
      ? element("p", { class: "hint" }, "Print at 100 % (actual size), never “fit to page”.")
      : null,
  );
}
