// Starts the page in one file: Python in a worker, the relay to it, what is kept, the views.

import { element, problemList } from "../../page/shared/elements.js";
import { byId, download } from "../../page/shared/page.js";
import { Keep } from "./keep.js";
import { Relay, takeRequests } from "./relay.js";

const keep = new Keep(async () => (await views).showView());
const worker = new Worker(dataAddress(textOf("worker")), { type: "module" });
const relay = new Relay(worker, {
  step: (text) => {
    const state = document.getElementById("starting");
    if (state) state.textContent = `${text} …`;
  },
  kept: (files) => keep.take(files),
});
takeRequests(relay, download, (problem) => byId("main").prepend(problemList([problem])));
keep.show(relay, byId("about"));
byId("about").append(licences());
const parts = { engine: textOf("engine"), rest: textOf("rest") };
const started = relay.call("start", [parts, keep.text]);
for (const id of ["engine", "rest"]) byId(id).remove(); // the worker has them
started.catch((error) => {
  byId("main").replaceChildren(
    problemList([
      `This page cannot start in this browser (${error.message}). ` +
        "Open it with an up-to-date Chrome, Edge, Firefox or Safari.",
    ]),
  );
});
// The first view asks its first question now, and has its answer when Python is ready.
const views = import("../../page/main.js");
if (location.protocol.startsWith("http")) install();

/** Lets the browser install the page, where its server has what that takes. */
function install() {
  document.head.append(element("link", { rel: "manifest", href: "manifest.webmanifest" }));
  navigator.serviceWorker?.register("offline.js").catch(() => {});
}

/**
 * What the page carries under an id.
 * @param {string} id
 */
function textOf(id) {
  return byId(id).textContent ?? "";
}

/** @param {string} script */
function dataAddress(script) {
  return `data:text/javascript;charset=utf-8,${encodeURIComponent(script)}`;
}

function licences() {
  const show = () => window.open(URL.createObjectURL(new Blob([textOf("licences")])));
  return element("button", { type: "button", onclick: show }, "Licences of what this page carries");
}
