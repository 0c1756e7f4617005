// An arch of the clinic's own from a picture of the cast or a scan. A picture stays in the browser;
// only the picked points are sent. A scan goes to the desk on this machine, which does not keep it.
// The page computes nothing but places on the picture.

import { element, filePlace, findingList, problemList } from "../shared/elements.js";
import { announce } from "../shared/page.js";
import { fetchJson, problemsIn } from "../shared/server.js";
import { keepPicked, keptPicked, putBack } from "./kept.js";
import { Picking } from "./picking.js";
import { ModelPart } from "./model.js";
import { state } from "./state.js";

/** @import { ArchStart } from "../shared/types.js" */
/** @import { Picture, Scan } from "./state.js" */

/**
 * Fills the view.
 * @param {HTMLElement} root
 */
export async function show(root) {
  const start = await fetchJson("/api/arch/start");
  takeBases(start);
  const work = element("div");
  const place = filePlace(
    "picture",
    "image/*",
    "Open a picture of the cast, or drop it here",
    "An occlusal photograph or scan, taken straight from above, with a ruler or a known length " +
      "in it. It stays in this browser: only the points that you pick are used.",
    (file) => open(file, start, work),
  );
  const scanPlace = filePlace(
    "scan",
    ".stl,.ply,.obj",
    "Open a scan of one jaw, or drop it here",
    "STL, PLY or OBJ in mm, up to 64 MB. It stays on this machine: it is looked at and not kept.",
    (file) => openScan(file, start, work),
  );
  scanPlace.dataset["needs"] = "scan";
  const places = element("div", { class: "places" }, place, scanPlace);
  root.append(element("h1", {}, "An arch of your own"), places, work);
  if (start.problems.length) root.append(problemList(start.problems));
  const before = keptPicked();
  if (state.picture) fill(work, start, state.picture);
  else if (before) {
    const text = `What you picked in ${before.name} is kept: open that picture again.`;
    work.append(element("p", { class: "kept", role: "status" }, text));
  }
}

window.addEventListener("pagehide", keepPicked);

/**
 * Takes over the models to start from; the chosen one may no longer exist.
 * @param {ArchStart} start
 */
function takeBases({ bases, usual_base: usual }) {
  const { picked } = state;
  picked.bases = bases;
  if (bases.some(({ value }) => value === picked.base)) return;
  picked.base = usual;
  forgetResult();
}

function forgetResult() {
  state.request = null;
  state.result = null;
}

/**
 * @param {File} file
 * @param {ArchStart} start
 * @param {HTMLElement} work
 */
async function open(file, start, work) {
  const picture = await pictureIn(file);
  if (state.picture) URL.revokeObjectURL(state.picture.address);
  state.picture = picture;
  if (!picture) {
    const line = `${file.name} cannot be opened as a picture. Save it as PNG or JPEG.`;
    work.replaceChildren(problemList([line]));
    return;
  }
  state.picked.begin(picture);
  const back = putBack(picture) ? " What was picked in it is back." : "";
  state.zoom = 0;
  forgetResult();
  const { photo } = fill(work, start, picture);
  photo.pane.focus(); // and the page scrolls to it
  announce(`${file.name} is open.${back} ${state.picked.instruction}`);
}

/**
 * @param {File} file
 * @param {ArchStart} start
 * @param {HTMLElement} work
 */
async function openScan(file, start, work) {
  const content = await file.arrayBuffer();
  await see(file.name, { content, turns: [], findings: [] }, null, start, work);
}

/**
 * Has the desk look at a scan, and shows it. A problem leaves what was shown before.
 * @param {string} name
 * @param {Scan} scan
 * @param {"upper" | "lower" | null} jaw null where the desk is to find out
 * @param {ArchStart} start
 * @param {HTMLElement} work
 */
async function see(name, scan, jaw, start, work) {
  work.setAttribute("aria-busy", "true");
  announce(`Looking at ${name}.`);
  const query = new URLSearchParams({ name });
  if (jaw) query.set("jaw", jaw);
  for (const turn of scan.turns) query.append("turn", turn);
  let seen = null;
  try {
    seen = await fetchJson("/api/arch/scan", { body: scan.content, query });
  } catch (error) {
    work.prepend(problemList(problemsIn(error).lines));
  }
  work.removeAttribute("aria-busy");
  if (!seen) return;
  if (state.picture) URL.revokeObjectURL(state.picture.address);
  const { picture: address, width, height, findings } = seen;
  state.picture = { address, name, width, height, scan: { ...scan, findings } };
  state.picked.beginScan(seen);
  state.zoom = 0;
  forgetResult();
  const { photo } = fill(work, start, state.picture);
  photo.pane.focus();
  announce(`${name}: ${seen.jaw} jaw, ${seen.teeth.length} teeth proposed.`);
}

/**
 * @param {File} file
 * @returns {Promise<Picture | null>} null where the file is no picture
 */
async function pictureIn(file) {
  const address = URL.createObjectURL(file);
  const image = new Image();
  image.src = address;
  // A truncated picture may have a size but cannot be decoded.
  const complete = await image.decode().then(() => true, () => false);
  const { naturalWidth: width, naturalHeight: height } = image;
  if (complete && width && height) return { address, name: file.name, width, height };
  URL.revokeObjectURL(address);
  return null;
}

/**
 * @param {HTMLElement} work
 * @param {ArchStart} start
 * @param {Picture} picture
 */
function fill(work, start, picture) {
  const model = new ModelPart(start.own);
  const changed = () => model.forget("The picked points have changed.");
  const { name, scan } = picture;
  const picking = new Picking(picture, start.length_limits_mm, changed, ({ turn, jaw }) => {
    if (!scan) return;
    const turns = turn ? [...scan.turns, turn] : scan.turns;
    void see(name, { ...scan, turns }, jaw ?? null, start, work);
  });
  const findings = findingList(scan?.findings ?? []);
  work.replaceChildren(...findings, ...picking.parts, ...model.parts);
  return picking;
}
