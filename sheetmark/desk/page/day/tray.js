// The tray of the day: its sheets, its clamps, and clamps that are wanted again too soon.

import { element, table } from "../shared/elements.js";
import { counted } from "../shared/text.js";

/** @import { ClampUse, Day } from "../shared/types.js" */

/**
 * The tray of all rows that can be planned.
 * @param {Day} day
 * @returns {HTMLElement}
 */
export function trayPart(day) {
  const { sheets, clamps, ready_again_min: minutes } = day.tray;
  return element(
    "section",
    { class: "tray" },
    element("h2", {}, "Tray"),
    clashes(day),
    element(
      "p",
      { class: "hint" },
      `A clamp is ready again ${minutes} minutes after the time of its case.`,
    ),
    element(
      "div",
      { class: "columns" },
      table(
        "Sheets",
        ["Number", "Sheet"],
        sheets.map(({ count, sheet }) => [String(count), sheet]),
        { rowHeads: false },
      ),
      table(
        "Clamps",
        ["Wanted", "In tray", "Most at once", "Clamp"],
        clamps.map(clampCells),
        { rowHeads: false },
      ),
    ),
  );
}

/** @param {ClampUse} use */
function clampCells({ label, wanted, in_tray: inTray, most_at_once: most, untimed }) {
  const mostKnown = inTray && untimed < wanted;
  return [String(wanted), inTray ? String(inTray) : "–", mostKnown ? String(most) : "–", label];
}

/**
 * Clamps that are wanted again too soon, and cases whose time is not known.
 * @param {Day} day
 */
function clashes({ cases, rows, tray }) {
  const untimed = rows.filter(({ done, time }) => done && !time).length;
  const items = tray.clashes.map(({ time, row, anchor, text }) =>
    element("li", { class: "warning" }, `Clash at ${time}, row ${row}, tooth ${anchor}: ${text}`),
  );
  const parts = [];
  if (items.length) parts.push(element("ul", { class: "findings" }, items));
  else if (untimed < cases) {
    parts.push(element("p", {}, "No clamp is wanted again before it is ready."));
  }
  if (untimed) {
    const without = counted(untimed, "case has", "cases have");
    const them = untimed === 1 ? "it" : "them";
    parts.push(element("p", {}, `${without} no time: clashes with ${them} cannot be checked.`));
  }
  return parts;
}
