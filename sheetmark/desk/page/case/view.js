// One case: click the teeth, see the sheet, print. The case lives in the address.

import { changeAddress, choices, Controls, putAll } from "./choices.js";
import { Jaws } from "./chart.js";
import { announce, element, fetchJson, Problems } from "../shared/elements.js";
import { Said, sayOf } from "./differences.js";
import { Sheet } from "./sheet.js";
import { jawOf, labelOf, toothOf } from "./teeth.js";
import { toothDialog } from "./tooth-menu.js";

// What is kept while another view is looked at; the view's parts are handed it.
const state = {
  start: null, // what the server tells: limits, and what can be chosen
  shown: { chart: null, different: [], sheet: null, problems: [] }, // its last answer
  choosing: false, // whether the next tooth is to be described, not treated
  current: null, // ISO number of the tooth last touched
  said: "", // what was said of teeth when it was asked for
  asking: null, // the request under way
  answered: null, // settles when its answer is shown
};
let view = null;

const saidNow = () => choices().getAll("with").join();

export async function show(root) {
  view = null; // one that was left follows nothing
  state.start = await fetchJson("/api/start");
  view = new Case(root);
  await view.refresh();
}

/** After Back and Forward, or an address typed in: it has changed by itself. */
export function follow() {
  view?.follow();
}

/** While a sheet is being computed the files are still those of the one before. */
function holdBack(event) {
  if (!state.asking || !event.target.closest?.('a[href^="/api/case."]')) return;
  event.preventDefault();
  announce("Computing: wait for the new sheet");
}

class Case {
  constructor(root) {
    this.root = root;
    this.jaws = new Jaws(state, this);
    this.tooth = element("div", { class: "tooth-bar" });
    this.controls = new Controls(state.start, this);
    this.sheet = new Sheet(state, this);
    this.said = new Said(state, this);
    const facts = { class: "facts", "aria-label": "To fetch and to mind" };
    for (const press of ["click", "auxclick"]) root.addEventListener(press, holdBack, true);
    root.append(
      this.#mouth(),
      this.sheet.panel,
      element("section", facts, this.said.part, this.sheet.facts),
    );
  }

  #mouth() {
    return element(
      "section",
      { class: "mouth", "aria-labelledby": "case-title" },
      element(
        "div",
        { class: "row" },
        element("h1", { id: "case-title", class: "quiet" }, "Case"),
        this.controls.first,
        element("button", { type: "button", onclick: () => this.renew() }, "New case"),
      ),
      this.jaws.chart,
      this.tooth,
      this.controls.more,
    );
  }

  refresh() {
    state.asking?.abort();
    state.asking = new AbortController();
    state.answered = this.#answer(state.asking);
    return state.answered;
  }

  async #answer(mine) {
    const said = saidNow();
    this.root.setAttribute("aria-busy", "true");
    const slow = setTimeout(() => {
      this.root.classList.add("slow");
      announce("Computing, a few seconds");
    }, 700);
    try {
      state.shown = await fetchJson(`/api/case?${choices()}`, { signal: mine.signal });
      state.said = said;
    } catch (error) {
      if (error.name === "AbortError") return;
      if (!(error instanceof Problems)) throw error;
      state.shown = { ...state.shown, sheet: null, problems: error.problems };
    } finally {
      clearTimeout(slow);
      if (state.asking === mine) {
        state.asking = null;
        this.root.removeAttribute("aria-busy");
        this.root.classList.remove("slow");
      }
    }
    this.jaws.draw();
    this.#drawTooth();
    this.said.draw();
    this.sheet.draw();
  }

  #drawTooth() {
    const one = toothOf(state.shown, state.current);
    if (!one) {
      const choose = () => {
        state.choosing = true;
        this.#drawTooth();
      };
      const words = state.choosing ? "Now choose that tooth." : "Choose the teeth to treat.";
      this.tooth.replaceChildren(
        element("p", { role: "status" }, words),
        element("button", { type: "button", onclick: choose }, "A tooth is different …"),
      );
      return;
    }
    const words = `What is different about ${one.label} …`;
    // The button is kept, so that the focus stays on it.
    const button = this.tooth.querySelector("button.of-one");
    if (button) {
      button.textContent = words;
      this.tooth.querySelector("p").textContent = one.name;
      return;
    }
    const describe = () => this.describe(state.current);
    this.tooth.replaceChildren(
      element("p", {}, one.name),
      element("button", { type: "button", class: "of-one", onclick: describe }, words),
    );
  }

  // ---- what the parts ask for ----

  follow() {
    this.controls.draw();
    this.refresh();
  }

  change(alter) {
    changeAddress(alter);
    this.refresh();
  }

  put(name, value) {
    this.change((next) => (value === "" ? next.delete(name) : next.set(name, value)));
  }

  renew() {
    state.current = null;
    state.choosing = false;
    this.change((next) => [...next.keys()].forEach((key) => next.delete(key)));
    this.controls.draw();
    announce("New case");
  }

  pick(iso) {
    state.current = iso;
    this.#drawTooth();
  }

  toggle({ tooth, stands }) {
    const asked = state.choosing || !stands;
    state.choosing = false;
    this.pick(tooth);
    if (asked) {
      this.describe(tooth);
      return;
    }
    this.change((next) => {
      const treated = next.getAll("treat");
      const others = treated.filter((iso) => iso !== tooth);
      putAll(next, "treat", treated.includes(tooth) ? others : [...treated, tooth]);
    });
  }

  /** Whether the view is still there once the answer tells of all that was said of teeth. */
  async #told() {
    while (state.asking && saidNow() !== state.said) await state.answered;
    return this.root.isConnected;
  }

  /** `alter` is given the choices, and what is different by the last answer. */
  async changeSaid(alter) {
    if (await this.#told()) this.change((next) => alter(next, state.shown.different));
  }

  /** The menu of one tooth; what it gives back goes into the address. */
  async describe(iso) {
    if (!(await this.#told())) return;
    const { chart, different } = state.shown;
    const now = choices();
    const undrawn = {
      tooth: iso, label: labelOf(state.shown, iso), name: "", instead: null, stands: false,
    };
    const answer = await toothDialog({
      tooth: toothOf(state.shown, iso) ?? undrawn,
      words: different.find((said) => said.tooth === iso)?.words ?? [],
      treated: now.getAll("treat").includes(iso),
      anchor: now.getAll("anchor").includes(iso),
      row: chart[jawOf(iso)].filter(({ tooth }) => tooth !== iso),
    });
    this.jaws.focus(iso);
    if (answer) this.changeSaid((next, said) => sayOf(next, iso, said, answer));
  }
}
