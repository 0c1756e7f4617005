// Settings and own arches: kept in the browser's storage for this file, saved and opened as files.

import { element, problemList } from "../../page/shared/elements.js";
import { announce, byId, download } from "../../page/shared/page.js";

/** @import { Relay } from "./relay.js" */
/** @typedef {Record<string, string>} Files the text of each by its name */

const KEY = `sheetmark:${location.pathname}`;
const NOT_KEPT =
  "This browser keeps nothing for this page. Save your settings as a file before you close it.";

/** The files that are kept, and the part of the page that shows them. */
export class Keep {
  /** @type {Files} */
  #files = {};
  /** What each file was when it was last saved as a file. @type {Files} */
  #saved = {};
  #holds = true;
  /** @type {Relay | null} */
  #relay = null;
  #reopen;

  /** @param {() => void} reopen shows the view again, after a file was opened */
  constructor(reopen) {
    this.#reopen = reopen;
    this.reminder = element("div", { class: "reminder", role: "status" });
    this.list = element("ul", { class: "files" });
    this.problems = element("div");
    this.#read(storedText());
    window.addEventListener("storage", ({ key, newValue }) => {
      if (key !== KEY) return;
      this.#read(newValue);
      void this.#relay?.call("put", [this.text]);
      this.draw();
    });
  }

  /** @returns {string} the files as the worker takes them */
  get text() {
    return JSON.stringify(this.#files);
  }

  /**
   * Shows the part below the views.
   * @param {Relay} relay
   * @param {HTMLElement} place
   */
  show(relay, place) {
    this.#relay = relay;
    const input = element("input", { type: "file", id: "kept-file", accept: ".toml" });
    input.addEventListener("change", async () => {
      const [file] = input.files ?? [];
      input.value = "";
      if (file) await this.#open(file);
    });
    byId("main").before(this.reminder);
    place.prepend(
      element(
        "details",
        { class: "kept" },
        element("summary", {}, "Settings and own arches of this page"),
        element(
          "p",
          {},
          "They are kept in this browser, for this page at this place. Clearing the browser's " +
            "data, or moving the page, loses them: save them as files too. Of cases, nothing is " +
            "kept once this tab is closed.",
        ),
        this.list,
        element(
          "p",
          {},
          element("label", { for: "kept-file" }, "Open a practice file or an arch model: "),
          input,
        ),
        this.problems,
      ),
    );
    this.draw();
  }

  /**
   * Takes over what a person has saved on the page.
   * @param {string} files
   */
  take(files) {
    this.#files = JSON.parse(files);
    this.#store();
    this.draw();
  }

  /** Draws the files and the reminder. */
  draw() {
    const names = Object.keys(this.#files);
    const save = (/** @type {string} */ name) =>
      element("button", { type: "button", onclick: () => this.#save(name) }, `Save ${shown(name)}`);
    this.list.replaceChildren(
      ...(names.length
        ? names.map((name) => element("li", {}, save(name)))
        : [element("li", {}, "Nothing yet: the defaults apply.")]),
    );
    const unsaved = names.filter((name) => this.#files[name] !== this.#saved[name]);
    const text = this.#holds ? "Not saved as a file yet, and kept in this browser only:" : NOT_KEPT;
    const reminds = unsaved.length > 0 || !this.#holds;
    this.reminder.replaceChildren(...(reminds ? [`${text} `, ...unsaved.map(save)] : []));
  }

  /** @param {string} name */
  #save(name) {
    const text = this.#files[name] ?? "";
    download(new Blob([text], { type: "application/toml" }), shown(name));
    this.#saved[name] = text;
    this.#store();
    this.draw();
    announce(`${shown(name)} saved`);
  }

  /** @param {File} file */
  async #open(file) {
    const relay = this.#relay;
    if (!relay) return;
    const content = new Uint8Array(await file.arrayBuffer());
    let replace = false;
    for (;;) {
      const given = [file.name, content, replace];
      const { taken, question, problems } = await relay.call("take", given);
      if (question && window.confirm(question)) {
        replace = true;
        continue;
      }
      this.problems.replaceChildren(...(problems ? [problemList(problems)] : []));
      if (taken) {
        this.#saved[taken] = this.#files[taken] ?? "";
        this.#store();
        this.draw();
        announce(`${file.name} opened. In use from now on.`);
        this.#reopen();
      }
      return;
    }
  }

  #store() {
    try {
      localStorage.setItem(KEY, JSON.stringify({ files: this.#files, saved: this.#saved }));
      this.#holds = true;
    } catch {
      this.#holds = false;
    }
  }

  /** @param {string | null} text */
  #read(text) {
    const { files = {}, saved = {} } = text ? JSON.parse(text) : {};
    this.#files = files;
    this.#saved = saved;
  }
}

function storedText() {
  try {
    return localStorage.getItem(KEY);
  } catch {
    return null; // told once there is something to keep
  }
}

/**
 * The name without its folder.
 * @param {string} name
 */
const shown = (name) => name.slice(name.lastIndexOf("/") + 1);
