// The pane with the picture: zoom, scrolling, dragging, the keyboard, clicks.

import { marks } from "./marks.js";
import { element, svgElement } from "../shared/elements.js";

const STEP = 1;
const WIDE_STEP = 10;
const LEAP = 100;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const LEAPS = { Home: [-1, 0], End: [1, 0], PageUp: [0, -1], PageDown: [0, 1] };
const MOST_ZOOM = 8;
const ZOOM_STEP = 1.4;
const WHEEL_STEP = 1.15;
const MARGIN_PX = 40; // between the cross and the edge of the pane
const DRAG_PX = 5; // less is a click

/** `act` is told what is asked for: `place`, `step`, `takeBack` and `goOn`. */
export class Photo {
  #state;
  #act;
  #held = null; // what the zoom turns about
  #dragged = false;

  constructor(state, act) {
    this.#state = state;
    this.#act = act;
    const { picture } = state;
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
    // The pane knows its size only once it stands in the page.
    new ResizeObserver(() => {
      if (!this.pane.clientWidth) return;
      if (state.zoom < this.#wholeZoom()) state.zoom = this.#wholeZoom();
      this.draw();
    }).observe(this.pane);
  }

  focus() {
    this.pane.focus({ preventScroll: true });
  }

  draw() {
    const { picture, picked, zoom } = this.#state;
    if (!zoom) return;
    const [width, height] = [picture.width * zoom, picture.height * zoom];
    this.stage.style.width = `${width}px`;
    this.stage.style.height = `${height}px`;
    this.marks.setAttribute("width", width);
    this.marks.setAttribute("height", height);
    this.zoomed.textContent = `${Math.round(zoom * 100)} %`;
    this.marks.replaceChildren(...marks(picked, zoom));
  }

  /** Bring the cross into sight. */
  look() {
    const { pane } = this;
    const [x, y] = this.#state.picked.cross.map((pixels) => pixels * this.#state.zoom);
    const into = (from, room, to) =>
      Math.max(Math.min(from, to - MARGIN_PX), to + MARGIN_PX - room);
    pane.scrollLeft = into(pane.scrollLeft, pane.clientWidth, x);
    pane.scrollTop = into(pane.scrollTop, pane.clientHeight, y);
  }

  // ---- zoom ----

  #zoomBar() {
    const [smaller, larger] = [() => this.#zoomBy(1 / ZOOM_STEP), () => this.#zoomBy(ZOOM_STEP)];
    return element(
      "span",
      { class: "row" },
      element("button", { "aria-label": "Smaller", onclick: smaller }, "−"),
      element("button", { "aria-label": "Larger", onclick: larger }, "+"),
      element("button", { onclick: () => this.#zoomTo(this.#wholeZoom()) }, "Whole picture"),
      this.zoomed,
    );
  }

  #wholeZoom() {
    const { width, height } = this.#state.picture;
    return Math.min(this.pane.clientWidth / width, this.pane.clientHeight / height, MOST_ZOOM);
  }

  #zoomBy(times, at) {
    this.#zoomTo(this.#state.zoom * times, at);
  }

  /** Zoom, and keep in place what lies under `at`, or else the cross. */
  #zoomTo(zoom, at) {
    const { picked } = this.#state;
    const box = this.stage.getBoundingClientRect();
    const before = this.#state.zoom;
    const [x, y] = at ?? [box.left + picked.cross[0] * before, box.top + picked.cross[1] * before];
    // A small picture stands in the middle and cannot follow; what was meant is kept in mind.
    if (this.#held?.x !== x || this.#held.y !== y) {
      this.#held = { x, y, under: [(x - box.left) / before, (y - box.top) / before] };
    }
    const now = Math.min(Math.max(zoom, this.#wholeZoom()), MOST_ZOOM);
    this.#state.zoom = now;
    this.draw();
    const moved = this.stage.getBoundingClientRect();
    this.pane.scrollLeft += moved.left + this.#held.under[0] * now - x;
    this.pane.scrollTop += moved.top + this.#held.under[1] * now - y;
    if (!at) this.look();
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
      const { zoom } = this.#state;
      this.focus();
      this.#act.place([(event.clientX - left) / zoom, (event.clientY - top) / zoom]);
    });
  }

  /** A mouse that is pressed and moved pans; a finger pans by itself. */
  #listenForDrags() {
    const { pane } = this;
    let from = null;
    pane.addEventListener("pointerdown", (event) => {
      this.#dragged = false;
      if (event.pointerType === "mouse" && event.button === 0) {
        from = [event.clientX, event.clientY, pane.scrollLeft, pane.scrollTop];
      }
    });
    pane.addEventListener("pointermove", (event) => {
      if (!from) return;
      if (!(event.buttons & 1)) {
        from = null;
        return;
      }
      const [x, y] = [event.clientX - from[0], event.clientY - from[1]];
      if (!this.#dragged && Math.hypot(x, y) < DRAG_PX) return;
      this.#dragged = true;
      pane.scrollLeft = from[2] - x;
      pane.scrollTop = from[3] - y;
    });
    pane.addEventListener("pointerup", () => {
      from = null;
    });
  }

  #onKey(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const act = this.#act;
    const { moving, cross } = this.#state.picked;
    const arrow = ARROWS[event.key];
    const leap = LEAPS[event.key];
    if (arrow) act.step(arrow, event.shiftKey ? WIDE_STEP : STEP);
    else if (leap) act.step(leap, LEAP);
    else if (event.key === "Enter" || event.key === " ") {
      if (moving) act.goOn();
      else act.place(cross);
    } else if (event.key === "Backspace") act.takeBack();
    else if (event.key === "+" || event.key === "=") this.#zoomBy(ZOOM_STEP);
    else if (event.key === "-") this.#zoomBy(1 / ZOOM_STEP);
    else if (event.key === "Escape" && moving) act.goOn();
    else return;
    event.preventDefault();
  }
}
