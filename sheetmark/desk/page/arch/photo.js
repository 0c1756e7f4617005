// The pane with the picture: zoom, scrolling, dragging, keyboard, clicks.

import { element, svgElement } from "../shared/elements.js";
import { marks } from "./marks.js";
import { state } from "./state.js";

/** @import { Point, Target } from "./points.js" */
/** @import { Picture } from "./state.js" */

/**
 * What the pane asks of the view.
 * @typedef {object} Actions
 * @property {(point: Point) => void} place
 * @property {(point: Point, most: number) => Target | null} markAt a mark that can be dragged
 * @property {(target: Target, point: Point) => void} drag
 * @property {(direction: Point, by: number) => void} step
 * @property {() => void} undo
 * @property {() => void} goOn
 */

const STEP = 1;
const WIDE_STEP = 10;
const LEAP = 100;
/** @type {Record<string, Point>} */
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
/** @type {Record<string, Point>} */
const LEAPS = { Home: [-1, 0], End: [1, 0], PageUp: [0, -1], PageDown: [0, 1] };
const MOST_ZOOM = 8;
const ZOOM_STEP = 1.4;
const WHEEL_STEP = 1.15;
const MARGIN_PX = 40; // between the cross and the edge of the pane
const DRAG_PX = 5; // less is a click
const GRAB_PX = 16; // from a mark

/** The pane; `zoomBar` are its buttons. */
export class Photo {
  #picture;
  #actions;
  /** @type {{ x: number, y: number, under: Point } | null} what the zoom keeps in place */
  #held = null;
  #dragged = false;
  /** @type {Target | null} the mark under the pointer that is down */
  #mark = null;

  /**
   * @param {Picture} picture
   * @param {Actions} actions
   */
  constructor(picture, actions) {
    this.#picture = picture;
    this.#actions = actions;
    const image = element("img", { src: picture.address, alt: "", draggable: "false" });
    this.marks = svgElement("svg", { class: "photo-marks", "aria-hidden": "true" });
    this.stage = element("div", { class: "stage" }, image, this.marks);
    this.pane = element(
      "div",
      {
        class: "photo",
        tabindex: "0",
        role: "application",
        "aria-label": `Picture ${picture.name}`,
        "aria-describedby": "photo-keys",
        onkeydown: (event) => this.#onKey(event),
      },
      this.stage,
    );
    this.zoomed = element("span", { class: "zoomed" });
    this.zoomBar = this.#zoomBar();
    this.#listen();
    // The pane has no size until it is in the page.
    new ResizeObserver(() => {
      if (!this.pane.clientWidth) return;
      state.zoom = Math.max(state.zoom, this.#fittingZoom());
      this.draw();
    }).observe(this.pane);
  }

  focus() {
    this.pane.focus({ preventScroll: true });
  }

  /** Draws the marks at the zoom in use. */
  draw() {
    const { picked, zoom } = state;
    if (!zoom) return;
    const [width, height] = [this.#picture.width * zoom, this.#picture.height * zoom];
    this.stage.style.width = `${width}px`;
    this.stage.style.height = `${height}px`;
    this.marks.setAttribute("width", String(width));
    this.marks.setAttribute("height", String(height));
    this.zoomed.textContent = `${Math.round(zoom * 100)} %`;
    this.marks.replaceChildren(...marks(picked, zoom));
  }

  /** Scrolls the cross into sight. */
  showCross() {
    const { pane } = this;
    const [x, y] = state.picked.cross;
    /** @type {(scroll: number, room: number, place: number) => number} */
    const scrolled = (scroll, room, place) =>
      Math.max(Math.min(scroll, place - MARGIN_PX), place + MARGIN_PX - room);
    pane.scrollLeft = scrolled(pane.scrollLeft, pane.clientWidth, x * state.zoom);
    pane.scrollTop = scrolled(pane.scrollTop, pane.clientHeight, y * state.zoom);
  }

  // ---- zoom ----

  #zoomBar() {
    const smaller = () => this.#zoomBy(1 / ZOOM_STEP);
    const larger = () => this.#zoomBy(ZOOM_STEP);
    const whole = () => this.#zoomTo(this.#fittingZoom());
    return element(
      "span",
      { class: "row" },
      element("button", { "aria-label": "Smaller", onclick: smaller }, "−"),
      element("button", { "aria-label": "Larger", onclick: larger }, "+"),
      element("button", { onclick: whole }, "Whole picture"),
      this.zoomed,
    );
  }

  #fittingZoom() {
    const { width, height } = this.#picture;
    return Math.min(this.pane.clientWidth / width, this.pane.clientHeight / height, MOST_ZOOM);
  }

  /**
   * @param {number} times
   * @param {Point} [fixed]
   */
  #zoomBy(times, fixed) {
    this.#zoomTo(state.zoom * times, fixed);
  }

  /**
   * Zooms; the spot under `fixed` stays in place, or else the cross.
   * @param {number} zoom
   * @param {Point} [fixed] in the window
   */
  #zoomTo(zoom, fixed) {
    const { cross } = state.picked;
    const box = this.stage.getBoundingClientRect();
    const before = state.zoom;
    const [x, y] = fixed ?? [box.left + cross[0] * before, box.top + cross[1] * before];
    // A small picture stays centred and cannot follow, so remember the spot for the next zoom.
    let held = this.#held;
    if (!held || held.x !== x || held.y !== y) {
      held = { x, y, under: [(x - box.left) / before, (y - box.top) / before] };
      this.#held = held;
    }
    const after = Math.min(Math.max(zoom, this.#fittingZoom()), MOST_ZOOM);
    state.zoom = after;
    this.draw();
    const moved = this.stage.getBoundingClientRect();
    this.pane.scrollLeft += moved.left + held.under[0] * after - x;
    this.pane.scrollTop += moved.top + held.under[1] * after - y;
    if (!fixed) this.showCross();
  }

  // ---- mouse, touch and keyboard ----

  #listen() {
    this.#listenForDrags();
    this.pane.addEventListener("pointermove", () => {
      this.#held = null;
    });
    this.pane.addEventListener(
      "wheel",
      (event) => {
        event.preventDefault();
        const times = event.deltaY < 0 ? WHEEL_STEP : 1 / WHEEL_STEP;
        this.#zoomBy(times, [event.clientX, event.clientY]);
      },
      { passive: false },
    );
    this.stage.addEventListener("click", (event) => {
      if (this.#dragged) return;
      const { left, top } = this.stage.getBoundingClientRect();
      this.focus();
      this.#actions.place([
        (event.clientX - left) / state.zoom,
        (event.clientY - top) / state.zoom,
      ]);
    });
    // A finger on a mark drags it; elsewhere it pans.
    this.stage.addEventListener(
      "touchmove",
      (event) => {
        if (this.#mark) event.preventDefault();
      },
      { passive: false },
    );
  }

  /** @param {PointerEvent} event */
  #under({ clientX, clientY }) {
    const { left, top } = this.stage.getBoundingClientRect();
    /** @type {Point} */
    const point = [(clientX - left) / state.zoom, (clientY - top) / state.zoom];
    return point;
  }

  /** Dragging a mark moves it, elsewhere the mouse pans; a finger pans without our help. */
  #listenForDrags() {
    const { pane } = this;
    /** @type {{ x: number, y: number, left: number, top: number } | null} */
    let start = null;
    pane.addEventListener("pointerdown", (event) => {
      this.#dragged = false;
      if (event.button !== 0) return;
      this.#mark = this.#actions.markAt(this.#under(event), GRAB_PX / state.zoom);
      if (event.pointerType !== "mouse" && !this.#mark) return;
      start = { x: event.clientX, y: event.clientY, left: pane.scrollLeft, top: pane.scrollTop };
    });
    pane.addEventListener("pointermove", (event) => {
      if (!start) return;
      if (!(event.buttons & 1)) {
        start = null;
        return;
      }
      const [x, y] = [event.clientX - start.x, event.clientY - start.y];
      if (!this.#dragged && Math.hypot(x, y) < DRAG_PX) return;
      this.#dragged = true;
      if (this.#mark) {
        this.#actions.drag(this.#mark, this.#under(event));
        return;
      }
      pane.scrollLeft = start.left - x;
      pane.scrollTop = start.top - y;
    });
    for (const end of ["pointerup", "pointercancel"]) {
      pane.addEventListener(end, () => {
        start = null;
        this.#mark = null;
      });
    }
  }

  /** @param {KeyboardEvent} event */
  #onKey(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const actions = this.#actions;
    const { moving, cross } = state.picked;
    const arrow = ARROWS[event.key];
    const leap = LEAPS[event.key];
    if (arrow) actions.step(arrow, event.shiftKey ? WIDE_STEP : STEP);
    else if (leap) actions.step(leap, LEAP);
    else if (event.key === "Enter" || event.key === " ") {
      if (moving) actions.goOn();
      else actions.place(cross);
    } else if (event.key === "Backspace") actions.undo();
    else if (event.key === "+" || event.key === "=") this.#zoomBy(ZOOM_STEP);
    else if (event.key === "-") this.#zoomBy(1 / ZOOM_STEP);
    else if (event.key === "Escape" && moving) actions.goOn();
    else return;
    event.preventDefault();
  }
}
