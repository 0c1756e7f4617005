// What is drawn over the picture: each mark on a white halo, so that it shows on any picture.

import { svgElement } from "../shared/elements.js";

/** @import { PickedPoints, Point } from "./points.js" */

/**
 * A mark and its halo.
 * @param {keyof SVGElementTagNameMap} tag
 * @param {Record<string, string | number>} attributes
 * @param {string} [mark] class of the mark
 */
const haloed = (tag, attributes, mark = "mark") => [
  svgElement(tag, { ...attributes, class: "halo" }),
  svgElement(tag, { ...attributes, class: mark }),
];

/** @type {(from: Point, to: Point, more?: Record<string, string>) => SVGElement[]} */
const line = ([x1, y1], [x2, y2], more = {}) => haloed("line", { x1, y1, x2, y2, ...more });

/**
 * The marks of everything picked.
 * @param {PickedPoints} picked
 * @param {number} zoom screen pixels for each pixel of the picture
 * @returns {SVGElement[]}
 */
export function marks(picked, zoom) {
  /** @type {(point: Point | null) => Point | null} */
  const onScreen = (point) => point && [point[0] * zoom, point[1] * zoom];
  const [start, end] = picked.scale;
  const cross = picked.target ? onScreen(picked.cross) : null;
  return [
    ...lengthMarks(onScreen(start), onScreen(end)),
    ...picked.teeth.flatMap(({ tooth, name }) => {
      const [first, second] = picked.pointsOf(tooth).map(onScreen);
      if (!picked.pixelsPerMm) return toothMarks(name, first ?? null, second ?? null);
      const unsure = picked.proposed.get(tooth)?.unsure ?? false;
      const moved = picked.isMoved({ tooth, end: "middle" });
      return first ? middleMarks(name, unsure, moved, first) : [];
    }),
    ...(cross ? crossMarks(cross, picked.moving) : []),
  ];
}

/**
 * @param {Point | null} first
 * @param {Point | null} second
 */
function lengthMarks(first, second) {
  /** @type {(point: Point | null) => SVGElement[]} */
  const plus = (point) => {
    if (!point) return [];
    const [x, y] = point;
    return haloed("path", { d: `M${x - 8} ${y}H${x + 8}M${x} ${y - 8}V${y + 8}` });
  };
  return [
    ...(first && second ? line(first, second, { "stroke-dasharray": "8 5" }) : []),
    ...plus(first),
    ...plus(second),
  ];
}

/**
 * The first point a circle, the second a square, so that nothing depends on colour.
 * @param {string} name
 * @param {Point | null} first
 * @param {Point | null} second
 */
function toothMarks(name, first, second) {
  const drawn = first && second ? line(first, second) : [];
  if (first) drawn.push(...haloed("circle", { cx: first[0], cy: first[1], r: 5 }));
  if (second) {
    const [x, y] = second;
    drawn.push(...haloed("rect", { x: x - 4.5, y: y - 4.5, width: 9, height: 9 }));
  }
  const [from, to] = [first ?? second, second ?? first];
  if (!from || !to) return [];
  const [x, y] = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
  drawn.push(svgElement("text", { x, y: y - 9 }, name));
  return drawn;
}

/**
 * A circle about the middle of a tooth; dashed and with a question mark while it is not sure.
 * @param {string} name
 * @param {boolean} unsure
 * @param {boolean} moved its name then stands clear of the cross
 * @param {Point} point
 */
function middleMarks(name, unsure, moved, [x, y]) {
  /** @type {Record<string, string>} */
  const dashed = unsure ? { "stroke-dasharray": "4 3" } : {};
  const circle = haloed("circle", { cx: x, cy: y, r: 7, ...dashed });
  const dot = svgElement("circle", { cx: x, cy: y, r: 1.5, class: "dot" });
  const label = svgElement("text", { x, y: y - (moved ? 26 : 12) }, unsure ? `${name}?` : name);
  return [...circle, dot, label];
}

/**
 * Open in the middle, so that the spot can be seen; ringed while a point is moved.
 * @param {Point} point
 * @param {boolean} moving
 */
function crossMarks([x, y], moving) {
  const across = `M${x - 22} ${y}H${x - 6}M${x + 6} ${y}H${x + 22}`;
  const down = `M${x} ${y - 22}V${y - 6}M${x} ${y + 6}V${y + 22}`;
  return [
    ...haloed("path", { d: across + down }, "cross"),
    ...(moving ? haloed("circle", { cx: x, cy: y, r: 13 }) : []),
  ];
}
