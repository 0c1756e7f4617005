// The list that is open, and rows of it put right. It is kept while another view is open.

import { fetchJson, send } from "../shared/server.js";

/** @import { Day } from "../shared/types.js" */
/**
 * The file that was opened, or the list as it was put right.
 * @typedef {object} List
 * @property {string} name
 * @property {ArrayBuffer} content
 * @property {string} on the day that is wanted, empty for the list's own
 * @property {boolean} changed whether rows were put right since it was opened
 */
/** @typedef {{ list: List, day: Day }} Opened */

/** @type {Opened | null} */
let opened = null;
/** The row that is open as a case, null where none is. @type {number | null} */
let asCase = null;

/** @returns {Opened | null} the list and how it was read */
export function openedList() {
  return opened;
}

/**
 * Remembers the list and how it was read, or that none is open.
 * @param {Opened | null} now
 */
export function keepList(now) {
  opened = now;
  asCase = null;
}

/**
 * Remembers which row was opened as a case.
 * @param {number} row
 */
export function openAsCase(row) {
  asCase = row;
}

/** @returns {{ name: string, row: number } | null} the row that is open as a case */
export function rowAsCase() {
  return opened && asCase !== null ? { name: opened.list.name, row: asCase } : null;
}

/** Forgets which row is open as a case. */
export function leaveCase() {
  asCase = null;
}

/**
 * Reads a list. Throws Problems.
 * @param {List} list
 * @param {boolean} cards a case card behind each case
 * @returns {Promise<Day>}
 */
export async function readList(list, cards) {
  return fetchJson("/api/day", { query: queryOf(list, cards), body: list.content });
}

/**
 * What the desk is asked with.
 * @param {List} list
 * @param {boolean} cards
 * @returns {URLSearchParams}
 */
export function queryOf({ name, on }, cards) {
  const query = new URLSearchParams({ name, cards: String(cards) });
  if (on) query.set("on", on);
  return query;
}

/**
 * The list with other cells in one row. Throws Problems.
 * @param {number} number of the row
 * @param {{ [column: string]: string }} cells
 * @returns {Promise<List>}
 */
export async function withRow(number, cells) {
  if (!opened) throw new Error("no list is open");
  const { list, day } = opened;
  const rows = day.rows
    .map((row) => (row.row === number ? cells : row.cells))
    .filter((row) => Object.keys(row).length);
  const answer = await send("/api/day/list.csv", { body: { rows, day: day.day || null } });
  const name = list.name.replace(/\.\w+$/, ".csv");
  return { name, content: await answer.arrayBuffer(), on: day.day, changed: true };
}

/**
 * The case in the page's address as cells of the row that was opened as it: its time, and what
 * else a case does not have, stay. Throws Problems.
 * @param {URLSearchParams} choices
 * @returns {Promise<{ cells: { [column: string]: string }, lost: string[] }>}
 */
export async function cellsOfCase(choices) {
  const query = new URLSearchParams(choices);
  query.delete("view");
  const { cells, lost } = await fetchJson("/api/day/row", { query });
  const before = opened?.day.rows.find(({ row }) => row === asCase)?.cells ?? {};
  const { time, reference } = before;
  return { cells: { ...(time && { time }), ...(reference && { reference }), ...cells }, lost };
}
