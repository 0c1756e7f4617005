// The chart of both jaws as the operator sees them, and the way along it by keyboard.

import { svgElement } from "../shared/elements.js";
import { keepFocus } from "../shared/page.js";
import { choices } from "./address.js";
import { jawOf, state } from "./state.js";

/** @import { ChartTooth } from "../shared/types.js" */
/** @typedef {[number, number]} Point in mm, as the chart is drawn */

/**
 * What the chart asks of the view, each of a tooth by its ISO number.
 * @typedef {object} Actions
 * @property {(iso: string) => void} select it has the focus
 * @property {(tooth: ChartTooth) => void} press it was clicked
 * @property {(iso: string) => void} describe its menu is wanted
 */

/** @type {Record<string, string>} */
const ROLES = { anchor: "anchor: takes the clamp", treated: "to treat", exposed: "comes through" };

/**
 * Texts of the chart, each with its place as a share of the width and height.
 * @type {Array<[text: string, x: number, y: number, kind: "side" | "jaw"]>}
 */
const TEXTS = [
  ["R", 0.41, 0.47, "side"],
  ["patient's", 0.41, 0.51, "jaw"],
  ["right", 0.41, 0.54, "jaw"],
  ["L", 0.59, 0.47, "side"],
  ["patient's", 0.59, 0.51, "jaw"],
  ["left", 0.59, 0.54, "jaw"],
  ["upper", 0.5, 0.3, "jaw"],
  ["lower", 0.5, 0.72, "jaw"],
];

/** The chart; `node` is the drawing. */
export class JawChart {
  #actions;

  /** @param {Actions} actions */
  constructor(actions) {
    this.#actions = actions;
    this.node = svgElement("svg", {
      class: "chart",
      role: "group",
      "aria-label": "Teeth of both jaws",
      onkeydown: (event) => this.#onKey(event),
    });
  }

  /**
   * Moves the focus to a tooth.
   * @param {string} iso
   */
  focus(iso) {
    /** @type {SVGElement | null} */
    const tooth = this.node.querySelector(`[data-tooth="${iso}"]`);
    tooth?.focus();
  }

  /** Draws the chart of the latest answer. */
  draw() {
    const { chart, sheet } = state.answer;
    if (!chart) return;
    const focused = focusedTooth();
    const treated = choices().getAll("treat");
    this.node.setAttribute("viewBox", chart.box.join(" "));
    /** @type {(jaw: "upper" | "lower") => SVGElement} */
    const drawn = (jaw) =>
      svgElement(
        "g",
        { role: "group", "aria-label": `${jaw} jaw` },
        chart[jaw].map((tooth) =>
          this.#tooth(tooth, treated.includes(tooth.tooth), sheet?.roles[tooth.tooth] ?? ""),
        ),
      );
    // Where the focused tooth is gone, the focus goes to the tooth in its place.
    keepFocus(this.node, () =>
      this.node.replaceChildren(drawn("upper"), drawn("lower"), ...textsIn(chart.box)),
    );
    if (focused) this.focus(focused);
  }

  /**
   * @param {ChartTooth} tooth
   * @param {boolean} treated
   * @param {string} role
   */
  #tooth(tooth, treated, role) {
    const { tooth: iso, label, outline } = tooth;
    const description = descriptionOf(tooth, treated, role);
    const [x, y] = tooth.label_at;
    return svgElement(
      "g",
      {
        class: classesOf(tooth, treated, role),
        role: "button",
        tabindex: 0,
        "aria-pressed": String(treated),
        "data-tooth": iso,
        "aria-label": `${label}, ${description}`,
        onclick: () => this.#actions.press(tooth),
        oncontextmenu: (event) => {
          event.preventDefault();
          this.#actions.select(iso);
          this.#actions.describe(iso);
        },
        onfocus: () => this.#actions.select(iso),
      },
      svgElement("title", {}, `${label}: ${description}`),
      svgElement("polygon", { points: outline.map((point) => point.join(",")).join(" ") }),
      signs(middleOf(outline), treated, role),
      svgElement("text", { x, y }, label),
    );
  }

  /**
   * Enter and Space press a tooth; arrows move along the jaw or to the other jaw.
   * @param {KeyboardEvent} event
   */
  #onKey(event) {
    const { chart } = state.answer;
    const iso = focusedTooth();
    if (!iso || !chart) return;
    const jaw = jawOf(iso);
    const row = chart[jaw];
    const place = row.findIndex(({ tooth }) => tooth === iso);
    const tooth = row[place];
    if (!tooth) return;
    /** @type {Record<string, () => ChartTooth | undefined | void>} */
    const moves = {
      ArrowLeft: () => row[place - 1],
      ArrowRight: () => row[place + 1],
      ArrowUp: () => (jaw === "lower" ? nearest(chart.upper, tooth) : undefined),
      ArrowDown: () => (jaw === "upper" ? nearest(chart.lower, tooth) : undefined),
      Enter: () => this.#actions.press(tooth),
      " ": () => this.#actions.press(tooth),
    };
    const move = moves[event.key];
    if (!move) return;
    event.preventDefault();
    const next = move();
    if (next) this.focus(next.tooth);
  }
}

function focusedTooth() {
  const focused = document.activeElement;
  return focused instanceof SVGElement ? focused.dataset.tooth : undefined;
}

/**
 * The tooth of a row that stands opposite another tooth.
 * @param {ChartTooth[]} row
 * @param {ChartTooth} tooth
 */
function nearest(row, { label_at: [x] }) {
  /** @type {(tooth: ChartTooth) => number} */
  const distance = ({ label_at: [other] }) => Math.abs(other - x);
  return row.reduce((best, tooth) => (distance(tooth) < distance(best) ? tooth : best));
}

/** @param {[left: number, top: number, width: number, height: number]} box */
function textsIn([left, top, width, height]) {
  return TEXTS.map(([text, x, y, kind]) =>
    svgElement(
      "text",
      { x: left + x * width, y: top + y * height, class: kind, "aria-hidden": "true" },
      text,
    ),
  );
}

/**
 * @param {ChartTooth} tooth
 * @param {boolean} treated
 * @param {string} role
 */
function descriptionOf(tooth, treated, role) {
  const parts = [
    tooth.name,
    tooth.stands ? "" : "absent",
    tooth.different.join(" "),
    treated ? ROLES.treated : "",
    role !== "treated" ? ROLES[role] : "",
  ];
  return parts.filter(Boolean).join(", ");
}

/**
 * @param {ChartTooth} tooth
 * @param {boolean} treated
 * @param {string} role
 */
function classesOf(tooth, treated, role) {
  const classes = [
    "tooth",
    role,
    treated && "picked",
    !tooth.stands && "absent",
    tooth.different.length && "different",
  ];
  return classes.filter(Boolean).join(" ");
}

/**
 * @param {Point[]} outline
 * @returns {Point}
 */
function middleOf(outline) {
  /** @type {(values: number[]) => number} */
  const middle = (values) => (Math.min(...values) + Math.max(...values)) / 2;
  return [middle(outline.map(([x]) => x)), middle(outline.map(([, y]) => y))];
}

/**
 * Signs in the tooth for its use, so that nothing depends on colour.
 * @param {Point} middle
 * @param {boolean} treated
 * @param {string} role
 */
function signs([x, y], treated, role) {
  const square = { class: "sign", x: x - 1.8, y: y - 1.8, width: 3.6, height: 3.6 };
  const diamond = `M${x} ${y - 2.4}L${x + 2.4} ${y}L${x} ${y + 2.4}L${x - 2.4} ${y}Z`;
  return [
    role === "anchor" ? svgElement("rect", square) : null,
    treated ? svgElement("path", { class: "sign", d: diamond }) : null,
  ];
}
