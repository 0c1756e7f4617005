// The result of a fit: how well it fits, the arch in figures, its picture and files.

import { element, findingList, table } from "../shared/elements.js";
import { download } from "../shared/page.js";

/** @import { Fitted } from "../shared/types.js" */

/**
 * The result, with the row to save it.
 * @param {Fitted} result
 * @param {string} base name of the model that it started from
 * @param {HTMLElement} saveRow
 * @returns {HTMLElement[]}
 */
export function resultOf(result, base, saveRow) {
  const supplied = [`From ${base}: the other jaw`, result.predicted].filter(Boolean).join("; ");
  return [
    element("h2", { tabindex: "-1" }, `${result.name}: how well it fits`),
    element("p", { class: "worst" }, result.worst),
    ...findingList(result.findings),
    saveRow,
    element(
      "div",
      { class: "fit-columns" },
      element("div", {}, residualTable(result), figureTable(result)),
      element(
        "div",
        {},
        picture(result),
        element("p", {}, supplied),
        files(result),
        element("p", { class: "hint" }, "The same fit on the command line, with the points file:"),
        element("code", {}, result.command),
      ),
    ),
  ];
}

/** @param {Fitted} result */
function residualTable({ residuals, decimal }) {
  /** @type {(mm: number) => string} */
  const plain = (mm) => mm.toFixed(2).replace(".", decimal);
  /** @type {(mm: number, plus: string, minus: string) => string} */
  const way = (mm, plus, minus) => `${plain(Math.abs(mm))} ${mm < 0 ? minus : plus}`;
  return table(
    "How far each tooth stands from where the others would put it, mm, furthest first.",
    ["Tooth", "Width", "Outwards or inwards", "Along the row", ""],
    residuals.map((row) => [
      row.name,
      row.width_mm === null ? "–" : plain(row.width_mm),
      way(row.facial_mm, "facial", "lingual"),
      way(row.mesial_mm, "mesial", "distal"),
      row.odd ? "check its points" : "",
    ]),
  );
}

/** @param {Fitted} result */
function figureTable({ figures }) {
  return table(
    "The arch, mm",
    ["Measure", "Measured", "Arch", "Usual"],
    figures.map(({ what, measured, fitted, usual }) => [
      what,
      ...[measured, fitted, usual].map((text) => text || "–"),
    ]),
  );
}

/** @param {Fitted} result */
function picture(result) {
  const address = URL.createObjectURL(new Blob([result.picture], { type: "image/svg+xml" }));
  const more = "The text of the picture continues on a page that is not shown.";
  return [
    element("img", {
      class: "picture fit-picture",
      src: address,
      alt: `The fitted arch over the picked points. ${result.worst}`,
      onload: () => URL.revokeObjectURL(address),
    }),
    result.picture_pages > 1 ? element("p", { class: "hint" }, more) : null,
  ];
}

/** @param {Fitted} result */
function files(result) {
  /** @type {(label: string, text: string, type: string, ending: string) => HTMLElement} */
  const file = (label, text, type, ending) => {
    const save = () => download(new Blob([text], { type }), `${result.name}.${ending}`);
    return element("li", {}, element("button", { onclick: save }, label));
  };
  return element(
    "ul",
    { class: "files" },
    file("Picture, true scale (SVG)", result.picture, "image/svg+xml", "svg"),
    file("Model file (TOML)", result.model, "application/toml", "toml"),
    file("Points in mm (CSV)", result.landmarks, "text/csv", "csv"),
  );
}
