// One case: click the teeth, see the sheet, print. The choices live in the address.

import { element } from "../shared/elements.js";
import { announce, nameTab } from "../shared/page.js";
import { endWithView } from "../shared/progress.js";
import { fetchJson, isAbort, problemsIn } from "../shared/server.js";
import { caseBar } from "../day/case-bar.js";
import { canUndo, changeChoices, choices, goTo, removeValue } from "./address.js";
import { CalliperFields } from "./callipers.js";
import { JawChart } from "./chart.js";
import { Controls } from "./controls.js";
import { DifferenceList, putDescription } from "./differences.js";
import { CaseFiles } from "./files.js";
import { Hand } from "./hand.js";
import { PrintRow } from "./printing.js";
import { RecentCases } from "./recent.js";
import { SheetView } from "./sheet.js";
import { jawOf, labelOf, state, toothOf } from "./state.js";
import { ToList } from "./to-list.js";
import { openToothMenu } from "./tooth-menu.js";

/** @import { CaseStart, ChartTooth, Different } from "../shared/types.js" */
/** @import { Recent } from "./recent.js" */

const SLOW_MS = 700;
const WAIT = "Please wait: the new sheet is being computed";

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
    this.hand = new Hand((iso) => this.describe(iso));
    this.controls = new Controls(start, put);
    this.recent = new RecentCases((recent) => this.#again(recent));
    this.toList = new ToList();
    this.print = new PrintRow(start.printer, start.copies_most, {
      isReady: () => this.#isReady(),
      printed: (pages) => this.recent.add(state.answer.sheet?.title ?? "", pages),
    });
    this.sheet = new SheetView(this.print, {
      put,
      take: (name, value) => {
        put(name, value);
        this.controls.draw();
      },
      cancel: () => this.#cancel(),
    });
    this.files = new CaseFiles({
      isReady: () => this.#isReady(),
      refuse: (lines) => this.sheet.refuse(lines),
    });
    this.differences = new DifferenceList(this);
    this.callipers = new CalliperFields((alter) => this.change(alter));
    this.undo = element("button", { type: "button", onclick: () => history.back() }, "Undo");
    root.addEventListener("click", (event) => this.#holdBack(event), true);
    root.addEventListener("auxclick", (event) => this.#holdBack(event), true);
    root.append(
      ...caseBar(),
      this.#bar(),
      this.#mouth(),
      this.sheet.panel,
      element(
        "section",
        { class: "facts", "aria-label": "About the case" },
        this.sheet.findings,
        this.callipers.node,
        this.differences.node,
        this.sheet.facts,
        this.toList.node,
        this.files.node,
        this.recent.node,
      ),
    );
  }

  #bar() {
    return element(
      "section",
      { class: "bar", "aria-labelledby": "case-title" },
      element("h1", { id: "case-title", class: "quiet" }, "Case"),
      this.controls.common,
      element(
        "div",
        { class: "row" },
        this.undo,
        element("button", { type: "button", onclick: () => this.#clear() }, "New case"),
      ),
    );
  }

  #mouth() {
    return element(
      "section",
      { class: "mouth", "aria-label": "Mouth" },
      this.hand.pressing,
      this.chart.node,
      this.hand.node,
      this.controls.rare,
    );
  }

  /** Takes back the change that takes so long to compute. */
  #cancel() {
    if (canUndo()) history.back();
    else this.change((next) => next.delete("shift"));
  }

  /** @returns {boolean} whether the sheet on screen is the one of the choices */
  #isReady() {
    if (this.#request) announce(WAIT);
    return this.#request === null;
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
    announce(WAIT);
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
    const done = endWithView(request);
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
      const { lines } = problemsIn(error);
      state.answer = { ...state.answer, sheet: null, suggestions: [], problems: lines };
    } finally {
      clearTimeout(slow);
      done();
      if (this.#request === request) {
        this.#request = null;
        this.root.removeAttribute("aria-busy");
        this.root.classList.remove("slow");
      }
    }
    this.#draw();
  }

  #draw() {
    const { chart, hand, differences, callipers, sheet, toList, files } = this;
    for (const part of [chart, hand, differences, callipers, sheet, toList, files]) part.draw();
    this.undo.disabled = !canUndo();
    if (view === this || view === null) nameTab(state.answer.sheet?.title ?? "Case");
  }

  // ---- changes ----

  /** Takes over the choices from the address. */
  follow() {
    this.controls.draw();
    this.refresh();
  }

  /**
   * Opens a case that was printed and prints it as it was.
   * @param {Recent} recent
   */
  async #again({ address, ...pages }) {
    goTo(address);
    this.controls.draw();
    await this.refresh();
    const shown = location.hash === address && this.root.isConnected && state.answer.sheet;
    if (shown) await this.print.printAgain(pages);
  }

  /** @param {(next: URLSearchParams) => void} alter changes the choices */
  change(alter) {
    changeChoices(alter);
    this.refresh();
  }

  #clear() {
    state.current = null;
    this.change((next) => [...next.keys()].forEach((name) => next.delete(name)));
    this.controls.draw();
    announce("New case");
  }

  /**
   * Treats the tooth or no longer treats it; describes it where the switch says so, and first
   * where it is absent.
   * @param {ChartTooth} tooth
   */
  press({ tooth: iso, stands }) {
    state.current = iso;
    if (state.pressing === "describe" || !stands) {
      this.describe(iso, state.pressing === "treat");
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
   * @param {boolean} [wanted] it was pressed to be treated
   */
  async describe(iso, wanted = false) {
    if (!(await this.#answersAll()) || document.querySelector("dialog[open]")) return;
    state.current = iso;
    this.hand.draw();
    const { chart, different } = state.answer;
    const now = choices();
    const undrawn = { tooth: iso, label: labelOf(iso), name: "", instead: null, stands: false };
    const states = different.find(({ tooth }) => tooth === iso)?.states ?? [];
    const description = await openToothMenu({
      tooth: toothOf(iso) ?? undrawn,
      states,
      wanted: wanted && !states.length,
      treat: now.getAll("treat").includes(iso),
      anchor: now.getAll("anchor").includes(iso),
      others: (chart?.[jawOf(iso)] ?? []).filter(({ tooth }) => tooth !== iso),
    });
    this.chart.focus(iso);
    if (!description) return;
    this.changeDifferences((next, latest) => putDescription(next, iso, latest, description));
  }
}
