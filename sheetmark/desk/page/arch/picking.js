// Picking the points: what each press and click does to them, and the view kept in step.

import { announce, element, labelled } from "../shared/elements.js";
import { Photo } from "./photo.js";
import { baseChoice, jawChoice, pointTable, toothChoice } from "./point-table.js";

const KEYS =
  "Click or tap to place the point. By keyboard: arrows move the cross by 1 pixel, with " +
  "Shift by 10, Home, End, Page Up and Page Down by 100; Enter places; Backspace takes " +
  "back; + and − zoom. Mesial is the side towards the midline, distal the other.";

/** `changed` is called where what was picked is no longer what was fitted. */
export class Picking {
  #picked;
  #changed;

  constructor(state, changed) {
    this.#picked = state.picked;
    this.#changed = changed;
    this.photo = new Photo(state, this);
    this.now = element("p", { class: "now" });
    this.undo = element("button", { onclick: () => this.takeBack() }, "Undo");
    this.leave = element("button", { onclick: () => this.skip() }, "Skip this tooth");
    this.done = element("button", { onclick: () => this.goOn() }, "Done moving");
    this.jaw = jawChoice(this.#picked, (jaw) => {
      this.#picked.turnTo(jaw);
      this.#follow();
    });
    this.toothPart = element("div");
    this.points = element("div", { class: "points" });
    this.parts = [this.#before(state), this.#picture()];
    this.#update();
  }

  #before(state) {
    const [least, most] = state.start.length_limits_mm;
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
    return element(
      "div",
      { class: "fields before" },
      labelled("Known length, mm", length, `A stretch of a ruler, ${least} to ${most} mm.`),
      this.jaw,
      baseChoice(this.#picked, (base) => {
        this.#picked.startFrom(base);
        this.#follow();
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
        element("div", { class: "row photo-bar" }, this.now, this.photo.zoomBar),
        this.photo.pane,
        element("div", { class: "row" }, this.undo, this.leave, this.done),
        element("p", { class: "hint", id: "photo-keys" }, KEYS),
      ),
      element("div", { class: "picking-side" }, this.toothPart, this.points),
    );
  }

  #update() {
    const picked = this.#picked;
    this.now.textContent = picked.nowWords;
    this.undo.disabled = picked.past.length === 0;
    this.leave.disabled = !picked.target?.tooth;
    this.done.hidden = !picked.moving;
    this.jaw.querySelector(`[value="${picked.jaw}"]`).checked = true; // may be taken back
    this.toothPart.replaceChildren(toothChoice(picked, (tooth) => this.chooseTooth(tooth)));
    this.points.replaceChildren(pointTable(picked, this));
    this.photo.draw();
  }

  /** After the points have changed. */
  #follow() {
    this.#changed();
    this.#update();
  }

  step(direction, by) {
    this.#picked.step(direction, by);
    if (this.#picked.moving) this.#follow();
    else this.photo.draw();
    this.photo.look();
  }

  place(point) {
    const picked = this.#picked;
    if (!picked.target) return;
    const placed = picked.wordsOf(picked.target);
    picked.place(point);
    this.#follow();
    announce(`${placed} ${picked.moving ? "moved" : "placed"}. ${picked.nowWords}`);
  }

  takeBack() {
    if (!this.#picked.past.length) return;
    this.#picked.takeBack();
    this.#follow();
    announce(`Taken back. ${this.#picked.nowWords}`);
  }

  skip() {
    const picked = this.#picked;
    const skipped = picked.nameOf(picked.target.tooth);
    picked.skip();
    this.#follow();
    this.photo.focus();
    announce(`${skipped} skipped. ${picked.nowWords}`);
  }

  goOn() {
    this.#picked.goOn();
    this.#update();
    this.photo.focus();
    announce(this.#picked.nowWords);
  }

  choose(target) {
    this.#picked.choose(target);
    this.#showChosen();
  }

  chooseTooth(tooth) {
    this.#picked.chooseTooth(tooth);
    this.#showChosen();
  }

  drop(tooth) {
    this.#picked.drop(tooth);
    this.#changed();
    this.#showChosen();
  }

  #showChosen() {
    this.#update();
    this.photo.look();
    this.photo.focus();
    announce(this.#picked.nowWords);
  }
}
