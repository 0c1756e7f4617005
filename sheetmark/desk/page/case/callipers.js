// What callipers measured in this mouth: a field for each length that helps the row, beside a small
// picture of where they go.

import { choice, element, group, labelled, svgPicture } from "../shared/elements.js";
import { keepFocus } from "../shared/page.js";
import { choices, setAll } from "./address.js";
import { state } from "./state.js";
import { typedNumber } from "./typed.js";

/** @import { CalliperField, Callipers } from "../shared/types.js" */
/** @typedef {(alter: (next: URLSearchParams) => void) => void} Change */

const WHY = "Optional. The holes then follow this mouth instead of the average one.";
/** @type {Array<[string, string]>} a measure's words for where it was taken, and the choice's */
const POINTS = [
  ["", "gum line, middle of each tooth"],
  ["cusp tips", "cusp tips"],
  ["contacts", "crown's middle, between contacts"],
];

/** The fields; `node` is empty while no tooth is chosen. */
export class CalliperFields {
  #change;
  /** @type {Callipers | null} of the latest sheet, kept while a measure is wrong */
  #callipers = null;
  #point = "";

  /** @param {Change} change */
  constructor(change) {
    this.#change = change;
    this.node = element("div", { class: "callipers" });
  }

  /** Draws the fields for the latest answer. */
  draw() {
    const { sheet } = state.answer;
    this.#callipers = sheet?.callipers ?? (choices().has("treat") ? this.#callipers : null);
    const { fields = [], svg = "" } = this.#callipers ?? {};
    this.#point = pointOf(fields) ?? this.#point;
    keepFocus(this.node, () =>
      this.node.replaceChildren(...(fields.length ? [this.#group(fields, svg)] : [])),
    );
  }

  /**
   * @param {CalliperField[]} fields
   * @param {string} svg
   */
  #group(fields, svg) {
    const description = "Where the callipers go. Each line is described at its field.";
    const picture = svgPicture("where", svg, description);
    return group(
      "Measured with callipers, mm",
      element("p", { class: "hint" }, WHY),
      element(
        "div",
        { class: "row" },
        picture,
        element(
          "div",
          { class: "fields" },
          fields.map((field, place) => this.#field(field, place + 1, fields.length)),
        ),
      ),
      fields.some(({ across }) => across) ? this.#pointChoice(fields) : null,
    );
  }

  /**
   * @param {CalliperField} field
   * @param {number} number
   * @param {number} count
   */
  #field(field, number, count) {
    const { measure, what, how, found } = field;
    const value = valueOf(measure);
    const input = typedNumber(
      value,
      { inputmode: "decimal", min: 0, step: "any", autocomplete: "off" },
      (mm) => this.#change((next) => put(next, field, mm, this.#point)),
    );
    const label = count > 1 ? `${number} ${what}` : what;
    const here = value ? `On this arch ${found}.` : `Average ${found}.`;
    return labelled(label, input, `${how[0]?.toUpperCase()}${how.slice(1)}. ${here}`);
  }

  /** @param {CalliperField[]} fields */
  #pointChoice(fields) {
    const select = choice(POINTS, this.#point, (point) => {
      this.#point = point;
      const across = fields.filter((field) => field.across && valueOf(field.measure));
      if (!across.length) return;
      this.#change((next) => {
        for (const field of across) put(next, field, valueOf(field.measure), point);
      });
    });
    return labelled("Widths across are taken at", select);
  }
}

/**
 * The mm of a measure in the address, "" for none.
 * @param {string} measure
 */
function valueOf(measure) {
  return textOf(measure)?.split(" ").at(-1) ?? "";
}

/** @param {string} measure */
const textOf = (measure) => choices().getAll("measure").find((text) => isOf(text, measure));

/** @type {(text: string, measure: string) => boolean} */
const isOf = (text, measure) => text.startsWith(`${measure} `);

/**
 * Where the widths in the address were taken; undefined where it has none.
 * @param {CalliperField[]} fields
 */
function pointOf(fields) {
  const texts = fields.filter(({ across }) => across).map(({ measure }) => textOf(measure));
  const text = texts.find(Boolean);
  return text && (POINTS.find(([point]) => point && text.includes(` ${point} `))?.[0] ?? "");
}

/**
 * Puts a measure into the choices, or takes it out.
 * @param {URLSearchParams} next
 * @param {CalliperField} field
 * @param {string} mm
 * @param {string} point
 */
function put(next, { measure, across }, mm, point) {
  const others = next.getAll("measure").filter((text) => !isOf(text, measure));
  const text = [measure, across ? point : "", mm].filter(Boolean).join(" ");
  setAll(next, "measure", mm ? [...others, text] : others);
}
