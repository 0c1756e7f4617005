// Which keys of the settings are explained, and by which terms of the glossary.

import { helpButton } from "../shared/help.js";

/** @type {Record<string, string>} terms of the glossary by the key that they explain */
const EXPLAINED = {
  notation: "notation", tray_turn_round_min: "tray", "page.printer": "correction",
  sheets: "dam-sheet", tray: "clamp", printers: "correction", "punch.diameters_mm": "punch-hole",
  "isolation.row": "exposed", "isolation.hold": "ligature", "holes.share_of_break": "strain",
  "holes.ease_mm": "ease", "placement.shift": "shift", "placement.lesion_facial_mm": "cervical",
  "marks.kind": "dots", "cutter.cut": "stencil", "card.frame": "frame",
};

/**
 * A button that explains a key.
 * @param {string} key
 * @param {string} label what the page calls it
 * @returns {HTMLElement | null} null for a key that needs none
 */
export function helpFor(key, label) {
  const term = EXPLAINED[key];
  return term ? helpButton(term, label) : null;
}
