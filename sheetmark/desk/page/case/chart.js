// Both jaws, drawn as the operator sees them, and the way along them by keyboard.

import { choices } from "./choices.js";
import { keepFocus, svgElement } from "../shared/elements.js";
import { jawOf } from "./teeth.js";

const ROLES = { anchor: "anchor: takes the clamp", treated: "to treat", exposed: "comes through" };
// Where they stand, in parts of the drawing.
const WORDS = [
  ["R", 0.41, 0.47, "side"],
  ["patient's", 0.41, 0.51, "jaw"],
  ["right", 0.41, 0.54, "jaw"],
  ["L", 0.59, 0.47, "side"],
  ["patient's", 0.59, 0.51, "jaw"],
  ["left", 0.59, 0.54, "jaw"],
  ["upper", 0.5, 0.3, "jaw"],
  ["lower", 0.5, 0.72, "jaw"],
];

/** `act` is told which tooth is picked (`pick`), pressed (`toggle`) or asked about (`describe`). */
export class Jaws {
  #state;
  #act;

  constructor(state, act) {
    this.#state = state;
    this.#act = act;
    this.chart = svgElement("svg", {
      class: "chart",
      role: "group",
      "aria-label": "Teeth of both jaws",
      onkeydown: (event) => this.#walk(event),
    });
  }

  focus(iso) {
    this.chart.querySelector(`[data-tooth="${iso}"]`)?.focus();
  }

  draw() {
    const { chart, sheet } = this.#state.shown;
    if (!chart) return;
    const focused = document.activeElement?.dataset?.tooth;
    const treated = choices().getAll("treat");
    const roles = sheet?.roles ?? {};
    this.chart.setAttribute("viewBox", chart.box.join(" "));
    const jaws = ["upper", "lower"].map((jaw) =>
      svgElement(
        "g",
        { role: "group", "aria-label": `${jaw} jaw` },
        chart[jaw].map((one) =>
          this.#tooth(one, treated.includes(one.tooth), roles[one.tooth]),
        ),
      ),
    );
    // Of a tooth that is no longer there, to the one that stands in its place.
    keepFocus(this.chart, () => this.chart.replaceChildren(...jaws, ...wordsIn(chart.box)));
    if (focused) this.focus(focused);
  }

  #tooth(one, treated, role) {
    const act = this.#act;
    const words = wordsOf(one, treated, role);
    return svgElement(
      "g",
      {
        class: classesOf(one, treated, role),
        role: "button",
        tabindex: 0,
        "aria-pressed": String(treated),
        "data-tooth": one.tooth,
        "aria-label": `${one.label}, ${words}`,
        onclick: () => act.toggle(one),
        oncontextmenu: (event) => {
          event.preventDefault();
          act.pick(one.tooth);
          act.describe(one.tooth);
        },
        onfocus: () => act.pick(one.tooth),
      },
      svgElement("title", {}, `${one.label}: ${words}`),
      svgElement("polygon", { points: one.outline.map((point) => point.join(",")).join(" ") }),
      signs(middleOf(one.outline), treated, role),
      svgElement("text", { x: one.label_at[0], y: one.label_at[1] }, one.label),
    );
  }

  /** Enter and Space press a tooth; arrows go along the jaw or to the other one. */
  #walk(event) {
    const iso = event.target.dataset?.tooth;
    if (!iso) return;
    const { chart } = this.#state.shown;
    const jaw = jawOf(iso);
    const row = chart[jaw];
    const place = row.findIndex((one) => one.tooth === iso);
    const opposite = () => nearest(chart[jaw === "upper" ? "lower" : "upper"], row[place]);
    const moves = {
      ArrowLeft: () => row[place - 1],
      ArrowRight: () => row[place + 1],
      ArrowUp: () => (jaw === "lower" ? opposite() : null),
      ArrowDown: () => (jaw === "upper" ? opposite() : null),
      Enter: () => void this.#act.toggle(row[place]),
      " ": () => void this.#act.toggle(row[place]),
    };
    if (!(event.key in moves)) return;
    event.preventDefault();
    const to = moves[event.key]();
    if (to) this.focus(to.tooth);
  }
}

/** The tooth of a row that stands across from another. */
function nearest(row, { label_at: [x] }) {
  const far = (one) => Math.abs(one.label_at[0] - x);
  return row.reduce((best, one) => (far(one) < far(best) ? one : best));
}

function wordsIn([left, top, width, height]) {
  return WORDS.map(([words, x, y, kind]) =>
    svgElement(
      "text",
      { x: left + x * width, y: top + y * height, class: kind, "aria-hidden": "true" },
      words,
    ),
  );
}

function wordsOf(one, treated, role) {
  const said = [
    one.name,
    one.stands ? "" : "not there",
    one.different.join(" "),
    treated ? ROLES.treated : "",
    role && role !== "treated" ? ROLES[role] : "",
  ];
  return said.filter(Boolean).join(", ");
}

function classesOf(one, treated, role) {
  const classes = [
    "tooth",
    role,
    treated && "picked",
    !one.stands && "absent",
    one.different.length && "different",
  ];
  return classes.filter(Boolean).join(" ");
}

function middleOf(outline) {
  return [0, 1].map((axis) => {
    const along = outline.map((point) => point[axis]);
    return (Math.min(...along) + Math.max(...along)) / 2;
  });
}

/** A shape in the tooth for what it is used for, so that no colour alone says it. */
function signs([x, y], treated, role) {
  const square = { class: "sign", x: x - 1.8, y: y - 1.8, width: 3.6, height: 3.6 };
  const diamond = `M${x} ${y - 2.4}L${x + 2.4} ${y}L${x} ${y + 2.4}L${x - 2.4} ${y}Z`;
  return [
    role === "anchor" ? svgElement("rect", square) : null,
    treated ? svgElement("path", { class: "sign", d: diamond }) : null,
  ];
}
