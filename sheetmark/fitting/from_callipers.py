"""A jaw fitted to what callipers measured: widths across the arch, depth, single teeth; all mm.

Two measures of the arch fix its curve exactly; more are met by least squares; where there are
fewer, the base model's own widths stand in, and the result says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from sheetmark.anatomy.arch_model import crowns
from sheetmark.anatomy.chords import Chord
from sheetmark.anatomy.curves import SixthOrder
from sheetmark.anatomy.jaw import row_lengths, row_with
from sheetmark.anatomy.solve import CentrePair, carriers, measure_on, root
from sheetmark.anatomy.teeth import tooth_of_slot
from sheetmark.base.codes import Code
from sheetmark.base.findings import InputError
from sheetmark.fitting.fit import Draft, Figure, JawFit, Origin, published
from sheetmark.fitting.measures import FIRST_MOLAR, JawMeasures, MeasuringPoint

# The cusp tip of a premolar or molar stands this share of the labiolingual crown width facial of
# the tooth's centre; a front tooth's tip or edge stands on the centre (assumption).
CUSP_SHARE = 0.25
# Least squares leave more than this on a measure: worth a second look, or no arch (assumptions).
OFF_WARNING_MM, OFF_LIMIT_MM = 0.5, 3.0
# Curves looked at from the parabola to the pure sixth power, to find every solution.
_STEPS = 40
# Closer than this to an end of the family is that end.
_SAME_MM = 1e-9
# Brings both unknowns of the curve near 1.
_UNIT_MM = 12.0


@dataclass(frozen=True, slots=True)
class CuspPair(CentrePair):
    """A width between cusp tips that stand `facial_mm` facial of the centres."""

    facial_mm: float

    def of(self, chord: Chord) -> float:
        """The width between the cusp tips of a tooth laid there, and its mirror image, mm."""
        (x1, y1), (x2, y2) = chord.start, chord.end
        return 2 * (chord.centre[0] + self.facial_mm * (y2 - y1) / hypot(x2 - x1, y2 - y1))


@dataclass(frozen=True, slots=True)
class Depth(CentrePair):
    """From the incisal point straight back to the line that joins the pair's centres."""

    def of(self, chord: Chord) -> float:
        """The depth of a tooth laid there, mm behind the incisal point."""
        return chord.centre[1]


def fit_callipers(measures: JawMeasures, point: MeasuringPoint, origin: Origin) -> JawFit:
    """The base's jaw with the measured widths, on the curve that the measures ask for.

    Raises InputError, with the figures, for measures that no arch carries.
    """
    jaw, draft = measures.jaw, Draft(origin, measures.jaw)
    draft.add_widths(measures.teeth)
    lent = _lent(measures, draft)
    slots = (*measures.between, *lent, *([FIRST_MOLAR] if measures.depth_mm else []))
    lengths, items = row_lengths(draft.model(), jaw, row_with(draft.model(), jaw, slots))

    across = [_pair(draft, items, slot, mm, point) for slot, mm in measures.between.items()]
    _check_order(across)
    targets: list[CentrePair] = [
        *across,
        *(
            CentrePair(items.index(slot), mm, f"{origin.pair(jaw, slot)} (from {origin.base.name})")
            for slot, mm in lent.items()
        ),
    ]
    targets.sort(key=lambda pair: pair.item)
    if measures.depth_mm:
        name = f"depth to {origin.pair(jaw, FIRST_MOLAR)}"
        targets.append(Depth(items.index(FIRST_MOLAR), measures.depth_mm, name))
    if len(targets) == 2:
        curve = _exact(lengths, targets[0], targets[1], draft)
    else:
        curve = _least_squares(lengths, targets, draft)

    figures = []
    for pair in across:
        slot, fitted = items[pair.item], measure_on(curve, lengths, pair)
        known = published(draft.centre_row(slot))
        figures.append(Figure(f"{pair.name}, {_point_name(point)}", fitted, pair.mm, known))
        centres = measure_on(curve, lengths, CentrePair(pair.item, pair.mm, pair.name))
        _keep_width(draft, slot, pair, pair.mm - fitted + centres, point)
    if measures.depth_mm:
        fitted = measure_on(curve, lengths, targets[-1])
        figures.append(Figure(targets[-1].name, fitted, measures.depth_mm))
    figures += draft.unmeasured(curve, lent=lent, depth=not measures.depth_mm)
    figures += draft.tooth_figures()
    return JawFit(jaw, draft.table(curve=curve), tuple(figures), tuple(draft.findings))


def _pair(
    draft: Draft, items: Sequence[str], slot: str, mm: float, point: MeasuringPoint
) -> CuspPair:
    tooth = tooth_of_slot(draft.jaw, "left", slot)
    facial = 0.0
    if point == "cusp-tips" and not tooth.front:
        facial = CUSP_SHARE * crowns().crown(draft.jaw, slot).labiolingual_mm
    return CuspPair(items.index(slot), mm, draft.origin.pair(draft.jaw, slot), facial)


def _check_order(across: Sequence[CentrePair]) -> None:
    for first, other in pairwise(sorted(across, key=lambda pair: pair.item)):
        if first.mm >= other.mm:
            raise InputError(
                f"{first.name} {first.mm:g} mm and {other.name} {other.mm:g} mm: no arch grows "
                f"narrower backwards; measure both widths again"
            )


def _lent(measures: JawMeasures, draft: Draft) -> dict[str, float]:
    """The base's own widths, by slot, that stand in where fewer than two measures were taken.

    Beside one measure the molars, or the canines where it was itself taken behind them.
    """
    given = len(measures.between) + (measures.depth_mm is not None)
    if given >= 2:
        return {}
    front, back = draft.base_pair
    wanted = [front, back]
    if given:
        behind = any(tooth_of_slot(draft.jaw, "left", s).position > 4 for s in measures.between)
        wanted = [front if behind else back]
    for slot in wanted:
        draft.inform(
            Code.WIDTH_FROM_BASE,
            f"{draft.origin.pair(draft.jaw, slot)} not measured: {draft.origin.base.name}'s own "
            f"width is taken, {published(draft.base.centre_width(slot))}.",
        )
    return {slot: draft.base.centre_width(slot).mm for slot in wanted}


def _exact(
    lengths: Sequence[float], front: CentrePair, back: CentrePair, draft: Draft
) -> SixthOrder:
    """The curve that meets both measures; where two do, the one nearer to the base's."""
    carrier = carriers(lengths, front)

    def off(share: float) -> float:
        return measure_on(carrier(share), lengths, back) - back.mm

    shares = [step / _STEPS for step in range(_STEPS + 1)]
    offs = [off(share) for share in shares]
    roots = [end for end in (0, _STEPS) if abs(offs[end]) < _SAME_MM]
    found = [carrier(shares[end]) for end in roots] or [
        carrier(root(off, *ends))
        for ends, (first, other) in zip(pairwise(shares), pairwise(offs), strict=True)
        if (first < 0) != (other < 0)
    ]
    if not found:
        low, high = min(offs) + back.mm, max(offs) + back.mm
        kind = "too large" if back.mm > high else "too small"
        raise InputError(
            f"{back.name} {back.mm:g} mm: {kind} for these teeth; with {front.name} "
            f"{front.mm:g} mm it can be {low:.2f} to {high:.2f} mm; "
            f"measure both and the teeth between again"
        )
    curve = found[0] if len(found) == 1 else _nearer(found, front, back, draft)
    return draft.curve(curve.a, curve.b)


def _nearer(
    found: Sequence[SixthOrder], front: CentrePair, back: CentrePair, draft: Draft
) -> SixthOrder:
    slot = draft.base_pair[1]
    own = draft.base.centre_width(slot).mm
    widths: dict[float, SixthOrder] = {
        2 * draft.laid(curve, slot).centre[0]: curve for curve in found
    }
    nearest = min(widths, key=lambda mm: abs(mm - own))
    name = draft.origin.pair(draft.jaw, slot)
    draft.warn(
        Code.TWO_ARCHES,
        f"{front.name} {front.mm:g} mm and {back.name} {back.mm:g} mm fit {len(found)} arches, "
        f"{name} {' or '.join(f'{mm:.1f}' for mm in sorted(widths))} mm apart; the one nearer to "
        f"{draft.origin.base.name}'s {own:g} is taken.",
        f"Measure {name} too.",
    )
    return widths[nearest]


def _least_squares(
    lengths: Sequence[float], targets: Sequence[CentrePair], draft: Draft
) -> SixthOrder:
    """The curve, A and B not negative, with the smallest sum of squared differences."""
    from scipy.optimize import least_squares

    def curve(scaled: Sequence[float]) -> SixthOrder:
        return draft.curve(float(scaled[0]) / _UNIT_MM**5, float(scaled[1]) / _UNIT_MM)

    def off(scaled: Sequence[float]) -> list[float]:
        return [measure_on(curve(scaled), lengths, at) - at.mm for at in targets]

    start = draft.start_curve()
    result = least_squares(
        off,
        [max(start.a * _UNIT_MM**5, 1e-3), max(start.b * _UNIT_MM, 1e-3)],
        bounds=(0.0, float("inf")),
        xtol=1e-14,
        ftol=1e-14,
        gtol=1e-14,
    )
    found = curve(result.x)
    offs = {at.name: measure_on(found, lengths, at) - at.mm for at in targets}
    worst = max(offs, key=lambda name: abs(offs[name]))
    figures = ", ".join(f"{at.name} {at.mm:g} ({at.mm + offs[at.name]:.1f})" for at in targets)
    if abs(offs[worst]) > OFF_LIMIT_MM:
        raise InputError(
            f"{figures}: no arch carries these measures together (the nearest in brackets, mm); "
            f"{worst} is {abs(offs[worst]):.1f} mm off, limit {OFF_LIMIT_MM:g}; measure again"
        )
    if abs(offs[worst]) > OFF_WARNING_MM:
        draft.warn(
            Code.MEASURES_DISAGREE,
            f"The measures do not quite go together; the arch has in brackets, mm: {figures}.",
            "Measure again.",
            abs(offs[worst]),
            OFF_WARNING_MM,
        )
    return found


def _keep_width(
    draft: Draft, slot: str, pair: CentrePair, centres_mm: float, point: MeasuringPoint
) -> None:
    """The width's row in the new model, always between centres, and a word if it is unusual."""
    row = draft.centre_row(slot)
    draft.check_usual(row, centres_mm, f"{pair.name} between centres")
    if point == "centres":
        draft.add_centre_width(slot, pair.mm, draft.origin.key, "measured", "between centres")
    else:
        note = f"{pair.mm:g} between cusp tips; the centres by an assumption on the tips"
        draft.add_centre_width(slot, centres_mm, draft.origin.key, "assumption", note)


def _point_name(point: MeasuringPoint) -> str:
    return point.replace("-", " ")
