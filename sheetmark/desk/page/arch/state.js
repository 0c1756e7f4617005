// What the parts of the view share; kept while another view is open.

import { PickedPoints } from "./points.js";

/** @import { Fitted, FindingShown } from "../shared/types.js" */

/**
 * In pixels; `scan` where it is a scan seen from above.
 * @typedef {{ address: string, name: string, width: number, height: number, scan?: Scan }} Picture
 * @typedef {{ content: ArrayBuffer, turns: string[], findings: FindingShown[] }} Scan
 */

export const state = {
  /** @type {Picture | null} */
  picture: null,
  /** Screen pixels for each pixel of the picture; 0 until the picture is first shown. */
  zoom: 0,
  picked: new PickedPoints(),
  /** The known length as typed, in mm. */
  length: "",
  /** Name of the model. */
  name: "my-arch",
  /** Date of measurement, such as 2026-01-31. */
  date: today(),
  /**
   * The request under way, unless something has changed since.
   * @type {object | null}
   */
  request: null,
  /** @type {Fitted | null} */
  result: null,
};

function today() {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()]
    .map((part) => String(part).padStart(2, "0"))
    .join("-");
}
