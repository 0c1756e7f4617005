// The controls for the choices of a case that are not made on the chart.

import { choice, element, folded, labelled } from "../shared/elements.js";
import { helpButton } from "../shared/help.js";
import { keepFocus } from "../shared/page.js";
import { choices } from "./address.js";
import { SYSTEMS } from "./hand.js";
import { typedNumber } from "./typed.js";

/** @import { CaseStart } from "../shared/types.js" */
/** @typedef {[string, string]} Pair value and label */

/** @type {Record<string, string>} */
const PROCEDURES = {
  "restoration": "Restoration",
  "crown": "Crown",
  "root-canal": "Root canal",
  "cervical": "Cervical (gumline)",
  "full-arch": "Full arch",
};
/** @type {Record<string, string>} */
const SHIFTS = {
  rule: "towards the quadrant (rule)",
  even: "most even pull (takes seconds)",
  none: "centred",
};
/** @type {Record<string, string>} */
const ROWS = {
  textbook: "as textbooks have it",
  short: "short: the fewest holes",
  wide: "wide: to the opposite lateral incisor",
};
/** @type {Record<string, string>} */
const HOLDS = {
  clamp: "clamps",
  ligature: "floss ligatures",
  wedge: "wedges or strips of sheet",
};
/** @type {Record<string, string>} terms of the glossary by the control that they explain */
const EXPLAINED = {
  access: "access", sheet: "dam-sheet", notation: "notation", arch: "arch-model",
  material: "dam-sheet", row: "exposed", hold: "ligature", shift: "shift",
};
const RARE = ["arch", "material", "row", "hold", "more", "shift", "reference"];
/** @type {Record<string, string>} */
const NUMBERS = {
  iso: "ISO 3950: 11, 48",
  universal: "Universal: 8, 32",
  palmer: "Palmer: UR1, LR8",
};

/** @type {(names: string[], labels?: Record<string, string>) => Pair[]} */
const pairs = (names, labels = {}) => names.map((name) => [name, labels[name] ?? name]);

/** The common controls (`common`) and the rare ones, folded away (`rare`). */
export class Controls {
  #start;
  #put;

  /**
   * @param {CaseStart} start
   * @param {(name: string, value: string) => void} put takes a changed choice, "" for its default
   */
  constructor(start, put) {
    this.#start = start;
    this.#put = put;
    this.common = element("div", { class: "fields" });
    this.rare = folded("More choices", element("div"));
    this.draw();
  }

  /** Shows the choices as the address has them. */
  draw() {
    const now = choices();
    this.rare.open ||= RARE.some((name) => now.has(name));
    keepFocus(this.common, () => this.common.replaceChildren(...this.#commonFields()));
    keepFocus(this.rare, () =>
      this.rare.lastChild?.replaceWith(element("div", { class: "fields" }, this.#rareFields())),
    );
  }

  #commonFields() {
    const start = this.#start;
    const { procedures, accesses, age_most: oldest } = start;
    return [
      this.#select("for", "Procedure", pairs(procedures, PROCEDURES)),
      this.#number("age", "Age", oldest, "adult"),
      this.#select("sheet", "Sheet", [
        ["", `practice: ${start.sheet_in_use}`],
        ...start.sheets.map(({ value, label: title }) => pair(value, title)),
      ]),
      this.#select("access", "Access", pairs(accesses)),
      this.#select("notation", "Numbers", [
        ["", `practice: ${SYSTEMS[start.notation_in_use]}`],
        ...pairs(start.notations, NUMBERS),
      ]),
    ];
  }

  #rareFields() {
    const start = this.#start;
    return [
      this.#select("arch", "Arch", [
        ["", "by age; adult mean if no age is given"],
        ...start.archs.map(({ value, label: title }) => pair(value, title)),
      ]),
      this.#select("material", "Material", [
        ["", `practice: ${start.material_in_use}`],
        ...pairs(start.materials),
      ]),
      this.#select("row", "Row of teeth", [
        ["", `practice: ${ROWS[start.row_in_use]}`],
        ...pairs(start.rows, ROWS),
      ]),
      this.#select("hold", "Front rows held by", [
        ["", `practice: ${HOLDS[start.hold_in_use]}`],
        ...pairs(start.holds, HOLDS),
      ]),
      this.#number("more", "More teeth in front", start.more_most),
      this.#select("shift", "Middle of the sheet", [
        ["", `practice: ${SHIFTS[start.shift_in_use]}`],
        ...pairs(start.shifts, SHIFTS),
      ]),
      this.#reference(),
    ];
  }

  /**
   * @param {string} name
   * @param {string} label
   * @param {Pair[]} options the default first
   */
  #select(name, label, options) {
    const usual = options[0]?.[0] ?? "";
    /** @type {(value: string) => void} */
    const put = (value) => this.#put(name, value === usual ? "" : value);
    const control = choice(options, choices().get(name) || usual, put);
    const term = EXPLAINED[name];
    return labelled(label, control, undefined, term ? helpButton(term, label) : undefined);
  }

  /**
   * @param {string} name
   * @param {string} label
   * @param {number} most
   * @param {string} [usual] what an empty field means
   */
  #number(name, label, most, usual) {
    const limits = { inputmode: "numeric", min: 0, max: most, step: 1, placeholder: usual };
    const put = (/** @type {string} */ value) => this.#put(name, value);
    return labelled(label, typedNumber(choices().get(name) ?? "", limits, put));
  }

  #reference() {
    const input = element("input", {
      type: "text",
      maxlength: this.#start.reference_most,
      value: choices().get("reference") ?? "",
      autocomplete: "off",
      onchange: () => {
        this.#put("reference", input.value.trim());
      },
    });
    return labelled("Reference", input, "Free text, printed on the page. Never a name.");
  }
}

/** @type {(value: string, label: string) => Pair} */
function pair(value, label) {
  return [value, label];
}
