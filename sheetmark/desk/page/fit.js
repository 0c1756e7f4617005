// An arch of the clinic's own from a picture of the cast. The picture is opened here and stays
// here: only the picked points are sent. Nothing is computed here but where on the picture one is.

import {
  announce, choice, download, element, fetchJson, filePlace, labelled, problemList, Problems,
  svgElement, table,
} from "./parts.js";

const ENDS = ["mesial", "distal"];
const STEP = 1;
const WIDE_STEP = 10;
const LEAP = 100;
const MOST_ZOOM = 8;
const DRAG_PX = 5;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const LEAPS = { Home: [-1, 0], End: [1, 0], PageUp: [0, -1], PageDown: [0, 1] };

// What was picked, kept while another view is looked at. Points are in pixels of the picture.
const state = {
  picture: null,
  scale: [null, null],
  length: "",
  jaw: "upper",
  base: null,
  points: new Map(), // by tooth and end
  skipped: new Set(),
  target: { scale: 0 },
  moving: false,
  cross: [0, 0],
  zoom: 0,
  past: [],
  name: "my-arch",
  date: today(),
  result: null,
};
let start = null;

function today() {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()]
    .map((part) => String(part).padStart(2, "0"))
    .join("-");
}

export async function show(root) {
  start = await fetchJson("/api/arch/start");
  state.base ??= start.usual_base;
  const work = element("div");
  const place = filePlace(
    "picture",
    "image/*",
    "Open a picture of the cast, or drop it here",
    "A photograph or scan from the biting side, taken straight from above, with a ruler or a " +
      "known length in it. It stays in this browser: only the points that you pick are used.",
    open,
  );
  root.append(element("h1", {}, "An arch of your own"), place, work);
  if (start.problems.length) root.append(problemList(start.problems));
  if (state.picture) work.append(...workOf());

  async function open(chosen) {
    const address = URL.createObjectURL(chosen);
    const image = new Image();
    image.src = address;
    try {
      await image.decode();
      if (!image.naturalWidth || !image.naturalHeight) throw new Error("no size");
    } catch {
      URL.revokeObjectURL(address);
      work.replaceChildren(
        problemList([`${chosen.name} cannot be opened as a picture. Save it as PNG or JPEG.`]),
      );
      state.picture = null;
      return;
    }
    if (state.picture) URL.revokeObjectURL(state.picture.address);
    const { naturalWidth: width, naturalHeight: height } = image;
    Object.assign(state, {
      picture: { address, name: chosen.name, width, height },
      scale: [null, null],
      points: new Map(),
      skipped: new Set(),
      target: { scale: 0 },
      moving: false,
      cross: [Math.round(width / 2), Math.round(height / 2)],
      zoom: 0,
      past: [],
      result: null,
    });
    work.replaceChildren(...workOf());
    work.querySelector(".photo").focus();
    announce(`${chosen.name} is open. ${nowWords()}`);
  }
}

// ---- what is to be picked ----

const key = (tooth, end) => `${tooth} ${end}`;
const teeth = () => start.bases.find((base) => base.value === state.base)[state.jaw];
const nameOf = (tooth) => teeth().find((one) => one.tooth === tooth).name;
const pointOf = (target) =>
  "scale" in target ? state.scale[target.scale] : state.points.get(key(target.tooth, target.end));

/** Everything that the guide asks for, in its order. */
function wanted() {
  const usual = teeth().filter((one) => one.usual && !state.skipped.has(one.tooth));
  return [
    { scale: 0 },
    { scale: 1 },
    ...usual.flatMap(({ tooth }) => ENDS.map((end) => ({ tooth, end }))),
  ];
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/** The next target without a point: behind the one given, else from the beginning. */
function nextAfter(target) {
  if (target?.end === "mesial") {
    const distal = { tooth: target.tooth, end: "distal" };
    if (!pointOf(distal)) return distal;
  }
  const all = wanted();
  const at = target ? all.findIndex((one) => same(one, target)) : -1;
  return [...all.slice(at + 1), ...all].find((one) => !pointOf(one)) ?? null;
}

function targetWords(target) {
  if ("scale" in target) return `${target.scale ? "second" : "first"} end of the known length`;
  return `${nameOf(target.tooth)}, ${target.end}`;
}

function nowWords() {
  if (!state.target) return "All picked. Fit the arch below.";
  return `${state.moving ? "Moving" : "Now"}: ${targetWords(state.target)}`;
}

function put(target, point) {
  if ("scale" in target) state.scale[target.scale] = point;
  else if (point) state.points.set(key(target.tooth, target.end), point);
  else state.points.delete(key(target.tooth, target.end));
}

/** The teeth of the jaw with both their points. */
function whole() {
  return teeth()
    .map(({ tooth }) => ({ tooth, mesial: pointOf({ tooth, end: "mesial" }), distal: pointOf({ tooth, end: "distal" }) }))
    .filter((one) => one.mesial && one.distal);
}

// ---- the view ----

function workOf() {
  const { picture } = state;
  const svg = svgElement("svg", { class: "photo-marks", "aria-hidden": "true" });
  const image = element("img", { src: picture.address, alt: "", draggable: "false" });
  const stage = element("div", { class: "stage" }, image, svg);
  const photo = element(
    "div",
    {
      class: "photo",
      tabindex: "0",
      role: "application",
      "aria-label": `Picture ${picture.name}`,
      "aria-describedby": "photo-keys",
      onkeydown: onKey,
    },
    stage,
  );
  const now = element("p", { class: "now" });
  const zoomed = element("span", { class: "zoomed" });
  const undo = element("button", { onclick: takeBack }, "Undo");
  const skip = element("button", { onclick: skipTooth }, "Skip this tooth");
  const go = element("button", { onclick: goOn }, "Done moving");
  const toothChoice = element("div");
  const list = element("div", { class: "points" });
  const resultPart = element("div", { class: "fit-result" });

  const length = element("input", {
    type: "text",
    inputmode: "decimal",
    autocomplete: "off",
    id: "known-length",
    value: state.length,
    oninput: () => {
      state.length = length.value;
      changed();
    },
  });
  const [least, most] = start.length_limits_mm;

  const before = element(
    "div",
    { class: "fields before" },
    labelled(
      "Known length, mm",
      length,
      `A stretch of a ruler, ${least} to ${most} mm.`,
    ),
    ...jawChoice(),
  );
  const part = element(
    "div",
    { class: "picking" },
    element(
      "div",
      { class: "photo-part" },
      element(
        "div",
        { class: "row photo-bar" },
        now,
        element(
          "span",
          { class: "row" },
          element("button", { "aria-label": "Smaller", onclick: () => zoomBy(1 / 1.4) }, "−"),
          element("button", { "aria-label": "Larger", onclick: () => zoomBy(1.4) }, "+"),
          element("button", { onclick: () => zoomTo(wholeZoom()) }, "Whole picture"),
          zoomed,
        ),
      ),
      photo,
      element("div", { class: "row" }, undo, skip, go),
      element(
        "p",
        { class: "hint", id: "photo-keys" },
        "Click or tap to place the point. By keyboard: arrows move the cross by 1 pixel, with " +
          "Shift by 10, Home, End, Page Up and Page Down by 100; Enter places; Backspace takes " +
          "back; + and − zoom. Mesial is the side towards the midline, distal the other.",
      ),
    ),
    element(
      "div",
      { class: "picking-side" },
      toothChoice,
      list,
    ),
  );

  drags(photo, stage);
  photo.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      zoomBy(event.deltaY < 0 ? 1.15 : 1 / 1.15, [event.clientX, event.clientY]);
    },
    { passive: false },
  );
  stage.addEventListener("click", (event) => {
    if (stage.dataset.dragged) return;
    const box = stage.getBoundingClientRect();
    photo.focus({ preventScroll: true });
    place(inPicture([(event.clientX - box.left) / state.zoom, (event.clientY - box.top) / state.zoom]));
  });
  // The picture knows its room only once it stands in the page.
  new ResizeObserver(() => {
    if (!photo.clientWidth) return;
    if (!state.zoom || state.zoom < wholeZoom()) state.zoom = wholeZoom();
    draw();
  }).observe(photo);

  let held = null; // what the wheel turns about
  photo.addEventListener("pointermove", () => {
    held = null;
  });

  update();
  return [before, part, modelPart(resultPart), resultPart];

  // ---- picking ----

  function onKey(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const arrow = ARROWS[event.key];
    const leap = LEAPS[event.key];
    if (arrow) step(arrow, event.shiftKey ? WIDE_STEP : STEP);
    else if (leap) step(leap, LEAP);
    else if (event.key === "Enter" || event.key === " ") {
      if (state.moving) goOn();
      else place([...state.cross]);
    } else if (event.key === "Backspace") takeBack();
    else if (event.key === "+" || event.key === "=") zoomBy(1.4);
    else if (event.key === "-") zoomBy(1 / 1.4);
    else if (event.key === "Escape" && state.moving) goOn();
    else return;
    event.preventDefault();
  }

  function step([x, y], by) {
    state.cross = inPicture([state.cross[0] + x * by, state.cross[1] + y * by]);
    if (state.moving) {
      remember(state.target);
      put(state.target, [...state.cross]);
      changed();
      update();
    } else draw();
    look();
  }

  function place(point) {
    if (!state.target) return;
    const placed = state.target;
    state.cross = point;
    remember(placed);
    put(placed, [...point]);
    changed();
    if (!state.moving) state.target = nextAfter(placed);
    update();
    announce(`${targetWords(placed)} ${state.moving ? "moved" : "placed"}. ${nowWords()}`);
  }

  /** For undo: one step for all moves of one point in a row. */
  function remember(target) {
    const last = state.past.at(-1);
    if (state.moving && last?.moving && same(last.target, target)) return;
    state.past.push({ target, point: pointOf(target) ?? null, moving: state.moving });
  }

  function takeBack() {
    const last = state.past.pop();
    if (!last) return;
    if (last.skipped) state.skipped.delete(last.skipped);
    else if (last.jaw !== undefined) state.jaw = last.jaw;
    else put(last.target, last.point);
    state.moving = false;
    state.target = last.target;
    if (state.target && pointOf(state.target)) state.target = nextAfter(null);
    changed();
    update();
    announce(`Taken back. ${nowWords()}`);
  }

  function skipTooth() {
    const { tooth } = state.target ?? {};
    if (!tooth) return;
    for (const end of ENDS) put({ tooth, end }, null);
    state.skipped.add(tooth);
    state.past.push({ target: { tooth, end: "mesial" }, skipped: tooth });
    state.moving = false;
    const at = teeth().findIndex((one) => one.tooth === tooth);
    const behind = teeth().slice(at + 1).find((one) => one.usual && !state.skipped.has(one.tooth));
    state.target = behind && !pointOf({ tooth: behind.tooth, end: "mesial" })
      ? { tooth: behind.tooth, end: "mesial" }
      : nextAfter(null);
    changed();
    update();
    photo.focus({ preventScroll: true });
    announce(`${nameOf(tooth)} skipped. ${nowWords()}`);
  }

  /** A point that is there is moved; one that is not is picked next. */
  function choose(target) {
    state.target = target;
    const point = pointOf(target);
    state.moving = Boolean(point);
    if (point) state.cross = [...point];
    update();
    look();
    photo.focus({ preventScroll: true });
    announce(nowWords());
  }

  function goOn() {
    state.moving = false;
    state.target = nextAfter(null);
    update();
    photo.focus({ preventScroll: true });
    announce(nowWords());
  }

  function drop(tooth) {
    for (const end of ENDS) {
      const target = { tooth, end };
      if (pointOf(target)) {
        state.past.push({ target, point: pointOf(target), moving: false });
        put(target, null);
      }
    }
    changed();
    choose({ tooth, end: "mesial" });
  }

  function changed() {
    if (!state.result) return;
    state.result = null;
    resultPart.replaceChildren(element("p", {}, "What you picked has changed. Fit the arch again."));
  }

  // ---- zoom ----

  function wholeZoom() {
    return Math.min(photo.clientWidth / picture.width, photo.clientHeight / picture.height, MOST_ZOOM);
  }

  function zoomBy(times, at) {
    zoomTo(state.zoom * times, at);
  }

  /** Zoom, and keep in place what lies under `at`, or else the cross. */
  function zoomTo(zoom, at) {
    const box = stage.getBoundingClientRect();
    const [x, y] = at ?? [box.left + state.cross[0] * state.zoom, box.top + state.cross[1] * state.zoom];
    // A small picture stands in the middle and cannot follow; what was meant is kept in mind.
    if (!held || held.x !== x || held.y !== y) {
      held = { x, y, under: [(x - box.left) / state.zoom, (y - box.top) / state.zoom] };
    }
    state.zoom = Math.min(Math.max(zoom, wholeZoom()), MOST_ZOOM);
    draw();
    const moved = stage.getBoundingClientRect();
    photo.scrollLeft += moved.left + held.under[0] * state.zoom - x;
    photo.scrollTop += moved.top + held.under[1] * state.zoom - y;
    if (!at) look();
  }

  /** Bring the cross into sight. */
  function look() {
    const margin = 40;
    const [x, y] = state.cross.map((pixels) => pixels * state.zoom);
    const into = (from, room, to) => Math.max(Math.min(from, to - margin), to + margin - room);
    photo.scrollLeft = into(photo.scrollLeft, photo.clientWidth, x);
    photo.scrollTop = into(photo.scrollTop, photo.clientHeight, y);
  }

  // ---- drawing ----

  function draw() {
    const width = picture.width * state.zoom;
    const height = picture.height * state.zoom;
    stage.style.width = `${width}px`;
    stage.style.height = `${height}px`;
    svg.setAttribute("width", width);
    svg.setAttribute("height", height);
    zoomed.textContent = `${Math.round(state.zoom * 100)} %`;
    svg.replaceChildren(...marks());
  }

  function update() {
    now.textContent = nowWords();
    undo.disabled = state.past.length === 0;
    skip.disabled = !state.target?.tooth;
    go.hidden = !state.moving;
    toothChoice.replaceChildren(toothSelect());
    list.replaceChildren(pointTable());
    if (state.zoom) draw();
  }

  function toothSelect() {
    const pairs = teeth().map((one) => {
      const count = ENDS.filter((end) => pointOf({ tooth: one.tooth, end })).length;
      const told = state.skipped.has(one.tooth)
        ? " (skipped)"
        : ["", " (one point)", " (picked)"][count] || (one.usual ? "" : " (not usual)");
      return [one.tooth, one.name + told];
    });
    const chosen = state.target?.tooth ?? "";
    const select = choice([["", "–"], ...pairs], chosen, () => {
      const tooth = select.value;
      if (!tooth) return;
      state.skipped.delete(tooth);
      const end = ENDS.find((one) => !pointOf({ tooth, end: one })) ?? "mesial";
      choose({ tooth, end });
    });
    return labelled("Go to tooth", select);
  }

  function jawChoice() {
    const radios = ["upper", "lower"].map((jaw) =>
      element(
        "label",
        {},
        element("input", {
          type: "radio",
          name: "jaw",
          checked: state.jaw === jaw,
          onchange: () => {
            state.past.push({ target: state.target, jaw: state.jaw });
            state.jaw = jaw;
            state.moving = false;
            state.target = nextAfter(null);
            changed();
            update();
          },
        }),
        ` ${jaw}`,
      ),
    );
    const pairs = start.bases.map((base) => [base.value, `${base.value} · ${base.words}`]);
    const base = choice(pairs, state.base, () => {
      state.base = base.value;
      state.moving = false;
      state.target = nextAfter(null);
      changed();
      update();
    });
    return [
      element("fieldset", {}, element("legend", {}, "Jaw"), element("div", { class: "row" }, radios)),
      labelled("Start from", base, "Lends what is not picked. For a child, the age."),
    ];
  }

  function pointTable() {
    const cell = (target) => {
      const point = pointOf(target);
      const moving = state.moving && same(target, state.target);
      return element(
        "button",
        {
          class: "small",
          "aria-label": `${targetWords(target)}: ${point ? "move" : "pick"}`,
          "aria-pressed": moving ? "true" : null,
          onclick: () => choose(target),
        },
        point ? point.map((pixels) => Math.round(pixels)).join(", ") : "pick",
      );
    };
    const away = (tooth, name) =>
      element(
        "button",
        { class: "small", "aria-label": `Delete ${name}`, onclick: () => drop(tooth) },
        "Delete",
      );
    const begun = teeth().filter(({ tooth }) => ENDS.some((end) => pointOf({ tooth, end })));
    return table(
      `Points, in pixels: ${whole().length} teeth with both`,
      ["What", "Mesial, or first", "Distal, or second", ""],
      [
        ["Length", cell({ scale: 0 }), cell({ scale: 1 }), ""],
        ...begun.map(({ tooth, name }) => [
          name,
          ...ENDS.map((end) => cell({ tooth, end })),
          away(tooth, name),
        ]),
      ],
    );
  }

  function marks() {
    const at = (point) => point.map((pixels) => pixels * state.zoom);
    const both = (tag, attributes) => [
      svgElement(tag, { ...attributes, class: "halo" }),
      svgElement(tag, { ...attributes, class: "mark" }),
    ];
    const drawn = [];
    const [one, other] = state.scale;
    if (one && other) {
      const [[x1, y1], [x2, y2]] = [at(one), at(other)];
      drawn.push(...both("line", { x1, y1, x2, y2, "stroke-dasharray": "8 5" }));
    }
    for (const point of state.scale.filter(Boolean)) {
      const [x, y] = at(point);
      drawn.push(...both("path", { d: `M${x - 8} ${y}H${x + 8}M${x} ${y - 8}V${y + 8}` }));
    }
    for (const { tooth, name } of teeth()) {
      const [mesial, distal] = ENDS.map((end) => pointOf({ tooth, end }));
      if (mesial && distal) {
        const [[x1, y1], [x2, y2]] = [at(mesial), at(distal)];
        drawn.push(...both("line", { x1, y1, x2, y2 }));
      }
      if (mesial) {
        const [cx, cy] = at(mesial);
        drawn.push(...both("circle", { cx, cy, r: 5 }));
      }
      if (distal) {
        const [x, y] = at(distal);
        drawn.push(...both("rect", { x: x - 4.5, y: y - 4.5, width: 9, height: 9 }));
      }
      const ends = [mesial, distal].filter(Boolean).map(at);
      if (ends.length) {
        const x = ends.reduce((sum, point) => sum + point[0], 0) / ends.length;
        const y = ends.reduce((sum, point) => sum + point[1], 0) / ends.length;
        drawn.push(svgElement("text", { x, y: y - 9 }, name));
      }
    }
    if (state.target) {
      const [x, y] = at(state.cross);
      const d = `M${x - 22} ${y}H${x - 6}M${x + 6} ${y}H${x + 22}M${x} ${y - 22}V${y - 6}M${x} ${y + 6}V${y + 22}`;
      drawn.push(svgElement("path", { d, class: "halo" }), svgElement("path", { d, class: "cross" }));
      if (state.moving) drawn.push(...both("circle", { cx: x, cy: y, r: 13 }));
    }
    return drawn;
  }
}

function inPicture([x, y]) {
  const { width, height } = state.picture;
  return [Math.min(Math.max(x, 0), width), Math.min(Math.max(y, 0), height)];
}

/** A mouse that is pressed and moved pans; a finger pans by itself. */
function drags(photo, stage) {
  let from = null;
  photo.addEventListener("pointerdown", (event) => {
    delete stage.dataset.dragged;
    if (event.pointerType === "mouse" && event.button === 0) {
      from = [event.clientX, event.clientY, photo.scrollLeft, photo.scrollTop];
    }
  });
  photo.addEventListener("pointermove", (event) => {
    if (!from) return;
    if (!(event.buttons & 1)) {
      from = null;
      return;
    }
    const [x, y] = [event.clientX - from[0], event.clientY - from[1]];
    if (!stage.dataset.dragged && Math.hypot(x, y) < DRAG_PX) return;
    stage.dataset.dragged = "yes";
    photo.scrollLeft = from[2] - x;
    photo.scrollTop = from[3] - y;
  });
  photo.addEventListener("pointerup", () => {
    from = null;
  });
}

// ---- fit and keep ----

/** The request, or Problems where there is nothing to send yet. */
function asked() {
  const missing = [];
  if (state.scale.includes(null)) missing.push("Pick both ends of the known length.");
  const mm = Number(state.length.trim().replace(",", "."));
  if (!state.length.trim() || Number.isNaN(mm)) {
    missing.push("Give the known length in mm, such as 50.");
  }
  if (missing.length) throw new Problems(missing);
  const [one, other] = state.scale;
  return {
    name: state.name.trim(),
    date: state.date,
    base: state.base,
    scale: { one, other, mm },
    teeth: whole(),
  };
}

function modelPart(resultPart) {
  const name = element("input", {
    type: "text",
    id: "model-name",
    maxlength: "40",
    autocomplete: "off",
    spellcheck: "false",
    value: state.name,
    oninput: () => {
      state.name = name.value;
      forget();
    },
  });
  const date = element("input", {
    type: "date",
    id: "model-date",
    value: state.date,
    onchange: () => {
      state.date = date.value;
      forget();
    },
  });
  if (state.result) resultPart.replaceChildren(...resultOf());

  function forget() {
    if (!state.result) return;
    state.result = null;
    resultPart.replaceChildren(element("p", {}, "Name or day has changed. Fit the arch again."));
  }

  async function fit() {
    resultPart.setAttribute("aria-busy", "true");
    try {
      state.result = await fetchJson("/api/arch/fit", { body: asked() });
      resultPart.replaceChildren(...resultOf());
      resultPart.querySelector("h2").focus();
      announce(state.result.worst);
    } catch (error) {
      if (!(error instanceof Problems)) throw error;
      state.result = null;
      resultPart.replaceChildren(problemList(error.problems));
    }
    resultPart.removeAttribute("aria-busy");
  }

  return element(
    "section",
    { class: "model-part" },
    element("h2", {}, "The model"),
    element(
      "div",
      { class: "fields" },
      labelled("Name of the model", name, "Small letters, figures and hyphens."),
      labelled("Day of measuring", date),
    ),
    element("button", { class: "main-action", onclick: fit }, "Fit the arch"),
  );
}

function resultOf() {
  const { result } = state;
  const plain = (value) => value.toFixed(2).replace(".", result.decimal);
  const mm = (value, kept = true) => {
    const rounded = Math.round(value * 100) / 100 || 0;
    const sign = rounded > 0 ? "+" : rounded < 0 ? "−" : "";
    return `${sign}${plain(Math.abs(rounded))}${kept ? "" : " left out"}`;
  };
  const picture = URL.createObjectURL(new Blob([result.picture], { type: "image/svg+xml" }));
  return [
    element("h2", { tabindex: "-1" }, `${result.name}: how well it fits`),
    element("p", { class: "worst" }, result.worst),
    result.findings.length
      ? element(
          "ul",
          { class: "findings" },
          result.findings.map((found) => element("li", { class: found.severity }, found.words)),
        )
      : null,
    keepPart(),
    element(
      "div",
      { class: "fit-columns" },
      element(
        "div",
        {},
        table(
          "How far off each tooth lies, mm, the worst first. Off the curve: + is outwards.",
          ["Tooth", "Width", "Mesial off", "Distal off", "Laid off"],
          result.residuals.map((one) => [
            one.name,
            plain(one.width_mm),
            mm(one.mesial_mm, one.mesial_kept),
            mm(one.distal_mm, one.distal_kept),
            plain(one.centre_mm),
          ]),
        ),
        table(
          "The arch, mm",
          ["What", "Measured", "Arch", "Published mean"],
          result.figures.map((one) => [
            one.what,
            ...[one.measured, one.fitted, one.published].map((text) => text || "–"),
          ]),
        ),
      ),
      element(
        "div",
        {},
        element("img", {
          class: "picture fit-picture",
          src: picture,
          alt: `The fitted arch over the picked points. ${result.worst}`,
          onload: () => URL.revokeObjectURL(picture),
        }),
        result.picture_pages > 1
          ? element("p", { class: "hint" }, "The picture's words go on on a page that is not shown.")
          : null,
        element("p", {}, `From ${state.base}: the other jaw; ${result.from_base.join("; ")}`),
        element(
          "ul",
          { class: "files" },
          [
            ["Picture, true scale (SVG)", result.picture, "image/svg+xml", `${result.name}.svg`],
            ["Model file (TOML)", result.model, "application/toml", `${result.name}.toml`],
            ["Points in mm (CSV)", result.landmarks, "text/csv", `${result.name}.csv`],
          ].map(([words, text, type, name]) =>
            element("li", {}, element("button", { onclick: () => download(new Blob([text], { type }), name) }, words)),
          ),
        ),
        element("p", { class: "hint" }, "The same with the points file, as a command:"),
        element("code", {}, result.command),
      ),
    ),
  ].filter(Boolean);
}

function keepPart() {
  const { name } = state.result;
  const told = element("div", { class: "kept" });
  const replace = element("input", { type: "checkbox" });
  const taken = start.own.includes(name);
  const button = element(
    "button",
    {
      onclick: async () => {
        button.disabled = true;
        try {
          const kept = await fetchJson("/api/arch/save", { body: { ...asked(), replace: replace.checked } });
          if (!start.own.includes(name)) start.own.push(name);
          const words = `Kept as ${kept.name}. Choose it as arch of a case, or with --arch ${kept.name}.`;
          told.replaceChildren(element("p", {}, words));
          announce(words);
        } catch (error) {
          if (!(error instanceof Problems)) throw error;
          told.replaceChildren(problemList(error.problems));
        }
        button.disabled = false;
      },
    },
    `Keep as ${name}`,
  );
  return element(
    "div",
    { class: "row keep" },
    button,
    taken ? element("label", {}, replace, ` Replace the ${name} that is kept`) : null,
    told,
  );
}
