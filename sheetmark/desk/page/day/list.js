// The day's list: a file as it was opened, or rows that were typed, added or put right. It is kept
// while another view is open; what was changed also outlives a reload, until the tab is closed.

import { recall, remember } from "../shared/remembered.js";
import { fetchJson, send } from "../shared/server.js";

/** @import { Day } from "../shared/types.js" */
/** @typedef {Record<string, string>} Cells a row by its columns */
/**
 * The list.
 * @typedef {object} List
 * @property {string} name
 * @property {ArrayBuffer} content
 * @property {string} on the day that is wanted, empty for the list's own
 * @property {Cells[] | null} rows all rows, where any was changed; null for a file as it is
 */
/** @typedef {{ list: List, day: Day }} Opened */

const KEPT = "list";
const TYPED = "today.csv";

/** @type {Opened | null} */
let opened = null;
/** The row that is open as a case, null where none is. @type {number | null} */
let asCase = null;

/** @returns {Opened | null} the list and how it was read */
export function openedList() {
  return opened;
}

/**
 * Remembers the list and how it was read, or that there is none.
 * @param {Opened | null} now
 */
export function keepList(now) {
  opened = now;
  asCase = null;
  remember("session", KEPT, now && keptOf(now.list));
}

/** @param {List} list */
function keptOf({ name, on, rows }) {
  return rows && { name, on, rows };
}

/**
 * Keeps a changed list that was not read to its end: it is read when it is shown again.
 * @param {List} list
 */
export function keepUnread(list) {
  opened = null;
  remember("session", KEPT, keptOf(list));
}

/**
 * The changed list of this tab that is still to be read: the page was loaded again, or left.
 * @returns {Promise<List | null>}
 */
export async function listOfBefore() {
  const kept = recall("session", KEPT);
  if (opened || typeof kept !== "object" || kept === null) return null;
  const { name, on, rows } = /** @type {{ [key: string]: unknown }} */ (kept);
  if (typeof name !== "string" || typeof on !== "string" || !Array.isArray(rows)) return null;
  return changedList(name, rows.filter(isCells), on);
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
 * @param {AbortSignal} [signal]
 * @returns {Promise<Day>}
 */
export async function readList(list, cards, signal) {
  const options = { query: queryOf(list, cards), body: list.content };
  return fetchJson("/api/day", { ...options, ...(signal && { signal }) });
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
 * The list with other cells in one row, or without that row. Throws Problems.
 * @param {number} number of the row
 * @param {Cells | null} cells
 * @returns {Promise<List | null>} null where no row is left
 */
export async function withRow(number, cells) {
  const place = opened?.day.rows.findIndex(({ row }) => row === number) ?? -1;
  return withRows((rows) => rows.toSpliced(place, 1, ...(cells ? [cells] : [])));
}

/**
 * The list with one more row; a new list where there is none. Throws Problems.
 * @param {Cells} cells
 * @returns {Promise<List>}
 */
export async function withMore(cells) {
  const list = await withRows((rows) => [...rows, cells]);
  return /** @type {List} */ (list);
}

/**
 * Adds a row to the list of this tab, or begins one. Throws Problems.
 * @param {Cells} cells
 * @returns {Promise<{ name: string, row: number }>} where it stands
 */
export async function addToList(cells) {
  const before = await listOfBefore();
  if (before) keepList({ list: before, day: await readList(before, false) });
  const list = await withMore(cells);
  const day = await readList(list, false);
  keepList({ list, day });
  return { name: list.name, row: day.rows.at(-1)?.row ?? 0 };
}

/** @param {(rows: Cells[]) => Cells[]} change */
async function withRows(change) {
  const { list, day } = opened ?? {};
  const rows = change(day?.rows.map(cellsOf) ?? []);
  if (!rows.length) return null;
  return changedList(list?.name.replace(/\.\w+$/, ".csv") ?? TYPED, rows, day?.day ?? "");
}

/**
 * The cells of a row. One that could not be read at all stays in its place: it has no page, and
 * the list says so until it is put right or removed.
 * @param {Day["rows"][number]} row
 * @returns {Cells}
 */
function cellsOf({ row, cells }) {
  if (Object.keys(cells).length) return cells;
  return { reference: `row ${row} of the file`, teeth: "unreadable" };
}

/**
 * @param {string} name
 * @param {Cells[]} rows
 * @param {string} on
 * @returns {Promise<List>}
 */
async function changedList(name, rows, on) {
  const answer = await send("/api/day/list.csv", { body: { rows, day: on || null } });
  return { name, content: await answer.arrayBuffer(), on, rows };
}

/**
 * The case in the page's address as cells of the row that was opened as it: its time, and what
 * else a case does not have, stay. Throws Problems.
 * @param {URLSearchParams} choices
 * @returns {Promise<{ cells: Cells, lost: string[] }>}
 */
export async function cellsOfCase(choices) {
  const query = new URLSearchParams(choices);
  query.delete("view");
  const { cells, lost } = await fetchJson("/api/day/row", { query });
  const before = opened?.day.rows.find(({ row }) => row === asCase)?.cells ?? {};
  const { time, reference } = before;
  return { cells: { ...(time && { time }), ...(reference && { reference }), ...cells }, lost };
}

/**
 * @param {unknown} value
 * @returns {value is Cells}
 */
function isCells(value) {
  if (typeof value !== "object" || value === null) return false;
  return Object.values(value).every((cell) => typeof cell === "string");
}
