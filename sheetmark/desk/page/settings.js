// The practice file as a form: nothing is saved but by its button, and only what was changed.

import { announce, element, fetchJson, Problems, problemList } from "./parts.js";

// Open from the start: what changes from day to day. The rest is set once.
const DAILY = ["", "page", "sheets"];
const ORDER = ["", "page", "sheets", "tray", "punch", "holes", "placement", "marks", "printers"];
// What few rows need folds away in each.
const RARE = ["jaws", "version", "span_mm", "secondary", "retired"];
const YES_NO = [["true", "yes"], ["false", "no"]];

let told; // what the desk said of the file
let parts = []; // sections and lists, each with its fields
let view = null; // kept while there are changes, so that going back loses none
let open = new Set();
const at = {};

export async function show(root) {
  if (view && changed()) {
    root.append(...view);
    say("Not saved yet: your changes are still here.");
    return;
  }
  told = await fetchJson("/api/practice");
  open = new Set(DAILY);
  at.problems = element("div");
  at.lead = element("p");
  at.fields = element("div");
  at.state = element("p", { class: "state", role: "status" });
  at.save = element("button", { type: "submit", class: "main-action" });
  const form = element(
    "form",
    { class: "settings", novalidate: true, onsubmit: save, oninput: note, onchange: note },
    at.lead,
    at.problems,
    at.fields,
    element(
      "div",
      { class: "save-bar" },
      at.state,
      element("button", { type: "button", onclick: undo }, "Undo changes"),
      at.save,
    ),
  );
  at.printer = element("section", { class: "printer", "aria-labelledby": "printer-title" });
  view = [element("h1", {}, "Settings"), form, at.printer];
  draw();
  drawPrinter();
  root.append(...view);
}

function draw() {
  at.save.textContent = `Save to ${told.file}`;
  at.lead.textContent = told.fingerprint
    ? `These settings are kept in ${told.file} on this machine. They hold for every case.`
    : `There is no ${told.file} yet, so the usual settings hold. Saving writes one.`;
  const { sections, lists } = told.form;
  parts = [...sections.map(sectionPart), ...lists.map(listPart)];
  parts.sort((one, other) => ORDER.indexOf(one.key) - ORDER.indexOf(other.key));
  at.fields.replaceChildren(...parts.map(({ node }) => node));
  showProblems(told.problems, told.found, "The file has a problem");
  note();
}

/** A part that is set once folds away; what is daily stays open. */
function framed(key, label, ...children) {
  const frame = element("fieldset", {}, element("legend", {}, label), children);
  if (DAILY.includes(key)) return frame;
  const fold = element("details", { class: "fold", open: open.has(key) }, element("summary", {}, label), frame);
  frame.firstChild.className = "quiet";
  fold.addEventListener("toggle", () => (fold.open ? open.add(key) : open.delete(key)));
  return fold;
}

// --- one field ------------------------------------------------------------------------------

const comma = () => told.form.sections[0].fields.some(
  ({ key, value, default: usual }) => key === "numbers" && (value ?? usual) === "comma",
);

function words(value) {
  if (value === null || value === undefined) return "";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (Array.isArray(value)) return value.map(words).join("; ");
  return typeof value === "number" && comma() ? String(value).replace(".", ",") : String(value);
}

/** A number as it was meant, with point or comma; other words as they are, for the desk to refuse. */
function number(text) {
  const plain = text.trim().replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : text.trim();
}

const entries = (text) =>
  (text.includes(";") ? text.split(";") : text.split(/\s+/))
    .map((entry) => entry.trim().replace(/,$/, ""))
    .filter((entry, place, all) => entry || place < all.length - 1);

const READ = {
  "text": (text) => text,
  "number": (text) => (text.trim() ? number(text) : null),
  "choice": (text) => text || null,
  "choice-or-number": (text) => (text.trim() ? number(text) : null),
  "yes-no": (text) => (text ? text === "true" : null),
  "numbers": (text) => (text.trim() ? entries(text).map(number) : null),
  "texts": (text) => (text.trim() ? entries(text) : null),
  "pair": (texts) => (texts.some((text) => text.trim()) ? texts.map(number) : null),
};

/** A field with its control: `read` gives what it holds, null for nothing said. */
function makeField(field, value, { hints = true } = {}) {
  const label = field.unit ? `${field.label}, ${field.unit}` : field.label;
  const shown = value ?? field.default;
  const controls = control(field, value, shown);
  const offered = field.kind === "choice-or-number"
    ? element("datalist", {}, field.choices.map((word) => element("option", { value: word })))
    : null;
  const hint = hints ? element("p", { class: "hint" }, hintWords(field)) : null;
  const problem = element("p", { class: "wrong", hidden: true });
  const titles = [];
  let node;
  if (field.kind === "pair") {
    const sides = controls.map((input, side) => {
      titles.push(element("label", {}, ["from", "to"][side]));
      return element("div", {}, titles[side], input);
    });
    node = element("fieldset", { class: "pair" }, element("legend", {}, label), element("div", { class: "row" }, sides), hint, problem);
  } else if (controls[0].type === "checkbox") {
    node = element("div", { class: "field" }, element("label", {}, controls[0], ` ${label}`), hint, problem);
  } else {
    titles.push(element("label", {}, label));
    node = element("div", { class: "field" }, titles, controls, offered, hint, problem);
  }
  const raw = () =>
    field.kind === "pair"
      ? controls.map((input) => input.value)
      : controls[0].type === "checkbox" ? String(controls[0].checked) : controls[0].value;
  const before = JSON.stringify(raw());
  const made = {
    node,
    controls,
    column: field.key,
    // What was not touched stays as the file has it, said or not.
    read: () => (JSON.stringify(raw()) === before ? value : READ[field.kind](raw())),
    rename(key) {
      made.key = key;
      controls.forEach((input, side) => {
        input.id = `f-${key}${side || ""}`;
        if (titles[side]) titles[side].htmlFor = input.id;
      });
      if (hint) hint.id = `f-${key}-hint`;
      problem.id = `f-${key}-problem`;
      if (offered) {
        offered.id = `f-${key}-words`;
        controls[0].setAttribute("list", offered.id);
      }
      describe();
    },
    refuse(line) {
      problem.hidden = !line;
      problem.textContent = line;
      for (const input of controls) {
        if (line) input.setAttribute("aria-invalid", "true");
        else input.removeAttribute("aria-invalid");
      }
      describe();
    },
  };
  function describe() {
    const ids = [hint && hint.id, problem.hidden ? null : problem.id].filter(Boolean).join(" ");
    for (const input of controls) {
      if (ids) input.setAttribute("aria-describedby", ids);
      else input.removeAttribute("aria-describedby");
    }
  }
  made.rename(field.key);
  return made;
}

function control(field, value, shown) {
  const text = (content) =>
    element("input", {
      type: "text",
      autocomplete: "off",
      inputmode: field.kind === "number" || field.kind === "pair" ? "decimal" : null,
      value: content,
    });
  if (field.kind === "choice") {
    // Nothing is chosen for anyone where the file must say it.
    const none = shown === null ? [["", field.required ? "choose" : "not said"]] : [];
    return [select([...none, ...choices(field, shown)], shown)];
  }
  if (field.kind === "yes-no") {
    if (field.required) return [select([...(value === null ? [["", "choose"]] : []), ...YES_NO], value)];
    return [element("input", { type: "checkbox", checked: shown === true })];
  }
  if (field.kind === "pair") {
    const two = Array.isArray(shown) && shown.length === 2 ? shown : ["", ""];
    return two.map((side) => text(words(side)));
  }
  return [text(words(shown))];
}

/** The words of a choice; one that the file has though it is none stays to be seen. */
function choices(field, shown) {
  const known = field.choices.map((word) => [word, word]);
  const other = shown !== null && !field.choices.includes(String(shown));
  return other ? [[String(shown), `${shown} (not known)`], ...known] : known;
}

function select(pairs, value) {
  return element(
    "select",
    {},
    pairs.map(([key, said]) => element("option", { value: key, selected: key === String(value) }, said)),
  );
}

function hintWords(field) {
  const parts = [field.description];
  if (field.least !== null && field.kind !== "pair") {
    parts.push(`${words(field.least)} to ${words(field.most)}${field.unit ? ` ${field.unit}` : ""}.`);
  }
  const typed = ["number", "numbers", "pair"].includes(field.kind);
  if (field.kind === "numbers" || field.kind === "texts") parts.push("Set apart by semicolons.");
  if (typed && field.default !== null) parts.push(`Left empty: ${words(field.default)}.`);
  return parts.join(" ");
}

// --- sections and lists ---------------------------------------------------------------------

function sectionPart(section) {
  const fields = section.fields.map((field) => makeField(field, field.value));
  return {
    key: section.key,
    node: framed(section.key, section.label, element("div", { class: "fields" }, fields.map(({ node }) => node))),
    fields: () => fields,
    changes: () =>
      Object.fromEntries(
        section.fields
          .map((field, place) => [field.key, field.value, fields[place].read()])
          .filter(([, was, is]) => JSON.stringify(was) !== JSON.stringify(is))
          .map(([key, , is]) => [key, is]),
      ),
  };
}

function listPart(list) {
  const rows = [];
  const box = element("div");
  const problem = element("p", { class: "wrong", hidden: true, id: `f-${list.key}-problem` });
  const name = list.row[0].toUpperCase() + list.row.slice(1);
  const add = element("button", { type: "button", id: `f-${list.key}`, onclick: () => added() }, `Add a ${list.row}`);

  function makeRow(values) {
    const fields = list.columns.map((column) => makeField(column, values[column.key] ?? null, { hints: false }));
    const rare = fields.filter(({ column }) => RARE.includes(column));
    const usual = fields.filter((field) => !rare.includes(field));
    const legend = element("legend");
    const more = element("summary");
    const wrong = element("p", { class: "wrong", hidden: true });
    const row = { fields, unknown: unknown(values) };
    const button = (said, act) => {
      const about = element("span", { class: "quiet" });
      return { about, node: element("button", { type: "button", onclick: () => act(row) }, said, about) };
    };
    row.buttons = [button("Move up", (it) => move(it, -1)), button("Move down", (it) => move(it, 1)), button("Remove", remove)];
    row.node = element(
      "fieldset",
      { class: "one-row", tabindex: "-1" },
      legend,
      wrong,
      element("div", { class: "fields" }, usual.map(({ node }) => node)),
      rare.length ? element("details", {}, more, element("div", { class: "fields" }, rare.map(({ node }) => node))) : null,
      element("div", { class: "row" }, row.buttons.map(({ node }) => node)),
    );
    row.rename = (number) => {
      legend.textContent = `${name} ${number}`;
      more.textContent = `More about ${list.row} ${number}`;
      row.key = `${list.key}[${number}]`;
      wrong.id = `f-${row.key}-problem`;
      for (const field of fields) field.rename(`${row.key}.${field.column}`);
      for (const { about } of row.buttons) about.textContent = ` ${list.row} ${number}`;
      row.buttons[0].node.disabled = number === 1;
      row.buttons[1].node.disabled = number === rows.length;
    };
    row.refuse = (line) => mark(row.node, wrong, line);
    return row;
  }

  /** Keys of a row that no column is for, so that the desk can say so. */
  function unknown(values) {
    const known = new Set(list.columns.map(({ key }) => key));
    return Object.fromEntries(Object.entries(values).filter(([key]) => !known.has(key)));
  }

  function arrange() {
    box.replaceChildren(...rows.map(({ node }) => node));
    rows.forEach((row, place) => row.rename(place + 1));
    if (part.title) part.title.textContent = `${list.label} (${rows.length})`;
  }

  function move(row, by) {
    const place = rows.indexOf(row);
    rows.splice(place, 1);
    rows.splice(place + by, 0, row);
    arrange();
    const [up, down] = row.buttons;
    const [same, other] = by < 0 ? [up, down] : [down, up];
    (same.node.disabled ? other : same).node.focus();
    announce(`Now ${list.row} ${place + by + 1} of ${rows.length}.`);
    note();
  }

  function remove(row) {
    const place = rows.indexOf(row);
    rows.splice(place, 1);
    arrange();
    (rows[Math.min(place, rows.length - 1)]?.node ?? add).focus();
    announce(`Removed. ${rows.length} left.`);
    note();
  }

  function added() {
    rows.push(makeRow({}));
    arrange();
    rows.at(-1).fields[0].controls[0].focus();
    note();
  }

  const read = () =>
    rows.map((row) => ({
      ...row.unknown,
      ...Object.fromEntries(
        row.fields.map((field) => [field.column, field.read()]).filter(([, value]) => value !== null),
      ),
    }));
  const part = {
    key: list.key,
    fields: () => [{ key: list.key, controls: [add], refuse: (line) => mark(add, problem, line) },
      ...rows.flatMap((row) => [{ key: row.key, controls: [row.node], refuse: row.refuse }, ...row.fields])],
  };
  const meanings = element(
    "details",
    {},
    element("summary", {}, `What a ${list.row} has`),
    element("dl", {}, list.columns.flatMap((column) => [
      element("dt", {}, column.unit ? `${column.label}, ${column.unit}` : column.label),
      element("dd", {}, hintWords(column)),
    ])),
  );
  part.node = framed(
    list.key, list.label, element("p", { class: "hint" }, list.description), meanings, problem, box, add,
  );
  part.title = part.node.querySelector("summary, legend");
  rows.push(...(list.rows ?? list.default).map(makeRow));
  arrange();
  const before = JSON.stringify(read());
  part.changes = () => (JSON.stringify(read()) === before ? {} : { [list.key]: read() });
  return part;
}

function mark(node, problem, line) {
  problem.hidden = !line;
  problem.textContent = line;
  if (line) node.setAttribute("aria-describedby", problem.id);
  else node.removeAttribute("aria-describedby");
}

// --- problems -------------------------------------------------------------------------------

/** The field that a problem is of: `punch.labels[2]` is shown beside `punch.labels`. */
function fieldOf(key, fields) {
  const find = (wanted) => fields.find((field) => field.key === wanted);
  const whole = key.replace(/\[\d+\]$/, "");
  return find(key) ?? find(whole) ?? find(whole.replace(/\.[^.]*$/, ""));
}

function showProblems(lines, found, heading) {
  const fields = parts.flatMap((part) => part.fields());
  for (const field of fields) field.refuse("");
  if (!lines.length) {
    at.problems.replaceChildren();
    return;
  }
  const beside = new Map();
  const items = lines.map((line, place) => {
    const field = found[place] && fieldOf(found[place].key, fields);
    if (!field) return element("li", {}, line);
    beside.set(field, [...(beside.get(field) ?? []), found[place].words]);
    const link = element("a", { href: `#${field.controls[0].id || "main"}` }, line);
    link.addEventListener("click", (event) => {
      event.preventDefault();
      unfold(field.controls[0]);
      field.controls[0].focus();
    });
    return element("li", {}, link);
  });
  for (const [field, said] of beside) {
    field.refuse(said.join(". "));
    unfold(field.controls[0]);
  }
  const count = lines.length === 1 ? "1 problem" : `${lines.length} problems`;
  const box = element(
    "div",
    { class: "problems to-correct", tabindex: "-1", role: "group", "aria-labelledby": "problems-title" },
    element("h2", { id: "problems-title" }, `${heading}: ${count}`),
    element("ul", {}, items),
  );
  at.problems.replaceChildren(box);
}

function unfold(node) {
  for (let fold = node.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
}

// --- saving ---------------------------------------------------------------------------------

const changes = () => Object.assign({}, ...parts.map((part) => part.changes()));
const changed = () => Object.keys(changes()).length > 0;

function say(line) {
  if (at.state.textContent !== line) at.state.textContent = line;
}

function note() {
  const count = Object.keys(changes()).length;
  say(count ? `${count === 1 ? "1 change" : `${count} changes`}, not saved yet.` : "Nothing to save.");
}

async function save(event) {
  event.preventDefault();
  if (!changed()) {
    say("Nothing has changed, so nothing was saved.");
    return;
  }
  try {
    told = await fetchJson("/api/practice", {
      body: { fingerprint: told.fingerprint, values: changes() },
    });
    draw();
    drawPrinter();
    say(`Saved to ${told.file}. It holds from now on.`);
  } catch (error) {
    if (!(error instanceof Problems)) throw error;
    showProblems(error.problems, error.found, "Nothing was saved");
    at.problems.firstChild.focus();
  }
}

async function undo() {
  try {
    told = await fetchJson("/api/practice");
  } catch (error) {
    if (!(error instanceof Problems)) throw error;
    showProblems(error.problems, [], "The file cannot be read");
    return;
  }
  draw();
  drawPrinter();
  say("As the file has it.");
}

window.addEventListener("beforeunload", (event) => {
  if (view && changed()) event.preventDefault();
});
document.addEventListener(
  "click",
  (event) => {
    const link = event.target.closest("a[href^='#/']");
    if (!link || link.hash.startsWith("#/settings") || !view?.[0].isConnected || !changed()) return;
    if (window.confirm("Your changes to the settings are not saved. Leave them so?")) return;
    event.preventDefault();
    event.stopPropagation();
  },
  true,
);

// --- the printer ----------------------------------------------------------------------------

function drawPrinter() {
  const bar = words(told.test_bar_mm);
  const range = `${words(told.bar_least_mm)} to ${words(told.bar_most_mm)} mm`;
  const used = told.form.sections.flatMap(({ fields }) => fields).find(({ key }) => key === "page.printer");
  const name = used.value && used.value !== "none" ? used.value : "main";
  const specs = [
    ["name", "Printer", "text", "Your own name for it.", name],
    ["x", "Bar across (x), mm", "number", `${bar} mm as drawn; ${range} can be corrected.`, ""],
    ["y", "Bar down (y), mm", "number", `${bar} mm as drawn; ${range} can be corrected.`, ""],
  ];
  const fields = specs.map(([key, label, kind, description, value]) => {
    const made = makeField(
      { key: `printer-${key}`, label, kind, description, unit: "", least: null, default: null, choices: [] },
      value,
    );
    return { ...made, asks: key, kind };
  });
  const problems = element("div");
  const form = element(
    "form",
    { novalidate: true, onsubmit: (event) => store(event, fields, problems) },
    element("div", { class: "fields" }, fields.map(({ node }) => node)),
    problems,
    element("button", { type: "submit" }, "Store the correction"),
  );
  at.printer.replaceChildren(
    element("h2", { id: "printer-title" }, "Make the printer print true"),
    element("ol", {},
      element("li", {},
        element("a", { href: "/api/printer-page.pdf", target: "_blank", rel: "noopener" }, "Open the test page"),
        " and print it at 100 % (actual size)."),
      element("li", {}, `Measure its two ${bar} mm bars on the paper, to 0.1 mm.`),
      element("li", {}, `Store them here, in ${told.file}.`)),
    form,
    element("p", { class: "stored", role: "status", id: "stored", tabindex: "-1" }),
  );
}

async function store(event, fields, problems) {
  event.preventDefault();
  problems.replaceChildren();
  for (const field of fields) field.refuse("");
  if (changed()) {
    problems.append(problemList(["Nothing was stored: save or undo your changes above first."]));
    return;
  }
  const body = Object.fromEntries(
    fields.map(({ asks, kind, controls }) => [asks, READ[kind](controls[0].value) ?? ""]),
  );
  try {
    const stored = await fetchJson("/api/printer", { body });
    told = stored.settings;
    draw();
    drawPrinter();
    const words = document.getElementById("stored");
    words.textContent = stored.words;
    words.focus();
  } catch (error) {
    if (!(error instanceof Problems)) throw error;
    // Of the file's problems, those of this printer's own row have a field here.
    const rows = told.form.lists.find(({ key }) => key === "printers").rows ?? [];
    const known = rows.findIndex((row) => row.name === body.name);
    const own = `printers[${(known < 0 ? rows.length : known) + 1}].`;
    const refused = error.problems.map((line, place) => {
      const key = error.found[place]?.key.replace(own, "").replace(/^bar_(.)_mm$/, "$1");
      const field = fields.find(({ asks }) => asks === key);
      field?.refuse(error.found[place].words);
      return [field, line];
    });
    const elsewhere = refused.filter(([field]) => !field).map(([, line]) => line);
    if (elsewhere.length) problems.append(problemList(elsewhere));
    refused.find(([field]) => field)?.[0].controls[0].focus();
  }
}
