// The model: its name and day, the fit of the picked points, how good it is, and keeping it.

import {
  announce, download, element, fetchJson, labelled, problemList, Problems, table,
} from "../shared/elements.js";

export class Fitted {
  #state;
  #result = element("div", { class: "fit-result" });

  constructor(state) {
    this.#state = state;
    this.parts = [this.#modelPart(), this.#result];
    if (state.result) this.#show();
  }

  /** The result is no longer of what stands in the view. */
  forget(why) {
    if (!this.#state.result && !this.#state.asking) return;
    this.#state.result = null;
    this.#state.asking = null;
    this.#result.removeAttribute("aria-busy");
    this.#result.replaceChildren(element("p", {}, `${why} has changed. Fit the arch again.`));
  }

  #modelPart() {
    const state = this.#state;
    const name = element("input", {
      type: "text",
      id: "model-name",
      maxlength: "40",
      autocomplete: "off",
      spellcheck: "false",
      value: state.name,
      oninput: () => {
        state.name = name.value;
        this.forget("Name or day");
      },
    });
    const date = element("input", {
      type: "date",
      id: "model-date",
      value: state.date,
      onchange: () => {
        state.date = date.value;
        this.forget("Name or day");
      },
    });
    return element(
      "section",
      { class: "model-part" },
      element("h2", {}, "The model"),
      element(
        "div",
        { class: "fields" },
        labelled("Name of the model", name, "Small letters, figures and hyphens."),
        labelled("Day of measuring", date),
      ),
      element("button", { class: "main-action", onclick: () => this.#fit() }, "Fit the arch"),
    );
  }

  async #fit() {
    const state = this.#state;
    const asking = {};
    state.asking = asking;
    this.#result.setAttribute("aria-busy", "true");
    let result = null;
    let problems = [];
    try {
      result = await fetchJson("/api/arch/fit", { body: asked(state) });
    } catch (error) {
      if (!(error instanceof Problems)) throw error;
      problems = error.problems;
    }
    // An answer to what has changed since is none.
    if (state.asking !== asking) return;
    state.asking = null;
    state.result = result;
    this.#result.removeAttribute("aria-busy");
    if (!result) {
      this.#result.replaceChildren(problemList(problems));
      return;
    }
    this.#show();
    this.#result.querySelector("h2").focus();
    announce(result.worst);
  }

  #show() {
    this.#result.replaceChildren(...resultOf(this.#state));
  }
}

/** The request, or Problems where there is nothing to send yet. */
function asked({ picked, length, name, date }) {
  const missing = [];
  if (picked.scale.includes(null)) missing.push("Pick both ends of the known length.");
  const mm = Number(length.trim().replace(",", "."));
  if (!length.trim() || Number.isNaN(mm)) {
    missing.push("Give the known length in mm, such as 50.");
  }
  if (missing.length) throw new Problems(missing);
  const [one, other] = picked.scale;
  return {
    name: name.trim(),
    date,
    base: picked.base,
    scale: { one, other, mm },
    teeth: picked.whole,
  };
}

function resultOf(state) {
  const { result } = state;
  const lent = `From ${state.picked.base}: the other jaw; ${result.from_base.join("; ")}`;
  return [
    element("h2", { tabindex: "-1" }, `${result.name}: how well it fits`),
    element("p", { class: "worst" }, result.worst),
    ...findings(result),
    keepPart(state),
    element(
      "div",
      { class: "fit-columns" },
      element("div", {}, residualTable(result), figureTable(result)),
      element(
        "div",
        {},
        picturePart(result),
        element("p", {}, lent),
        files(result),
        element("p", { class: "hint" }, "The same with the points file, as a command:"),
        element("code", {}, result.command),
      ),
    ),
  ];
}

function findings(result) {
  if (!result.findings.length) return [];
  const lines = result.findings.map((one) => element("li", { class: one.severity }, one.text));
  return [element("ul", { class: "findings" }, lines)];
}

function residualTable({ residuals, decimal }) {
  const plain = (mm) => mm.toFixed(2).replace(".", decimal);
  const off = (mm, kept) => {
    const rounded = Math.round(mm * 100) / 100 || 0;
    const sign = rounded > 0 ? "+" : rounded < 0 ? "−" : "";
    return `${sign}${plain(Math.abs(rounded))}${kept ? "" : " left out"}`;
  };
  return table(
    "How far off each tooth lies, mm, the worst first. Off the curve: + is outwards.",
    ["Tooth", "Width", "Mesial off", "Distal off", "Laid off"],
    residuals.map((one) => [
      one.name,
      plain(one.width_mm),
      off(one.mesial_mm, one.mesial_kept),
      off(one.distal_mm, one.distal_kept),
      plain(one.centre_mm),
    ]),
  );
}

function figureTable({ figures }) {
  return table(
    "The arch, mm",
    ["What", "Measured", "Arch", "Published mean"],
    figures.map((one) => [
      one.what,
      ...[one.measured, one.fitted, one.published].map((text) => text || "–"),
    ]),
  );
}

function picturePart(result) {
  const address = URL.createObjectURL(new Blob([result.picture], { type: "image/svg+xml" }));
  return [
    element("img", {
      class: "picture fit-picture",
      src: address,
      alt: `The fitted arch over the picked points. ${result.worst}`,
      onload: () => URL.revokeObjectURL(address),
    }),
    result.picture_pages > 1
      ? element("p", { class: "hint" }, "The picture's words go on on a page that is not shown.")
      : null,
  ];
}

function files(result) {
  const file = (words, text, type, ending) => {
    const save = () => download(new Blob([text], { type }), `${result.name}.${ending}`);
    return element("li", {}, element("button", { onclick: save }, words));
  };
  return element(
    "ul",
    { class: "files" },
    file("Picture, true scale (SVG)", result.picture, "image/svg+xml", "svg"),
    file("Model file (TOML)", result.model, "application/toml", "toml"),
    file("Points in mm (CSV)", result.landmarks, "text/csv", "csv"),
  );
}

function keepPart(state) {
  const { own } = state.start;
  const { name } = state.result;
  const told = element("div", { class: "kept" });
  const replace = element("input", { type: "checkbox" });
  const button = element("button", { onclick: keep }, `Keep as ${name}`);
  return element(
    "div",
    { class: "row keep" },
    button,
    own.includes(name)
      ? element("label", {}, replace, ` Replace the ${name} that is kept`)
      : null,
    told,
  );

  async function keep() {
    button.disabled = true;
    try {
      const body = { ...asked(state), replace: replace.checked };
      const kept = await fetchJson("/api/arch/save", { body });
      if (!own.includes(name)) own.push(name);
      const words = `Kept as ${kept.name}.`;
      const use = { href: `#/case?arch=${kept.name}` };
      told.replaceChildren(
        element("p", {}, words, " ", element("a", use, "Use it for a case"), "."),
      );
      announce(words);
    } catch (error) {
      if (!(error instanceof Problems)) throw error;
      told.replaceChildren(problemList(error.problems));
    }
    button.disabled = false;
  }
}
