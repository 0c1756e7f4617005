// Requests to the desk, and the problems that it answers with.

/** @import { Answers, Bodies, Found } from "./types.js" */

/**
 * A request. A body makes it a POST.
 * @template {string} Path
 * @typedef {object} Options
 * @property {Path extends keyof Bodies ? Bodies[Path] : undefined} [body]
 * @property {URLSearchParams} [query]
 * @property {AbortSignal} [signal]
 */

/** Why a request failed: a line for each problem; `fields` has the settings they belong to. */
export class Problems extends Error {
  /**
   * @param {string[]} lines
   * @param {Found[]} [fields]
   */
  constructor(lines, fields = []) {
    super(lines.join("\n"));
    this.lines = lines;
    this.fields = fields;
  }
}

/**
 * The problems that were thrown. Throws anything else again.
 * @param {unknown} error
 * @returns {Problems}
 */
export function problemsIn(error) {
  if (error instanceof Problems) return error;
  throw error;
}

/**
 * @param {unknown} error
 * @returns {boolean} whether the request was aborted
 */
export function isAbort(error) {
  return error instanceof DOMException && error.name === "AbortError";
}

const meta = document.querySelector('meta[name="token"]');
const token = meta?.getAttribute("content") ?? "";

/**
 * Sends a request. Throws Problems where it fails.
 * @template {string} Path
 * @param {Path} path
 * @param {Options<Path>} [options]
 * @returns {Promise<Response>}
 */
export async function send(path, { body, query, signal } = {}) {
  /** @type {RequestInit} */
  const request = signal ? { signal } : {};
  if (body !== undefined) {
    const bytes = body instanceof ArrayBuffer;
    const type = bytes ? "application/octet-stream" : "application/json";
    request.method = "POST";
    request.headers = { "X-Sheetmark-Token": token, "Content-Type": type };
    request.body = bytes ? body : JSON.stringify(body);
  }
  let answer;
  try {
    answer = await fetch(query ? `${path}?${query}` : path, request);
  } catch (error) {
    if (isAbort(error)) throw error;
    throw new Problems(["The desk does not answer. Start it again, then reload this page."]);
  }
  if (answer.ok) return answer;
  throw await problemsOf(answer);
}

/**
 * @param {Response} answer
 * @returns {Promise<Problems>}
 */
async function problemsOf(answer) {
  try {
    const { problems, found } = await answer.json();
    return new Problems(problems, found);
  } catch (error) {
    if (isAbort(error)) throw error;
    return new Problems([`The desk failed (${answer.status}). Please report what you did.`]);
  }
}

/**
 * Sends a request and gives its answer. Throws Problems where it fails.
 * @template {keyof Answers} Path
 * @param {Path} path
 * @param {Options<Path>} [options]
 * @returns {Promise<Answers[Path]>}
 */
export async function fetchJson(path, options) {
  return (await send(path, options)).json();
}

/**
 * The name that the desk gives to a file.
 * @param {Response} answer
 * @returns {string}
 */
export function nameOf(answer) {
  const disposition = answer.headers.get("Content-Disposition") ?? "";
  return /filename="([^"]+)"/.exec(disposition)?.[1] ?? "sheetmark";
}
