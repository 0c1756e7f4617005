// The model: its name and date, the fit of the picked points, and saving it.

import { element, labelled, problemList } from "../shared/elements.js";
import { announce } from "../shared/page.js";
import { fetchJson, Problems, problemsIn } from "../shared/server.js";
import { resultOf } from "./result.js";
import { state } from "./state.js";

/** @import { FitRequest } from "../shared/types.js" */

/** Fits the picked points and shows the result; `parts` are its elements. */
export class ModelPart {
  #saved;
  #result = element("div", { class: "fit-result" });

  /** @param {string[]} saved names of the saved models */
  constructor(saved) {
    this.#saved = saved;
    this.parts = [this.#form(), this.#result];
    if (state.result) this.#show();
  }

  /**
   * The result no longer matches what the view shows.
   * @param {string} why
   */
  forget(why) {
    if (!state.result && !state.request) return;
    state.result = null;
    state.request = null;
    this.#result.removeAttribute("aria-busy");
    this.#result.replaceChildren(element("p", {}, `${why} Fit the arch again.`));
  }

  #form() {
    const name = element("input", {
      type: "text",
      id: "model-name",
      maxlength: "40",
      autocomplete: "off",
      spellcheck: "false",
      value: state.name,
      oninput: () => {
        state.name = name.value;
        this.forget("The name has changed.");
      },
    });
    const date = element("input", {
      type: "date",
      id: "model-date",
      value: state.date,
      onchange: () => {
        state.date = date.value;
        this.forget("The date has changed.");
      },
    });
    return element(
      "section",
      { class: "model-part" },
      element("h2", {}, "The model"),
      element(
        "div",
        { class: "fields" },
        labelled("Name of the model", name, "Lower-case letters, digits and hyphens."),
        labelled("Date of measurement", date),
      ),
      element("button", { class: "main-action", onclick: () => this.#fit() }, "Fit the arch"),
    );
  }

  async #fit() {
    const request = {};
    state.request = request;
    this.#result.setAttribute("aria-busy", "true");
    let result = null;
    /** @type {string[]} */
    let problems = [];
    try {
      result = await fetchJson("/api/arch/fit", { body: fitBody() });
    } catch (error) {
      problems = problemsIn(error).lines;
    }
    if (state.request !== request) return; // ignore stale answers
    state.request = null;
    state.result = result;
    this.#result.removeAttribute("aria-busy");
    if (!result) {
      this.#result.replaceChildren(problemList(problems));
      return;
    }
    this.#show();
    this.#result.querySelector("h2")?.focus();
    announce(result.worst);
  }

  #show() {
    if (!state.result) return;
    const { base } = state.picked;
    const { name } = state.result;
    this.#result.replaceChildren(...resultOf(state.result, base, saveRow(name, this.#saved)));
  }
}

/**
 * What is sent to be fitted. Throws Problems where something is missing.
 * @returns {FitRequest}
 */
function fitBody() {
  const { picked, length, name, date } = state;
  const known = picked.pixelsPerMm;
  if (known) {
    const [width] = picked.size;
    return {
      name: name.trim(),
      date,
      base: picked.base,
      scale: { first: [0, 0], second: [width, 0], mm: width / known },
      teeth: picked.complete,
    };
  }
  const [first, second] = picked.scale;
  const mm = Number(length.trim().replace(",", "."));
  const problems = [];
  if (!first || !second) problems.push("Pick both ends of the known length.");
  if (!length.trim() || Number.isNaN(mm)) problems.push("Give the known length in mm, such as 50.");
  if (!first || !second || problems.length) throw new Problems(problems);
  return {
    name: name.trim(),
    date,
    base: picked.base,
    scale: { first, second, mm },
    teeth: picked.complete,
  };
}

/**
 * @param {string} name
 * @param {string[]} saved names of the saved models; the name is added to them
 */
function saveRow(name, saved) {
  const outcome = element("div", { class: "saved" });
  const replace = element("input", { type: "checkbox" });
  const save = async () => {
    button.disabled = true;
    try {
      const body = { ...fitBody(), replace: replace.checked };
      const model = await fetchJson("/api/arch/save", { body });
      if (!saved.includes(name)) saved.push(name);
      const text = `Saved as ${model.name}.`;
      const link = element("a", { href: `#/case?arch=${model.name}` }, "Use it for a case");
      outcome.replaceChildren(element("p", {}, text, " ", link, "."));
      announce(text);
    } catch (error) {
      outcome.replaceChildren(problemList(problemsIn(error).lines));
    }
    button.disabled = false;
  };
  const button = element("button", { onclick: save }, `Save as ${name}`);
  const replaceBox = element("label", {}, replace, ` Replace the saved ${name}`);
  return element(
    "div",
    { class: "row save" },
    button,
    saved.includes(name) ? replaceBox : null,
    outcome,
  );
}
