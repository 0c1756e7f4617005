// The views, picked by the address: `#/case?treat=26`, `#/day`, `#/arch`, `#/settings`.

import { announce, element, Problems, problemList } from "./shared/elements.js";

const VIEWS = {
  case: ["Case", () => import("./case/view.js")],
  day: ["Day's list", () => import("./day/view.js")],
  fit: ["Own arch", () => import("./arch/view.js")],
  settings: ["Settings", () => import("./settings/view.js")],
};
const main = document.getElementById("main");
let shown = null;

function wanted() {
  const name = location.hash.replace(/^#\//, "").split("?")[0];
  return name in VIEWS ? name : "case";
}

async function show() {
  const name = wanted();
  for (const link of document.querySelectorAll("#views a")) {
    if (link.dataset.view === name) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  const root = element("div", { class: `view view-${name}` });
  const first = shown === null;
  shown = name;
  document.title = `${VIEWS[name][0]} · sheetmark`;
  try {
    const view = await VIEWS[name][1]();
    await view.show(root);
  } catch (error) {
    if (!(error instanceof Problems)) throw error;
    root.replaceChildren(element("h1", {}, VIEWS[name][0]), problemList(error.problems));
  }
  if (shown !== name) return;
  main.replaceChildren(root);
  if (!first) {
    main.focus();
    announce(VIEWS[name][0]);
  }
}

document.getElementById("views").append(
  ...Object.entries(VIEWS).map(([name, [words]]) =>
    element("li", {}, element("a", { href: `#/${name}`, "data-view": name }, words)),
  ),
);
// Back to the case that was left, not to an empty one.
document.getElementById("views").addEventListener("click", () => {
  if (wanted() === "case") {
    document.querySelector('#views [data-view="case"]').href = location.hash || "#/case";
  }
});
document.getElementById("skip").addEventListener("click", (event) => {
  event.preventDefault();
  main.focus();
});
// A view deals itself with changes of its own part of the address, where it has any.
window.addEventListener("popstate", async () => {
  if (wanted() !== shown) show();
  else (await VIEWS[shown][1]()).follow?.();
});
show();
