// Today's list, as typed on the page or added to from cases. It goes when the tab is closed.

import { recall, remember } from "../shared/remembered.js";

/** @typedef {Record<string, string>} Cells a row by its columns */

const KEPT = "today";
const NAME = "today.csv";

/** @returns {Cells[]} the rows so far */
export function todaysRows() {
  const kept = recall("session", KEPT);
  return Array.isArray(kept) ? kept.filter(isCells) : [];
}

/** @param {Cells[]} rows */
export function keepTodaysRows(rows) {
  remember("session", KEPT, rows);
}

/**
 * Today's list as a file, its columns in their own order.
 * @param {Cells[]} rows
 * @param {string[]} columns
 * @returns {File}
 */
export function todaysFile(rows, columns) {
  const filled = rows.filter((row) => Object.values(row).some(Boolean));
  const lines = [columns, ...filled.map((row) => columns.map((column) => row[column] ?? ""))];
  const text = lines.map((cells) => cells.map(quoted).join(",")).join("\r\n");
  return new File([`${text}\r\n`], NAME, { type: "text/csv" });
}

/** @param {string} cell */
const quoted = (cell) => `"${cell.replaceAll('"', '""')}"`;

/**
 * @param {unknown} value
 * @returns {value is Cells}
 */
function isCells(value) {
  if (typeof value !== "object" || value === null) return false;
  return Object.values(value).every((cell) => typeof cell === "string");
}
