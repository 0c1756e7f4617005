// The menu of one tooth: what stands there, what is different about it, what it is used for.

import { choice, element, labelled } from "./parts.js";

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
const NONE = [["", "–"]];

/** What was said as a map of words, numbers behind those that take one. */
function read(words) {
  const said = new Map();
  for (const [word, number] of words.map((text) => text.split(" "))) said.set(word, number ?? true);
  return said;
}

/**
 * Opens the menu. Gives null where it was left alone, else `different` ([tooth, words] pairs),
 * `bridges`, `treated`, `anchor`, `slit` and `expose`.
 */
export function toothDialog({ tooth, words, treated, anchor, row, limits }) {
  const said = read(words);
  const primary = Number(tooth.tooth[0]) > 4;
  const stands = [
    ["", "As usual"],
    ["missing", "Missing"],
    ["pontic", "Pontic of a bridge"],
    ["implant", "Implant crown"],
    ...(said.has("present") || !tooth.stands ? [["present", "Stands here"]] : []),
    ...(tooth.instead ? [["instead", primary ? "Permanent tooth, come early" : "Primary tooth, still there"]] : []),
  ];
  const now = ["missing", "pontic", "implant", "present"].find((word) => said.has(word)) ?? "";
  const radios = stands.map(([value, text]) =>
    element(
      "label",
      {},
      element("input", { type: "radio", name: "stands", value, checked: value === now }),
      ` ${text}`,
    ),
  );
  const checks = Object.entries(CHECKS).map(([word, text]) =>
    element("label", {}, element("input", { type: "checkbox", name: word, checked: said.has(word) }), ` ${text}`),
  );
  const number = (name, text, most, value, hint, least = 0) =>
    labelled(
      text,
      element("input", { id: `t-${name}`, type: "number", name, min: least, max: most, step: "any", value: value ?? "" }),
      hint,
    );
  const others = [...NONE, ...row.map((one) => [one.tooth, one.label])];
  const run = (name, text) => labelled(text, choice(others, "", () => {}, { id: `t-${name}`, name }));
  const form = element(
    "form",
    { method: "dialog" },
    element("h2", { id: "tooth-title" }, `${tooth.label} ${tooth.name}`),
    element(
      "div",
      { class: "columns" },
      element("fieldset", {}, element("legend", {}, "What stands here"), radios,
        number("gap", "Gap left, mm", limits.gap_most_mm, said.has("closed") ? 0 : said.get("gap"), "Of a missing tooth. Empty: its own width. 0: closed.")),
      element("fieldset", {}, element("legend", {}, "State"), checks),
      element(
        "fieldset",
        {},
        element("legend", {}, "Out of line"),
        Object.entries(MOVES).map(([name, text]) => number(name, text, limits.move_most_mm, said.get(name))),
        number("rotated", "Turned, degrees", 180, said.get("rotated"), "Anticlockwise as you see it; minus: clockwise.", -180),
      ),
      element(
        "fieldset",
        {},
        element("legend", {}, "Use"),
        element("label", {}, element("input", { type: "checkbox", name: "treat", checked: treated }), " Treat this tooth"),
        element("label", {}, element("input", { type: "checkbox", name: "anchor", checked: anchor }), " Clamp this tooth"),
        run("bridge", "Bridge from here to"),
        run("slit", "One slot from here to"),
        run("expose", "Only these come through: from here to"),
      ),
    ),
    element(
      "div",
      { class: "row" },
      element("button", { class: "main-action", value: "done" }, "Done"),
      element("button", { value: "", formnovalidate: true }, "Leave as it was"),
    ),
  );
  const dialog = element("dialog", { "aria-labelledby": "tooth-title", class: "tooth-menu" }, form);
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue === "done" ? answer(tooth, new FormData(form)) : null);
    });
  });
}

function answer(tooth, data) {
  const kind = data.get("stands") ?? "";
  const words = [];
  if (kind && kind !== "instead") words.push(kind);
  for (const word of Object.keys(CHECKS)) if (data.get(word)) words.push(word);
  const gap = data.get("gap");
  if (gap !== "") words.push(Number(gap) === 0 ? "closed" : `gap ${gap}`);
  for (const word of [...Object.keys(MOVES), "rotated"]) {
    if (Number(data.get(word))) words.push(`${word} ${data.get(word)}`);
  }
  const gone = kind === "missing" || kind === "pontic" || kind === "instead";
  const to = (name) => (data.get(name) ? `${tooth.tooth}-${data.get(name)}` : "");
  return {
    different: kind === "instead" ? [[tooth.instead, "present"]] : [[tooth.tooth, words.join(" ")]],
    bridges: to("bridge") ? [`${to("bridge")} bridge`] : [],
    treated: Boolean(data.get("treat")) && !gone,
    anchor: Boolean(data.get("anchor")) && !gone,
    slit: to("slit"),
    expose: to("expose"),
  };
}
