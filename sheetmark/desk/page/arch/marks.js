// What is drawn over the picture: a white halo under each mark, so that it is seen on any.

import { svgElement } from "../shared/elements.js";

const both = (tag, attributes, mark = "mark") => [
  svgElement(tag, { ...attributes, class: "halo" }),
  svgElement(tag, { ...attributes, class: mark }),
];
const line = ([x1, y1], [x2, y2], more = {}) => both("line", { x1, y1, x2, y2, ...more });

/** The marks of all that is picked, at that zoom. */
export function marks(picked, zoom) {
  const at = (point) => point && point.map((pixels) => pixels * zoom);
  return [
    ...lengthMarks(picked.scale.map(at)),
    ...picked.teeth.flatMap(({ tooth, name }) => toothMarks(name, picked.endsOf(tooth).map(at))),
    ...(picked.target ? crossMarks(at(picked.cross), picked.moving) : []),
  ];
}

function lengthMarks([one, other]) {
  const plus = ([x, y]) => both("path", { d: `M${x - 8} ${y}H${x + 8}M${x} ${y - 8}V${y + 8}` });
  return [
    ...(one && other ? line(one, other, { "stroke-dasharray": "8 5" }) : []),
    ...[one, other].filter(Boolean).flatMap(plus),
  ];
}

/** Mesial a circle, distal a square, so that no colour is needed to tell them. */
function toothMarks(name, [mesial, distal]) {
  const ends = [mesial, distal].filter(Boolean);
  if (!ends.length) return [];
  const drawn = mesial && distal ? line(mesial, distal) : [];
  if (mesial) drawn.push(...both("circle", { cx: mesial[0], cy: mesial[1], r: 5 }));
  if (distal) {
    const [x, y] = distal;
    drawn.push(...both("rect", { x: x - 4.5, y: y - 4.5, width: 9, height: 9 }));
  }
  const [x, y] = [0, 1].map((axis) => ends.reduce((sum, end) => sum + end[axis], 0) / ends.length);
  drawn.push(svgElement("text", { x, y: y - 9 }, name));
  return drawn;
}

/** Open in the middle, so that what is aimed at is seen; ringed where a point is moved. */
function crossMarks([x, y], moving) {
  const across = `M${x - 22} ${y}H${x - 6}M${x + 6} ${y}H${x + 22}`;
  const down = `M${x} ${y - 22}V${y - 6}M${x} ${y + 6}V${y + 22}`;
  return [
    ...both("path", { d: across + down }, "cross"),
    ...(moving ? both("circle", { cx: x, cy: y, r: 13 }) : []),
  ];
}
