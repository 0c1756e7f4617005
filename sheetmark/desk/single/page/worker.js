// Runs Python in a worker, and answers the page one message after another.

/**
 * @typedef {object} Parts what the page carries: gzip in base64
 * @property {string} engine the core's WebAssembly
 * @property {string} rest an index, then every other file
 */

/**
 * What comes in. `start` is the first.
 * @typedef {{ id: number, call: "start", given: [Parts, string] }
 *   | { id: number, call: "ask", given: [string, string, string, Uint8Array | null] }
 *   | { id: number, call: "put", given: [string] }
 *   | { id: number, call: "take", given: [string, Uint8Array, boolean] }} Call
 */

const PACKAGES = "/lib/python3.14/site-packages";
const NOWHERE = "memory:/";

/** @type {any} the core */
let python = null;
/** @type {any} the application in it */
let desk = null;
let kept = "";
/** @type {Promise<void>} ends when every message so far is answered */
let done = Promise.resolve();

/** @param {unknown} message */
const tell = (message) => /** @type {any} */ (self).postMessage(message);

self.onmessage = ({ data }) => {
  done = done.then(() => answer(data));
};

/** @param {Call} data */
async function answer({ id, call, given }) {
  try {
    // @ts-expect-error each call has what it takes
    tell({ id, result: await CALLS[call](...given) });
  } catch (error) {
    tell({ id, failed: String(error) });
  }
}

const CALLS = { start, ask, put, take };

/**
 * @param {Parts} parts
 * @param {string} files what the page has kept
 */
async function start({ engine, rest }, files) {
  tell({ step: "Unpacking" });
  const wasm = unpacked(engine);
  const content = filesIn(await unpacked(rest));
  tell({ step: "Starting Python" });
  const { loadPyodide } = await import(addressOf(partOf(content, "pyodide.mjs")));
  const glue = await import(addressOf(partOf(content, "pyodide.asm.mjs")));
  const lock = JSON.parse(new TextDecoder().decode(partOf(content, "pyodide-lock.json")));
  serve({
    "pyodide.asm.wasm": [await wasm, "application/wasm"],
    "python_stdlib.zip": [partOf(content, "python_stdlib.zip"), "application/zip"],
  });
  python = await loadPyodide({
    indexURL: NOWHERE,
    packageBaseUrl: NOWHERE,
    lockFileContents: lock,
    createPyodideModule: glue.default,
  });
  for (const [name, bytes] of content) {
    const path = `${PACKAGES}/${name}`;
    python.FS.mkdirTree(path.slice(0, path.lastIndexOf("/")));
    python.FS.writeFile(path, bytes, { canOwn: true });
  }
  tell({ step: "Starting sheetmark" });
  python.pyimport("importlib").invalidate_caches();
  desk = python.pyimport("sheetmark.desk.single.inside").Inside(files);
  kept = files;
}

/**
 * @param {string} method
 * @param {string} address
 * @param {string} type of the body
 * @param {Uint8Array | null} body
 */
async function ask(method, address, type, body) {
  const answered = await desk.ask(method, address, type, python.toPy(body ?? new Uint8Array()));
  const [status, headers, content] = answered.toJs({ dict_converter: Object.fromEntries });
  answered.destroy();
  if (method !== "GET") tellKept();
  return { status, headers, content };
}

/** @param {string} files */
function put(files) {
  desk.put(files);
  kept = files;
}

/**
 * @param {string} name
 * @param {Uint8Array} content
 * @param {boolean} replace
 */
function take(name, content, replace) {
  const result = desk.take.callKwargs(name, python.toPy(content), { replace });
  tellKept();
  return JSON.parse(result);
}

function tellKept() {
  const now = desk.kept();
  if (now === kept) return;
  kept = now;
  tell({ kept });
}

// ---- the parts ----

/**
 * @param {string} base64
 * @returns {Promise<Uint8Array>}
 */
async function unpacked(base64) {
  const letters = atob(base64);
  const packed = new Uint8Array(letters.length);
  // A loop: `Uint8Array.from` takes a second longer.
  for (let at = 0; at < letters.length; at++) packed[at] = letters.charCodeAt(at);
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/**
 * The files behind their index: its length in four bytes, then names and lengths as JSON.
 * @param {Uint8Array} bytes
 * @returns {Map<string, Uint8Array>}
 */
function filesIn(bytes) {
  const length = new DataView(bytes.buffer).getUint32(0, true);
  /** @type {Array<[string, number]>} */
  const index = JSON.parse(new TextDecoder().decode(bytes.subarray(4, 4 + length)));
  let at = 4 + length;
  return new Map(index.map(([name, size]) => [name, bytes.slice(at, (at += size))]));
}

/**
 * Takes a part out of the files.
 * @param {Map<string, Uint8Array>} content
 * @param {string} name
 * @returns {Uint8Array<ArrayBuffer>}
 */
function partOf(content, name) {
  const part = content.get(name);
  if (!part) throw new Error(`this page lacks ${name}`);
  content.delete(name);
  return /** @type {Uint8Array<ArrayBuffer>} */ (part);
}

/** @param {Uint8Array<ArrayBuffer>} script */
const addressOf = (script) =>
  URL.createObjectURL(new Blob([script], { type: "text/javascript" }));

/**
 * Whatever the core wants to fetch, it gets from here; anything else does not exist.
 * @param {Record<string, [Uint8Array, string]>} parts
 */
function serve(parts) {
  self.fetch = async (input) => {
    const name = String(input).split("/").pop() ?? "";
    const part = parts[name];
    if (!part) throw new Error(`nothing is fetched: ${name}`);
    const [content, type] = part;
    return new Response(/** @type {any} */ (content), { headers: { "Content-Type": type } });
  };
}
