// The printer's correction: the bars of its test page as measured, stored in the practice file.

import { element, problemList } from "../shared/elements.js";
import { helpButton } from "../shared/help.js";
import { byId } from "../shared/page.js";
import { fetchJson, problemsIn } from "../shared/server.js";
import { Field } from "./field.js";
import { textOf, usesComma, valueOf } from "./values.js";

/** @import { FormField, Settings } from "../shared/types.js" */
/** @import { Problems } from "../shared/server.js" */

/**
 * What the panel asks of the view.
 * @typedef {object} Actions
 * @property {boolean} changed whether there are changes that are not saved
 * @property {(work: () => Promise<void>) => Promise<void>} once
 *   runs a request, unless another one is running
 * @property {(settings: Settings) => void} take takes over the file as it is now
 */

/** The panel of the printer; `node` holds all of it. */
export class PrinterPanel {
  #actions;
  /** @type {Map<string, Field>} */
  #fields = new Map();
  /** @type {Settings | null} */
  #settings = null;
  #problems = element("div");

  /** @param {Actions} actions */
  constructor(actions) {
    this.#actions = actions;
    this.node = element("section", { class: "printer", "aria-labelledby": "printer-title" });
  }

  /**
   * Draws the panel again. Bars that were typed but not stored stay.
   * @param {Settings} settings
   */
  draw(settings) {
    this.#settings = settings;
    const bar = textOf(settings.test_bar_mm, usesComma(settings));
    const typed = new Map([...this.#fields.keys()].map((name) => [name, this.#typed(name)]));
    this.#fields = fieldsFor(settings, bar);
    if (typed.get("x") || typed.get("y")) {
      for (const [name, text] of typed) this.#setTyped(name, text);
    }
    this.#problems = element("div");
    this.node.replaceChildren(
      element("h2", { id: "printer-title" }, "Correct the printer's scale"),
      steps(settings.file, bar),
      this.#form(),
      element("p", { class: "stored", role: "status", id: "stored", tabindex: "-1" }),
    );
  }

  #form() {
    return element(
      "form",
      {
        novalidate: true,
        onsubmit: (event) => {
          event.preventDefault();
          this.#actions.once(() => this.#store(false));
        },
      },
      element("div", { class: "fields" }, [...this.#fields.values()].map(({ node }) => node)),
      this.#problems,
      element("button", { type: "submit" }, "Store the correction"),
    );
  }

  /** @param {string} name */
  #typed(name) {
    return this.#fields.get(name)?.controls[0]?.value ?? "";
  }

  /**
   * @param {string} name
   * @param {string} text
   */
  #setTyped(name, text) {
    const control = this.#fields.get(name)?.controls[0];
    if (control) control.value = text;
  }

  /** @param {boolean} confirmed whether bars that look like scaling are to be stored */
  async #store(confirmed) {
    this.#problems.replaceChildren();
    byId("stored").textContent = "";
    for (const field of this.#fields.values()) field.refuse("");
    if (this.#actions.changed) {
      const line = "Nothing was stored: save or undo your changes above first.";
      this.#problems.append(problemList([line]));
      return;
    }
    const name = this.#typed("name");
    // Text that is no number goes to the desk all the same: it says what is wrong.
    const bar = (/** @type {string} */ axis) =>
      /** @type {number} */ (valueOf("number", [this.#typed(axis)]) ?? "");
    try {
      const body = { name, x: bar("x"), y: bar("y"), confirmed };
      const { text, question, settings } = await fetchJson("/api/printer", { body });
      if (question) {
        this.#put(question);
        return;
      }
      this.#fields.clear(); // the file has them now
      this.#actions.take(settings);
      byId("stored").textContent = text;
      byId("stored").focus();
    } catch (error) {
      this.#refuse(problemsIn(error), name);
    }
  }

  /**
   * Asks before bars are stored that look as if the page was scaled.
   * @param {string} question
   */
  #put(question) {
    const store = () => this.#actions.once(() => this.#store(true));
    const button = element(
      "button",
      { type: "button", onclick: store },
      "Scaling was off: store them",
    );
    this.#problems.replaceChildren(
      element("p", { class: "question", role: "alert" }, question),
      button,
    );
    button.focus();
  }

  /**
   * Shows problems beside the fields, and those of other parts of the file in a list.
   * @param {Problems} problems
   * @param {string} name of the printer
   */
  #refuse({ lines, fields: found }, name) {
    const lists = this.#settings?.form.lists ?? [];
    const rows = lists.find(({ key }) => key === "printers")?.rows ?? [];
    const known = rows.findIndex((row) => row.name === name);
    const row = `printers[${(known < 0 ? rows.length : known) + 1}].`;
    /** @type {Field | null} */
    let first = null;
    const elsewhere = [];
    for (const [place, line] of lines.entries()) {
      const problem = found[place];
      const key = problem?.key.replace(row, "").replace(/^bar_(.)_mm$/, "$1") ?? "";
      const field = this.#fields.get(key);
      if (problem && field) {
        field.refuse(problem.text);
        first ??= field;
      } else elsewhere.push(line);
    }
    if (elsewhere.length) this.#problems.append(problemList(elsewhere));
    first?.controls[0]?.focus();
  }
}

/**
 * @param {Settings} settings
 * @param {string} bar length of the bars as drawn
 */
function fieldsFor(settings, bar) {
  const comma = usesComma(settings);
  const [least, most] = [settings.bar_least_mm, settings.bar_most_mm];
  const range = `${textOf(least, comma)} to ${textOf(most, comma)} mm`;
  const fields = settings.form.sections.flatMap((section) => section.fields);
  const inUse = fields.find(({ key }) => key === "page.printer")?.value;
  const name = typeof inUse === "string" && inUse !== "none" ? inUse : "main";
  const about = `${bar} mm as drawn; ${range} can be corrected.`;
  /** @type {Record<string, FormField>} */
  const forms = {
    name: plainField("printer-name", "Printer", "text", "Your own name for it."),
    x: plainField("printer-x", "Bar across (x), mm", "number", about),
    y: plainField("printer-y", "Bar down (y), mm", "number", about),
  };
  return new Map(
    Object.entries(forms).map(([key, form]) => [
      key,
      new Field(form, key === "name" ? name : "", { comma }),
    ]),
  );
}

/**
 * A field without limits, which the desk checks.
 * @param {string} key
 * @param {string} label
 * @param {FormField["kind"]} kind
 * @param {string} description
 * @returns {FormField}
 */
function plainField(key, label, kind, description) {
  const limits = { limit: "", least: null, most: null, default: null, choices: [] };
  const form = { key, label, kind, description, value: null, unit: "" };
  return { ...form, ...limits, required: true, whole: false };
}

/**
 * @param {string} file
 * @param {string} bar length of the bars as drawn
 */
function steps(file, bar) {
  const opened = { href: "/api/printer-page.pdf", target: "_blank", rel: "noopener" };
  const open = element("a", opened, "Open the test page");
  return element(
    "ol",
    {},
    element(
      "li", {}, open, " and print it at 100 % (actual size).", helpButton("actual-size", "100 %"),
    ),
    element(
      "li", {}, `Measure its two ${bar} mm bars on the paper, to 0.1 mm.`,
      helpButton("bars", "Bars"),
    ),
    element("li", {}, `Store them here, in ${file}.`),
  );
}
