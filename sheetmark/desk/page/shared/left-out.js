// What needs libraries that are not here is hidden, and the foot of the page names it.

import { element } from "./elements.js";
import { byId } from "./page.js";
import { fetchJson, problemsIn } from "./server.js";

/** Hides the elements whose `data-needs` names a part that is left out; style.css has the names. */
export async function hideLeftOut() {
  try {
    const { parts, line } = await fetchJson("/api/left-out");
    document.documentElement.dataset["leftOut"] = parts.join(" ");
    if (line) byId("foot").append(element("p", { id: "left-out" }, line));
  } catch (error) {
    problemsIn(error); // the view, which asks more, shows them
  }
}
