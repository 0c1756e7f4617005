// Takes the page's requests to the worker, one at a time, and its answers back.

/** @typedef {{ status: number, headers: Record<string, string>, content: Uint8Array }} Answer */
/** @typedef {(result: any) => void} Settle */
/**
 * @typedef {object} Waiting
 * @property {string} call
 * @property {unknown[]} given
 * @property {AbortSignal | undefined} signal
 * @property {Settle} resolve
 * @property {Settle} reject
 */

const STOPPED = "This page has stopped. Save what you need as a file, then open the page again.";

/** The worker, as the page meets it. */
export class Relay {
  /** @type {Waiting[]} */
  #waiting = [];
  /** @type {Waiting | null} */
  #current = null;
  #count = 0;
  #stopped = false;
  #worker;

  /**
   * @param {Worker} worker
   * @param {{ step: (text: string) => void, kept: (files: string) => void }} hear
   */
  constructor(worker, hear) {
    this.#worker = worker;
    worker.onmessage = ({ data }) => {
      if ("step" in data) hear.step(data.step);
      else if ("kept" in data) hear.kept(data.kept);
      else this.#settle(data);
    };
    worker.onerror = () => {
      this.#stopped = true;
      this.#settle({ failed: STOPPED });
    };
  }

  /**
   * Has the worker do something.
   * @param {string} call
   * @param {unknown[]} given
   * @param {AbortSignal} [signal]
   * @returns {Promise<any>}
   */
  call(call, given, signal) {
    return new Promise((resolve, reject) => {
      this.#waiting.push({ call, given, signal, resolve, reject });
      this.#next();
    });
  }

  /**
   * Answers a request of the page as `fetch` does.
   * @param {string} address
   * @param {RequestInit} [request]
   * @returns {Promise<Response>}
   */
  async fetch(address, { method = "GET", headers, body, signal } = {}) {
    const type = new Headers(headers).get("Content-Type") ?? "";
    const bytes = body ? new Uint8Array(await new Response(body).arrayBuffer()) : null;
    /** @type {Answer} */
    const answer = await this.call("ask", [method, address, type, bytes], signal ?? undefined);
    const { status, headers: named, content } = answer;
    return new Response(/** @type {BodyInit} */ (content), { status, headers: named });
  }

  #next() {
    if (this.#current) return;
    const next = this.#waiting.shift();
    if (!next) return;
    if (next.signal?.aborted) next.reject(new DOMException("aborted", "AbortError"));
    else if (this.#stopped) next.reject(new Error(STOPPED));
    else {
      this.#current = next;
      this.#worker.postMessage({ id: (this.#count += 1), call: next.call, given: next.given });
      return;
    }
    this.#next();
  }

  /** @param {{ failed?: string, result?: unknown }} answer */
  #settle({ failed, result }) {
    const answered = this.#current;
    if (answered?.call === "start" && failed !== undefined) {
      answered.reject(new Error(failed)); // and nothing after it is ever answered
      return;
    }
    this.#current = null;
    if (answered?.signal?.aborted) answered.reject(new DOMException("aborted", "AbortError"));
    else if (failed !== undefined) answered?.reject(new Error(failed));
    else answered?.resolve(result);
    this.#next();
  }
}

/**
 * Sends the page's requests to the relay, its links to files too.
 * @param {Relay} relay
 * @param {(content: Blob, name: string) => void} download
 * @param {(problem: string) => void} complain
 */
export function takeRequests(relay, download, complain) {
  const outside = window.fetch;
  window.fetch = (input, request) =>
    typeof input === "string" && input.startsWith("/api/")
      ? relay.fetch(input, request)
      : outside(input, request);
  /** @param {MouseEvent} event */
  const follow = async (event) => {
    const { target } = event;
    if (event.defaultPrevented || event.button > 1 || !(target instanceof Element)) return;
    const link = target.closest('a[href^="/api/"]');
    if (!link) return;
    event.preventDefault();
    const answer = await relay.fetch(link.getAttribute("href") ?? "");
    const content = await answer.blob();
    if (!answer.ok) {
      complain(JSON.parse(await content.text()).problems.join(" "));
      return;
    }
    const shown = link.hasAttribute("download") ? null : window.open(URL.createObjectURL(content));
    if (!shown) download(content, nameIn(answer));
  };
  document.addEventListener("click", follow);
  document.addEventListener("auxclick", follow);
}

/** @param {Response} answer */
const nameIn = (answer) =>
  /filename="([^"]+)"/.exec(answer.headers.get("content-disposition") ?? "")?.[1] ?? "sheetmark";
