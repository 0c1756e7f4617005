// The practice file as a form. Only its button saves, and only what was changed.

import { element } from "../shared/elements.js";
import { fetchJson, problemsIn } from "../shared/server.js";
import { counted } from "../shared/text.js";
import { List } from "./list.js";
import { PrinterPanel } from "./printer.js";
import { showProblems } from "./problems.js";
import { DAILY, Section, unfold } from "./section.js";
import { usesComma } from "./values.js";

/** @import { Found, Settings } from "../shared/types.js" */

// What is set most often comes first; what is not named comes last.
const ORDER = [
  "", "page", "sheets", "tray", "punch", "printers", "isolation", "holes", "placement", "marks",
];

/** @type {SettingsView | null} kept while there are changes, so that none is lost */
let view = null;

/**
 * Fills the view.
 * @param {HTMLElement} root
 */
export async function show(root) {
  if (view?.changed) view.showStatus("Not saved yet: your changes are still here.");
  else view = new SettingsView(await fetchJson("/api/practice"));
  root.append(...view.parts);
}

class SettingsView {
  #settings;
  #open = new Set(DAILY); // keys of the frames that are open
  /** @type {Array<Section | List>} */
  #sections = [];
  #busy = false;

  /** @param {Settings} settings */
  constructor(settings) {
    this.#settings = settings;
    this.problems = element("div");
    this.lead = element("p");
    this.fields = element("div");
    this.status = element("p", { class: "state", role: "status" });
    this.saveButton = element("button", { type: "submit", class: "main-action" });
    this.printer = new PrinterPanel(this);
    this.parts = [element("h1", {}, "Settings"), this.#form(), this.printer.node];
    this.take(settings);
  }

  #form() {
    const count = () => this.#countChanges();
    const undo = () => this.once(() => this.#undo());
    return element(
      "form",
      {
        class: "settings",
        novalidate: true,
        onsubmit: (event) => {
          event.preventDefault();
          this.once(() => this.#save());
        },
        oninput: count,
        onchange: count,
      },
      this.lead,
      this.problems,
      this.fields,
      element(
        "div",
        { class: "save-bar" },
        this.status,
        element("button", { type: "button", onclick: undo }, "Undo changes"),
        this.saveButton,
      ),
    );
  }

  /** What differs from the file, by key. */
  get #changes() {
    return Object.assign({}, ...this.#sections.map(({ changes }) => changes));
  }

  /** Whether there are changes that are not saved. */
  get changed() {
    return Object.keys(this.#changes).length > 0;
  }

  /**
   * Draws everything again from the file as it is now.
   * @param {Settings} settings
   */
  take(settings) {
    const { file, form } = settings;
    const comma = usesComma(settings);
    this.#settings = settings;
    this.saveButton.textContent = `Save to ${file}`;
    this.lead.textContent = settings.fingerprint
      ? `These settings are stored in ${file} on this machine. They apply to every case.`
      : `There is no ${file} yet, so the defaults apply. Saving creates it.`;
    this.#sections = [
      ...form.sections.map((section) => new Section(section, this.#open, comma)),
      ...form.lists.map((list) => new List(list, this.#open, comma, () => this.#countChanges())),
    ];
    this.#sections.sort((a, b) => placeOf(a) - placeOf(b));
    const focused = document.activeElement;
    const focusedId = focused && this.fields.contains(focused) ? focused.id : "";
    this.fields.replaceChildren(...this.#sections.map(({ node }) => node));
    if (focusedId) focusField(focusedId);
    this.#showProblems("The file has a problem", settings.problems, settings.found);
    this.#countChanges();
    this.printer.draw(settings);
  }

  /**
   * @param {string} heading
   * @param {string[]} lines
   * @param {Found[]} found
   */
  #showProblems(heading, lines, found) {
    const fields = this.#sections.flatMap((section) => section.fields);
    showProblems(this.problems, fields, { heading, lines, found });
  }

  /**
   * Shows a status; a screen reader reads it out, so the same one is not set again.
   * @param {string} line
   */
  showStatus(line) {
    if (this.status.textContent !== line) this.status.textContent = line;
  }

  #countChanges() {
    const count = Object.keys(this.#changes).length;
    const unsaved = `${counted(count, "change")}, not saved yet.`;
    this.showStatus(count ? unsaved : "Nothing to save.");
  }

  /**
   * Runs a request, unless another one is running.
   * @param {() => Promise<void>} work
   */
  async once(work) {
    if (this.#busy) return;
    this.#busy = true;
    try {
      await work();
    } finally {
      this.#busy = false;
    }
  }

  async #save() {
    if (!this.changed) {
      this.showStatus("Nothing has changed, so nothing was saved.");
      return;
    }
    const { fingerprint } = this.#settings;
    try {
      const body = { fingerprint, values: this.#changes };
      this.take(await fetchJson("/api/practice", { body }));
      this.showStatus(`Saved to ${this.#settings.file}. In use from now on.`);
    } catch (error) {
      const { lines, fields } = problemsIn(error);
      this.#showProblems("Nothing was saved", lines, fields);
      this.problems.querySelector("div")?.focus();
    }
  }

  async #undo() {
    try {
      this.take(await fetchJson("/api/practice"));
      this.showStatus("Changes undone.");
    } catch (error) {
      this.#showProblems("The file cannot be read", problemsIn(error).lines, []);
    }
  }
}

/** @type {(section: Section | List) => number} */
const placeOf = ({ key }) => (ORDER.includes(key) ? ORDER.indexOf(key) : ORDER.length);

/**
 * Enter in a field saves, which draws the field again.
 * @param {string} id
 */
function focusField(id) {
  const field = document.getElementById(id);
  if (!field) return;
  unfold(field);
  field.focus();
}

// ---- leaving with changes ----

window.addEventListener("beforeunload", (event) => {
  if (view?.changed) event.preventDefault();
});
document.addEventListener(
  "click",
  (event) => {
    if (!(event.target instanceof Element)) return;
    const link = event.target.closest("a[href^='#/']");
    if (!link || link.getAttribute("href")?.startsWith("#/settings")) return;
    if (!view?.parts[0]?.isConnected || !view.changed) return;
    if (window.confirm("Your changes to the settings are not saved. Leave without saving?")) return;
    event.preventDefault();
    event.stopPropagation();
  },
  true,
);
