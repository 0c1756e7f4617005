// What the parts of the case view share; kept while another view is open.

/** @import { Chart, ChartTooth, Shown } from "../shared/types.js" */

/**
 * The desk's answer; `chart` is null until the first one.
 * @typedef {Omit<Shown, "chart"> & { chart: Chart | null }} Answer
 */

/** @type {Answer} */
const NO_ANSWER = {
  notation: "iso", chart: null, different: [], undrawn: [], sheet: null, problems: [],
  suggestions: [],
};

export const state = {
  /** The latest answer. */
  answer: NO_ANSWER,
  /**
   * What a press on a tooth does.
   * @type {"treat" | "describe"}
   */
  pressing: "treat",
  /**
   * ISO number of the tooth pressed last.
   * @type {string | null}
   */
  current: null,
};

/**
 * A tooth of the chart, by ISO number.
 * @param {string | null} iso
 * @returns {ChartTooth | undefined} undefined for a tooth that is not drawn
 */
export function toothOf(iso) {
  const { chart } = state.answer;
  return chart ? [...chart.upper, ...chart.lower].find(({ tooth }) => tooth === iso) : undefined;
}

/**
 * The tooth in the notation of the practice, also where it is not drawn.
 * @param {string} iso
 * @returns {string}
 */
export function labelOf(iso) {
  const described = state.answer.different.find(({ tooth }) => tooth === iso);
  return toothOf(iso)?.label ?? described?.label ?? iso;
}

/**
 * The jaw of a tooth, from the quadrant in its ISO number.
 * @param {string} iso
 * @returns {"upper" | "lower"}
 */
export function jawOf(iso) {
  return /^[1256]/.test(iso) ? "upper" : "lower";
}
