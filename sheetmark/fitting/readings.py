"""Measures as readings of a jaw: what each of them would be in a given mouth. mm."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from math import dist, fsum, hypot, sqrt

from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.teeth import Jaw, Notation, Tooth, tooth_at, write
from sheetmark.base.findings import Action, Choice, InputError
from sheetmark.fitting.measures import Measure
from sheetmark.fitting.predict import ArchPoint, Mouth, Prior, Reading
from sheetmark.fitting.spread import spread

# The part of a tooth's offset to its contacts that two teeth of one mouth do not share, where a
# length runs from one to the other (assumption).
_OWN_OFFSET = 0.3


def reading(
    measure: Measure, prior: Prior, standing: Collection[Tooth], notation: Notation
) -> Reading:
    """The measure as a reading of the jaw, of whose teeth those stand.

    Raises InputError for a tooth that does not, and for cusp tips that are not tabulated.
    """
    ends = _numbers(measure, prior, standing, notation)
    if measure.kind == "across":
        return _across(measure, prior, ends, notation)
    if measure.kind == "depth":
        return _depth(measure, prior, ends)
    if measure.kind == "row":
        return _row(measure, prior, ends)
    return _teeth(measure, ends)


def _numbers(
    measure: Measure, prior: Prior, standing: Collection[Tooth], notation: Notation
) -> list[int]:
    """The numbers in the row of the teeth that are meant."""
    meant = measure.teeth
    if measure.kind == "depth":
        meant = (tooth_at(prior.jaw, -1), tooth_at(prior.jaw, 1), *meant)
    at_place = {tooth.along for tooth in standing}
    for tooth in meant:
        if tooth not in standing and not (measure.phrase and tooth.along in at_place):
            raise InputError(
                f"measure {measure.text(notation)!r}: tooth {write(tooth, notation)} does not "
                f"stand in this row; name teeth that do, or choose the arch model for the age",
                actions=(Action(Choice.BASE),),
            )
    return [prior.at(tooth.along) for tooth in meant]


def _with_callipers(*sds_mm: float) -> float:
    return hypot(spread().errors.calliper_mm.value, *sds_mm)


def _across(measure: Measure, prior: Prior, ends: list[int], notation: Notation) -> Reading:
    wider, sd_mm = _wider(measure, prior, ends, notation)

    def of(mouth: Mouth) -> float:
        return _apart(mouth.centres, ends) + wider

    return Reading(measure.mm, of, _with_callipers(sd_mm), ends)


def _wider(
    measure: Measure, prior: Prior, ends: list[int], notation: Notation
) -> tuple[float, float]:
    """What the measuring point adds to a width between gum-line centres, and its SD."""
    if measure.point == "centres":
        return 0.0, 0.0
    if measure.point == "contacts":
        contacts = [prior.centres[end].plus(prior.to_contact[end]) for end in ends]
        sds = (abs(prior.facial[end].x * prior.contact_sd_mm[end]) for end in ends)
        return dist(*contacts) - _apart(prior.centres, ends), fsum(sds)
    place = abs(prior.along[ends[0]])
    return _cusp_tips(measure, prior.jaw, place, notation)


def _cusp_tips(measure: Measure, jaw: Jaw, place: int, notation: Notation) -> tuple[float, float]:
    rows = {int(row.tooth): row for row in gum_line_table().jaw(jaw).cusp_tips}
    if place not in rows:
        known = ", ".join(map(str, rows))
        raise InputError(
            f"measure {measure.text(notation)!r}: how far apart the cusp tips of that tooth stand "
            f"is known only for places {known} from the midline; measure it at the gum line or "
            f"at the contacts"
        )
    return rows[place].wider_mm, rows[place].sd_mm


def _depth(measure: Measure, prior: Prior, ends: list[int]) -> Reading:
    front, back = ends[:2], ends[2:]
    contacts = measure.point == "contacts"

    def of(mouth: Mouth) -> float:
        def y(end: int) -> float:
            return (_end(prior, mouth, end, -1.0) if contacts else mouth.centres[end]).y

        return (fsum(map(y, back)) - fsum(map(y, front))) / 2

    sd_mm = fsum(prior.contact_sd_mm[end] for end in front) / 2 if contacts else 0.0
    return Reading(measure.mm, of, _with_callipers(sd_mm), ends)


def _row(measure: Measure, prior: Prior, ends: list[int]) -> Reading:
    along = [prior.along[end] for end in ends]
    across_midline = along[0] * along[1] < 0
    inner, outer = sorted(ends, key=lambda end: abs(prior.along[end]))
    sds = [_OWN_OFFSET * prior.contact_sd_mm[end] for end in ends]
    towards = 1.0 if across_midline else -1.0

    def of(mouth: Mouth) -> float:
        return dist(_end(prior, mouth, outer, 1.0), _end(prior, mouth, inner, towards))

    return Reading(measure.mm, of, _with_callipers(*sds), ends)


def _teeth(measure: Measure, ends: list[int]) -> Reading:
    def of(mouth: Mouth) -> float:
        return fsum(mouth.widths_mm[end] for end in ends)

    return Reading(measure.mm, of, _with_callipers() * sqrt(len(ends)), ends)


def _end(prior: Prior, mouth: Mouth, tooth: int, towards: float) -> ArchPoint:
    """A tooth's contact point: its distal one (1) or its mesial one (-1)."""
    side = 1.0 if prior.along[tooth] > 0 else -1.0
    half = mouth.widths_mm[tooth] / 2
    contact = mouth.centres[tooth].plus(prior.to_contact[tooth])
    return contact.plus(prior.facial[tooth].turned, towards * half * side)


def _apart(points: Sequence[ArchPoint], ends: list[int]) -> float:
    return dist(points[ends[1]], points[ends[0]])


def width_across(ends: list[int]) -> Callable[[Mouth], float]:
    """The width between the gum-line centres of two numbers of the row."""
    return lambda mouth: _apart(mouth.centres, ends)


def row_depth(prior: Prior) -> Callable[[Mouth], float]:
    """From between the central incisors to the line of the first molars, at the gum line."""
    front, back = ([prior.at(-place), prior.at(place)] for place in (1, 6))

    def of(mouth: Mouth) -> float:
        behind, ahead = (fsum(mouth.centres[end].y for end in ends) for ends in (back, front))
        return (behind - ahead) / 2

    return of
