// The ways along the chart by keyboard: arrows, and a tooth's number as it is typed.

import { jawOf } from "./state.js";

/** @import { Chart, ChartTooth } from "../shared/types.js" */
/** @typedef {(chart: Chart, tooth: ChartTooth) => ChartTooth | undefined} Way */

const PAUSE_MS = 900; // a pause this long ends a number that may go on: 1 or 14

/** @type {(step: number) => Way} */
const along = (step) => (chart, tooth) => {
  const row = chart[jawOf(tooth.tooth)];
  return row[row.findIndex(({ tooth: iso }) => iso === tooth.tooth) + step];
};

/** @type {(jaw: "upper" | "lower") => Way} */
const to = (jaw) => (chart, tooth) =>
  jawOf(tooth.tooth) === jaw ? undefined : nearest(chart[jaw], tooth);

/** @type {Record<string, Way>} */
const WAYS = {
  ArrowLeft: along(-1),
  ArrowRight: along(1),
  ArrowUp: to("upper"),
  ArrowDown: to("lower"),
  Home: (chart, tooth) => chart[jawOf(tooth.tooth)][0],
  End: (chart, tooth) => chart[jawOf(tooth.tooth)].at(-1),
};

/**
 * @param {string} key
 * @returns {Way | undefined} where the key leads
 */
export function wayOf(key) {
  return WAYS[key];
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

/** A tooth's number, key by key, in the notation in use. */
export class TypedNumber {
  #choose;
  #text = "";
  /** @type {number | undefined} */
  #pause;

  /** @param {(tooth: ChartTooth) => void} choose takes the tooth of that number */
  constructor(choose) {
    this.#choose = choose;
  }

  /** Drops what was typed. */
  clear() {
    clearTimeout(this.#pause);
    this.#text = "";
  }

  /**
   * @param {string} key
   * @param {ChartTooth[]} teeth
   * @returns {boolean} whether the key is part of a number
   */
  take(key, teeth) {
    if (key === "Enter" && this.#text) return this.#finish(teeth);
    if (!/^[a-z0-9]$/i.test(key)) return false;
    const typed = (this.#text + key).toUpperCase();
    const begun = teeth.filter(({ label }) => label.startsWith(typed));
    this.clear();
    if (!begun.length) return true; // no tooth's number, so begin again
    this.#text = typed;
    if (begun.length === 1 && begun[0]?.label === typed) this.#finish(teeth);
    else this.#pause = setTimeout(() => this.#finish(teeth), PAUSE_MS);
    return true;
  }

  /** @param {ChartTooth[]} teeth */
  #finish(teeth) {
    const tooth = teeth.find(({ label }) => label === this.#text);
    this.clear();
    if (tooth) this.#choose(tooth);
    return true;
  }
}
