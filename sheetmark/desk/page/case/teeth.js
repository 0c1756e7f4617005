// The teeth as the server last told of them.

/** Those that are drawn, of both jaws. */
export function teethOf({ chart }) {
  return chart ? [...chart.upper, ...chart.lower] : [];
}

export function toothOf(shown, iso) {
  return teethOf(shown).find((one) => one.tooth === iso);
}

/** The tooth's number or letter in the notation in use, also where it is not drawn. */
export function labelOf(shown, iso) {
  const said = shown.different.find((one) => one.tooth === iso);
  return toothOf(shown, iso)?.label ?? said?.label ?? iso;
}

/** By the quadrant in its ISO number, as it may not be drawn. */
export function jawOf(iso) {
  return ["1", "2", "5", "6"].includes(iso[0]) ? "upper" : "lower";
}
