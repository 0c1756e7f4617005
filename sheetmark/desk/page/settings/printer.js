// The printer's correction: what its test page measures, stored in the practice file.

import { Field } from "./field.js";
import { element, fetchJson, Problems, problemList } from "../shared/elements.js";
import { commaIn, READ, words } from "./values.js";

/** `act` has `changed` where changes are not saved, `once` for requests, `take` for an answer. */
export class Printer {
  #state;
  #act;
  #fields = new Map();
  #problems = element("div");

  constructor(state, act) {
    this.#state = state;
    this.#act = act;
    this.panel = element("section", { class: "printer", "aria-labelledby": "printer-title" });
  }

  draw() {
    const { told } = this.#state;
    const bar = words(told.test_bar_mm, commaIn(told));
    const typed = [...this.#fields].map(([name, field]) => [name, field.controls[0].value]);
    this.#fields = fieldsFor(told, bar);
    this.#keep(new Map(typed));
    this.#problems = element("div");
    this.panel.replaceChildren(
      element("h2", { id: "printer-title" }, "Make the printer print true"),
      stepsTo(told.file, bar),
      element(
        "form",
        {
          novalidate: true,
          onsubmit: (event) => {
            event.preventDefault();
            this.#act.once(() => this.#store());
          },
        },
        element("div", { class: "fields" }, [...this.#fields.values()].map(({ node }) => node)),
        this.#problems,
        element("button", { type: "submit" }, "Store the correction"),
      ),
      element("p", { class: "stored", role: "status", id: "stored", tabindex: "-1" }),
    );
  }

  /** Bars that were measured but not stored yet outlast a save of the rest. */
  #keep(typed) {
    if (!typed.get("x") && !typed.get("y")) return;
    for (const [name, text] of typed) this.#fields.get(name).controls[0].value = text;
  }

  async #store() {
    this.#problems.replaceChildren();
    document.getElementById("stored").textContent = ""; // said of the bars before
    for (const field of this.#fields.values()) field.refuse("");
    if (this.#act.changed) {
      const line = "Nothing was stored: save or undo your changes above first.";
      this.#problems.append(problemList([line]));
      return;
    }
    const typed = (name, kind) => READ[kind](this.#fields.get(name).controls[0].value) ?? "";
    const body = { name: typed("name", "text"), x: typed("x", "number"), y: typed("y", "number") };
    try {
      const stored = await fetchJson("/api/printer", { body });
      this.#fields.clear(); // they are the file's now
      this.#act.take(stored.settings);
      const said = document.getElementById("stored");
      said.textContent = stored.words;
      said.focus();
    } catch (error) {
      if (!(error instanceof Problems)) throw error;
      this.#refuse(error, body.name);
    }
  }

  /** Of the file's problems, those of this printer's own row have a field here. */
  #refuse({ problems, found }, name) {
    const rows = this.#state.told.form.lists.find(({ key }) => key === "printers").rows ?? [];
    const known = rows.findIndex((row) => row.name === name);
    const own = `printers[${(known < 0 ? rows.length : known) + 1}].`;
    const refused = problems.map((line, place) => {
      const key = found[place]?.key.replace(own, "").replace(/^bar_(.)_mm$/, "$1");
      const field = this.#fields.get(key);
      field?.refuse(found[place].words);
      return [field, line];
    });
    const elsewhere = refused.filter(([field]) => !field).map(([, line]) => line);
    if (elsewhere.length) this.#problems.append(problemList(elsewhere));
    refused.find(([field]) => field)?.[0].controls[0].focus();
  }
}

function fieldsFor(told, bar) {
  const comma = commaIn(told);
  const range = `${words(told.bar_least_mm, comma)} to ${words(told.bar_most_mm, comma)} mm`;
  const settings = told.form.sections.flatMap(({ fields }) => fields);
  const used = settings.find(({ key }) => key === "page.printer").value;
  const field = (name, label, kind, description, value = "") =>
    new Field(
      {
        key: `printer-${name}`,
        label,
        kind,
        description,
        unit: "",
        least: null,
        default: null,
        choices: [],
      },
      value,
      { comma },
    );
  const about = `${bar} mm as drawn; ${range} can be corrected.`;
  const usual = used && used !== "none" ? used : "main";
  return new Map([
    ["name", field("name", "Printer", "text", "Your own name for it.", usual)],
    ["x", field("x", "Bar across (x), mm", "number", about)],
    ["y", field("y", "Bar down (y), mm", "number", about)],
  ]);
}

function stepsTo(file, bar) {
  const opened = { href: "/api/printer-page.pdf", target: "_blank", rel: "noopener" };
  return element(
    "ol",
    {},
    element(
      "li",
      {},
      element("a", opened, "Open the test page"),
      " and print it at 100 % (actual size).",
    ),
    element("li", {}, `Measure its two ${bar} mm bars on the paper, to 0.1 mm.`),
    element("li", {}, `Store them here, in ${file}.`),
  );
}
