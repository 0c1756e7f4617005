// What is picked on the picture of the cast, which point comes next, and the way back.
// A target is an end of the known length, { scale: 0 or 1 }, or of a tooth, { tooth, end }.

export const ENDS = ["mesial", "distal"];

const key = ({ tooth, end }) => `${tooth} ${end}`;
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/** Points are in pixels of the picture. */
export class Picked {
  bases = []; // the models that a fit may start from, with the teeth of their jaws
  base = null;
  jaw = "upper";

  /** Nothing is picked on this picture yet. Jaw and base stay as they were. */
  begin({ width, height }) {
    this.room = [width, height];
    this.scale = [null, null];
    this.points = new Map();
    this.skipped = new Set();
    this.past = [];
    this.target = { scale: 0 };
    this.moving = false;
    this.cross = [Math.round(width / 2), Math.round(height / 2)];
  }

  // ---- what there is ----

  get teeth() {
    return this.bases.find((base) => base.value === this.base)[this.jaw];
  }

  nameOf(tooth) {
    return this.teeth.find((one) => one.tooth === tooth).name;
  }

  pointOf(target) {
    return "scale" in target ? this.scale[target.scale] : this.points.get(key(target));
  }

  /** Mesial and distal point of a tooth, as far as they are there. */
  endsOf(tooth) {
    return ENDS.map((end) => this.pointOf({ tooth, end }));
  }

  /** The teeth of the jaw with both their points. */
  get whole() {
    return this.teeth
      .map(({ tooth }) => [tooth, ...this.endsOf(tooth)])
      .filter(([, mesial, distal]) => mesial && distal)
      .map(([tooth, mesial, distal]) => ({ tooth, mesial, distal }));
  }

  isMoved(target) {
    return this.moving && same(target, this.target);
  }

  wordsOf(target) {
    if ("scale" in target) return `${target.scale ? "second" : "first"} end of the known length`;
    return `${this.nameOf(target.tooth)}, ${target.end}`;
  }

  get nowWords() {
    if (!this.target) return "All picked. Fit the arch below.";
    return `${this.moving ? "Moving" : "Now"}: ${this.wordsOf(this.target)}`;
  }

  // ---- what comes next ----

  /** Everything that the guide asks for, in its order. */
  #wanted() {
    const usual = this.teeth.filter((one) => one.usual && !this.skipped.has(one.tooth));
    return [
      { scale: 0 },
      { scale: 1 },
      ...usual.flatMap(({ tooth }) => ENDS.map((end) => ({ tooth, end }))),
    ];
  }

  /** The next target without a point: behind the one given, else from the beginning. */
  #nextAfter(target) {
    if (target?.end === "mesial") {
      const distal = { tooth: target.tooth, end: "distal" };
      if (!this.pointOf(distal)) return distal;
    }
    const all = this.#wanted();
    const at = target ? all.findIndex((one) => same(one, target)) : -1;
    return [...all.slice(at + 1), ...all].find((one) => !this.pointOf(one)) ?? null;
  }

  #goOnWith(target) {
    this.moving = false;
    this.target = target;
  }

  goOn() {
    this.#goOnWith(this.#nextAfter(null));
  }

  /** A point that is there is moved; one that is not is picked next. */
  choose(target) {
    const point = this.pointOf(target);
    this.target = target;
    this.moving = Boolean(point);
    if (point) this.cross = point;
  }

  /** To the first end of a tooth that has no point, though the tooth was skipped. */
  chooseTooth(tooth) {
    this.skipped.delete(tooth);
    const end = ENDS.find((one) => !this.pointOf({ tooth, end: one })) ?? "mesial";
    this.choose({ tooth, end });
  }

  // ---- picking ----

  /** The cross by so many pixels, and with it the point that is being moved. */
  step([x, y], by) {
    this.cross = this.#within([this.cross[0] + x * by, this.cross[1] + y * by]);
    if (this.moving) this.#set(this.target, this.cross);
  }

  place(point) {
    const placed = this.target;
    this.cross = this.#within(point);
    this.#set(placed, this.cross);
    if (!this.moving) this.target = this.#nextAfter(placed);
  }

  skip() {
    const { tooth } = this.target;
    const before = this.endsOf(tooth);
    const put = (points) => ENDS.forEach((end, at) => this.#put({ tooth, end }, points[at]));
    put([null, null]);
    this.skipped.add(tooth);
    this.past.push({
      target: { tooth, end: "mesial" },
      back: () => {
        this.skipped.delete(tooth);
        put(before);
      },
    });
    const at = this.teeth.findIndex((one) => one.tooth === tooth);
    const behind = this.teeth
      .slice(at + 1)
      .find((one) => one.usual && !this.skipped.has(one.tooth));
    const next = behind && { tooth: behind.tooth, end: "mesial" };
    this.#goOnWith(next && !this.pointOf(next) ? next : this.#nextAfter(null));
  }

  drop(tooth) {
    this.moving = false;
    for (const end of ENDS) {
      if (this.pointOf({ tooth, end })) this.#set({ tooth, end }, null);
    }
    this.choose({ tooth, end: "mesial" });
  }

  turnTo(jaw) {
    const before = this.jaw;
    this.past.push({
      target: this.target,
      back: () => {
        this.jaw = before;
      },
    });
    this.jaw = jaw;
    this.goOn();
  }

  startFrom(base) {
    this.base = base;
    this.goOn();
  }

  takeBack() {
    const { target, back } = this.past.pop();
    back();
    this.#goOnWith(target && this.pointOf(target) ? this.#nextAfter(null) : target);
  }

  #within(point) {
    return point.map((pixels, axis) => Math.min(Math.max(pixels, 0), this.room[axis]));
  }

  /** All moves of one point in a row are taken back at once. */
  #set(target, point) {
    const last = this.past.at(-1);
    if (!(this.moving && last?.moving && same(last.target, target))) {
      const before = this.pointOf(target) ?? null;
      this.past.push({ target, moving: this.moving, back: () => this.#put(target, before) });
    }
    this.#put(target, point);
  }

  #put(target, point) {
    if ("scale" in target) this.scale[target.scale] = point;
    else if (point) this.points.set(key(target), point);
    else this.points.delete(key(target));
  }
}
