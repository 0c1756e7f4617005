// The sheet of the case: to print and to look at; and what to fetch and to mind.

import { choices } from "./choices.js";
import { announce, element, keepFocus, problemList, table } from "../shared/elements.js";
import { labelOf } from "./teeth.js";

const NO_CLAMP = "none of the tray fits";

/** The choices as the files' addresses have them: without how the page shows the sheet. */
function fileAddress(form) {
  const now = choices();
  now.delete("view");
  return `/api/case.${form}?${now}`;
}

/** `act.put` is told how the sheet shall be shown. */
export class Sheet {
  #state;
  #act;

  constructor(state, act) {
    this.#state = state;
    this.#act = act;
    this.panel = element("section", { class: "sheet", "aria-labelledby": "sheet-title" });
    this.facts = element("div");
  }

  draw() {
    keepFocus(this.panel, () => this.#draw());
  }

  #draw() {
    const { sheet, problems } = this.#state.shown;
    if (!sheet) {
      this.panel.replaceChildren(
        element("h2", { id: "sheet-title" }, "Sheet"),
        problems.length
          ? problemList(problems)
          : element("p", { class: "empty" }, "No tooth chosen yet."),
      );
      this.facts.replaceChildren();
      return;
    }
    const count = sheet.isolated.length;
    const holes = `${count} ${count === 1 ? "hole" : "holes"}`;
    const teeth = sheet.isolated.map((iso) => labelOf(this.#state.shown, iso));
    this.panel.replaceChildren(
      element("h2", { id: "sheet-title" }, sheet.title),
      this.#print(),
      this.#switch(),
      element("p", { class: "busy" }, "Computing, a few seconds …"),
      picture(sheet, `${holes}: ${teeth.join(", ")}. Middle: ${sheet.middle}.`),
      legend(),
    );
    this.facts.replaceChildren(
      ...findings(sheet),
      holeTable(sheet),
      clampTable(sheet),
      element("p", {}, `Sheet ${sheet.sheet}. Its middle, from the mouth's: ${sheet.middle}.`),
      files(sheet),
    );
    announce(spoken(sheet, holes));
  }

  #print() {
    const { printer } = this.#state.start;
    const opened = { href: fileAddress("pdf"), target: "_blank", rel: "noopener" };
    const scale = element("strong", {}, "Choose 100 %");
    return element(
      "div",
      { class: "row print" },
      element("a", { class: "main-action", ...opened }, "Print"),
      element("p", {}, scale, " (actual size). Measure both 100 mm bars."),
      printer ? element("p", {}, `${printer}.`) : null,
    );
  }

  #switch() {
    const view = choices().get("view") ?? "sheet";
    const radio = (value, words) => {
      const onchange = () => this.#act.put("view", value === "sheet" ? "" : value);
      const checked = view === value;
      const input = element("input", { type: "radio", name: "view", value, checked, onchange });
      return element("label", {}, input, ` ${words}`);
    };
    return element(
      "fieldset",
      { class: "switch" },
      element("legend", { class: "quiet" }, "Show the sheet"),
      radio("sheet", "on its own"),
      radio("arch", "on the arch"),
    );
  }
}

/** What a screen reader says of a new sheet. */
function spoken(sheet, holes) {
  const clamps = sheet.clamps.map((one) => `${one.tooth} ${one.clamp || NO_CLAMP}`);
  const found = sheet.findings.map(({ text }) => text);
  return `${sheet.title}. ${holes}. Clamp: ${clamps.join("; ")}. ${found.join(" ")}`;
}

/** What the signs mean; on the arch also why the middle moves. */
function legend() {
  const signs = "□ takes the clamp, ◇ to treat, ○ comes through. Dots: upper edge, to the nose.";
  const why =
    "Dashed: the sheet placed otherwise. Its middle goes towards the teeth, so that it reaches " +
    "the frame on their side; the upper lip stays covered, the nostrils free.";
  const onArch = choices().get("view") === "arch";
  return element("p", { class: "hint" }, signs, onArch ? ` ${why}` : null);
}

function picture(sheet, words) {
  const parsed = new DOMParser().parseFromString(sheet.svg, "image/svg+xml").documentElement;
  const svg = document.importNode(parsed, true);
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", words);
  svg.classList.add("picture");
  return svg;
}

function findings(sheet) {
  if (!sheet.findings.length) return [];
  const items = sheet.findings.map(({ severity, text }) =>
    element("li", { class: severity }, severity === "warning" ? `Warning: ${text}` : text),
  );
  return [element("ul", { class: "findings", "aria-label": "In this case" }, items)];
}

function holeTable(sheet) {
  return table(
    "Punch in this order",
    ["Punch hole", "mm", "Teeth"],
    sheet.holes.map((row) => [row.position, row.diameter, row.teeth.join(", ")]),
  );
}

function clampTable(sheet) {
  const words = (row) => [
    element("strong", {}, row.clamp || NO_CLAMP),
    row.reason ? element("div", {}, row.reason) : null,
    row.next_best ? element("div", {}, `Next best: ${row.next_best}`) : null,
  ];
  return table(
    "Clamps",
    ["Anchor", "Clamp"],
    sheet.clamps.map((row) => [row.tooth, words(row)]),
  );
}

function files(sheet) {
  const link = (form, words) =>
    element("li", {}, element("a", { href: fileAddress(form), download: "" }, words));
  const forms = [
    link("pdf", "PDF"),
    link("svg", "SVG"),
    link("json", "JSON"),
    link("toml", "Case file"),
  ];
  const command = element("code", { tabindex: 0, "aria-label": "Command line" }, sheet.command);
  return element(
    "details",
    {},
    element("summary", {}, "Files and command line"),
    element("ul", { class: "files" }, forms),
    element("div", { class: "row" }, command, copyButton(sheet.command)),
  );
}

function copyButton(words) {
  const copy = async () => {
    await navigator.clipboard.writeText(words);
    announce("Copied");
    button.textContent = "Copied";
  };
  const button = element("button", { type: "button", onclick: copy }, "Copy");
  return button;
}
