// The practice file as a form: nothing is saved but by its button, and only what was changed.

import { element, fetchJson, Problems } from "../shared/elements.js";
import { Printer } from "./printer.js";
import { refuse } from "./problems.js";
import { List } from "./list.js";
import { DAILY, Section, unfold } from "./section.js";
import { commaIn } from "./values.js";

const ORDER = ["", "page", "sheets", "tray", "punch", "holes", "placement", "marks", "printers"];

let view = null; // kept while there are changes, so that going back loses none

export async function show(root) {
  if (view?.changed) {
    root.append(...view.parts);
    view.say("Not saved yet: your changes are still here.");
    return;
  }
  view = new Settings(await fetchJson("/api/practice"));
  root.append(...view.parts);
}

class Settings {
  #state = {
    told: null, // what the desk said of the file
    open: new Set(DAILY), // keys of what is not folded away
  };
  #sections = []; // sections and lists, each with its fields
  #busy = false;

  constructor(told) {
    this.problems = element("div");
    this.lead = element("p");
    this.fields = element("div");
    this.state = element("p", { class: "state", role: "status" });
    this.saving = element("button", { type: "submit", class: "main-action" });
    this.printer = new Printer(this.#state, this);
    this.parts = [element("h1", {}, "Settings"), this.#form(), this.printer.panel];
    this.take(told);
  }

  #form() {
    const note = () => this.note();
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
        oninput: note,
        onchange: note,
      },
      this.lead,
      this.problems,
      this.fields,
      element(
        "div",
        { class: "save-bar" },
        this.state,
        element("button", { type: "button", onclick: undo }, "Undo changes"),
        this.saving,
      ),
    );
  }

  get #changes() {
    return Object.assign({}, ...this.#sections.map(({ changes }) => changes));
  }

  get changed() {
    return Object.keys(this.#changes).length > 0;
  }

  /** All anew, as the desk has just told of the file. */
  take(told) {
    const state = this.#state;
    const comma = commaIn(told);
    state.told = told;
    this.saving.textContent = `Save to ${told.file}`;
    this.lead.textContent = told.fingerprint
      ? `These settings are kept in ${told.file} on this machine. They hold for every case.`
      : `There is no ${told.file} yet, so the usual settings hold. Saving writes one.`;
    this.#sections = [
      ...told.form.sections.map((section) => new Section(section, state.open, comma)),
      ...told.form.lists.map((list) => new List(list, state.open, comma, () => this.note())),
    ];
    this.#sections.sort((one, other) => ORDER.indexOf(one.key) - ORDER.indexOf(other.key));
    const focused = this.fields.contains(document.activeElement) && document.activeElement.id;
    this.fields.replaceChildren(...this.#sections.map(({ node }) => node));
    if (focused) focusAgain(focused);
    this.#refuse("The file has a problem", told.problems, told.found);
    this.note();
    this.printer.draw();
  }

  #refuse(heading, lines, found) {
    const fields = this.#sections.flatMap((section) => section.fields);
    refuse(this.problems, fields, { lines, found, heading });
  }

  /** Said aloud, and so not twice. */
  say(line) {
    if (this.state.textContent !== line) this.state.textContent = line;
  }

  note() {
    const count = Object.keys(this.#changes).length;
    const changes = count === 1 ? "1 change" : `${count} changes`;
    this.say(count ? `${changes}, not saved yet.` : "Nothing to save.");
  }

  /** What is pressed while the desk still works is not asked a second time. */
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
      this.say("Nothing has changed, so nothing was saved.");
      return;
    }
    const { fingerprint } = this.#state.told;
    try {
      const body = { fingerprint, values: this.#changes };
      this.take(await fetchJson("/api/practice", { body }));
      this.say(`Saved to ${this.#state.told.file}. It holds from now on.`);
    } catch (error) {
      if (!(error instanceof Problems)) throw error;
      this.#refuse("Nothing was saved", error.problems, error.found);
      this.problems.firstChild.focus();
    }
  }

  async #undo() {
    try {
      this.take(await fetchJson("/api/practice"));
      this.say("As the file has it.");
    } catch (error) {
      if (!(error instanceof Problems)) throw error;
      this.#refuse("The file cannot be read", error.problems, []);
    }
  }
}

/** Enter in a field saves, and the field is made anew. */
function focusAgain(id) {
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
    const link = event.target.closest("a[href^='#/']");
    if (!link || link.hash.startsWith("#/settings")) return;
    if (!view?.parts[0].isConnected || !view.changed) return;
    if (window.confirm("Your changes to the settings are not saved. Leave them so?")) return;
    event.preventDefault();
    event.stopPropagation();
  },
  true,
);
