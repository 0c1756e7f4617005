"""A jaw of a new model from landmarks of its cast: holes go to the patient's own teeth. mm.

Landmarks are refused where they cannot be teeth of one jaw at true scale; all else that is odd is
named, and stays as it was seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import dist, hypot
from typing import cast

import msgspec
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import JawModel, Slot
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import Tooth, in_arch_order, tooth_of_slot
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError
from sheetmark.fitting.fit import (
    JawFit,
    Origin,
    Seen,
    placed_rows,
    side_row,
    teeth_of,
)
from sheetmark.fitting.from_callipers import not_measured, rows_off
from sheetmark.fitting.landmarks import CastPoint, Kind, Landmark
from sheetmark.fitting.matrix import dot
from sheetmark.fitting.mouth import arch_with, prior_of
from sheetmark.fitting.place_teeth import (
    UNUSUAL_PLACE_SDS,
    Found,
    Sighting,
    misfit_mm,
    place_teeth,
    times_as_far,
)
from sheetmark.fitting.predict import UNUSUAL_SDS, ArchPoint, Mouth, Prior

# Two teeth give the plane its direction.
TEETH_NEEDED = 2
# Distances over the base's: not in mm at all, or worth a look (assumptions).
SCALE_LIMITS, SCALE_USUAL = (0.7, 1.4), (0.88, 1.12)
# Neighbours of a crowded mouth: one may stand this far past the other, along the arch, but not in
# its place (assumptions; the narrowest pitch is about 5, so two exchanged names are further past).
OVERLAP_MM, ONE_PLACE_MM = 2.5, 1.0
# Points that fit the mirror image better by this much are mirrored; where they fit it as well
# within this much, nobody can tell (assumption).
MIRROR_MM = 1.0


def fit_landmarks(landmarks: Sequence[Landmark], y_down: bool, origin: Origin) -> JawFit:
    """The base's jaw with every tooth that was seen where it was seen, and the others as best
    predicted.

    `y_down`: the points' y counts downwards. Raises InputError, with the figures, for landmarks
    too few, out of scale or out of order, and for a jaw that was measured before.
    """
    if len(landmarks) < TEETH_NEEDED:
        raise InputError(
            f"landmarks: teeth: {len(landmarks)}; at least {TEETH_NEEDED} of one jaw are needed"
        )
    base, jaw, kind = origin.base, landmarks[0].tooth.jaw, landmarks[0].kind
    own = base.jaw(jaw)
    if own.placed:
        raise InputError(
            f"arch model {base.name}: its {jaw} jaw was measured already; "
            f"choose the base model that it came from"
        )
    seen = [landmark.tooth for landmark in landmarks]
    held = teeth_of(jaw, own, seen)
    arch = build_arch(base, jaw, side_row(held, "right"), side_row(held, "left"))
    prior = prior_of(arch, base)
    up = -1.0 if (jaw == "upper") != y_down else 1.0
    sightings = [_sighting(landmark, prior, up) for landmark in landmarks]
    scale = _scale(prior, sightings, kind, origin)
    sightings, mirrored = _right_way_round(prior, sightings, kind, y_down)
    found = place_teeth(prior, sightings, kind)
    _check_order(found.mouth, prior, landmarks, origin)

    done = arch_with(arch, found.mouth)
    row = _shared_row(own, held, seen)
    standing = tuple(tooth for tooth in held if tooth in seen or tooth.slot in row)
    table = msgspec.structs.replace(
        own,
        row=row,
        placed=placed_rows(done, seen, origin),
        worst_hole=rows_off(prior, found.mouth, found.left.errors, standing),
    )
    return JawFit(
        jaw,
        table,
        standing,
        tuple(figure for figure, _ in not_measured(prior, found.mouth, standing, origin.notation)),
        (*scale, *_row_differs(row, own.row, origin), *mirrored, *_odd(landmarks, found, origin)),
        _seen(landmarks, sightings, found),
    )


def _sighting(landmark: Landmark, prior: Prior, up: float) -> Sighting:
    """The landmark with y as the arch has it: seen from the biting side the arch's y, backwards,
    runs up in the lower jaw and down in the upper one."""
    points = tuple(ArchPoint(x, up * y) for x, y in landmark.points)
    x, y = landmark.middle
    middle = ArchPoint(x, up * y)
    return Sighting(prior.at(landmark.tooth.along), middle, landmark.width_mm, points)


def _mirrored(sighting: Sighting) -> Sighting:
    x, y = sighting.middle
    points = tuple(ArchPoint(-px, py) for px, py in sighting.points)
    return replace(sighting, middle=ArchPoint(-x, y), points=points)


def _scale(prior: Prior, seen: Sequence[Sighting], kind: Kind, origin: Origin) -> list[Finding]:
    """Refuses landmarks that are not in mm, and doubts those that are all large or all small."""
    ratio = times_as_far(prior, seen, kind)
    apart = f"teeth stand {ratio:.2f} times as far apart as those of {origin.base.name}"
    if not SCALE_LIMITS[0] <= ratio <= SCALE_LIMITS[1]:
        low, high = SCALE_LIMITS
        raise InputError(f"landmarks: {apart}; limits {low:g} to {high:g}; scale the picture to mm")
    if SCALE_USUAL[0] <= ratio <= SCALE_USUAL[1]:
        return []
    return [
        Finding(
            Code.UNUSUAL_SCALE,
            "warning",
            f"{apart.capitalize()}.",
            "Check the scale of the picture against a length measured on the cast.",
            prior.jaw,
            ratio,
            SCALE_USUAL[ratio > 1],
        )
    ]


def _right_way_round(
    prior: Prior, seen: list[Sighting], kind: Kind, y_down: bool
) -> tuple[list[Sighting], list[Finding]]:
    """The landmarks as they are, or their mirror image where that fits better."""
    image = [_mirrored(sighting) for sighting in seen]
    plain, turned = (misfit_mm(prior, points, kind) for points in (seen, image))
    if plain - turned > MIRROR_MM:
        y_axis = "upwards, not downwards" if y_down else "downwards, not upwards"
        finding = Finding(
            Code.MIRRORED,
            "warning",
            f"MIRRORED PICTURE: as given, teeth stand {plain:.1f} mm from their usual places, "
            f"mirrored only {turned:.1f} mm. The mirror image was fitted.",
            f"Right and left are exchanged: y counts {y_axis}, the photograph shows a mirror, or "
            "teeth are named for the wrong side. Find out which before you use this arch.",
            prior.jaw,
            plain,
            turned,
            (Action(Choice.Y_DOWN, drop=y_down),),
        )
        return image, [finding]
    if turned - plain > MIRROR_MM:
        return seen, []
    finding = Finding(
        Code.MIRROR_UNKNOWN,
        "warning",
        "These teeth stand too nearly in one line to show whether the picture is a mirror image.",
        "Make sure that it is not, or measure teeth of both sides.",
        prior.jaw,
        turned - plain,
        MIRROR_MM,
    )
    return seen, [finding]


def _check_order(mouth: Mouth, prior: Prior, landmarks: Sequence[Landmark], origin: Origin) -> None:
    """Refuses neighbours that lie along the arch in another order than they are named, or in one
    place; where teeth crowd, one may stand behind the other."""
    middles = {landmark.tooth: landmark.middle for landmark in landmarks}
    for first, other in pairwise(in_arch_order(middles)):
        at = [prior.at(first.along), prior.at(other.along)]
        there, step = (
            points[at[1]].plus(points[at[0]], -1.0) for points in (mouth.centres, prior.centres)
        )
        if (
            dot(there, step) < -OVERLAP_MM * hypot(*step)
            or dist(middles[first], middles[other]) < ONE_PLACE_MM
        ):
            raise InputError(
                f"landmarks: teeth {origin.write(first)} and {origin.write(other)} lie along the "
                f"arch in the other order, or in one place; correct their names"
            )


def _shared_row(own: JawModel, held: Sequence[Tooth], seen: Sequence[Tooth]) -> tuple[Slot, ...]:
    """The model's row, alike on both sides: its own, and what was seen in its place or behind it
    where the sides agree."""
    by_place = {tooth.along: tooth.slot for tooth in held}
    reach = max(len(own.row), *(tooth.position for tooth in seen))
    places = [_place(slot) for slot in own.row]
    slots: dict[int, str] = dict(zip(places, own.row, strict=True))
    for place in range(1, reach + 1):
        if place > places[-1] or (place in slots and by_place[place] == by_place[-place]):
            slots[place] = by_place[place]
    return cast("tuple[Slot, ...]", tuple(slot for _, slot in sorted(slots.items())))


def _place(slot: str) -> int:
    return tooth_of_slot("upper", "left", slot).position


def _row_differs(row: Sequence[str], own: Sequence[str], origin: Origin) -> list[Finding]:
    if tuple(row) == tuple(own):
        return []
    return [
        Finding(
            Code.ROW_DIFFERS,
            "warning",
            f"The landmarks hold other teeth than {origin.base.name}; the new row is "
            f"{' '.join(row)}.",
            "Check that all of these teeth are present, or choose the base model for the age.",
            actions=(Action(Choice.BASE),),
        )
    ]


def _odd(landmarks: Sequence[Landmark], found: Found, origin: Origin) -> list[Finding]:
    """Names teeth that stand, or are as wide, as the others do not let expect."""
    findings = []
    for landmark, off in zip(landmarks, found.off, strict=True):
        name = origin.write(landmark.tooth)
        if off.sds > UNUSUAL_PLACE_SDS:
            ways = f"{_way(off.facial_mm, 'facial', 'lingual')}, " + _way(
                off.mesial_mm, "mesial", "distal"
            )
            findings.append(
                Finding(
                    Code.STRAY_POINT,
                    "warning",
                    f"{name} stands away from where the other teeth would put it: {ways}.",
                    "Check its points. If it does stand there, all is well: its hole goes there.",
                    landmark.tooth.jaw,
                    off.sds,
                    UNUSUAL_PLACE_SDS,
                )
            )
        if abs(off.width_sds) > UNUSUAL_SDS:
            assert landmark.width_mm is not None, "only a width that was seen is odd"
            findings.append(
                Finding(
                    Code.ODD_WIDTH,
                    "warning",
                    f"{name}: its points lie {landmark.width_mm:.2f} mm apart; from the other "
                    f"teeth {landmark.width_mm - off.width_mm:.2f} would be expected.",
                    "Check both points.",
                    landmark.tooth.jaw,
                    abs(off.width_sds),
                    UNUSUAL_SDS,
                )
            )
    return findings


def _way(mm: float, plus: str, minus: str) -> str:
    return f"{abs(mm):.1f} mm {plus if mm > 0 else minus}"


def _seen(
    landmarks: Sequence[Landmark], sightings: Sequence[Sighting], found: Found
) -> tuple[Seen, ...]:
    seen = [
        Seen(
            landmark.tooth,
            tuple(
                CastPoint(*point.plus(found.mouth.centres[sighting.number], -1.0))
                for point in points
            ),
            landmark.width_mm,
            off.facial_mm,
            off.mesial_mm,
            off.sds > UNUSUAL_PLACE_SDS,
        )
        for landmark, sighting, points, off in zip(
            landmarks, sightings, found.points, found.off, strict=True
        )
    ]
    return tuple(sorted(seen, key=lambda sighting: sighting.off_mm, reverse=True))
