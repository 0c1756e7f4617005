"""A jaw fitted to landmarks of its cast: widths, spaces, curve, and each tooth's residual. mm."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import dist
from statistics import mean, median

import msgspec

from sheetmark.anatomy.arch_model import Space
from sheetmark.anatomy.chords import ArchPoint, Chord, lay_chords
from sheetmark.anatomy.curves import SixthOrder
from sheetmark.anatomy.jaw import row_lengths
from sheetmark.anatomy.teeth import SIDES, Side, Tooth, tooth_of_slot
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, InputError
from sheetmark.fitting.cast import (
    ENDS,
    TOUCH_MM,
    Cast,
    OddWidth,
    Rows,
    cast_of,
    check_enough,
    check_order,
    check_scale,
    gaps_between,
    odd_widths,
)
from sheetmark.fitting.cast_remarks import say_odd, say_places, say_strays
from sheetmark.fitting.curve_fit import Anchor, CurveFit, Motion, fit_curve, rough_motion
from sheetmark.fitting.fit import Draft, JawFit, Origin, Seen, along_row
from sheetmark.fitting.landmarks import CastPoint, Landmark

# A point does not belong when it lies off the curve by more than both: mm, and robust SDs, each
# 1.4826 times the median distance. More such points than the share: no fit (assumptions).
STRAY_MM, STRAY_SDS, STRAYS_SHARE = 1.0, 3.0, 0.25
_MEDIANS_TO_SD = 1.4826  # of a normal distribution
# What a model file may hold as a space; less is none.
_LEAST_SPACE_MM, _LARGEST_SPACE_MM = 0.05, 10.0
_ROUNDS = 8


def fit_landmarks(landmarks: Sequence[Landmark], y_down: bool, origin: Origin) -> JawFit:
    """The base's jaw with the widths, the spaces and the curve that the landmarks show.

    Raises InputError, with the figures, for landmarks too few, out of scale or out of order.
    """
    if not landmarks:
        raise InputError("landmarks: none; measure the teeth of one jaw")
    cast = cast_of(landmarks, y_down)
    draft = Draft(origin, cast.jaw)
    check_enough(cast, draft)
    check_scale(cast, draft)
    rows = _take_rows(cast, draft)
    cast, motion = _right_way_round(cast, rows, y_down, draft)
    odd = odd_widths(cast, draft)
    cast, fit = _fit(cast, rows, odd, motion, draft)
    check_order(cast, fit.along_x_mm, draft)
    limit = _stray_limit(fit.off_mm)
    named = say_strays(cast, fit.off_mm, limit, draft)
    say_odd({tooth: found for tooth, found in odd.items() if tooth not in named}, draft)

    shares = _take_spaces(cast, rows, draft)
    draft.add_widths(
        {tooth: mm + shares[tooth.slot] for tooth, mm in cast.widths().items() if cast.whole(tooth)}
    )
    curve = draft.curve(fit.a, fit.b)
    figures = draft.unmeasured(curve, source=origin.key)
    for slot in draft.solve_from:
        name = f"{origin.pair(cast.jaw, slot)} between centres"
        draft.check_usual(draft.centre_row(slot), draft.centre_widths[slot].mm, name)
    chords = _laid(curve, rows, draft)
    seen = tuple(_seen(tooth, cast, fit, chords[tooth]) for tooth in cast.teeth)
    say_places(cast, seen, rows, chords, draft)
    return JawFit(
        cast.jaw,
        draft.table(curve=curve),
        (*figures, *draft.tooth_figures()),
        tuple(draft.findings),
        seen,
        rows["right"],
        rows["left"],
    )


def _take_rows(cast: Cast, draft: Draft) -> Rows:
    """Each side's own row: the base's, each tooth that was seen in its place. The model's row
    follows where the sides agree."""
    rows: dict[Side, dict[int, str]] = {}
    for side in SIDES:
        rows[side] = {_position(slot): slot for slot in draft.base.row}
        rows[side] |= {tooth.position: tooth.slot for tooth in cast.of_side(side)}
    shared: dict[int, str] = {_position(slot): slot for slot in draft.base.row}
    shared |= {
        place: slot
        for place, slot in (rows["right"] | rows["left"]).items()
        if all(rows[side].get(place, slot) == slot for side in SIDES)
    }
    row = tuple(slot for _, slot in sorted(shared.items()))
    if row != draft.base.row:
        draft.changes["row"] = row
        draft.changes["solve_from"] = tuple(
            shared.get(_position(slot), slot) for slot in draft.base_pair
        )
        name = draft.origin.base.name
        draft.warn(
            Code.ROW_DIFFERS,
            f"The landmarks hold other teeth than {name}; the new row is {' '.join(row)}.",
            "Check that all of these teeth are present, or choose the base model for the age.",
            actions=(Action(Choice.BASE),),
        )
    return {side: tuple((slot, None) for _, slot in sorted(rows[side].items())) for side in SIDES}


def _right_way_round(cast: Cast, rows: Rows, y_down: bool, draft: Draft) -> tuple[Cast, Motion]:
    """The cast as it is, or its mirror image where that fits better, and a rough position."""
    chords = _laid(draft.start_curve(), rows, draft)
    places = [chords[tooth].centre for tooth in cast.teeth]
    image = replace(cast, points=tuple(CastPoint(-x, y) for x, y in cast.points))
    plain, apart = rough_motion([cast.centre(tooth) for tooth in cast.teeth], places)
    turned, image_apart = rough_motion([image.centre(tooth) for tooth in cast.teeth], places)
    if apart <= image_apart:
        return cast, plain
    y_axis = "upwards, not downwards" if y_down else "downwards, not upwards"
    draft.warn(
        Code.MIRRORED,
        f"MIRRORED PICTURE: as given, teeth stand {apart:.1f} mm from their usual places on "
        f"average, mirrored only {image_apart:.1f} mm. The mirror image was fitted.",
        f"Right and left are exchanged: y counts {y_axis}, the photograph shows a mirror, or teeth "
        "are named for the wrong side. Find out which before you use this arch.",
        apart,
        image_apart,
        (Action(Choice.Y_DOWN, drop=y_down),),
    )
    return image, turned


def _fit(
    cast: Cast, rows: Rows, odd: Mapping[Tooth, OddWidth], motion: Motion, draft: Draft
) -> tuple[Cast, CurveFit]:
    """The curve through the points that belong, and which those are."""
    base = draft.start_curve()
    doubted = {cast.number(tooth, end) for tooth, found in odd.items() for end in found.ends}
    cast = replace(cast, kept=tuple(number not in doubted for number in range(len(cast.points))))
    for _ in range(_ROUNDS):
        anchors = _anchors(cast, rows, draft)
        fit = fit_curve(cast.points, cast.kept, anchors, (base.a, base.b, motion))
        limit = _stray_limit(fit.off_mm)
        kept = tuple(
            abs(off) <= limit and number not in doubted for number, off in enumerate(fit.off_mm)
        )
        strays = len(kept) - sum(kept)
        if strays > STRAYS_SHARE * len(kept):
            raise InputError(
                f"landmarks: {strays} of {len(kept)} points do not belong (over {limit:.1f} mm "
                f"off the curve); limit {STRAYS_SHARE:.0%}; correct the teeth and their points"
            )
        if kept == cast.kept:
            break
        cast = replace(cast, kept=kept)
    return replace(cast, points=tuple(CastPoint(x, y) for x, y in fit.points)), fit


def _stray_limit(off_mm: Sequence[float]) -> float:
    return max(STRAY_MM, STRAY_SDS * _MEDIANS_TO_SD * median(abs(off) for off in off_mm))


def _anchors(cast: Cast, rows: Rows, draft: Draft) -> tuple[Anchor, ...]:
    """The foremost mesial point of each side, behind the teeth in front of it."""
    sizes: dict[str, list[float]] = defaultdict(list)
    for tooth, mm in cast.widths().items():
        if cast.whole(tooth):
            sizes[tooth.slot].append(mm)
    anchors = []
    for side in SIDES:
        first = next((t for t in cast.of_side(side) if cast.keeps(t, "mesial")), None)
        if first is not None:
            lengths, items = row_lengths(draft.model(), cast.jaw, rows[side])
            own = [
                mean(sizes[item]) if sizes.get(item) else length
                for item, length in zip(items, lengths, strict=True)
            ]
            before = tuple(own[: items.index(first.slot) + 1])
            sign = 1 if side == "left" else -1
            anchors.append(Anchor(cast.number(first, "mesial"), sign, before))
    return tuple(anchors)


def _take_spaces(cast: Cast, rows: Rows, draft: Draft) -> dict[str, float]:
    """Spaces that the landmarks show, into the draft; and what each touching slot's width takes on.

    A gap is the mean of both sides. A model begins at the midline: a gap there is only said.
    """
    origin, shares = draft.origin, defaultdict[str, float](float)
    spaces: dict[str, Space] = {space.after: space for space in draft.base.spaces}
    for (inner, outer), gaps in gaps_between(cast, rows).items():
        gap = mean(gaps.values())
        if gap > _LARGEST_SPACE_MM:
            raise InputError(
                f"landmarks: {gap:.1f} mm between {origin.pair(cast.jaw, inner)} and "
                f"{origin.pair(cast.jaw, outer)}, limit {_LARGEST_SPACE_MM:g}; "
                f"correct the teeth, or choose a base model that has a tooth there"
            )
        usual = spaces.pop(inner, None)
        if gap >= TOUCH_MM or (usual and gap > _LEAST_SPACE_MM):
            note = ", ".join(f"{side} {mm:.2f}" for side, mm in gaps.items())
            row = {"after": inner, "mm": gap, "source": draft.origin.key, "flag": "measured"}
            spaces[inner] = msgspec.convert(row | {"note": note}, Space)
        elif gap > -TOUCH_MM:
            shares[inner] += gap / 2
            shares[outer] += gap / 2
    draft.changes["spaces"] = tuple(spaces[slot] for slot in sorted(spaces, key=along_row))
    first, other = (cast.of_side(side)[0] for side in SIDES)
    gap_or_none = (
        cast.gap(first, "mesial", other) if first.position == other.position == 1 else None
    )
    if gap_or_none is not None and abs(gap_or_none) < TOUCH_MM:
        shares[first.slot] += gap_or_none / 2
        shares[other.slot] += 0.0 if first.slot == other.slot else gap_or_none / 2
    elif gap_or_none is not None:
        kind = "apart" if gap_or_none > 0 else "over each other"
        draft.warn(
            Code.MIDLINE_GAP,
            f"{draft.origin.write(first)} and {draft.origin.write(other)} stand "
            f"{abs(gap_or_none):.1f} mm {kind} at the midline; an arch model lays them touching.",
            "Describe how both teeth are displaced in each case.",
            gap_or_none,
            TOUCH_MM,
        )
    return shares


def _laid(curve: SixthOrder, rows: Rows, draft: Draft) -> dict[Tooth, Chord]:
    """Each side's row as the draft has it, on the curve, in the arch's axes."""
    chords = {}
    for side in SIDES:
        sign = 1.0 if side == "left" else -1.0
        lengths, items = row_lengths(draft.model(), draft.jaw, rows[side])
        laid = lay_chords(curve.depth, lengths, curve.reach_mm)
        for item, chord in zip(items, laid, strict=True):
            if item:
                (x1, y1), (x2, y2) = chord.start, chord.end
                tooth = tooth_of_slot(draft.jaw, side, item)
                chords[tooth] = Chord(ArchPoint(sign * x1, y1), ArchPoint(sign * x2, y2))
    return chords


def _seen(tooth: Tooth, cast: Cast, fit: CurveFit, chord: Chord) -> Seen:
    mesial, distal = (cast.number(tooth, end) for end in ENDS)
    return Seen(
        tooth,
        (fit.points[mesial], fit.points[distal]),
        (fit.off_mm[mesial], fit.off_mm[distal]),
        (cast.kept[mesial], cast.kept[distal]),
        dist(cast.points[mesial], cast.points[distal]),
        dist(cast.centre(tooth), chord.centre),
    )


def _position(slot: str) -> int:
    return along_row(slot)[0]
