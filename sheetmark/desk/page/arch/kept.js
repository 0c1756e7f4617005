// What was picked in a picture survives a reload of the page; the picture itself is opened again.

import { recall, remember } from "../shared/remembered.js";
import { state } from "./state.js";

/** @import { Picture } from "./state.js" */
/** @import { Point } from "./points.js" */

/**
 * What was picked, and the picture it belongs to.
 * @typedef {object} Kept
 * @property {string} name
 * @property {number} width
 * @property {number} height
 * @property {string} length the known length as typed
 * @property {string} base
 * @property {"upper" | "lower"} jaw
 * @property {[Point | null, Point | null]} scale
 * @property {Array<[string, Point]>} points
 * @property {string[]} skipped
 */

const KEPT = "picked";

/** Keeps what is picked, before the page goes. A scan is read anew, with its proposals. */
export function keepPicked() {
  const { picture, picked, length } = state;
  if (!picture || picture.scan) return;
  const { name, width, height } = picture;
  const { base, jaw, scale, points, skipped } = picked;
  const kept = { base, jaw, scale, points: [...points], skipped: [...skipped] };
  remember("session", KEPT, { name, width, height, length, ...kept });
}

/** @returns {Kept | null} what was picked before the page was loaded */
export function keptPicked() {
  const kept = /** @type {Partial<Kept> | null} */ (recall("session", KEPT));
  const whole = kept && typeof kept.name === "string" && Array.isArray(kept.points);
  return whole ? /** @type {Kept} */ (kept) : null;
}

/**
 * Puts back what was picked in this picture; the steps before cannot be undone.
 * @param {Picture} picture just opened
 * @returns {boolean} whether something was put back
 */
export function putBack({ name, width, height }) {
  const kept = keptPicked();
  if (kept?.name !== name || kept.width !== width || kept.height !== height) return false;
  const { picked } = state;
  if (picked.bases.some(({ value }) => value === kept.base)) picked.base = kept.base;
  picked.jaw = kept.jaw;
  picked.scale = kept.scale;
  picked.points = new Map(kept.points);
  picked.skipped = new Set(kept.skipped);
  picked.goOn();
  state.length = kept.length;
  return true;
}
