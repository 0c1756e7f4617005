// Keeps the page of a server in the browser, so that it opens without the server.

const KEPT = "sheetmark-VERSION";
const FILES = ["./", "manifest.webmanifest", "icon.svg"];

/** @type {any} the browser's own scope of such a script */
const scope = self;

scope.addEventListener("install", (/** @type {any} */ event) =>
  event.waitUntil(caches.open(KEPT).then((cache) => cache.addAll(FILES))),
);
scope.addEventListener("activate", (/** @type {any} */ event) =>
  event.waitUntil(forgetOthers()),
);
scope.addEventListener("fetch", (/** @type {any} */ event) =>
  event.respondWith(
    caches.match(event.request, { ignoreSearch: true }).then((hit) => hit ?? fetch(event.request)),
  ),
);

async function forgetOthers() {
  for (const name of await caches.keys()) {
    if (name.startsWith("sheetmark-") && name !== KEPT) await caches.delete(name);
  }
}
