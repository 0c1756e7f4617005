// The choices of a case: the address has them, the controls show and change them.

import { choice, element, keepFocus, labelled } from "../shared/elements.js";

const PROCEDURES = {
  "restoration": "Restoration",
  "crown": "Crown",
  "root-canal": "Root canal",
  "cervical": "Cervical (gumline)",
  "full-arch": "Full arch",
};
const SHIFTS = {
  rule: "towards the quadrant (rule)",
  even: "most even pull (computed, seconds)",
  none: "centred",
};
const TYPING_MS = 300;
const RARE = ["arch", "sheet", "material", "access", "more", "shift", "reference"];

/** The choices, as the address has them. */
export function choices() {
  return new URLSearchParams(location.hash.split("?")[1] || "");
}

/** Puts changed choices into the address, as a step that Back takes back. */
export function changeAddress(alter) {
  const next = choices();
  alter(next);
  const text = next.toString().replaceAll("+", "%20");
  history.pushState(null, "", text ? `#/case?${text}` : "#/case");
}

/** All values of a choice set anew. */
export function putAll(next, name, values) {
  next.delete(name);
  for (const value of values) next.append(name, value);
}

/** `act.put` is told of a choice and its new value, empty for the usual one. */
export class Controls {
  #start;
  #act;

  constructor(start, act) {
    this.#start = start;
    this.#act = act;
    this.first = element("div", { class: "fields" });
    this.more = element("details", {}, element("summary", {}, "More choices"), element("div"));
    this.draw();
  }

  draw() {
    const now = choices();
    this.more.open ||= RARE.some((name) => now.has(name));
    keepFocus(this.first, () => this.first.replaceChildren(...this.#usual()));
    keepFocus(this.more, () =>
      this.more.lastChild.replaceWith(element("div", { class: "fields" }, this.#rare())),
    );
  }

  #usual() {
    const procedures = this.#start.procedures.map((name) => [name, PROCEDURES[name] ?? name]);
    return [
      this.#select("for", "Procedure", procedures),
      this.#number("age", "Age (empty: adult)", this.#start.age_most),
    ];
  }

  #rare() {
    const start = this.#start;
    return [
      this.#select("arch", "Arch", [
        ["", "by age; adult mean without one"],
        ...start.archs.map(({ value: name, words }) => [name, `${name}: ${words}`]),
      ]),
      this.#select("sheet", "Sheet", [
        ["", `practice: ${start.sheet_in_use}`],
        ...start.sheets.map(({ value: name, words }) => [name, words]),
      ]),
      this.#select("material", "Material", [
        ["", `practice: ${start.material_in_use}`],
        ...start.materials.map((name) => [name, name]),
      ]),
      this.#select("access", "Access", start.accesses.map((name) => [name, name])),
      this.#number("more", "More teeth in front", start.more_most),
      this.#select("shift", "Middle of the sheet", [
        ["", `practice: ${SHIFTS[start.shift_in_use]}`],
        ...start.shifts.map((name) => [name, SHIFTS[name]]),
      ]),
      this.#reference(),
    ];
  }

  #select(name, words, pairs) {
    const usual = pairs[0][0];
    const put = ({ target }) => this.#act.put(name, target.value === usual ? "" : target.value);
    return labelled(words, choice(pairs, choices().get(name) || usual, put));
  }

  #number(name, words, most) {
    let typing;
    const put = () => {
      clearTimeout(typing);
      if ((choices().get(name) ?? "") !== number.value) this.#act.put(name, number.value);
    };
    const number = element("input", {
      type: "number",
      inputmode: "numeric",
      min: 0,
      max: most,
      step: 1,
      value: choices().get(name) ?? "",
      // Teeth are chosen next, with no key that would end the number.
      oninput: () => {
        clearTimeout(typing);
        typing = setTimeout(put, TYPING_MS);
      },
      onchange: () => put(),
    });
    return labelled(words, number);
  }

  #reference() {
    const text = element("input", {
      type: "text",
      maxlength: this.#start.reference_most,
      value: choices().get("reference") ?? "",
      autocomplete: "off",
      onchange: () => this.#act.put("reference", text.value.trim()),
    });
    return labelled("Reference", text, "Free text on the page; never a name.");
  }
}
