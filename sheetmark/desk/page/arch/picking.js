// Picking the points: what clicks and keys do, and all parts kept in step.

import { element, group, labelled } from "../shared/elements.js";
import { announce } from "../shared/page.js";
import { baseChoice, jawChoice, kindChoice, pointTable, toothChoice } from "./controls.js";
import { Photo } from "./photo.js";
import { state } from "./state.js";

/** @import { Point, Target } from "./points.js" */
/** @import { Picture } from "./state.js" */

const SCAN_KEYS =
  "Drag a tooth's circle to the middle of its crown. To add a tooth, choose it under “Go to " +
  "tooth” and click or tap its middle; to remove it, delete it in the table. By keyboard: choose " +
  "a tooth, move it with the arrows by 1 pixel, with Shift by 10, and press Enter; Backspace " +
  "undoes; + and − zoom. A question mark: the tooth is not sure.";
const TURNS = [
  ["left", "Turn left"],
  ["right", "Turn right"],
  ["over", "Turn over"],
];
/** By 3 degrees, for a scan whose chewing surfaces do not face the reader. */
const TILTS = [
  ["front-down", "Front down"],
  ["front-up", "Front up"],
  ["left-down", "Left down"],
  ["right-down", "Right down"],
];
const KEYS =
  "Click or tap to place the point. By keyboard: arrows move the cross by 1 pixel, with " +
  "Shift by 10, Home, End, Page Up and Page Down by 100; Enter places; Backspace " +
  "undoes; + and − zoom.";

/** The picture and the controls about it; `parts` are its elements. */
export class Picking {
  #changed;
  #seeAnew;
  #scan;

  /**
   * @param {Picture} picture
   * @param {[number, number]} lengthLimits of the known length, mm
   * @param {() => void} changed called when the points no longer match the fit
   * @param {(change: { turn?: string, jaw?: "upper" | "lower" }) => void} seeAnew for a scan: looks
   * at it again, turned or as the other jaw
   */
  constructor(picture, lengthLimits, changed, seeAnew) {
    this.#changed = changed;
    this.#seeAnew = seeAnew;
    this.#scan = picture.scan;
    this.photo = new Photo(picture, this);
    this.instruction = element("p", { class: "now" });
    this.undoButton = element("button", { onclick: () => this.undo() }, "Undo");
    this.skipButton = element("button", { onclick: () => this.skip() }, "Skip this tooth");
    this.doneButton = element("button", { onclick: () => this.goOn() }, "Done moving");
    this.jaw = jawChoice(state.picked, (jaw) => {
      if (this.#scan) return this.#seeAnew({ jaw });
      state.picked.setJaw(jaw);
      this.#pointsChanged();
    });
    this.kind = element("div");
    this.tooth = element("div");
    this.points = element("div", { class: "points" });
    this.parts = [this.#fields(lengthLimits), this.#picture()];
    this.#update();
  }

  /** @param {[number, number]} lengthLimits mm */
  #fields([least, most]) {
    const length = element("input", {
      type: "text",
      inputmode: "decimal",
      autocomplete: "off",
      id: "known-length",
      value: state.length,
      oninput: () => {
        state.length = length.value;
        this.#changed();
      },
    });
    /** @type {(turns: string[][]) => HTMLElement} */
    const row = (turns) =>
      element(
        "div",
        { class: "row" },
        turns.map(([turn, label]) =>
          element("button", { onclick: () => this.#seeAnew({ turn }) }, label),
        ),
      );
    const tilts = group("Tilt by 3 degrees", row(TILTS));
    return element(
      "div",
      { class: "fields before" },
      this.#scan
        ? group("Scan", row(TURNS))
        : labelled("Known length, mm", length, `A stretch of a ruler, ${least} to ${most} mm.`),
      this.jaw,
      this.#scan ? tilts : this.kind,
      baseChoice(state.picked, (base) => {
        state.picked.setBase(base);
        this.#pointsChanged();
      }),
    );
  }

  #picture() {
    return element(
      "div",
      { class: "picking" },
      element(
        "div",
        { class: "photo-part" },
        element("div", { class: "row photo-bar" }, this.instruction, this.photo.zoomBar),
        this.photo.pane,
        element("div", { class: "row" }, this.undoButton, this.skipButton, this.doneButton),
        element("p", { class: "hint", id: "photo-keys" }, this.#scan ? SCAN_KEYS : KEYS),
      ),
      element("div", { class: "picking-side" }, this.tooth, this.points),
    );
  }

  #update() {
    const { picked } = state;
    this.instruction.textContent = picked.instruction;
    this.undoButton.disabled = picked.past.length === 0;
    this.skipButton.disabled = !this.#targetTooth;
    this.doneButton.hidden = !picked.moving;
    // Undo may have changed the jaw.
    /** @type {HTMLInputElement | null} */
    const jaw = this.jaw.querySelector(`[value="${picked.jaw}"]`);
    if (jaw) jaw.checked = true;
    const kind = kindChoice(picked, (chosen) => {
      picked.setKind(chosen);
      this.#pointsChanged();
      announce(picked.instruction);
    });
    this.kind.replaceChildren(kind);
    this.tooth.replaceChildren(toothChoice(picked, (tooth) => this.chooseTooth(tooth)));
    this.points.replaceChildren(pointTable(picked, this));
    this.photo.draw();
  }

  get #targetTooth() {
    const { target } = state.picked;
    return target && "tooth" in target ? target.tooth : null;
  }

  #pointsChanged() {
    this.#changed();
    this.#update();
  }

  /**
   * @param {Point} direction
   * @param {number} by pixels
   */
  step(direction, by) {
    state.picked.step(direction, by);
    if (state.picked.moving) this.#pointsChanged();
    else this.photo.draw();
    this.photo.showCross();
  }

  /** @param {Point} point */
  place(point) {
    const { picked } = state;
    if (!picked.target) return;
    const placed = picked.describe(picked.target);
    picked.place(point);
    this.#pointsChanged();
    announce(`${placed} ${picked.moving ? "moved" : "placed"}. ${picked.instruction}`);
  }

  /**
   * On a scan the mark near a place, which can be dragged.
   * @param {Point} point
   * @param {number} most pixels
   * @returns {Target | null}
   */
  markAt(point, most) {
    return this.#scan ? state.picked.nearest(point, most) : null;
  }

  /**
   * @param {Target} target
   * @param {Point} point
   */
  drag(target, point) {
    const { picked } = state;
    if (!picked.isMoved(target)) {
      picked.choose(target);
      announce(picked.instruction);
    }
    picked.place(point);
    this.#pointsChanged();
  }

  /** Undoes the last step. */
  undo() {
    const { picked } = state;
    if (!picked.past.length) return;
    picked.undo();
    this.#pointsChanged();
    announce(`Undone. ${picked.instruction}`);
  }

  /** Skips the tooth whose point is next. */
  skip() {
    const { picked } = state;
    const tooth = this.#targetTooth;
    if (!tooth) return;
    const name = picked.nameOf(tooth);
    picked.skip(tooth);
    this.#pointsChanged();
    this.photo.focus();
    announce(`${name} skipped. ${picked.instruction}`);
  }

  /** Leaves a point that is being moved and goes to the next without one. */
  goOn() {
    state.picked.goOn();
    this.#update();
    this.photo.focus();
    announce(state.picked.instruction);
  }

  /** @param {Target} target */
  choose(target) {
    state.picked.choose(target);
    this.#showChosen();
  }

  /** @param {string} tooth */
  chooseTooth(tooth) {
    state.picked.chooseTooth(tooth);
    this.#showChosen();
  }

  /** @param {string} tooth */
  drop(tooth) {
    state.picked.drop(tooth);
    this.#changed();
    this.#showChosen();
  }

  #showChosen() {
    this.#update();
    this.photo.showCross();
    this.photo.focus();
    announce(state.picked.instruction);
  }
}
