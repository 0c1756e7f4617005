// The points picked on the picture of the cast, which point comes next, and undo.

/** @import { Base, PickedGumTooth, PickedMiddleTooth, PickedTooth } from "../shared/types.js" */
/** @import { ProposedTooth, Scanned, ToothName } from "../shared/types.js" */

/** @typedef {[number, number]} Point in pixels of the picture, to the right and downwards */
/** @typedef {"mesial" | "distal" | "middle" | "facial" | "lingual"} End */
/** @typedef {"contacts" | "middle" | "gum"} Kind which points each tooth gets */

/**
 * What a point is of: an end of the known length, or an end of a tooth (ISO number) or its middle.
 * @typedef {{ scale: 0 | 1 }} ScaleTarget
 * @typedef {{ tooth: string, end: End }} ToothTarget
 * @typedef {ScaleTarget | ToothTarget} Target
 */

/**
 * A change that can be undone, and the target that it was made at.
 * @typedef {{ target: Target | null, moving?: boolean, undo: () => void }} Step
 */

/** @type {Record<Kind, readonly End[]>} the points of a tooth */
const ENDS = { contacts: ["mesial", "distal"], middle: ["middle"], gum: ["facial", "lingual"] };

/** @type {(target: ToothTarget) => string} */
const keyOf = ({ tooth, end }) => `${tooth} ${end}`;
/** @type {(first: Target | null, second: Target | null) => boolean} */
const isSame = (first, second) => JSON.stringify(first) === JSON.stringify(second);

/** All that is picked on one picture. */
export class PickedPoints {
  /** @type {Base[]} the models that a fit may start from, with the teeth of their jaws */
  bases = [];
  base = "";
  /** @type {"upper" | "lower"} */
  jaw = "upper";
  /** @type {Point} width and height of the picture */
  size = [0, 0];
  /** @type {Kind} the points that each tooth has; a scan seen from above has middles */
  kind = "contacts";
  /** @type {number | null} pixels for each mm, where the picture says so itself */
  pixelsPerMm = null;
  /** @type {Map<string, ProposedTooth>} teeth proposed in a scan that nobody has moved since */
  proposed = new Map();
  /** @type {[Point | null, Point | null]} ends of the known length */
  scale = [null, null];
  /** @type {Map<string, Point>} */
  points = new Map();
  /** @type {Set<string>} */
  skipped = new Set();
  /** @type {Step[]} */
  past = [];
  /** @type {Target | null} what the next point is of; null where all is picked */
  target = { scale: 0 };
  /** Whether the target has its point already, which is being moved. */
  moving = false;
  /** @type {Point} */
  cross = [0, 0];

  /**
   * Begins on a new picture. Jaw and base stay.
   * @param {{ width: number, height: number }} picture
   */
  begin({ width, height }) {
    this.size = [width, height];
    this.kind = "contacts";
    this.pixelsPerMm = null;
    this.proposed = new Map();
    this.scale = [null, null];
    this.points = new Map();
    this.skipped = new Set();
    this.past = [];
    this.target = { scale: 0 };
    this.moving = false;
    this.cross = [Math.round(width / 2), Math.round(height / 2)];
  }

  /**
   * Begins on a scan, with the teeth proposed in it.
   * @param {Scanned} scanned
   */
  beginScan(scanned) {
    this.begin(scanned);
    this.kind = "middle";
    this.pixelsPerMm = scanned.pixels_per_mm;
    this.jaw = scanned.jaw;
    for (const proposal of scanned.teeth) {
      this.proposed.set(proposal.tooth, proposal);
      this.points.set(keyOf({ tooth: proposal.tooth, end: "middle" }), proposal.middle);
    }
    // Teeth that are not there are no next ones; each can still be chosen.
    for (const { tooth } of this.teeth) if (!this.proposed.has(tooth)) this.skipped.add(tooth);
    this.goOn();
  }

  // ---- what is picked ----

  /** @returns {readonly End[]} */
  get ends() {
    return ENDS[this.kind];
  }

  /** @returns {ToothName[]} the teeth of the jaw, from the patient's right to the left */
  get teeth() {
    return this.bases.find(({ value }) => value === this.base)?.[this.jaw] ?? [];
  }

  /**
   * @param {string} iso
   * @returns {string}
   */
  nameOf(iso) {
    return this.teeth.find(({ tooth }) => tooth === iso)?.name ?? iso;
  }

  /**
   * @param {Target} target
   * @returns {Point | null}
   */
  pointOf(target) {
    return "scale" in target ? this.scale[target.scale] : this.points.get(keyOf(target)) ?? null;
  }

  /**
   * The points of a tooth of the kind that is picked.
   * @param {string} tooth
   * @returns {(Point | null)[]}
   */
  pointsOf(tooth) {
    return this.ends.map((end) => this.pointOf({ tooth, end }));
  }

  /**
   * The teeth of the jaw with all their points.
   * @returns {(PickedTooth | PickedMiddleTooth | PickedGumTooth)[]}
   */
  get complete() {
    /** @type {(tooth: ToothName) => (PickedTooth | PickedMiddleTooth | PickedGumTooth)[]} */
    const points = ({ tooth }) => {
      const [first, second] = this.pointsOf(tooth);
      if (!first) return [];
      if (this.kind === "middle") return [{ tooth, middle: first }];
      if (!second) return [];
      if (this.kind === "gum") return [{ tooth, facial: first, lingual: second }];
      return [{ tooth, mesial: first, distal: second }];
    };
    return this.teeth.flatMap(points);
  }

  /**
   * @param {Target} target
   * @returns {boolean} whether its point is being moved
   */
  isMoved(target) {
    return this.moving && isSame(target, this.target);
  }

  /**
   * @param {Target} target
   * @returns {string}
   */
  describe(target) {
    if ("scale" in target) return `${target.scale ? "second" : "first"} end of the known length`;
    return `${this.nameOf(target.tooth)}, ${target.end}`;
  }

  /** @returns {string} what to do now */
  get instruction() {
    if (!this.target) return "All picked. Fit the arch below.";
    return `${this.moving ? "Moving" : "Now"}: ${this.describe(this.target)}`;
  }

  /**
   * The tooth whose point is nearest to a place, or null where none is near.
   * @param {Point} place
   * @param {number} most pixels
   * @returns {Target | null}
   */
  nearest([x, y], most) {
    let found = null;
    let least = most;
    for (const { tooth } of this.teeth) {
      for (const end of this.ends) {
        const point = this.pointOf({ tooth, end });
        const away = point ? Math.hypot(point[0] - x, point[1] - y) : Infinity;
        if (away > least) continue;
        least = away;
        found = { tooth, end };
      }
    }
    return found;
  }

  get #firstEnd() {
    return this.ends[0] ?? "mesial";
  }

  // ---- what comes next ----

  /** Everything to pick, in order. */
  #targets() {
    const usual = this.teeth.filter((other) => other.usual && !this.skipped.has(other.tooth));
    /** @type {Target[]} */
    const scale = this.pixelsPerMm ? [] : [{ scale: 0 }, { scale: 1 }];
    return [...scale, ...usual.flatMap(({ tooth }) => this.ends.map((end) => ({ tooth, end })))];
  }

  /**
   * The next target without a point, after the given target or from the beginning.
   * @param {Target | null} target
   */
  #nextAfter(target) {
    const [first, second] = this.ends;
    if (second && target && "tooth" in target && target.end === first) {
      /** @type {Target} */
      const other = { tooth: target.tooth, end: second };
      if (!this.pointOf(other)) return other;
    }
    const all = this.#targets();
    const place = all.findIndex((other) => isSame(other, target));
    return [...all.slice(place + 1), ...all].find((other) => !this.pointOf(other)) ?? null;
  }

  /** @param {Target | null} target */
  #goTo(target) {
    this.moving = false;
    this.target = target;
  }

  /** To the next target without a point. */
  goOn() {
    this.#goTo(this.#nextAfter(null));
  }

  /**
   * Moves the point of a target where it has one, else picks it next.
   * @param {Target} target
   */
  choose(target) {
    const point = this.pointOf(target);
    this.target = target;
    this.moving = Boolean(point);
    if (point) this.cross = point;
  }

  /**
   * To the first end of a tooth that has no point, even where the tooth was skipped.
   * @param {string} tooth
   */
  chooseTooth(tooth) {
    this.skipped.delete(tooth);
    const end = this.ends.find((other) => !this.pointOf({ tooth, end: other })) ?? this.#firstEnd;
    this.choose({ tooth, end });
  }

  // ---- picking ----

  /**
   * Moves the cross, and with it the point that is being moved.
   * @param {Point} direction
   * @param {number} by pixels
   */
  step([x, y], by) {
    this.cross = this.#within([this.cross[0] + x * by, this.cross[1] + y * by]);
    if (this.moving && this.target) this.#set(this.target, this.cross);
  }

  /**
   * Puts the target's point there.
   * @param {Point} point
   */
  place(point) {
    const { target } = this;
    if (!target) return;
    this.cross = this.#within(point);
    this.#set(target, this.cross);
    if (!this.moving) this.target = this.#nextAfter(target);
  }

  /**
   * Skips a tooth. Its points are removed.
   * @param {string} tooth
   */
  skip(tooth) {
    const before = this.pointsOf(tooth);
    /** @type {(points: (Point | null)[]) => void} */
    const put = (points) => {
      this.ends.forEach((end, place) => this.#put({ tooth, end }, points[place] ?? null));
    };
    put([]);
    this.skipped.add(tooth);
    this.past.push({
      target: { tooth, end: this.#firstEnd },
      undo: () => {
        this.skipped.delete(tooth);
        put(before);
      },
    });
    const place = this.teeth.findIndex((other) => other.tooth === tooth);
    const behind = this.teeth
      .slice(place + 1)
      .find((other) => other.usual && !this.skipped.has(other.tooth));
    /** @type {Target | null} */
    const next = behind ? { tooth: behind.tooth, end: this.#firstEnd } : null;
    this.#goTo(next && !this.pointOf(next) ? next : this.#nextAfter(null));
  }

  /**
   * Deletes the points of a tooth.
   * @param {string} tooth
   */
  drop(tooth) {
    this.moving = false;
    for (const end of this.ends) {
      if (this.pointOf({ tooth, end })) this.#set({ tooth, end }, null);
    }
    if (this.pixelsPerMm) {
      this.skipped.add(tooth);
      this.goOn();
    } else this.choose({ tooth, end: this.#firstEnd });
  }

  /** @param {"upper" | "lower"} jaw */
  setJaw(jaw) {
    const { jaw: before, target } = this;
    this.past.push({
      target,
      undo: () => {
        this.jaw = before;
      },
    });
    this.jaw = jaw;
    this.goOn();
  }

  /** @param {Kind} kind points of another kind are kept for when it is chosen again */
  setKind(kind) {
    const { kind: before, target } = this;
    this.past.push({
      target,
      undo: () => {
        this.kind = before;
      },
    });
    this.kind = kind;
    this.goOn();
  }

  /** @param {string} base */
  setBase(base) {
    this.base = base;
    this.goOn();
  }

  /** Undoes the last step. */
  undo() {
    const step = this.past.pop();
    if (!step) return;
    step.undo();
    const { target } = step;
    this.#goTo(target && this.pointOf(target) ? this.#nextAfter(null) : target);
  }

  /**
   * @param {Point} point
   * @returns {Point}
   */
  #within([x, y]) {
    const [width, height] = this.size;
    return [Math.min(Math.max(x, 0), width), Math.min(Math.max(y, 0), height)];
  }

  /**
   * Successive moves of a point are undone together.
   * @param {Target} target
   * @param {Point | null} point
   */
  #set(target, point) {
    const last = this.past.at(-1);
    if (!(this.moving && last?.moving && isSame(last.target, target))) {
      const before = this.pointOf(target);
      const undo = () => this.#put(target, before);
      this.past.push({ target, moving: this.moving, undo });
    }
    this.#put(target, point);
  }

  /**
   * @param {Target} target
   * @param {Point | null} point
   */
  #put(target, point) {
    if ("scale" in target) this.scale[target.scale] = point;
    else if (point) this.points.set(keyOf(target), point);
    else this.points.delete(keyOf(target));
    if ("tooth" in target) this.proposed.delete(target.tooth);
  }
}
