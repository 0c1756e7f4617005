"""From what a photograph shows and what was planned to the check of each hole."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import hypot, nan, radians, tan

import numpy as np
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.frames import SheetPoint
from sheetmark.checking.camera import Array
from sheetmark.checking.look import Found
from sheetmark.checking.matching import CLEARLY, STRAIGHT, Pairing, Way, pair, ways
from sheetmark.checking.openings import Opening
from sheetmark.checking.result import (
    Check,
    ExtraHole,
    HoleCheck,
    Laid,
    Pattern,
    SizeVerdict,
)
from sheetmark.checking.wanted import Wanted, WantedHole
from sheetmark.practice.tolerance import check_tolerance

# Of a place on a flat sheet, 95 of 100 (assumption; in made photographs less:
# examples/guide/checking-figures.md).
FLAT_UNCERTAIN_MM = 0.10
# What a sheet on a table stands up by all the same (assumption).
USUAL_LIFT_MM = 0.3
# Of a diameter, 95 of 100 (from the same photographs).
SIZE_UNCERTAIN_MM = 0.15
# A second hole this near a planned one is the same hole punched twice (assumption).
DOUBLED_MM = 4.0
# A long opening is a slit from this share of the way between its outer holes (assumption).
_SLIT_SHARE = 0.6
# A mark this near its place is the sheet's own (assumption).
_MARK_NEAR_MM = 3.0
_CORNER_NEAR_MM = 5.0


def judge(found: Found, wanted: Wanted, tolerance_mm: float) -> Check:
    """The check of what was found. Raises InputError for a tolerance outside its limits."""
    check_tolerance(tolerance_mm)
    faces = _faces(found, wanted)
    openings = _without_corner_hole(found.openings, wanted, faces)
    pairings = pair([hole.at for hole in wanted.holes], [o.at for o in openings], wanted.sheet)
    face = _face(faces, pairings)
    best = _most_likely(pairings, face)
    every, cut, slits = wanted, *_cut(wanted, openings, best)
    if slits:
        # What is cut into one is no longer a hole at its place: the others are paired alone.
        openings = [opening for opening in openings if opening not in slits]
        wanted = replace(wanted, holes=tuple(h for h in every.holes if h.tooth not in cut))
        best = _paired_alone(wanted, openings, best, face)
    lie = face or best.way
    # Without marks a mirrored pattern may be either: the sheet face down, or the holes.
    own = _own_frame(openings, lie)
    relative = _relative(best.way, lie)
    used = {index for index in best.found if index >= 0}
    shift, turn = _whole(best, lie, wanted) if used else (None, None)
    judged = {
        hole.tooth: _hole(found, wanted, number, best, openings, own)
        for number, hole in enumerate(wanted.holes)
    }
    holes = tuple(judged.get(hole.tooth, _not_found(hole, cut=True)) for hole in every.holes)
    extra = tuple(
        _extra(own[index], opening, wanted, best, own)
        for index, opening in enumerate(openings)
        if index not in used
    )
    several = len(used) >= 3
    return Check(
        wanted=every,
        tolerance_mm=tolerance_mm,
        holes=holes,
        extra=extra,
        laid=_laid(lie),
        pattern=relative,
        face_known=face is not None,
        shift_mm=shift,
        turn_deg=turn if several else None,
        tilt_deg=found.tilt_deg(SheetPoint(0.0, 0.0)),
        sheet_size_mm=found.sheet_size_mm,
    )


def _faces(found: Found, wanted: Wanted) -> tuple[Way, ...]:
    """The ways in which the sheet may lie as its marks tell; none where they do not."""
    if wanted.corner_hole is not None:
        marks, have, near = [wanted.corner_hole], [o.at for o in found.openings], _CORNER_NEAR_MM
    elif wanted.dash is not None:
        marks, have, near = [*wanted.dots, wanted.dash], list(found.pen_marks), _MARK_NEAR_MM
    else:
        return ()
    if not have:
        return ()
    fitting = []
    for way in ways(wanted.sheet):
        laid = way.laid(np.array(marks))
        gaps = np.linalg.norm(laid[:, None] - np.array(have)[None], axis=-1).min(axis=1)
        if (gaps < near).all():
            fitting.append(way)
    return tuple(fitting)


def _without_corner_hole(
    openings: Sequence[Opening], wanted: Wanted, faces: Sequence[Way]
) -> list[Opening]:
    if wanted.corner_hole is None or not faces:
        return list(openings)
    # All the ways that are left put the corner's hole into one place.
    x, y = faces[0].laid(np.array([wanted.corner_hole]))[0]
    nearest = min(openings, key=lambda o: hypot(o.at.x - x, o.at.y - y))
    return [opening for opening in openings if opening is not nearest]


def _face(faces: Sequence[Way], pairings: Sequence[Pairing]) -> Way | None:
    """The one way that the marks leave; a hole in a corner leaves two, straight being the usual."""
    if len(faces) < 2:
        return faces[0] if faces else None
    if STRAIGHT in faces:
        return STRAIGHT
    return next(pairing.way for pairing in pairings if pairing.way in faces)


def _most_likely(pairings: Sequence[Pairing], face: Way | None) -> Pairing:
    """The cheapest pairing, but the expected one where that is hardly dearer."""
    best, expected = pairings[0], face or STRAIGHT
    usual = next(p for p in pairings if p.way == expected)
    return usual if usual.cost < best.cost + CLEARLY else best


def _paired_alone(
    wanted: Wanted, openings: Sequence[Opening], best: Pairing, face: Way | None
) -> Pairing:
    """The pairing of the holes outside the slits, of which there may be none."""
    if not wanted.holes:
        return replace(best, found=(), rest_mm=())
    pairings = pair([hole.at for hole in wanted.holes], [o.at for o in openings], wanted.sheet)
    return _most_likely(pairings, face)


def _cut(
    wanted: Wanted, openings: Sequence[Opening], best: Pairing
) -> tuple[set[Tooth], list[Opening]]:
    """The teeth of the slits that are seen cut, and the long openings that these are."""
    places = {hole.tooth: hole.at for hole in wanted.holes}
    teeth: set[Tooth] = set()
    seen = []
    for slit in wanted.slits:
        row = best.way.laid(np.array([places[tooth] for tooth in slit])) + np.array([best.shift])
        least = _SLIT_SHARE * float(np.linalg.norm(row[-1] - row[0]))
        for opening in openings:
            gaps = [_to_line(np.array(opening.at), a, b) for a, b in pairwise(row)]
            if not opening.round and opening.length_mm > least and min(gaps) < DOUBLED_MM:
                teeth.update(slit)
                seen.append(opening)
    return teeth, seen


def _to_line(point: Array, start: Array, end: Array) -> float:
    along = end - start
    share = np.clip((point - start) @ along / max(float(along @ along), 1e-9), 0.0, 1.0)
    return float(np.linalg.norm(point - start - share * along))


def _not_found(hole: WantedHole, *, cut: bool = False) -> HoleCheck:
    return HoleCheck(
        wanted=hole,
        found=None,
        at=None,
        off_mm=None,
        own_mm=None,
        uncertain_mm=nan,
        size=None,
        sizes_mm=(),
        cut=cut,
    )


def _own_frame(openings: Sequence[Opening], way: Way) -> list[SheetPoint]:
    """Found holes in the sheet's own frame, by how the sheet lies."""
    if not openings:
        return []
    return [SheetPoint(float(x), float(y)) for x, y in way.back(np.array([o.at for o in openings]))]


def _relative(pattern: Way, sheet: Way) -> Pattern:
    if pattern == sheet:
        return "straight"
    return "turned" if pattern.mirrored == sheet.mirrored else "wrong side"


def _laid(way: Way) -> Laid:
    if way.mirrored:
        return "face down"
    return "straight" if way.quarters == 0 else "turned"


def _whole(best: Pairing, lie: Way, wanted: Wanted) -> tuple[SheetPoint, float]:
    """The pattern's shift and turn in the sheet's own frame: shifts of a mirrored or turned
    pattern are those of its middle."""
    middle = np.array([hole.at for hole in wanted.holes]).mean(axis=0, keepdims=True)
    shown = best.way.laid(middle) + np.array([best.shift])
    x, y = (lie.back(shown) - middle)[0]
    return SheetPoint(float(x), float(y)), -best.turn_deg if lie.mirrored else best.turn_deg


def _hole(
    found: Found,
    wanted: Wanted,
    number: int,
    best: Pairing,
    openings: Sequence[Opening],
    own: Sequence[SheetPoint],
) -> HoleCheck:
    hole, index = wanted.holes[number], best.found[number]
    if index < 0:
        return _not_found(hole)
    opening, at = openings[index], own[index]
    several = sum(i >= 0 for i in best.found) >= 3
    size, sizes = _size(opening, hole, wanted.punch_mm)
    return HoleCheck(
        wanted=hole,
        found=opening,
        at=at,
        off_mm=SheetPoint(at.x - hole.at.x, at.y - hole.at.y),
        own_mm=best.rest_mm[number] if several else None,
        uncertain_mm=_uncertain(found, opening),
        size=size,
        sizes_mm=sizes,
    )


def _uncertain(found: Found, opening: Opening) -> float:
    """What the picture leaves, and what the usual lift does at this angle of view, mm."""
    lift = USUAL_LIFT_MM * tan(radians(found.tilt_deg(opening.at)))
    return hypot(FLAT_UNCERTAIN_MM, lift)


def _size(
    opening: Opening, hole: WantedHole, punch_mm: Sequence[float]
) -> tuple[SizeVerdict, tuple[float, ...]]:
    """Whether the hole is of its size, and the punch holes that it may be of."""
    if not opening.round or not opening.diameter_mm:
        return "cannot be told", ()
    may = tuple(mm for mm in punch_mm if abs(mm - opening.diameter_mm) <= SIZE_UNCERTAIN_MM)
    if hole.diameter_mm in may:
        return "right", may
    return ("wrong", may) if may else ("cannot be told", ())


def _extra(
    at: SheetPoint,
    opening: Opening,
    wanted: Wanted,
    best: Pairing,
    own: Sequence[SheetPoint],
) -> ExtraHole:
    near = [
        (hypot(own[index].x - at.x, own[index].y - at.y), number)
        for number, index in enumerate(best.found)
        if index >= 0
    ]
    gap, number = min(near, default=(DOUBLED_MM, -1))
    beside = wanted.holes[number] if gap < DOUBLED_MM else None
    return ExtraHole(at=at, diameter_mm=opening.diameter_mm, beside=beside)
