// The chart of both jaws as the operator sees them. One tab stop; ways.js leads along it.

import { svgElement } from "../shared/elements.js";
import { keepFocus } from "../shared/page.js";
import { choices } from "./address.js";
import { LongPress } from "./long-press.js";
import { state, toothOf } from "./state.js";
import { TypedNumber, wayOf } from "./ways.js";

/** @import { ChartTooth } from "../shared/types.js" */
/** @typedef {[number, number]} Point in mm, as the chart is drawn */

/**
 * What the chart asks of the view.
 * @typedef {object} Actions
 * @property {(tooth: ChartTooth) => void} press it was pressed, to treat or to describe it
 * @property {(iso: string) => void} describe its menu is wanted
 */

/** @type {Record<string, string>} */
const ROLES = { anchor: "anchor: takes the clamp", treated: "to treat", exposed: "comes through" };
const HELP =
  "Arrows move along the jaws, Enter chooses the tooth. Or type the tooth's number. " +
  "The menu key describes the tooth.";

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

/** On a telephone the teeth of the front are drawn wider, for a finger. */
const TELEPHONE = window.matchMedia("(max-width: 30rem)");
/** By how much on the midline, as a share; further back by less, and at the edges narrower. */
const WIDER = 0.28;
/** The chart is there at least as wide, as a share of its height: as the screen has room. */
const LEAST_WIDTH = 0.57;

/** The chart; `node` is the drawing. */
export class JawChart {
  #actions;
  #typed;
  /** @type {string | null} ISO number of the tooth at which Tab enters the chart */
  #entry = null;

  /** @param {Actions} actions */
  constructor(actions) {
    this.#actions = actions;
    this.#typed = new TypedNumber((tooth) => {
      this.focus(tooth.tooth);
      actions.press(tooth);
    });
    this.node = svgElement("svg", {
      class: "chart",
      role: "group",
      "aria-label": `Teeth of both jaws. ${HELP}`,
      onkeydown: (event) => this.#onKey(event),
      onfocusout: () => this.#typed.clear(),
    });
    const hold = new LongPress((target) => {
      const iso = isoAt(target);
      if (iso) actions.describe(iso);
    });
    hold.watch(this.node);
    TELEPHONE.onchange = () => this.draw();
  }

  /**
   * Moves the focus to a tooth, at which Tab then enters the chart.
   * @param {string} iso
   */
  focus(iso) {
    const tooth = this.#drawn(iso);
    if (!tooth) return;
    this.#enterAt(iso);
    tooth.focus();
  }

  /** Draws the chart of the latest answer. */
  draw() {
    const { chart, sheet } = state.answer;
    if (!chart) return;
    const focused = focusedTooth();
    const treated = choices().getAll("treat");
    const { box, place } = TELEPHONE.matches ? forFinger(chart.box) : asItIs(chart.box);
    this.node.setAttribute("viewBox", box.join(" "));
    /** @type {(jaw: "upper" | "lower") => SVGElement} */
    const drawn = (jaw) =>
      svgElement(
        "g",
        { role: "group", "aria-label": `${jaw} jaw` },
        chart[jaw].map((tooth) =>
          this.#tooth(
            { ...tooth, outline: tooth.outline.map(place), label_at: place(tooth.label_at) },
            treated.includes(tooth.tooth),
            sheet?.roles[tooth.tooth] ?? "",
          ),
        ),
      );
    // Where the focused tooth is gone, the focus goes to the tooth in its place.
    keepFocus(this.node, () =>
      this.node.replaceChildren(drawn("upper"), drawn("lower"), ...textsIn(box)),
    );
    const known = [this.#entry, state.current, treated[0]].find((iso) => iso && toothOf(iso));
    this.#enterAt(known ?? chart.upper[0]?.tooth ?? "");
    if (focused) this.focus(focused);
  }

  /**
   * @param {string} iso
   * @returns {SVGElement | null}
   */
  #drawn(iso) {
    return this.node.querySelector(`[data-tooth="${iso}"]`);
  }

  /** @param {string} iso */
  #enterAt(iso) {
    this.#drawn(this.#entry ?? "")?.setAttribute("tabindex", "-1");
    this.#entry = iso;
    this.#drawn(iso)?.setAttribute("tabindex", "0");
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
        tabindex: -1,
        "aria-pressed": String(treated),
        "data-tooth": iso,
        "aria-label": `${label}, ${description}`,
        onclick: () => {
          this.#enterAt(iso);
          this.#actions.press(tooth);
        },
        oncontextmenu: (event) => {
          event.preventDefault();
          this.#enterAt(iso);
          this.#actions.describe(iso);
        },
      },
      svgElement("title", {}, `${label}: ${description}`),
      svgElement("polygon", { points: outline.map((point) => point.join(",")).join(" ") }),
      signs(middleOf(outline), treated, role),
      svgElement("text", { x, y }, label),
    );
  }

  /**
   * Arrows move, Enter and Space press, letters and digits make a tooth's number.
   * @param {KeyboardEvent} event
   */
  #onKey(event) {
    const { chart } = state.answer;
    const tooth = toothOf(focusedTooth() ?? null);
    if (!tooth || !chart || event.ctrlKey || event.metaKey || event.altKey) return;
    if (this.#typed.take(event.key, [...chart.upper, ...chart.lower])) {
      event.preventDefault();
      return;
    }
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      this.#actions.press(tooth);
      return;
    }
    const way = wayOf(event.key);
    if (!way) return;
    event.preventDefault();
    const next = way(chart, tooth);
    if (next) this.focus(next.tooth);
  }
}

/** @typedef {[left: number, top: number, width: number, height: number]} Box */
/**
 * How far the chart reaches, and where a point of it is drawn.
 * @typedef {{ box: Box, place: (point: Point) => Point }} Drawn
 */

/** @type {(box: Box) => Drawn} */
const asItIs = (box) => ({ box, place: (point) => point });

/**
 * The front wider and the sides narrower; all teeth stay in touch.
 * @type {(box: Box) => Drawn}
 */
function forFinger([left, top, width, height]) {
  const middle = left + width / 2;
  const wide = Math.max(width, LEAST_WIDTH * height);
  return {
    box: [middle - wide / 2, top, wide, height],
    place: ([x, y]) => {
      const across = (x - middle) / (width / 2);
      return [middle + (wide / 2) * across * (1 + WIDER * (1 - across ** 2)), y];
    },
  };
}

/** @returns {string | undefined} */
function focusedTooth() {
  return isoAt(document.activeElement);
}

/**
 * @param {EventTarget | null} target
 * @returns {string | undefined} the ISO number of the tooth that it belongs to
 */
function isoAt(target) {
  const tooth = target instanceof Element ? target.closest("[data-tooth]") : null;
  return tooth instanceof SVGElement ? tooth.dataset.tooth : undefined;
}

/** @param {Box} box */
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
