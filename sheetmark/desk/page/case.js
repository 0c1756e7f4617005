// One case: click the teeth, see the sheet, print. The case lives in the address.

import {
  announce, choice, element, fetchJson, labelled, Problems, problemList, svgElement, table,
} from "./parts.js";
import { toothDialog } from "./tooth.js";

const PROCEDURES = {
  "restoration": "Restoration",
  "crown": "Crown",
  "root-canal": "Root canal",
  "cervical": "Cervical (gumline)",
  "full-arch": "Full arch",
};
const SHIFTS = {
  rule: "towards the quadrant (rule)",
  even: "most even pull (computed, seconds)",
  none: "centred",
};
const ROLES = { anchor: "anchor: takes the clamp", treated: "to treat", exposed: "comes through" };

let start;
let shown = { chart: null, different: [], sheet: null, problems: [] };
let current = null; // ISO number of the tooth last touched
let asking = null;
const at = {}; // the view's parts

/** The choices, as the address has them. */
function choices() {
  return new URLSearchParams(location.hash.split("?")[1] || "");
}

/** Changes the choices, and with them the address. */
function change(alter) {
  const next = choices();
  alter(next);
  const text = next.toString().replaceAll("+", "%20");
  history.pushState(null, "", text ? `#/case?${text}` : "#/case");
  refresh();
}

function put(name, value) {
  change((next) => (value === "" ? next.delete(name) : next.set(name, value)));
}

/** All values of a choice set anew. */
function putAll(next, name, values) {
  next.delete(name);
  for (const value of values) next.append(name, value);
}

export async function show(root) {
  start = await fetchJson("/api/start");
  at.root = root;
  at.chart = svgElement("svg", { class: "chart", role: "group", "aria-label": "Teeth of both jaws" });
  at.tooth = element("div", { class: "tooth-bar" });
  at.different = element("div");
  at.first = element("div", { class: "fields" });
  at.more = element("details", {}, element("summary", {}, "More choices"), element("div"));
  at.sheet = element("section", { class: "sheet", "aria-labelledby": "sheet-title" });
  at.facts = element("div");
  root.append(
    element(
      "section",
      { class: "mouth", "aria-labelledby": "case-title" },
      element(
        "div",
        { class: "row" },
        element("h1", { id: "case-title", class: "quiet" }, "Case"),
        at.first,
        element("button", { type: "button", onclick: renew }, "New case"),
      ),
      at.chart,
      at.tooth,
      at.more,
    ),
    at.sheet,
    element("section", { class: "facts", "aria-label": "To fetch and to mind" }, at.different, at.facts),
  );
  at.chart.addEventListener("keydown", walk);
  controls();
  await refresh();
}

window.addEventListener("popstate", () => {
  if (at.root?.isConnected && location.hash.startsWith("#/case")) {
    controls();
    refresh();
  }
});

function renew() {
  current = null;
  change((next) => [...next.keys()].forEach((key) => next.delete(key)));
  controls();
  announce("New case");
}

function controls() {
  const now = choices();
  const value = (name) => now.get(name) ?? "";
  const select = (name, words, pairs, usual = pairs[0][0]) =>
    labelled(
      words,
      choice(pairs, value(name) || usual, (event) =>
        put(name, event.target.value === usual ? "" : event.target.value),
      ),
    );
  const number = (name, words, most, hint) =>
    labelled(
      words,
      element("input", {
        type: "number", inputmode: "numeric", min: 0, max: most, step: 1, value: value(name),
        onchange: (event) => put(name, event.target.value),
      }),
      hint,
    );
  const rare = ["arch", "sheet", "material", "access", "more", "shift", "reference"];
  at.more.open ||= rare.some((name) => now.has(name));
  at.more.lastChild.replaceWith(
    element(
      "div",
      { class: "fields" },
      select("arch", "Arch", [
        ["", "by age; adult mean"],
        ...start.archs.map(({ value: name, words }) => [name, `${name}: ${words}`]),
      ]),
      select("sheet", "Sheet", [
        ["", `practice: ${start.sheet_in_use}`],
        ...start.sheets.map(({ value: name, words }) => [name, words]),
      ]),
      select("material", "Material", [
        ["", `practice: ${start.material_in_use}`],
        ...start.materials.map((name) => [name, name]),
      ]),
      select("access", "Access", start.accesses.map((name) => [name, name])),
      number("more", "More teeth in front", start.more_most),
      select("shift", "Middle of the sheet", [
        ["", `practice: ${SHIFTS[start.shift_in_use]}`],
        ...start.shifts.map((name) => [name, SHIFTS[name]]),
      ]),
      labelled(
        "Reference",
        element("input", {
          type: "text", maxlength: start.reference_most, value: value("reference"),
          autocomplete: "off", onchange: (event) => put("reference", event.target.value.trim()),
        }),
        "Free text on the page; never a name.",
      ),
    ),
  );
  at.first.replaceChildren(
    select("for", "Procedure", start.procedures.map((name) => [name, PROCEDURES[name] ?? name])),
    number("age", "Age (empty: adult)", start.age_most),
  );
}

async function refresh() {
  asking?.abort();
  const mine = new AbortController();
  asking = mine;
  at.root.setAttribute("aria-busy", "true");
  const slow = setTimeout(() => announce("Computing"), 700);
  try {
    shown = await fetchJson(`/api/case?${choices()}`, { signal: mine.signal });
  } catch (error) {
    if (error.name === "AbortError") return;
    if (!(error instanceof Problems)) throw error;
    shown = { ...shown, sheet: null, problems: error.problems };
  } finally {
    clearTimeout(slow);
    if (asking === mine) at.root.removeAttribute("aria-busy");
  }
  drawChart();
  drawTooth();
  drawDifferent();
  drawSheet();
}

function teeth() {
  return shown.chart ? [...shown.chart.upper, ...shown.chart.lower] : [];
}

function label(iso) {
  return (
    teeth().find((one) => one.tooth === iso)?.label ??
    shown.different.find((one) => one.tooth === iso)?.label ?? iso
  );
}

function drawChart() {
  if (!shown.chart) return;
  const focused = document.activeElement?.dataset?.tooth;
  const treated = choices().getAll("treat");
  const roles = shown.sheet?.roles ?? {};
  at.chart.setAttribute("viewBox", shown.chart.box.join(" "));
  const jaws = ["upper", "lower"].map((jaw) =>
    svgElement(
      "g",
      { role: "group", "aria-label": `${jaw} jaw` },
      shown.chart[jaw].map((one) => drawn(one, treated.includes(one.tooth), roles[one.tooth])),
    ),
  );
  const [left, top, width, height] = shown.chart.box;
  const words = (text, x, y, kind) =>
    svgElement("text", { x: left + x * width, y: top + y * height, class: kind, "aria-hidden": "true" }, text);
  at.chart.replaceChildren(
    ...jaws,
    words("R", 0.41, 0.47, "side"),
    words("patient's", 0.41, 0.51, "jaw"),
    words("right", 0.41, 0.54, "jaw"),
    words("L", 0.59, 0.47, "side"),
    words("patient's", 0.59, 0.51, "jaw"),
    words("left", 0.59, 0.54, "jaw"),
    words("upper", 0.5, 0.3, "jaw"),
    words("lower", 0.5, 0.72, "jaw"),
  );
  if (focused) {
    const again = at.chart.querySelector(`[data-tooth="${focused}"]`);
    again?.focus();
  }
}

function drawn(one, treated, role) {
  const said = [
    one.name,
    one.stands ? "" : "not there",
    one.different.join(" "),
    treated ? ROLES.treated : "",
    role && role !== "treated" ? ROLES[role] : "",
  ];
  const classes = ["tooth", role ?? "", treated ? "picked" : "", one.stands ? "" : "absent"];
  if (one.different.length) classes.push("different");
  const xs = one.outline.map((point) => point[0]);
  const ys = one.outline.map((point) => point[1]);
  const middle = [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
  const inside = [];
  if (role === "anchor") {
    inside.push(svgElement("rect", { class: "sign", x: middle[0] - 1.8, y: middle[1] - 1.8, width: 3.6, height: 3.6 }));
  }
  if (treated) {
    const [x, y] = middle;
    inside.push(svgElement("path", { class: "sign", d: `M${x} ${y - 2.4}L${x + 2.4} ${y}L${x} ${y + 2.4}L${x - 2.4} ${y}Z` }));
  }
  const words = said.filter(Boolean).join(", ");
  return svgElement(
    "g",
    {
      class: classes.filter(Boolean).join(" "),
      role: "button", tabindex: 0, "aria-pressed": String(treated), "data-tooth": one.tooth,
      "aria-label": `${one.label}, ${words}`,
      onclick: () => toggle(one),
      oncontextmenu: (event) => {
        event.preventDefault();
        pick(one.tooth);
        describe(one.tooth);
      },
      onfocus: () => pick(one.tooth),
    },
    svgElement("title", {}, `${one.label}: ${words}`),
    svgElement("polygon", { points: one.outline.map((point) => point.join(",")).join(" ") }),
    ...inside,
    svgElement("text", { x: one.label_at[0], y: one.label_at[1] }, one.label),
  );
}

function toggle(one) {
  pick(one.tooth);
  if (!one.stands) {
    describe(one.tooth);
    return;
  }
  change((next) => {
    const treated = next.getAll("treat");
    putAll(
      next, "treat",
      treated.includes(one.tooth)
        ? treated.filter((iso) => iso !== one.tooth)
        : [...treated, one.tooth],
    );
  });
}

/** Enter and Space press a tooth; arrows go along the jaw or to the other one. */
function walk(event) {
  const iso = event.target.dataset?.tooth;
  if (!iso) return;
  const jaw = shown.chart.upper.some((one) => one.tooth === iso) ? "upper" : "lower";
  const row = shown.chart[jaw];
  const place = row.findIndex((one) => one.tooth === iso);
  const other = shown.chart[jaw === "upper" ? "lower" : "upper"];
  const opposite = () => {
    const x = row[place].label_at[0];
    const far = (one) => Math.abs(one.label_at[0] - x);
    return other.reduce((best, one) => (far(one) < far(best) ? one : best));
  };
  const moves = {
    ArrowLeft: () => row[place - 1],
    ArrowRight: () => row[place + 1],
    ArrowUp: () => (jaw === "lower" ? opposite() : null),
    ArrowDown: () => (jaw === "upper" ? opposite() : null),
    Enter: () => void toggle(row[place]),
    " ": () => void toggle(row[place]),
  };
  if (!(event.key in moves)) return;
  event.preventDefault();
  const to = moves[event.key]();
  if (to) at.chart.querySelector(`[data-tooth="${to.tooth}"]`).focus();
}

function pick(iso) {
  current = iso;
  drawTooth();
}

function drawTooth() {
  const one = teeth().find((tooth) => tooth.tooth === current);
  if (!one) {
    at.tooth.replaceChildren(
      element("p", {}, "Click the teeth to treat. Right-click one to say what is different about it."),
    );
    return;
  }
  const words = `What is different about ${one.label} …`;
  // The button is kept, so that the focus stays on it.
  const button = at.tooth.querySelector("button");
  if (button) {
    button.textContent = words;
    at.tooth.querySelector("p").textContent = one.name;
    return;
  }
  at.tooth.replaceChildren(
    element("p", {}, one.name),
    element("button", { type: "button", onclick: () => describe(current) }, words),
  );
}

/** The menu of one tooth; what it gives back goes into the address. */
async function describe(iso) {
  const one = teeth().find((tooth) => tooth.tooth === iso) ?? {
    tooth: iso, label: label(iso), name: "", instead: null, stands: false,
  };
  const now = choices();
  const jaw = shown.chart.upper.some((tooth) => tooth.tooth === iso) ? "upper" : "lower";
  const answer = await toothDialog({
    tooth: one,
    words: shown.different.find((said) => said.tooth === iso)?.words ?? [],
    treated: now.getAll("treat").includes(iso),
    anchor: now.getAll("anchor").includes(iso),
    row: shown.chart[jaw].filter((tooth) => tooth.tooth !== iso),
    limits: start,
  });
  at.chart.querySelector(`[data-tooth="${iso}"]`)?.focus();
  if (!answer) return;
  change((next) => {
    const said = new Map(shown.different.map(({ tooth, words }) => [tooth, words.join(" ")]));
    said.delete(iso);
    for (const [tooth, words] of answer.different) said.set(tooth, words);
    const withs = [...said].filter(([, words]) => words).map(([tooth, words]) => `${tooth} ${words}`);
    putAll(next, "with", [...withs, ...answer.bridges]);
    const keep = (name, holds) => {
      const others = next.getAll(name).filter((tooth) => tooth !== iso);
      putAll(next, name, holds ? [...others, iso] : others);
    };
    keep("treat", answer.treated);
    keep("anchor", answer.anchor);
    if (answer.slit) next.append("slit", answer.slit);
    if (answer.expose) putAll(next, "expose", [answer.expose]);
  });
}

/** What was said beyond the teeth to treat, each with a way to take it back. */
function drawDifferent() {
  const now = choices();
  const rows = shown.different.map(({ tooth, label: name, words }) => ({
    words: `${name} ${words.join(", ")}`,
    edit: () => describe(tooth),
    remove: (next) =>
      putAll(
        next, "with",
        shown.different.filter((said) => said.tooth !== tooth)
          .map((said) => `${said.tooth} ${said.words.join(" ")}`),
      ),
  }));
  const spoken = (text) => text.split("-").map(label).join(" to ");
  for (const [name, words] of [["anchor", "Clamp on"], ["slit", "One slot"], ["expose", "Through the sheet:"]]) {
    for (const value of now.getAll(name)) {
      rows.push({
        words: `${words} ${spoken(value)}`,
        remove: (next) => putAll(next, name, next.getAll(name).filter((other) => other !== value)),
      });
    }
  }
  if (!rows.length) {
    at.different.replaceChildren();
    return;
  }
  at.different.replaceChildren(
    element("h2", {}, "In this mouth"),
    element(
      "ul",
      { class: "said" },
      rows.map((row) =>
        element(
          "li",
          {},
          element("span", {}, row.words),
          row.edit
            ? element("button", { type: "button", "aria-label": `Change: ${row.words}`, onclick: row.edit }, "Change")
            : null,
          element(
            "button",
            { type: "button", "aria-label": `Remove: ${row.words}`, onclick: () => change(row.remove) },
            "Remove",
          ),
        ),
      ),
    ),
  );
}

/** The choices as the files' addresses have them: without how the page shows the sheet. */
function fileAddress(form) {
  const now = choices();
  now.delete("view");
  return `/api/case.${form}?${now}`;
}

function drawSheet() {
  const { sheet, problems } = shown;
  if (!sheet) {
    at.sheet.replaceChildren(
      element("h2", { id: "sheet-title" }, "Sheet"),
      problems.length ? problemList(problems) : element("p", { class: "empty" }, "No tooth chosen yet."),
    );
    at.facts.replaceChildren();
    return;
  }
  const view = choices().get("view") ?? "sheet";
  const count = sheet.isolated.length;
  const holes = `${count} ${count === 1 ? "hole" : "holes"}`;
  at.sheet.replaceChildren(
    element("h2", { id: "sheet-title" }, sheet.title),
    element(
      "div",
      { class: "row print" },
      element("a", { class: "main-action", href: fileAddress("pdf"), target: "_blank", rel: "noopener" }, "Print"),
      element("p", {}, element("strong", {}, "Choose 100 %"), " (actual size). Measure both 100 mm bars."),
      start.printer ? element("p", {}, `${start.printer}.`) : null,
    ),
    switchOf(view),
    picture(sheet, `${holes}: ${sheet.isolated.map(label).join(", ")}. Middle: ${sheet.middle}.`),
  );
  at.facts.replaceChildren(
    ...findings(sheet),
    holeTable(sheet),
    clampTable(sheet),
    element("p", {}, `Sheet ${sheet.sheet}. Its middle: ${sheet.middle}.`),
    files(sheet),
  );
  const clamps = sheet.clamps.map((one) => `${one.tooth} ${one.clamp || "none of the tray fits"}`);
  announce(
    `${sheet.title}. ${holes}. Clamp: ${clamps.join("; ")}. ` +
      sheet.findings.map((found) => found.words).join(" "),
  );
}

function switchOf(view) {
  const radio = (value, words) =>
    element(
      "label",
      {},
      element("input", {
        type: "radio", name: "view", value, checked: view === value,
        onchange: () => put("view", value === "sheet" ? "" : value),
      }),
      ` ${words}`,
    );
  return element(
    "fieldset",
    { class: "switch" },
    element("legend", { class: "quiet" }, "Show the sheet"),
    radio("sheet", "on its own"),
    radio("arch", "on the arch"),
  );
}

function picture(sheet, words) {
  const parsed = new DOMParser().parseFromString(sheet.svg, "image/svg+xml").documentElement;
  const svg = document.importNode(parsed, true);
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", words);
  svg.classList.add("picture");
  return svg;
}

function findings(sheet) {
  if (!sheet.findings.length) return [];
  return [
    element(
      "ul",
      { class: "findings", "aria-label": "In this case" },
      sheet.findings.map(({ severity, words }) =>
        element("li", { class: severity }, severity === "warning" ? `Warning: ${words}` : words),
      ),
    ),
  ];
}

function holeTable(sheet) {
  return table(
    "Punch in this order",
    ["Punch hole", "mm", "Teeth"],
    sheet.holes.map((row) => [row.position, row.diameter, row.teeth.join(", ")]),
  );
}

function clampTable(sheet) {
  return table(
    "Clamps",
    ["Anchor", "Clamp"],
    sheet.clamps.map((row) => [
      row.tooth,
      [
        element("strong", {}, row.clamp || "none of the tray fits"),
        row.reason ? element("div", {}, row.reason) : null,
        row.next_best ? element("div", {}, `Next best: ${row.next_best}`) : null,
      ].filter(Boolean),
    ]),
  );
}

function files(sheet) {
  const link = (form, words) => element("li", {}, element("a", { href: fileAddress(form), download: "" }, words));
  const command = element("code", { tabindex: 0, "aria-label": "Command line" }, sheet.command);
  const copy = element(
    "button",
    {
      type: "button",
      onclick: async () => {
        await navigator.clipboard.writeText(sheet.command);
        announce("Copied");
        copy.textContent = "Copied";
      },
    },
    "Copy",
  );
  return element(
    "details",
    {},
    element("summary", {}, "Files and command line"),
    element("ul", { class: "files" }, link("pdf", "PDF"), link("svg", "SVG"), link("json", "JSON"), link("toml", "Case file")),
    element("div", { class: "row" }, command, copy),
  );
}
