"""Where each hole and the sheet's middle go. Mouth frame and sheet frame, mm (see `base.frames`).

The sheet's middle goes into the working quadrant, just inside the teeth, since a sheet punched in
its exact middle has too little material on one side to reach the frame (common practice, no
source). For a full arch it goes towards the middle between the jaws, not sideways.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, hypot, inf

from msgspec import Struct

from sheetmark.anatomy.jaw import Arch, Place
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError
from sheetmark.base.frames import MouthPoint, Range, SheetPoint, mouth_to_sheet
from sheetmark.case.case import ToothState
from sheetmark.plan.face import FaceLimits
from sheetmark.plan.holes import Demand
from sheetmark.practice.settings import Practice, Sheet, next_sheet

_ROUNDING_MM = 1e-9
EASE_USUAL_MM = 2.0  # beyond it the strips wrinkle (assumption)


class Seat(Struct, frozen=True):
    """A tooth of the row where it really stands, and what it demands of its hole."""

    place: Place
    """Where the tooth really stands, mouth frame."""
    demand: Demand
    """What it demands of its hole."""


class Margins(Struct, frozen=True, kw_only=True):
    """Smallest distance from a hole's centre to each edge of the sheet, mm.

    Left and right are the operator's, as on the page."""

    left_mm: float
    right_mm: float
    lower_mm: float
    upper_mm: float

    @property
    def smallest_mm(self) -> float:
        """The distance to the nearest edge."""
        return min(self.left_mm, self.right_mm, self.lower_mm, self.upper_mm)


class Placement(Struct, frozen=True, kw_only=True):
    """Where the sheet lies over the teeth, and where its holes are."""

    shift_mm: MouthPoint
    """The sheet's middle, mouth frame."""
    range_mm: tuple[Range, Range]
    """The x, then the y, of sheet middles that keep the preferred limits, and after them the
    treated side, as well as they can be kept, mouth frame."""
    holes_mm: tuple[SheetPoint, ...]
    """Hole centres from the patient's right to the left, sheet frame."""
    margins: Margins
    """How far the holes are from the sheet's edges."""
    fold_line_mm: float | None
    """The y of the nostrils where the sheet reaches above them, sheet frame; else None."""
    findings: tuple[Finding, ...]
    """The preferred limits that are missed."""


def standing(arch: Arch, state: ToothState) -> Place:
    """The tooth where it really stands in this mouth, mouth frame."""
    return arch.place(state.tooth).moved(
        facial_mm=state.facial_mm, mesial_mm=state.mesial_mm, turned_deg=state.rotated_deg
    )


def place_holes(row: Sequence[Seat], practice: Practice) -> tuple[MouthPoint, ...]:
    """Hole centres in the mouth frame: gum-line centres, spread by the ease, facial of lesions.

    Ease adds its amount to each pitch along the row; the row's centroid stays. A gumline lesion
    moves its hole to the facial side and away from each neighbour (Sturdevant, from memory).
    """
    rules = practice.rules
    centres = [seat.place.centre for seat in row]
    spread = [centres[0]]
    for i in range(1, len(row)):
        extra = practice.ease_mm
        if row[i - 1].demand.lesion or row[i].demand.lesion:
            extra += rules.lesion_to_neighbour_mm
        dx, dy = centres[i].x - centres[i - 1].x, centres[i].y - centres[i - 1].y
        factor = 1 + extra / hypot(dx, dy)
        spread.append(MouthPoint(spread[-1].x + dx * factor, spread[-1].y + dy * factor))
    (x, y), (x0, y0) = _centroid(centres), _centroid(spread)
    facial = [rules.lesion_facial_mm if seat.demand.lesion else 0.0 for seat in row]
    return tuple(
        MouthPoint(px + x - x0 + by * seat.place.facial.x, py + y - y0 + by * seat.place.facial.y)
        for (px, py), seat, by in zip(spread, row, facial, strict=True)
    )


def place_sheet(
    row: Sequence[Seat],
    holes_mm: Sequence[MouthPoint],
    treated: Sequence[Tooth],
    upper_incisal_y_mm: float,
    face: FaceLimits,
    practice: Practice,
    given_mm: MouthPoint | None = None,
) -> Placement:
    """The sheet's centre for holes in the mouth frame, and the findings about its margins.

    `treated` are the teeth of the row that are treated: their side is where the middle goes.
    `upper_incisal_y_mm` is the y of the upper incisal line, mouth frame, from which `face` counts.
    `given_mm` takes the place of the rule. Raises InputError when a hole would stand closer to
    an edge than the refused limit.
    """
    sheet = practice.sheet
    axes = _axes(holes_mm, upper_incisal_y_mm, face, practice)
    within = (_narrowed(_treated_side(treated), _range(axes[0])), _range(axes[1]))
    shift = MouthPoint(0.0, 0.0)
    if given_mm is not None:
        shift = given_mm
    elif practice.shift:
        x, y = _target(row, holes_mm, practice.rules.inwards_mm)
        # Never over the middle between the jaws.
        y = max(y, 0.0) if treated[0].jaw == "upper" else min(y, 0.0)
        shift = MouthPoint(_nearest(x, within[0]), _nearest(y, within[1]))
    moved = tuple(mouth_to_sheet(hole, shift) for hole in holes_mm)
    margins = _margins(moved, sheet)
    refused = practice.rules.hole_to_edge_refused_mm
    if margins.smallest_mm < refused:
        raise InputError(
            f"sheet {sheet.name}: a hole would be {margins.smallest_mm:.1f} mm from its edge, "
            f"less than {refused:g} mm; {_larger(sheet)}",
            actions=_larger_sheet(sheet),
        )
    nostrils_mm = upper_incisal_y_mm + face.nostrils_mm - shift.y
    return Placement(
        shift_mm=shift,
        range_mm=within,
        holes_mm=moved,
        margins=margins,
        fold_line_mm=nostrils_mm if sheet.height_mm / 2 - nostrils_mm > _ROUNDING_MM else None,
        findings=_findings(shift, axes, sheet),
    )


class _Limit(Struct, frozen=True):
    """One preferred limit on one coordinate of the sheet's centre, and how to speak of it."""

    code: Code
    low: float
    high: float
    wording: str
    advice: str = ""
    """What to do where it is missed; empty: take a larger sheet."""

    def overshoot(self, at: float) -> float:
        return max(self.low - at, at - self.high, 0.0)


def _axes(
    holes: Sequence[MouthPoint], incisal_y: float, face: FaceLimits, practice: Practice
) -> tuple[tuple[_Limit, ...], tuple[_Limit, ...]]:
    """The limits on x and on y, the one that gives way last first."""
    rules, sheet = practice.rules, practice.sheet
    half_width, half_height = sheet.width_mm / 2, sheet.height_mm / 2
    xs, ys = [x for x, _ in holes], [y for _, y in holes]
    edge, side = rules.hole_to_edge_mm, rules.side_edge_from_midline_mm
    near, far = face.upper_edge_mm
    upper, lower = incisal_y - half_height, incisal_y + half_height
    hole_wording = f"A hole is nearer than {edge:g} mm to an edge"
    return (
        (
            _hole_limit(min(xs), max(xs), half_width - edge, hole_wording),
            _Limit(
                Code.SIDE_EDGE,
                side - half_width,
                half_width - side,
                f"A side edge is nearer than {side:g} mm to the midline",
            ),
        ),
        (
            _hole_limit(min(ys), max(ys), half_height - edge, hole_wording),
            _Limit(
                Code.UPPER_EDGE,
                upper + near,
                upper + far,
                f"The upper edge is not {near:.3g} to {far:.3g} mm above the upper incisors",
            ),
            _Limit(
                Code.LOWER_EDGE,
                -inf,
                lower - face.lower_edge_mm,
                f"The lower edge is less than {face.lower_edge_mm:.3g} mm below the upper incisors",
            ),
            _Limit(
                Code.ABOVE_NOSTRILS,
                -inf,
                upper + face.nostrils_mm,
                "The upper edge lies above the nostrils",
                "Fold the upper edge down along the line.",
            ),
        ),
    )


def _hole_limit(low: float, high: float, reach: float, wording: str) -> _Limit:
    return _Limit(Code.HOLE_TO_EDGE, high - reach, low + reach, wording)


def _range(limits: Sequence[_Limit]) -> Range:
    """The values that keep the limits; the last limit gives way first.

    A limit that cannot be met at all (low above high) is missed equally on both sides.
    """
    kept = Range(-inf, inf)
    for limit in limits:
        low, high = sorted((limit.low, limit.high))
        if limit.low > limit.high:
            low = high = fsum((low, high)) / 2
        kept = _narrowed(Range(low, high), kept)
    return kept


def _narrowed(wanted: Range, within: Range) -> Range:
    """What is wanted of a range; where it has none of it, its end that is nearest."""
    return Range(_nearest(wanted.low, within), _nearest(wanted.high, within))


def _treated_side(treated: Sequence[Tooth]) -> Range:
    """The x of middles that are not over the midline away from the treated teeth.

    A front row may reach further to the other side: its middle then stays on the midline.
    """
    sides = {tooth.side for tooth in treated}
    return Range(0.0 if sides == {"left"} else -inf, 0.0 if sides == {"right"} else inf)


def _nearest(target: float, within: Range) -> float:
    return min(max(target, within.low), within.high)


def _target(row: Sequence[Seat], holes: Sequence[MouthPoint], inwards: float) -> MouthPoint:
    """The holes' centroid, moved inwards at right angles to the row."""
    if len(holes) > 1:
        along: tuple[float, float] = (holes[-1].x - holes[0].x, holes[-1].y - holes[0].y)
    else:
        along = row[0].place.leftward
    length = hypot(*along)
    normal = (along[1] / length, -along[0] / length)
    facial = [fsum(seat.place.facial[i] for seat in row) for i in (0, 1)]
    sign = -1.0 if normal[0] * facial[0] + normal[1] * facial[1] > 0 else 1.0
    x, y = _centroid(holes)
    return MouthPoint(x + sign * inwards * normal[0], y + sign * inwards * normal[1])


def _margins(holes: Sequence[SheetPoint], sheet: Sheet) -> Margins:
    xs, ys = [x for x, _ in holes], [y for _, y in holes]
    return Margins(
        left_mm=min(xs) + sheet.width_mm / 2,
        right_mm=sheet.width_mm / 2 - max(xs),
        lower_mm=min(ys) + sheet.height_mm / 2,
        upper_mm=sheet.height_mm / 2 - max(ys),
    )


def _findings(
    shift: MouthPoint, axes: tuple[tuple[_Limit, ...], tuple[_Limit, ...]], sheet: Sheet
) -> tuple[Finding, ...]:
    findings: dict[Code, Finding] = {}
    for at, limits in zip(shift, axes, strict=True):
        for limit in limits:
            missed = limit.overshoot(at)
            known = findings.get(limit.code)
            if missed > _ROUNDING_MM and (known is None or missed > (known.value or 0)):
                findings[limit.code] = Finding(
                    limit.code,
                    "warning",
                    f"{limit.wording}: off by {missed:.1f} mm.",
                    limit.advice or f"{_larger(sheet).capitalize()}.",
                    field="sheet",
                    value=missed,
                    actions=() if limit.advice else _larger_sheet(sheet),
                )
    return tuple(findings.values())


def _larger(sheet: Sheet) -> str:
    larger = next_sheet(sheet)
    if larger is None:
        return "no larger standard sheet exists; expose fewer teeth or cut a larger sheet"
    return f"take the next sheet size, {larger.name} mm"


def _larger_sheet(sheet: Sheet) -> tuple[Action, ...]:
    larger = next_sheet(sheet)
    if larger is None:
        return ()
    return (Action(Choice.SHEET, f"{larger.width_mm:g}x{larger.height_mm:g}"),)


def _centroid(points: Sequence[MouthPoint]) -> MouthPoint:
    return MouthPoint(
        fsum(x for x, _ in points) / len(points),
        fsum(y for _, y in points) / len(points),
    )
