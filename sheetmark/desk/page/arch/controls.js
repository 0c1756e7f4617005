// The controls beside the picture: jaw, model to start from, tooth, and the table of points.

import { choice, element, group, labelled, radios, table } from "../shared/elements.js";

/** @import { ToothName } from "../shared/types.js" */
/** @import { Kind, PickedPoints, Target } from "./points.js" */

/** @type {Map<Kind, string>} */
const KINDS = new Map([
  ["contacts", "two: where it touches its neighbours"],
  ["middle", "one: the middle of the crown"],
  ["gum", "two: the gum on both sides (surest)"],
]);
/** @type {Record<Kind, string>} */
const KIND_HELP = {
  contacts: "Mesial is the side towards the midline, distal the other.",
  middle: "Half way across and along the crown, seen from above. The quickest.",
  gum: "The middle of the gum margin: facial on the side of lip or cheek, lingual on the tongue's.",
};

/**
 * @param {PickedPoints} picked
 * @param {(jaw: "upper" | "lower") => void} setJaw
 * @returns {HTMLElement}
 */
export function jawChoice(picked, setJaw) {
  const buttons = radios("jaw", [["upper", "upper"], ["lower", "lower"]], picked.jaw, (jaw) =>
    setJaw(jaw === "upper" ? "upper" : "lower"),
  );
  return group("Jaw", element("div", { class: "row" }, buttons));
}

/**
 * @param {PickedPoints} picked
 * @param {(base: string) => void} setBase
 * @returns {HTMLElement}
 */
export function baseChoice(picked, setBase) {
  /** @type {Map<string, string>} */
  const bases = new Map();
  for (const { value, label: title } of picked.bases) bases.set(value, `${value} · ${title}`);
  const select = choice(bases, picked.base, setBase);
  return labelled("Start from", select, "Supplies what is not picked. For a child, choose by age.");
}

/**
 * Which points each tooth of a picture gets.
 * @param {PickedPoints} picked
 * @param {(kind: Kind) => void} setKind
 * @returns {HTMLElement}
 */
export function kindChoice(picked, setKind) {
  const select = choice(KINDS, picked.kind, (kind) => setKind(/** @type {Kind} */ (kind)));
  return labelled("Points of each tooth", select, KIND_HELP[picked.kind]);
}

/**
 * @param {PickedPoints} picked
 * @param {(tooth: string) => void} chooseTooth
 * @returns {HTMLElement}
 */
export function toothChoice(picked, chooseTooth) {
  /** @type {Map<string, string>} */
  const teeth = new Map([["", "–"]]);
  for (const tooth of picked.teeth) teeth.set(tooth.tooth, tooth.name + progress(picked, tooth));
  const { target } = picked;
  const current = target && "tooth" in target ? target.tooth : "";
  const select = choice(teeth, current, (tooth) => {
    if (tooth) chooseTooth(tooth);
  });
  return labelled("Go to tooth", select);
}

/**
 * @param {PickedPoints} picked
 * @param {ToothName} tooth
 */
function progress(picked, { tooth, usual }) {
  if (picked.skipped.has(tooth)) return " (skipped)";
  const count = picked.pointsOf(tooth).filter(Boolean).length;
  if (count === picked.ends.length) return " (picked)";
  return ["", " (one point)"][count] || (usual ? "" : " (not usual)");
}

/**
 * The points in pixels.
 * @param {PickedPoints} picked
 * @param {{ choose: (target: Target) => void, drop: (tooth: string) => void }} actions
 * @returns {HTMLElement}
 */
export function pointTable(picked, actions) {
  /** @type {(target: Target) => HTMLElement} */
  const cell = (target) => {
    const point = picked.pointOf(target);
    return element(
      "button",
      {
        class: "small",
        "aria-label": `${picked.describe(target)}: ${point ? "move" : "pick"}`,
        "aria-pressed": picked.isMoved(target) ? "true" : null,
        onclick: () => actions.choose(target),
      },
      point ? point.map((pixels) => Math.round(pixels)).join(", ") : "pick",
    );
  };
  /** @type {(tooth: string, name: string) => HTMLElement} */
  const deletion = (tooth, name) =>
    element(
      "button",
      { class: "small", "aria-label": `Delete ${name}`, onclick: () => actions.drop(tooth) },
      "Delete",
    );
  const begun = picked.teeth.filter(({ tooth }) => picked.pointsOf(tooth).some(Boolean));
  /** @type {(tooth: string) => HTMLElement[]} */
  const cells = (tooth) => picked.ends.map((end) => cell({ tooth, end }));
  if (picked.pixelsPerMm) {
    return table(
      `Middles of the teeth, in pixels: ${picked.complete.length}`,
      ["Tooth", "Middle", "Sure", ""],
      begun.map(({ tooth, name }) => [
        name,
        ...cells(tooth),
        sureness(picked, tooth),
        deletion(tooth, name),
      ]),
    );
  }
  return table(
    `Points, in pixels: ${picked.complete.length} teeth complete`,
    ["What", ...heads(picked), ""],
    [
      ["Length", cell({ scale: 0 }), cell({ scale: 1 }), ""],
      ...begun.map(({ tooth, name }) => {
        const [first, second] = cells(tooth);
        return [name, first ?? "", second ?? "", deletion(tooth, name)];
      }),
    ],
  );
}

/**
 * Headings above the points of the teeth and both ends of the length.
 * @param {PickedPoints} picked
 */
function heads(picked) {
  const [first, second] = picked.ends.map((end) => end[0]?.toUpperCase() + end.slice(1));
  return [`${first}, or first`, second ? `${second}, or second` : "Second"];
}

/**
 * @param {PickedPoints} picked
 * @param {string} tooth
 */
function sureness(picked, tooth) {
  const proposal = picked.proposed.get(tooth);
  if (!proposal) return "by hand";
  return `${Math.round(proposal.sure * 100)} %${proposal.unsure ? ": look" : ""}`;
}
