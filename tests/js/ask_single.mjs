// Runs what the page in one file carries in Node.js, and asks it.
// node ask_single.mjs PAGE.html REQUESTS.json ANSWERS.json
// A request is [method, address, type, text]; an answer has status, headers and content in base64.

import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { pathToFileURL } from "node:url";
import { gunzipSync } from "node:zlib";

const [file, requests, answers] = process.argv.slice(2);
const page = readFileSync(file, "utf8");
const partOf = (id) => {
  const begin = page.indexOf(`<script type="text/plain" id="${id}">`);
  const from = page.indexOf(">", begin) + 1;
  return gunzipSync(Buffer.from(page.slice(from, page.indexOf("<", from)), "base64"));
};
const seconds = () => process.cpuUsage().user / 1e6 + process.cpuUsage().system / 1e6;

const engine = partOf("engine");
const rest = partOf("rest");
const length = rest.readUInt32LE(0);
const content = new Map();
let at = 4 + length;
for (const [name, size] of JSON.parse(rest.subarray(4, at).toString())) {
  content.set(name, new Uint8Array(rest.subarray(at, (at += size))));
}
const core = mkdtempSync(join(tmpdir(), "core-"));
for (const name of ["pyodide.mjs", "pyodide.asm.mjs", "pyodide-lock.json", "python_stdlib.zip"]) {
  writeFileSync(join(core, name), content.get(name));
  content.delete(name);
}
writeFileSync(join(core, "pyodide.asm.wasm"), engine);
const before = seconds();
const { loadPyodide } = await import(pathToFileURL(join(core, "pyodide.mjs")).href);
const python = await loadPyodide();
rmSync(core, { recursive: true });
const bare = seconds();
for (const [name, bytes] of content) {
  const path = `/lib/python3.14/site-packages/${name}`;
  python.FS.mkdirTree(dirname(path));
  python.FS.writeFile(path, bytes);
}
python.pyimport("importlib").invalidate_caches();
const desk = python.pyimport("sheetmark.desk.single.inside").Inside("{}");
const ready = seconds();
const given = JSON.parse(readFileSync(requests, "utf8"));
const result = [];
for (const [method, address, type, text] of given) {
  const body = python.toPy(new TextEncoder().encode(text));
  const answer = await desk.ask(method, address, type, body);
  const [status, headers, bytes] = answer.toJs({ dict_converter: Object.fromEntries });
  answer.destroy();
  result.push({ status, headers, content: Buffer.from(bytes).toString("base64") });
}
const figures = {
  bare: bare - before,
  ready: ready - before,
  each: (seconds() - ready) / given.length,
  heap: python._module.HEAP8.length,
};
writeFileSync(answers, JSON.stringify({ figures, answers: result }));
