// The menu of one tooth: what stands there, what is different about it, what it is used for.

import { choice, element, labelled } from "../shared/elements.js";

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
export function toothDialog(asked) {
  const { tooth } = asked;
  const said = read(asked.words);
  const form = element(
    "form",
    { method: "dialog" },
    element("h2", { id: "tooth-title" }, `${tooth.label} ${tooth.name}`),
    element(
      "div",
      { class: "columns" },
      stands(tooth, said),
      group("State", Object.entries(CHECKS).map(([word, text]) =>
        tick("checkbox", { name: word, checked: said.has(word) }, text),
      )),
      outOfLine(said),
      use(asked),
    ),
    element(
      "div",
      { class: "row" },
      element("button", { class: "main-action", value: "done" }, "Done"),
      element("button", { value: "", formnovalidate: true }, "Leave as it was"),
    ),
  );
  const labels = { "aria-labelledby": "tooth-title", class: "tooth-menu" };
  const dialog = element("dialog", labels, form);
  document.body.append(dialog);
  dialog.showModal();
  // Back and Forward leave what it was opened over.
  const leave = () => dialog.close();
  window.addEventListener("popstate", leave);
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      window.removeEventListener("popstate", leave);
      dialog.remove();
      resolve(dialog.returnValue === "done" ? answer(tooth, new FormData(form)) : null);
    });
  });
}

function group(legend, ...children) {
  return element("fieldset", {}, element("legend", {}, legend), ...children);
}

function tick(type, attributes, words) {
  return element("label", {}, element("input", { type, ...attributes }), ` ${words}`);
}

/** Text, since a number field of a browser drops the decimal comma; the desk reads both. */
function number(name, words, { value, hint, oninput }) {
  const attributes = { id: `t-${name}`, type: "text", inputmode: "decimal", autocomplete: "off" };
  const input = element("input", { ...attributes, name, value: value ?? "", oninput });
  return labelled(words, input, hint);
}

function stands(tooth, said) {
  const primary = Number(tooth.tooth[0]) > 4;
  const instead = primary ? "Permanent tooth, come early" : "Primary tooth, still there";
  const kinds = [
    ["", "As usual"],
    ["missing", "Missing"],
    ["pontic", "Pontic of a bridge"],
    ["implant", "Implant crown"],
    ...(said.has("present") || !tooth.stands ? [["present", "Stands here"]] : []),
    ...(tooth.instead ? [["instead", instead]] : []),
  ];
  const now = ["missing", "pontic", "implant", "present"].find((word) => said.has(word)) ?? "";
  return group(
    "What stands here",
    kinds.map(([value, words]) =>
      tick("radio", { name: "stands", value, checked: value === now }, words),
    ),
    number("gap", "Gap left, mm", {
      value: said.has("closed") ? 0 : said.get("gap"),
      hint: "Of a missing tooth. Empty: its own width. 0: closed.",
      // A gap is that of a missing tooth: said where one sees it.
      oninput: ({ target: { form } }) => {
        if (form.elements.stands.value === "") form.elements.stands.value = "missing";
      },
    }),
  );
}

function outOfLine(said) {
  return group(
    "Out of line",
    Object.entries(MOVES).map(([name, words]) =>
      number(name, words, { value: said.get(name) }),
    ),
    number("rotated", "Turned, degrees", {
      value: said.get("rotated"),
      hint: "Anticlockwise as you face the patient; minus: clockwise.",
    }),
  );
}

function use({ treated, anchor, row }) {
  const others = [...NONE, ...row.map((one) => [one.tooth, one.label])];
  const run = (name, words) =>
    labelled(words, choice(others, "", () => {}, { id: `t-${name}`, name }));
  return group(
    "Use",
    tick("checkbox", { name: "treat", checked: treated }, "Treat this tooth"),
    tick("checkbox", { name: "anchor", checked: anchor }, "Clamp this tooth"),
    run("bridge", "Bridge from here to"),
    run("slit", "One slot from here to"),
    run("expose", "Only these come through: from here to"),
  );
}

function answer(tooth, data) {
  const kind = data.get("stands") ?? "";
  const words = [];
  if (kind && kind !== "instead") words.push(kind);
  for (const word of Object.keys(CHECKS)) if (data.get(word)) words.push(word);
  const typed = (name) => data.get(name).replaceAll(" ", "");
  const zero = (text) => /^[+-]?0*[.,]?0*$/.test(text);
  if (typed("gap")) words.push(zero(typed("gap")) ? "closed" : `gap ${typed("gap")}`);
  for (const word of [...Object.keys(MOVES), "rotated"]) {
    if (!zero(typed(word))) words.push(`${word} ${typed(word)}`);
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
