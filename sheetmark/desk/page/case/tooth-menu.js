// The menu of a tooth: what stands there, what is different about it, what it is used for.

import { choice, element, group, labelled, radios, ticked } from "../shared/elements.js";
import { helpButton } from "../shared/help.js";

/** @import { ChartTooth } from "../shared/types.js" */

/**
 * A tooth, and the choices about it so far.
 * @typedef {object} Tooth
 * @property {Pick<ChartTooth, "tooth" | "label" | "name" | "instead" | "stands">} tooth
 * @property {string[]} states what is different about it, such as "facial 1.5"
 * @property {boolean} treat
 * @property {boolean} anchor
 * @property {ChartTooth[]} others the other teeth of its jaw
 * @property {boolean} wanted it was pressed to be treated although none stands there as a rule
 */

/**
 * What the menu was filled in with.
 * @typedef {object} Description
 * @property {string} tooth ISO number of the tooth that stands there
 * @property {string} state what is different about it, empty for nothing
 * @property {string[]} bridges
 * @property {boolean} treat
 * @property {boolean} anchor
 * @property {string} slit a span such as "24-26", or empty
 * @property {string} expose a span, or empty
 */

/** @typedef {Map<string, string>} States what is different, with its number where it has one */

const CHECKS = {
  "lesion": "Gumline lesion",
  "broken-down": "Broken down",
  "partly-erupted": "Partly erupted",
  "abutment": "Carries a bridge",
};
const MOVES = {
  facial: "Towards lip or cheek, mm",
  lingual: "Towards the tongue, mm",
  mesial: "Towards the midline, mm",
  distal: "Away from the midline, mm",
};
/** @type {Record<string, string>} terms of the glossary by the entry that they explain */
const EXPLAINED = {
  pontic: "bridge", lesion: "cervical", "broken-down": "broken-down", abutment: "bridge",
  anchor: "anchor", bridge: "bridge", slit: "slit", expose: "exposed",
};

/**
 * Opens the menu.
 * @param {Tooth} about
 * @returns {Promise<Description | null>} null where it was cancelled
 */
export function openToothMenu(about) {
  const { tooth } = about;
  /** @type {States} */
  const states = new Map();
  for (const text of about.states) {
    const [name = "", value = ""] = text.split(" ");
    states.set(name, value);
  }
  // Whoever presses a tooth to treat it means that it stands there.
  if (about.wanted) states.set("present", "");
  const form = element(
    "form",
    { method: "dialog" },
    element("h2", { id: "tooth-title" }, `${tooth.label} ${tooth.name}`),
    element(
      "div",
      { class: "columns" },
      standsGroup(tooth, states),
      group("State", Object.entries(CHECKS).map(([name, label]) =>
        tickBox(name, label, states.has(name)),
      )),
      useGroup(about),
      positionGroup(states),
    ),
    element(
      "div",
      { class: "row ends" },
      element("button", { class: "main-action", value: "done" }, "Done"),
      element("button", { value: "", formnovalidate: true }, "Cancel"),
    ),
  );
  const attributes = { "aria-labelledby": "tooth-title", class: "tooth-menu" };
  const dialog = element("dialog", attributes, form);
  document.body.append(dialog);
  dialog.showModal();
  // Back and Forward leave the view that the menu was opened from.
  const close = () => dialog.close();
  window.addEventListener("popstate", close);
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      window.removeEventListener("popstate", close);
      dialog.remove();
      resolve(dialog.returnValue === "done" ? descriptionIn(tooth, new FormData(form)) : null);
    });
  });
}

/**
 * @param {string} name
 * @param {string} label
 * @param {boolean} checked
 */
function tickBox(name, label, checked) {
  const box = ticked(element("input", { type: "checkbox", name, checked }), label);
  const help = helpFor(name, label);
  return help ? element("div", { class: "term" }, box, help) : box;
}

/**
 * @param {string} name of an entry
 * @param {string} label
 */
function helpFor(name, label) {
  const term = EXPLAINED[name];
  return term ? helpButton(term, label) : undefined;
}

/**
 * A number as text, since a number field of a browser drops the decimal comma.
 * @param {string} name
 * @param {string} label
 * @param {{ value: string | undefined, hint?: string, oninput?: () => void }} options
 */
function number(name, label, { value = "", hint, oninput }) {
  const attributes = { id: `t-${name}`, type: "text", inputmode: "decimal", autocomplete: "off" };
  return labelled(label, element("input", { ...attributes, name, value, oninput }), hint);
}

/**
 * @param {Tooth["tooth"]} tooth
 * @param {States} states
 */
function standsGroup(tooth, states) {
  const primary = /^[5-8]/.test(tooth.tooth);
  const instead = primary ? "Permanent tooth, come early" : "Primary tooth, still there";
  /** @type {Map<string, string>} */
  const kinds = new Map([
    ["", tooth.stands ? "As usual" : "As usual: no tooth"],
    ["missing", "Missing"],
    ["pontic", "Pontic of a bridge"],
    ["implant", "Implant crown"],
  ]);
  if (states.has("present") || !tooth.stands) kinds.set("present", "Stands here");
  if (tooth.instead) kinds.set("instead", instead);
  const kind = [...kinds.keys()].find((name) => states.has(name)) ?? "";
  const buttons = radios("stands", kinds, kind);
  for (const { control } of buttons) control?.toggleAttribute("autofocus", isChecked(control));
  return group(
    "What stands here",
    buttons,
    number("gap", "Gap left, mm", {
      value: states.has("closed") ? "0" : states.get("gap"),
      hint: "Of a missing tooth. Empty: its own width. 0: closed.",
      // Only a missing tooth has a gap, so show that it is missing.
      oninput: () => {
        const [usual, missing] = buttons.map((button) => button.control);
        if (isChecked(usual) && missing instanceof HTMLInputElement) missing.checked = true;
      },
    }),
  );
}

/** @param {HTMLElement | null | undefined} control */
function isChecked(control) {
  return control instanceof HTMLInputElement && control.checked;
}

/** @param {States} states */
function positionGroup(states) {
  return group(
    "Out of line",
    Object.entries(MOVES).map(([name, label]) => number(name, label, { value: states.get(name) })),
    number("rotated", "Turned, degrees", {
      value: states.get("rotated"),
      hint: "Anticlockwise as you face the patient; minus: clockwise.",
    }),
  );
}

/** @param {Tooth} about */
function useGroup({ treat, anchor, others, wanted }) {
  /** @type {Map<string, string>} */
  const ends = new Map([["", "–"]]);
  for (const { tooth, label } of others) ends.set(tooth, label);
  /** @type {(name: string, label: string) => HTMLElement} */
  const span = (name, label) =>
    labelled(
      label,
      choice(ends, "", undefined, { id: `t-${name}`, name }),
      undefined,
      helpFor(name, label),
    );
  return group(
    "Use",
    tickBox("treat", "Treat this tooth", treat || wanted),
    tickBox("anchor", "Clamp this tooth", anchor),
    span("bridge", "Bridge from here to"),
    span("slit", "One slit from here to"),
    span("expose", "Only these come through: from here to"),
  );
}

/**
 * @param {Tooth["tooth"]} tooth
 * @param {FormData} data
 * @returns {Description}
 */
function descriptionIn(tooth, data) {
  /** @type {(name: string) => string} */
  const text = (name) => String(data.get(name) ?? "").replaceAll(" ", "");
  /** @type {(typed: string) => boolean} */
  const isZero = (typed) => /^[+-]?0*[.,]?0*$/.test(typed);
  const kind = text("stands");
  const states = kind ? [kind] : [];
  states.push(...Object.keys(CHECKS).filter((name) => data.has(name)));
  const gap = text("gap");
  if (gap) states.push(isZero(gap) ? "closed" : `gap ${gap}`);
  for (const name of [...Object.keys(MOVES), "rotated"]) {
    if (!isZero(text(name))) states.push(`${name} ${text(name)}`);
  }
  const gone = ["missing", "pontic", "instead"].includes(kind);
  const instead = kind === "instead" ? tooth.instead : null;
  /** @type {(name: string) => string} */
  const span = (name) => (text(name) ? `${tooth.tooth}-${text(name)}` : "");
  return {
    tooth: instead ?? tooth.tooth,
    state: instead ? "present" : states.join(" "),
    bridges: text("bridge") ? [`${span("bridge")} bridge`] : [],
    treat: data.has("treat") && !gone,
    anchor: data.has("anchor") && !gone,
    slit: span("slit"),
    expose: span("expose"),
  };
}
