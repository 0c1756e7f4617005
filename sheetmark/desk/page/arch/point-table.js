// About the picture: the jaw and what it starts from, the way to a tooth, the points in figures.

import { choice, element, labelled, table } from "../shared/elements.js";
import { ENDS } from "./points.js";

export function jawChoice(picked, turnTo) {
  const radios = ["upper", "lower"].map((jaw) =>
    element(
      "label",
      {},
      element("input", {
        type: "radio",
        name: "jaw",
        value: jaw,
        checked: picked.jaw === jaw,
        onchange: () => turnTo(jaw),
      }),
      ` ${jaw}`,
    ),
  );
  return element(
    "fieldset",
    {},
    element("legend", {}, "Jaw"),
    element("div", { class: "row" }, radios),
  );
}

export function baseChoice(picked, startFrom) {
  const pairs = picked.bases.map((base) => [base.value, `${base.value} · ${base.words}`]);
  const select = choice(pairs, picked.base, () => startFrom(select.value));
  return labelled("Start from", select, "Lends what is not picked. For a child, the age.");
}

export function toothChoice(picked, chooseTooth) {
  const pairs = picked.teeth.map((one) => [one.tooth, one.name + stateOf(picked, one)]);
  const select = choice([["", "–"], ...pairs], picked.target?.tooth ?? "", () => {
    if (select.value) chooseTooth(select.value);
  });
  return labelled("Go to tooth", select);
}

function stateOf(picked, { tooth, usual }) {
  if (picked.skipped.has(tooth)) return " (skipped)";
  const count = picked.endsOf(tooth).filter(Boolean).length;
  return ["", " (one point)", " (picked)"][count] || (usual ? "" : " (not usual)");
}

/** `act` is told what is asked for: `choose` and `drop`. */
export function pointTable(picked, act) {
  const cell = (target) => {
    const point = picked.pointOf(target);
    return element(
      "button",
      {
        class: "small",
        "aria-label": `${picked.wordsOf(target)}: ${point ? "move" : "pick"}`,
        "aria-pressed": picked.isMoved(target) ? "true" : null,
        onclick: () => act.choose(target),
      },
      point ? point.map((pixels) => Math.round(pixels)).join(", ") : "pick",
    );
  };
  const away = (tooth, name) =>
    element(
      "button",
      { class: "small", "aria-label": `Delete ${name}`, onclick: () => act.drop(tooth) },
      "Delete",
    );
  const begun = picked.teeth.filter(({ tooth }) => picked.endsOf(tooth).some(Boolean));
  return table(
    `Points, in pixels: ${picked.whole.length} teeth with both`,
    ["What", "Mesial, or first", "Distal, or second", ""],
    [
      ["Length", cell({ scale: 0 }), cell({ scale: 1 }), ""],
      ...begun.map(({ tooth, name }) => [
        name,
        ...ENDS.map((end) => cell({ tooth, end })),
        away(tooth, name),
      ]),
    ],
  );
}
