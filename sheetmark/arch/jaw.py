"""One jaw of a model, laid out in the mouth frame: where each tooth stands and what it measures.

Mouth frame, mm: seen by the operator facing the patient, x to the operator's right (the
patient's left), y towards the patient's nose, origin on the midline half way between the jaws.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import hypot

from sheetmark.arch.chords import Chord, Point, lay_chords
from sheetmark.arch.curves import Curve
from sheetmark.arch.model import ArchModel, JawModel, crowns
from sheetmark.teeth import Jaw, Side, Tooth, in_arch_order

# Second-molar centres of the two jaws stand this far apart in y (assumption).
SECOND_MOLARS_APART_MM = 20.0


@dataclass(frozen=True, slots=True)
class Size:
    """Crown and neck of a tooth as ellipse axes, mm."""

    mesiodistal_mm: float
    labiolingual_mm: float
    neck_mesiodistal_mm: float
    neck_labiolingual_mm: float


@dataclass(frozen=True, slots=True)
class Place:
    """A tooth in the mouth frame: its chord's middle, and unit vectors out of the mouth's middle
    (`facial`) and along the arch towards the patient's left (`leftward`)."""

    tooth: Tooth
    centre: Point
    facial: Point
    leftward: Point
    size: Size


@dataclass(frozen=True, slots=True)
class Arch:
    """A jaw's teeth, from the patient's right to the left, and the y of its incisal point."""

    model: str
    jaw: Jaw
    places: tuple[Place, ...]
    incisal_y_mm: float

    def place(self, tooth: Tooth) -> Place:
        return next(place for place in self.places if place.tooth == tooth)

    @property
    def teeth(self) -> tuple[Tooth, ...]:
        return tuple(place.tooth for place in self.places)


def curve_of(jaw: JawModel) -> Curve:
    """The jaw's curve: the one it carries, else solved from its centre widths.

    Raises InputError when no curve carries them.
    """
    return jaw.curve or _solved(jaw)


@cache
def _solved(jaw: JawModel) -> Curve:
    from sheetmark.arch.solve import CentrePair, solve_sixth_order

    front, back = (
        CentrePair(jaw.row.index(slot), jaw.centre_width(slot).mm, f"tooth {slot}")
        for slot in jaw.solve_from
    )
    return solve_sixth_order(_lengths(jaw), front, back)


def _lengths(jaw: JawModel) -> tuple[float, ...]:
    return tuple(jaw.width(slot).mm for slot in jaw.row)


def build_arch(model: ArchModel, jaw: Jaw) -> Arch:
    """The jaw of the model in the mouth frame. Left and right are exact mirror images.

    Raises InputError when no curve carries the model's widths.
    """
    return _build(model.name, jaw, model.jaw(jaw))


@cache
def _build(model: str, jaw: Jaw, table: JawModel) -> Arch:
    curve = curve_of(table)
    chords = lay_chords(curve.depth, _lengths(table), curve.reach_mm)
    second_molar = chords[table.row.index("7")]
    # `up` turns depth behind the incisal point into y towards the nose.
    up = 1.0 if jaw == "upper" else -1.0
    incisal_y = up * (SECOND_MOLARS_APART_MM / 2 + second_molar.centre[1])
    places = [
        _place(table, jaw, slot, side, chord, incisal_y, up)
        for slot, chord in zip(table.row, chords, strict=True)
        for side in ("right", "left")
    ]
    by_tooth = {place.tooth: place for place in places}
    ordered = tuple(by_tooth[tooth] for tooth in in_arch_order(by_tooth))
    return Arch(model, jaw, ordered, incisal_y)


def _place(
    table: JawModel, jaw: Jaw, slot: str, side: Side, chord: Chord, incisal_y: float, up: float
) -> Place:
    sign = 1.0 if side == "left" else -1.0
    length = hypot(chord.end[0] - chord.start[0], chord.end[1] - chord.start[1])
    across = (chord.end[0] - chord.start[0]) / length
    back = (chord.end[1] - chord.start[1]) / length
    centre = (sign * chord.centre[0], incisal_y - up * chord.centre[1])
    crown = crowns().crown(jaw, slot)
    size = Size(
        table.width(slot).mm,
        crown.labiolingual_mm,
        crown.neck_mesiodistal_mm,
        crown.neck_labiolingual_mm,
    )
    return Place(
        tooth=_tooth(jaw, side, slot),
        centre=centre,
        facial=(sign * back, up * across),
        leftward=(across, -sign * up * back),
        size=size,
    )


def _tooth(jaw: Jaw, side: Side, slot: str) -> Tooth:
    quadrant = {"upper": {"right": 1, "left": 2}, "lower": {"left": 3, "right": 4}}[jaw][side]
    if slot.isdigit():
        return Tooth(quadrant, int(slot))
    return Tooth(quadrant + 4, "ABCDE".index(slot) + 1)
