// An arch of the clinic's own from a picture of the cast. The picture is opened here and stays
// here: only the picked points are sent. Nothing is computed here but where on the picture one is.

import { Fitted } from "./result.js";
import { announce, element, fetchJson, filePlace, problemList } from "../shared/elements.js";
import { Picked } from "./points.js";
import { Picking } from "./picking.js";

// All that was done in this view, kept while another is looked at; its parts are handed it.
const state = {
  start: null, // what the server tells: bases, limits, the names that are taken
  picture: null,
  zoom: 0, // pixels of the window a pixel of the picture
  picked: new Picked(),
  length: "",
  name: "my-arch",
  date: today(),
  asking: null, // the request under way, unless something has changed since
  result: null,
};

function today() {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()]
    .map((part) => String(part).padStart(2, "0"))
    .join("-");
}

export async function show(root) {
  state.start = await fetchJson("/api/arch/start");
  takeBases(state.start);
  const work = element("div");
  const place = filePlace(
    "picture",
    "image/*",
    "Open a picture of the cast, or drop it here",
    "A photograph or scan from the biting side, taken straight from above, with a ruler or a " +
      "known length in it. It stays in this browser: only the points that you pick are used.",
    (file) => open(file, work),
  );
  root.append(element("h1", {}, "An arch of your own"), place, work);
  if (state.start.problems.length) root.append(problemList(state.start.problems));
  if (state.picture) fill(work);
}

/** The base that was chosen may be an own model that is no longer there. */
function takeBases({ bases, usual_base: usual }) {
  const { picked } = state;
  picked.bases = bases;
  if (bases.some((base) => base.value === picked.base)) return;
  picked.base = usual;
  state.asking = null;
  state.result = null;
}

async function open(file, work) {
  const picture = await pictureOf(file);
  if (state.picture) URL.revokeObjectURL(state.picture.address);
  state.picture = picture;
  if (!picture) {
    const words = `${file.name} cannot be opened as a picture. Save it as PNG or JPEG.`;
    work.replaceChildren(problemList([words]));
    return;
  }
  state.picked.begin(picture);
  state.zoom = 0;
  state.asking = null;
  state.result = null;
  const { photo } = fill(work);
  photo.pane.focus(); // and the page scrolls to it
  announce(`${file.name} is open. ${state.picked.nowWords}`);
}

/** The picture with its size in pixels, or null where the file is none. */
async function pictureOf(file) {
  const address = URL.createObjectURL(file);
  const image = new Image();
  image.src = address;
  // One that is broken half way may have a size all the same.
  const whole = await image.decode().then(() => true, () => false);
  const { naturalWidth: width, naturalHeight: height } = image;
  if (whole && width && height) return { address, name: file.name, width, height };
  URL.revokeObjectURL(address);
  return null;
}

function fill(work) {
  const fitted = new Fitted(state);
  const picking = new Picking(state, () => fitted.forget("What you picked"));
  work.replaceChildren(...picking.parts, ...fitted.parts);
  return picking;
}
