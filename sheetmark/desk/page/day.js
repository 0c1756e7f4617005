// The day's list: a file in, its rows with what is wrong in them, the tray, and the PDF out.

import { announce, ask, download, element, fetchJson, Problems, problemList } from "./parts.js";

// What was last opened, so that a look at another view loses nothing.
let opened = null;
let answer = null;
let cards = false;

const TYPE = "application/octet-stream";
const plural = (count, one, many) => `${count} ${count === 1 ? one : many}`;

export async function show(root) {
  const columns = await fetchJson("/api/day/columns");
  const file = element("input", {
    type: "file",
    id: "list-file",
    accept: ".csv,.tsv,.txt,.toml,text/csv,text/plain",
    "aria-describedby": "list-hint",
    // So that the same file, corrected, can be opened again.
    onclick: () => {
      file.value = "";
    },
    onchange: () => file.files.length && open(file.files[0]),
  });
  const zone = element(
    "div",
    { class: "drop" },
    element("label", { for: "list-file" }, "Open a day's list, or drop it here"),
    file,
    element(
      "p",
      { class: "hint", id: "list-hint" },
      "CSV or TOML, a row a case. It goes to this machine's own server only and is not kept.",
    ),
  );
  takeDrops(zone, open);
  const help = element(
    "details",
    {},
    element("summary", {}, "What a list holds"),
    element(
      "p",
      {},
      `The first line names the columns, in any order: ${columns.join(", ")}. ` +
        "Only teeth must be there. Save a spreadsheet as CSV in UTF-8.",
    ),
    element("pre", {}, "time;reference;teeth;procedure\n8:30;A-1;16 15;restoration\n9:00;A-2;36;root-canal"),
  );
  const result = element("div", { class: "day-result" });
  root.append(element("h1", {}, "The day's list"), zone, help, result);
  if (answer) fillResult();

  async function open(chosen) {
    answer = null;
    result.replaceChildren(element("p", {}, `Reading ${chosen.name} …`));
    try {
      opened = { name: chosen.name, content: await chosen.arrayBuffer() };
    } catch {
      refuse(new Problems([`${chosen.name} cannot be read. Open it again.`]));
      return;
    }
    await read();
  }

  async function read() {
    try {
      answer = await fetchJson(address("/api/day"), { body: opened.content, type: TYPE });
    } catch (error) {
      refuse(error);
      return;
    }
    fillResult();
    announce(told());
  }

  function refuse(error) {
    if (!(error instanceof Problems)) throw error;
    answer = null;
    result.replaceChildren(problemList(error.problems));
  }

  function fillResult() {
    result.replaceChildren(...resultOf(savePdf));
  }

  async function savePdf(button) {
    button.disabled = true;
    announce("Making the PDF of the day");
    try {
      const pdf = await ask(address("/api/day.pdf"), { body: opened.content, type: TYPE });
      download(await pdf.blob(), "day.pdf");
      announce("The PDF of the day is ready. Print it at 100 %.");
    } catch (error) {
      refuse(error);
    }
    button.disabled = false;
  }
}

function address(path) {
  return `${path}?${new URLSearchParams({ name: opened.name, cards: String(cards) })}`;
}

/** A place that takes a file dropped on it. */
export function takeDrops(zone, open) {
  zone.addEventListener("dragover", (event) => {
    event.preventDefault();
    zone.classList.add("over");
  });
  zone.addEventListener("dragleave", () => zone.classList.remove("over"));
  zone.addEventListener("drop", (event) => {
    event.preventDefault();
    zone.classList.remove("over");
    if (event.dataTransfer.files.length) open(event.dataTransfer.files[0]);
  });
}

/** What can be printed and what cannot, in one sentence. */
function told() {
  const cases = `${plural(answer.cases, "case", "cases")} can be printed`;
  if (!answer.left_out) return `${cases}. No row is left out.`;
  return `${cases}. ${plural(answer.left_out, "row is", "rows are")} left out and will have no page.`;
}

function resultOf(savePdf) {
  const none = answer.cases === 0;
  const button = element(
    "button",
    {
      class: "main-action",
      disabled: none,
      "aria-describedby": "day-told",
      onclick: () => savePdf(button),
    },
    "PDF of the day",
  );
  const withCards = element("input", {
    type: "checkbox",
    checked: cards,
    onchange: () => {
      cards = withCards.checked;
    },
  });
  const left = answer.rows.filter((row) => !row.done);
  return [
    element(
      "p",
      { id: "day-told", class: left.length ? "told some-left" : "told" },
      none ? "No row can be done. Correct the list, then open it again." : told(),
    ),
    element(
      "div",
      { class: "row" },
      button,
      element("label", {}, withCards, " Case card behind each sheet"),
    ),
    none ? null : element("p", { class: "hint" }, "Print at 100 % (actual size), never “fit to page”."),
    rowTable(),
    none ? null : trayPart(),
  ].filter(Boolean);
}

export function table(caption, heads, rows) {
  return element(
    "table",
    {},
    element("caption", {}, caption),
    element("thead", {}, element("tr", {}, heads.map((head) => element("th", { scope: "col" }, head)))),
    element("tbody", {}, rows),
  );
}

function rowTable() {
  const rows = table(
    `${opened.name}, ${plural(answer.rows.length, "row", "rows")}`,
    ["Row", "Time", "Reference", "Teeth", "For", "Sheet", "Clamps"],
    answer.rows.map((row) => {
      const clamps = row.clamps.map((one) =>
        element("div", {}, `${one.anchor}: ${one.clamp || "none of the tray fits"}`),
      );
      const cells = [row.time, row.reference, row.teeth, row.procedure, row.sheet].map((text) =>
        element("td", {}, text || "–"),
      );
      const words = [
        ...row.problems.map((one) => trouble("Left out", one)),
        ...row.remarks.map((one) => trouble("Look again", one)),
      ];
      const last = element("td", {}, row.done ? clamps : "–");
      const line = element(
        "tr",
        { class: row.done ? null : "left-out" },
        element("th", { scope: "row" }, String(row.row)),
        cells,
        last,
      );
      if (!words.length) return [line];
      line.classList.add("with-words");
      return [
        line,
        element(
          "tr",
          { class: row.done ? "words" : "words left-out" },
          element("td"),
          element("td", { colspan: "6" }, words),
        ),
      ];
    }).flat(),
  );
  // By keyboard, too, where it is wider than the page.
  return element("div", { class: "wide", tabindex: "0", role: "region", "aria-label": "Rows" }, rows);
}

function trouble(kind, { column, value, advice }) {
  const where = column ? ` ${column}${value ? ` “${value}”` : ""}:` : "";
  return element("p", {}, element("strong", {}, `${kind}.`), `${where} ${advice}`);
}

function trayPart() {
  const { sheets, clamps, clashes, ready_again_min: minutes } = answer.tray;
  const untimed = answer.rows.filter((row) => row.done && !row.time).length;
  return element(
    "section",
    { class: "tray" },
    element("h2", {}, "Tray"),
    clashes.length
      ? element(
          "ul",
          { class: "findings" },
          clashes.map((clash) =>
            element(
              "li",
              { class: "warning" },
              `Clash at ${clash.time}, row ${clash.row}, anchor ${clash.anchor}: ${clash.words}`,
            ),
          ),
        )
      : untimed === answer.cases
        ? null
        : element("p", {}, "No clamp is wanted again before it is ready."),
    untimed
      ? element(
          "p",
          {},
          `${plural(untimed, "case has", "cases have")} no time: clashes with ${untimed === 1 ? "it" : "them"} cannot be told.`,
        )
      : null,
    element("p", { class: "hint" }, `A clamp is ready again ${minutes} minutes after the time of its case.`),
    element(
      "div",
      { class: "columns" },
      table(
        "Sheets",
        ["Number", "Sheet"],
        sheets.map((one) => element("tr", {}, element("td", {}, String(one.count)), element("td", {}, one.sheet))),
      ),
      table(
        "Clamps",
        ["Wanted", "In tray", "Most at once", "Clamp"],
        clamps.map((one) =>
          element(
            "tr",
            {},
            element("td", {}, String(one.wanted)),
            element("td", {}, one.in_tray ? String(one.in_tray) : "–"),
            element("td", {}, one.in_tray && one.untimed < one.wanted ? String(one.most_at_once) : "–"),
            element("td", {}, one.label),
          ),
        ),
      ),
    ),
  );
}
