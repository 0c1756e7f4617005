// The views, by address: `#/case?treat=26`, `#/day`, `#/arch`, `#/check`, `#/sets`,
// `#/settings`.

import { element, problemList } from "./shared/elements.js";
import { hideLeftOut } from "./shared/left-out.js";
import { announce, byId, nameTab } from "./shared/page.js";
import { endAll } from "./shared/progress.js";
import { Problems, problemsIn } from "./shared/server.js";

/**
 * A view fills its root. `follow` is called when Back, Forward or a typed address has changed
 * the view's own part of the address.
 * @typedef {{ show: (root: HTMLElement) => unknown, follow?: () => void }} View
 * @typedef {"case" | "day" | "arch" | "check" | "sets" | "settings"} Name
 */

/** @type {{ [name in Name]: { title: string, load: () => Promise<View> } }} */
const VIEWS = {
  case: { title: "Case", load: () => import("./case/view.js") },
  day: { title: "Day's list", load: () => import("./day/view.js") },
  arch: { title: "Own arch", load: () => import("./arch/view.js") },
  check: { title: "Check", load: () => import("./check/view.js") },
  sets: { title: "Sets", load: () => import("./sets/view.js") },
  settings: { title: "Settings", load: () => import("./settings/view.js") },
};
const NAMES = /** @type {Name[]} */ (Object.keys(VIEWS));

const main = byId("main");
const links = new Map(
  NAMES.map((name) => [name, element("a", { href: `#/${name}` }, VIEWS[name].title)]),
);
/** @type {Name | null} */
let current = null;

/** @returns {Name} */
function nameInAddress() {
  const given = location.hash.replace(/^#\//, "").replace(/\?.*$/, "");
  return NAMES.find((name) => name === given) ?? "case";
}

/** Shows the view that the address names, filled anew. */
export async function showView() {
  const name = nameInAddress();
  const { title, load } = VIEWS[name];
  const first = current === null;
  current = name;
  endAll();
  for (const [other, link] of links) {
    if (other === name) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  nameTab(title);
  const root = element("div", { class: `view view-${name}` });
  try {
    const view = await load().catch(() => {
      throw new Problems(["This view cannot be loaded. Is the desk still open? Reload this page."]);
    });
    await view.show(root);
  } catch (error) {
    root.replaceChildren(element("h1", {}, title), problemList(problemsIn(error).lines));
  }
  if (current !== name) return; // another view was opened meanwhile
  main.replaceChildren(root);
  if (!first) {
    main.focus();
    window.scrollTo(0, 0);
    announce(title);
  }
}

byId("views").append(
  ...[...links].map(([name, link]) => element("li", { "data-needs": name }, link)),
);
hideLeftOut();
// The link to the case leads back to the case that was left, by whichever link.
document.addEventListener("click", ({ target }) => {
  if (!(target instanceof Element && target.closest("a[href^='#/']"))) return;
  const address = location.hash || "#/case";
  if (nameInAddress() === "case") links.get("case")?.setAttribute("href", address);
});
byId("skip").addEventListener("click", (event) => {
  event.preventDefault();
  main.focus();
});
window.addEventListener("popstate", async () => {
  const name = nameInAddress();
  if (name === current) (await VIEWS[name].load()).follow?.();
  else showView();
});
showView();
