// One case: click the teeth, see the sheet, print. The choices live in the address.

import { element } from "../shared/elements.js";
import { announce } from "../shared/page.js";
import { fetchJson, isAbort, problemsIn } from "../shared/server.js";
import { changeChoices, choices, removeValue } from "./address.js";
import { CalliperFields } from "./callipers.js";
import { JawChart } from "./chart.js";
import { Controls } from "./controls.js";
import { DifferenceList, putDescription } from "./differences.js";
import { SheetView } from "./sheet.js";
import { jawOf, labelOf, state, toothOf } from "./state.js";
import { openToothMenu } from "./tooth-menu.js";

/** @import { CaseStart, ChartTooth, Different } from "../shared/types.js" */

const SLOW_MS = 700;

/** @type {CaseView | null} */
let view = null;

/**
 * Fills the view.
 * @param {HTMLElement} root
 */
export async function show(root) {
  view = null; // the view that was left no longer follows the address
  view = new CaseView(root, await fetchJson("/api/start"));
  await view.refresh();
}

/** Takes over the choices after Back, Forward or a typed address. */
export function follow() {
  view?.follow();
}

/** @returns {string} the part of the address that says what is different */
const differencesInAddress = () => choices().getAll("with").join();

class CaseView {
  /** @type {AbortController | null} the request under way */
  #request = null;
  /** @type {Promise<void>} ends when the answer to the latest request is drawn */
  #drawn = Promise.resolve();
  /** The differences in the address that the latest answer is for. */
  #answered = "";

  /**
   * @param {HTMLElement} root
   * @param {CaseStart} start
   */
  constructor(root, start) {
    /** @type {(name: string, value: string) => void} */
    const put = (name, value) =>
      this.change((next) => (value ? next.set(name, value) : next.delete(name)));
    this.root = root;
    this.chart = new JawChart(this);
    this.toothBar = element("div", { class: "tooth-bar" });
    this.controls = new Controls(start, put);
    this.sheet = new SheetView(start.printer, put);
    this.differences = new DifferenceList(this);
    this.callipers = new CalliperFields((alter) => this.change(alter));
    root.addEventListener("click", (event) => this.#holdBack(event), true);
    root.addEventListener("auxclick", (event) => this.#holdBack(event), true);
    root.append(
      this.#mouth(),
      this.sheet.panel,
      element(
        "section",
        { class: "facts", "aria-label": "About the case" },
        this.sheet.findings,
        this.callipers.node,
        this.differences.node,
        this.sheet.facts,
      ),
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
        this.controls.common,
        element("button", { type: "button", onclick: () => this.#clear() }, "New case"),
      ),
      this.chart.node,
      this.toothBar,
      this.controls.rare,
    );
  }

  /**
   * While a sheet is being computed, the links still lead to the files of the sheet before.
   * @param {Event} event
   */
  #holdBack(event) {
    const { target } = event;
    if (!this.#request || !(target instanceof Element)) return;
    if (!target.closest('a[href^="/api/case."]')) return;
    event.preventDefault();
    announce("Please wait: the new sheet is being computed");
  }

  // ---- the answer to the choices as they stand ----

  /** @returns {Promise<void>} */
  refresh() {
    this.#request?.abort();
    this.#request = new AbortController();
    this.#drawn = this.#fetch(this.#request);
    return this.#drawn;
  }

  /** @param {AbortController} request */
  async #fetch(request) {
    const differences = differencesInAddress();
    this.root.setAttribute("aria-busy", "true");
    const slow = setTimeout(() => {
      this.root.classList.add("slow");
      announce("Computing, a few seconds");
    }, SLOW_MS);
    try {
      const { signal } = request;
      state.answer = await fetchJson("/api/case", { query: choices(), signal });
      this.#answered = differences;
    } catch (error) {
      if (isAbort(error)) return; // ignore stale answers
      state.answer = { ...state.answer, sheet: null, problems: problemsIn(error).lines };
    } finally {
      clearTimeout(slow);
      if (this.#request === request) {
        this.#request = null;
        this.root.removeAttribute("aria-busy");
        this.root.classList.remove("slow");
      }
    }
    this.chart.draw();
    this.#drawToothBar();
    this.differences.draw();
    this.callipers.draw();
    this.sheet.draw();
  }

  #drawToothBar() {
    const tooth = toothOf(state.current);
    if (!tooth) {
      this.#drawEmptyToothBar();
      return;
    }
    const label = `What is different about ${tooth.label} …`;
    // The button stays, so that it keeps the focus.
    const button = this.toothBar.querySelector("button.describe");
    const name = this.toothBar.querySelector("p");
    if (button && name) {
      button.textContent = label;
      name.textContent = tooth.name;
      return;
    }
    const describe = () => state.current && this.describe(state.current);
    this.toothBar.replaceChildren(
      element("p", {}, tooth.name),
      element("button", { type: "button", class: "describe", onclick: describe }, label),
    );
  }

  #drawEmptyToothBar() {
    const onclick = () => {
      state.describing = true;
      this.#drawToothBar();
    };
    const text = state.describing ? "Now choose that tooth." : "Choose the teeth to treat.";
    this.toothBar.replaceChildren(
      element("p", { role: "status" }, text),
      element("button", { type: "button", onclick }, "A tooth is different …"),
    );
  }

  // ---- changes ----

  /** Takes over the choices from the address. */
  follow() {
    this.controls.draw();
    this.refresh();
  }

  /** @param {(next: URLSearchParams) => void} alter changes the choices */
  change(alter) {
    changeChoices(alter);
    this.refresh();
  }

  #clear() {
    state.current = null;
    state.describing = false;
    this.change((next) => [...next.keys()].forEach((name) => next.delete(name)));
    this.controls.draw();
    announce("New case");
  }

  /** @param {string} iso */
  select(iso) {
    state.current = iso;
    this.#drawToothBar();
  }

  /**
   * Treats the tooth or no longer treats it; describes a tooth that is absent.
   * @param {ChartTooth} tooth
   */
  press({ tooth: iso, stands }) {
    const describing = state.describing || !stands;
    state.describing = false;
    this.select(iso);
    if (describing) {
      this.describe(iso);
      return;
    }
    this.change((next) => {
      if (next.getAll("treat").includes(iso)) removeValue(next, "treat", iso);
      else next.append("treat", iso);
    });
  }

  /** Waits for an answer with all differences of the address; false where the view was left. */
  async #answersAll() {
    while (this.#request && differencesInAddress() !== this.#answered) await this.#drawn;
    return this.root.isConnected;
  }

  /** @param {(next: URLSearchParams, different: Different[]) => void} alter */
  async changeDifferences(alter) {
    if (!(await this.#answersAll())) return;
    this.change((next) => alter(next, state.answer.different));
  }

  /**
   * Opens the menu of a tooth and takes over what it is filled in with.
   * @param {string} iso
   */
  async describe(iso) {
    if (!(await this.#answersAll())) return;
    const { chart, different } = state.answer;
    const now = choices();
    const undrawn = { tooth: iso, label: labelOf(iso), name: "", instead: null, stands: false };
    const description = await openToothMenu({
      tooth: toothOf(iso) ?? undrawn,
      states: different.find(({ tooth }) => tooth === iso)?.states ?? [],
      treat: now.getAll("treat").includes(iso),
      anchor: now.getAll("anchor").includes(iso),
      others: (chart?.[jawOf(iso)] ?? []).filter(({ tooth }) => tooth !== iso),
    });
    this.chart.focus(iso);
    if (!description) return;
    this.changeDifferences((next, latest) => putDescription(next, iso, latest, description));
  }
}
