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
  const supplied = `From ${base}: the other jaw; ${result.from_base.join("; ")}`;
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
  /** @type {(mm: number, kept: boolean) => string} */
  const signed = (mm, kept) => {
    const rounded = Math.round(mm * 100) / 100 || 0;
    const sign = rounded > 0 ? "+" : rounded < 0 ? "−" : "";
    return `${sign}${plain(Math.abs(rounded))}${kept ? "" : " left out"}`;
  };
  return table(
    "Distance of each tooth from the fitted arch, mm, worst first. Points: + is outwards.",
    ["Tooth", "Width", "Mesial point", "Distal point", "Centre"],
    residuals.map((row) => [
      row.name,
      plain(row.width_mm),
      signed(row.mesial_mm, row.mesial_kept),
      signed(row.distal_mm, row.distal_kept),
      plain(row.centre_mm),
    ]),
  );
}

/** @param {Fitted} result */
function figureTable({ figures }) {
  return table(
    "The arch, mm",
    ["Measure", "Measured", "Arch", "Published mean"],
    figures.map(({ what, measured, fitted, published }) => [
      what,
      ...[measured, fitted, published].map((text) => text || "–"),
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
