// A punched sheet from a photograph: its holes, corrected by hand, and what they come to.

import {
  element,
  filePlace,
  labelled,
  problemList,
  svgElement,
  table,
} from "../shared/elements.js";
import { announce, byId, download } from "../shared/page.js";
import { fetchJson, problemsIn, send } from "../shared/server.js";

/** @import { FoundMark, Judged, Photographed } from "../shared/types.js" */

const FILES = "image/jpeg,image/png,.heic,.heif";
// A click this near to a mark takes it away, pixels of the picture.
const NEAR = 14;

// What was opened last, kept while another view is open.
/** @type {{ query: URLSearchParams, photo: Photographed, marks: FoundMark[] } | null} */
let opened = null;
/** @type {AbortController | null} */
let pending = null;
// How far off a hole may be, mm, as typed; empty: as in the settings.
let tolerance = "";

/**
 * Fills the view.
 * @param {HTMLElement} root
 */
export function show(root) {
  const query = caseInAddress();
  const result = element("div", { class: "check-result" });
  root.append(element("h1", {}, "Check what was punched"));
  if (!query.getAll("treat").length) {
    opened = null;
    const link = element("a", { href: caseLink() }, "Case");
    root.append(element("p", {}, "First choose the teeth under ", link, ", then come back."));
    return;
  }
  if (opened && opened.query.toString() !== query.toString()) opened = null;
  root.append(
    element("p", {}, `The case: ${query.getAll("treat").join(", ")} (ISO 3950), as under `,
      element("a", { href: caseLink() }, "Case"), "."),
    filePlace(
      "photograph",
      FILES,
      "Open a photograph of the sheet on its check page, or drop it here",
      "JPEG, PNG or HEIC. It goes only to the desk on this machine and is not kept.",
      (file) => open(file, query, result),
    ),
    camera((file) => open(file, query, result)),
    toleranceField(result),
    result,
  );
  if (opened) fill(result, opened.photo.judged);
}

/** The address of the case that was looked at last. */
function caseLink() {
  const link = byId("views").querySelector('a[href^="#/case"]');
  return link?.getAttribute("href") ?? "#/case";
}

function caseInAddress() {
  return new URLSearchParams(caseLink().split("?")[1] || "");
}

/**
 * A button that opens the camera on a machine that has one at its back.
 * @param {(file: File) => void} take
 */
function camera(take) {
  const input = element("input", {
    type: "file",
    id: "camera-file",
    accept: "image/*",
    capture: "environment",
    onchange: () => {
      if (input.files?.[0]) take(input.files[0]);
    },
  });
  return element(
    "div",
    { class: "field" },
    element("label", { for: input.id }, "Or take a photograph with this machine's camera"),
    input,
  );
}

/**
 * How far off a hole may be. What is open is judged anew.
 * @param {HTMLElement} result
 */
function toleranceField(result) {
  const input = element("input", {
    id: "tolerance",
    inputmode: "decimal",
    size: 5,
    value: tolerance,
    onchange: () => {
      tolerance = input.value.trim().replace(",", ".");
      if (opened) change(opened.marks, result);
    },
  });
  const hint = "How far off its place a hole may be, mm. Empty: as in the settings.";
  return labelled("Tolerance", input, hint);
}

/**
 * The case with the tolerance.
 * @param {URLSearchParams} query
 */
function within(query) {
  const all = new URLSearchParams(query);
  if (tolerance) all.set("tolerance", tolerance);
  return all;
}

/**
 * @param {File} file
 * @param {URLSearchParams} query
 * @param {HTMLElement} result
 */
async function open(file, query, result) {
  pending?.abort();
  const own = new AbortController();
  pending = own;
  opened = null;
  result.replaceChildren(element("p", {}, `Looking at ${file.name} …`));
  try {
    const body = await file.arrayBuffer();
    const request = { query: within(query), body, signal: own.signal };
    const photo = await fetchJson("/api/check", request);
    if (pending !== own) return;
    opened = { query, photo, marks: photo.marks };
    fill(result, photo.judged);
    announce(photo.judged.verdict);
  } catch (error) {
    if (pending === own) result.replaceChildren(problemList(problemsIn(error).lines));
  }
}

/**
 * @param {HTMLElement} result
 * @param {Judged} judged
 */
function fill(result, judged) {
  if (!opened) return;
  const save = element("button", { class: "main-action", onclick: () => report(result) }, "Report");
  result.replaceChildren(
    element("p", { class: judged.good ? "verdict" : "verdict bad" }, judged.verdict),
    element(
      "div",
      { class: "check-columns" },
      element(
        "div",
        {},
        stage(result),
        element(
          "p",
          { class: "hint" },
          "Ring: where a hole belongs. Dashed: a hole found. Click a hole to take it away, click " +
            "elsewhere to add one.",
        ),
        element("div", { class: "row" }, save, removals(result)),
      ),
      element(
        "div",
        {},
        table(
          "Each hole",
          ["Tooth", "Off mm", "Where to", "Own mm", "Place", "Hole mm", "Size"],
          judged.rows.map((row) => [
            row.tooth, row.off, row.where, row.own, row.place, row.hole, row.size,
          ]),
        ),
        element("ul", {}, judged.remarks.map((remark) => element("li", {}, remark))),
      ),
    ),
  );
}

/**
 * The sheet seen from straight above, with places and holes.
 * @param {HTMLElement} result
 */
function stage(result) {
  if (!opened) return null;
  const { photo, marks } = opened;
  const reach = photo.judged.tolerance_mm * photo.pixels_per_mm;
  const picture = svgElement(
    "svg",
    {
      viewBox: `0 0 ${photo.width} ${photo.height}`,
      role: "img",
      "aria-label": `The sheet with ${photo.places.length} places and ${marks.length} holes found`,
      onclick: (event) => clicked(event, result),
    },
    svgElement("image", { href: photo.picture, width: photo.width, height: photo.height }),
    photo.places.map(({ x, y, tooth }) => [
      ring(x, y, reach, "halo"),
      ring(x, y, reach, "place"),
      svgElement("text", { x: x + reach + 8, y: y + 10 }, tooth),
    ]),
    marks.map((mark) => [
      ring(mark.x, mark.y, radiusOf(mark), "halo"),
      ring(mark.x, mark.y, radiusOf(mark), "found"),
    ]),
  );
  return element("div", { class: "check-stage" }, picture);
}

/**
 * @param {number} cx
 * @param {number} cy
 * @param {number} r
 * @param {string} name
 */
function ring(cx, cy, r, name) {
  return svgElement("circle", { cx, cy, r, class: name });
}

/** @param {FoundMark} mark */
function radiusOf(mark) {
  return Math.max(9, ((mark.diameter_mm ?? 0) / 2) * (opened?.photo.pixels_per_mm ?? 0) + 4);
}

/**
 * @param {MouseEvent} event on the picture
 * @param {HTMLElement} result
 */
function clicked(event, result) {
  const picture = /** @type {SVGSVGElement} */ (event.currentTarget);
  const back = picture.getScreenCTM()?.inverse();
  if (!opened || !back) return;
  const x = back.a * event.clientX + back.c * event.clientY + back.e;
  const y = back.b * event.clientX + back.d * event.clientY + back.f;
  const hit = opened.marks.find((mark) => Math.hypot(mark.x - x, mark.y - y) <= NEAR);
  const added = { x: Math.max(0, x), y: Math.max(0, y), diameter_mm: 0, roundness: 1 };
  change(hit ? opened.marks.filter((mark) => mark !== hit) : [...opened.marks, added], result);
}

/**
 * The same by keyboard: a button that takes each hole away.
 * @param {HTMLElement} result
 */
function removals(result) {
  const marks = opened?.marks ?? [];
  return element(
    "details",
    {},
    element("summary", {}, "Holes found"),
    element(
      "ul",
      {},
      marks.map((mark, number) => {
        const wide = mark.diameter_mm ? `${mark.diameter_mm.toFixed(1)} mm` : "added by hand";
        const away = () => change(marks.filter((other) => other !== mark), result);
        return element(
          "li",
          {},
          `Hole ${number + 1}, ${wide} `,
          element("button", { class: "small", onclick: away }, `Take hole ${number + 1} away`),
        );
      }),
    ),
  );
}

/**
 * @param {FoundMark[]} marks
 * @param {HTMLElement} result
 */
async function change(marks, result) {
  if (!opened) return;
  const { query, photo } = opened;
  pending?.abort();
  const own = new AbortController();
  pending = own;
  try {
    const body = { marks, sheet: photo.sheet };
    const judged = await fetchJson("/api/check/again", {
      query: within(query),
      body,
      signal: own.signal,
    });
    if (pending !== own) return;
    opened = { query, photo: { ...photo, judged }, marks };
    fill(result, judged);
    announce(judged.verdict);
  } catch (error) {
    if (pending !== own) return;
    result.querySelector(".problems")?.remove();
    result.prepend(problemList(problemsIn(error).lines));
  }
}

/** @param {HTMLElement} result */
async function report(result) {
  if (!opened) return;
  const { query, photo, marks } = opened;
  try {
    const body = { marks, sheet: photo.sheet };
    const answer = await send("/api/check.pdf", { query: within(query), body });
    download(await answer.blob(), "check.pdf");
    announce("The report is ready.");
  } catch (error) {
    result.append(problemList(problemsIn(error).lines));
  }
}
