// The day's list: a file in, its rows with what is wrong in them, the tray, and the PDF out.

import {
  announce, ask, download, element, fetchJson, filePlace, Problems, problemList, table,
} from "../shared/elements.js";

// What was last opened, so that a look at another view loses nothing.
let opened = null;
let answer = null;
let cards = false;

const TYPE = "application/octet-stream";
const EXAMPLE = [
  "time;reference;teeth;procedure",
  "8:30;A-1;16 15;restoration",
  "9:00;A-2;36;root-canal",
].join("\n");
const plural = (count, one, many) => `${count} ${count === 1 ? one : many}`;

export async function show(root) {
  const columns = await fetchJson("/api/day/columns");
  const result = element("div", { class: "day-result" });
  const place = filePlace(
    "list",
    ".csv,.tsv,.txt,.toml,text/csv,text/plain",
    "Open a day's list, or drop it here",
    "CSV or TOML, a row a case. It goes to this machine's own server only and is not kept.",
    (file) => open(file, result),
  );
  root.append(element("h1", {}, "The day's list"), place, help(columns), result);
  if (answer) fill(result);
}

function help(columns) {
  return element(
    "details",
    {},
    element("summary", {}, "What a list holds"),
    element(
      "p",
      {},
      `The first line names the columns, in any order: ${columns.join(", ")}. ` +
        "Only teeth must be there. Save a spreadsheet as CSV in UTF-8.",
    ),
    element("pre", {}, EXAMPLE),
  );
}

async function open(file, result) {
  const list = { name: file.name };
  opened = list;
  answer = null;
  result.replaceChildren(element("p", {}, `Reading ${file.name} …`));
  let read;
  try {
    list.content = await contentOf(file);
    read = await fetchJson(address("/api/day", list), { body: list.content, type: TYPE });
  } catch (error) {
    if (opened === list) refuse(error, result);
    return;
  }
  if (opened !== list) return; // another was opened meanwhile
  answer = read;
  fill(result);
  announce(told());
}

async function contentOf(file) {
  try {
    return await file.arrayBuffer();
  } catch {
    throw new Problems([`${file.name} cannot be read. Open it again.`]);
  }
}

function refuse(error, result) {
  if (!(error instanceof Problems)) throw error;
  answer = null;
  result.replaceChildren(problemList(error.problems));
}

async function savePdf(button, result) {
  button.disabled = true;
  announce("Making the PDF of the day");
  try {
    const pdf = await ask(address("/api/day.pdf", opened), { body: opened.content, type: TYPE });
    download(await pdf.blob(), "day.pdf");
    announce("The PDF of the day is ready. Print it at 100 %.");
  } catch (error) {
    refuse(error, result);
  }
  button.disabled = false;
}

function address(path, { name }) {
  return `${path}?${new URLSearchParams({ name, cards: String(cards) })}`;
}

/** What can be printed and what cannot, in one sentence. */
function told() {
  const cases = `${plural(answer.cases, "case", "cases")} can be printed`;
  if (!answer.left_out) return `${cases}. No row is left out.`;
  const rows = plural(answer.left_out, "row is", "rows are");
  return `${cases}. ${rows} left out and will have no page.`;
}

function fill(result) {
  const none = answer.cases === 0;
  const button = element(
    "button",
    {
      class: "main-action",
      disabled: none,
      "aria-describedby": "day-told",
      onclick: () => savePdf(button, result),
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
  const print = "Print at 100 % (actual size), never “fit to page”.";
  const parts = [
    element(
      "p",
      { id: "day-told", class: answer.left_out ? "told some-left" : "told" },
      none ? "No row can be done. Correct the list, then open it again." : told(),
    ),
    element(
      "div",
      { class: "row" },
      button,
      element("label", {}, withCards, " Case card behind each sheet"),
    ),
    none ? null : element("p", { class: "hint" }, print),
    rowTable(),
    none ? null : trayPart(),
  ];
  result.replaceChildren(...parts.filter(Boolean));
}

function rowTable() {
  const rows = table(
    `${opened.name}, ${plural(answer.rows.length, "row", "rows")}`,
    ["Row", "Time", "Reference", "Teeth", "For", "Sheet", "Clamps"],
    answer.rows.flatMap(linesOf),
  );
  // By keyboard, too, where it is wider than the page.
  const region = { class: "wide", tabindex: "0", role: "region", "aria-label": "Rows" };
  return element("div", region, rows);
}

/** The line of a row, and where something is wrong in it a line of words below. */
function linesOf(row) {
  const words = [
    ...row.problems.map((one) => trouble("Left out", one)),
    ...row.remarks.map((one) => trouble("Look again", one)),
  ];
  const clamps = row.clamps.map(({ anchor, clamp }) =>
    element("div", {}, `${anchor}: ${clamp || "none of the tray fits"}`),
  );
  const classes = [!row.done && "left-out", words.length && "with-words"].filter(Boolean);
  const line = element(
    "tr",
    { class: classes.join(" ") || null },
    element("th", { scope: "row" }, String(row.row)),
    [row.time, row.reference, row.teeth, row.procedure, row.sheet].map((text) =>
      element("td", {}, text || "–"),
    ),
    element("td", {}, row.done ? clamps : "–"),
  );
  if (!words.length) return [line];
  const below = element(
    "tr",
    { class: row.done ? "words" : "words left-out" },
    element("td"),
    element("td", { colspan: "6" }, words),
  );
  return [line, below];
}

function trouble(kind, { column, value, advice }) {
  const where = column ? ` ${column}${value ? ` “${value}”` : ""}:` : "";
  return element("p", {}, element("strong", {}, `${kind}.`), `${where} ${advice}`);
}

function trayPart() {
  const { sheets, clamps, ready_again_min: minutes } = answer.tray;
  return element(
    "section",
    { class: "tray" },
    element("h2", {}, "Tray"),
    clashPart(),
    element(
      "p",
      { class: "hint" },
      `A clamp is ready again ${minutes} minutes after the time of its case.`,
    ),
    element(
      "div",
      { class: "columns" },
      table(
        "Sheets",
        ["Number", "Sheet"],
        sheets.map((one) => [String(one.count), one.sheet]),
        { rowHeads: false },
      ),
      table(
        "Clamps",
        ["Wanted", "In tray", "Most at once", "Clamp"],
        clamps.map((one) => [
          String(one.wanted),
          one.in_tray ? String(one.in_tray) : "–",
          one.in_tray && one.untimed < one.wanted ? String(one.most_at_once) : "–",
          one.label,
        ]),
        { rowHeads: false },
      ),
    ),
  );
}

/** Clamps that are wanted again too soon, and whether that can be told at all. */
function clashPart() {
  const { clashes } = answer.tray;
  const untimed = answer.rows.filter((row) => row.done && !row.time).length;
  const words = clashes.map((one) =>
    element(
      "li",
      { class: "warning" },
      `Clash at ${one.time}, row ${one.row}, anchor ${one.anchor}: ${one.words}`,
    ),
  );
  const parts = [];
  if (words.length) parts.push(element("ul", { class: "findings" }, words));
  else if (untimed < answer.cases) {
    parts.push(element("p", {}, "No clamp is wanted again before it is ready."));
  }
  if (untimed) {
    const them = untimed === 1 ? "it" : "them";
    const cases = plural(untimed, "case has", "cases have");
    parts.push(element("p", {}, `${cases} no time: clashes with ${them} cannot be told.`));
  }
  return parts;
}
