"""One jaw of a model, laid out in the mouth frame: where each tooth stands and what it measures.

Everything here is in the mouth frame, mm (see `base.frames`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from math import hypot

from sheetmark.anatomy.arch_model import ArchModel, crowns
from sheetmark.anatomy.chords import Chord, lay_chords
from sheetmark.anatomy.curves import Curve
from sheetmark.anatomy.teeth import Jaw, Side, Tooth, in_arch_order, tooth_of_slot
from sheetmark.base.frames import Direction, MouthPoint

# The centres of the two jaws' second molars stand this far apart in y (assumption); in a younger
# row the last molars do, since a smaller mouth opens less (assumption).
LAST_MOLARS_APART_MM = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothSize:
    """Crown and neck of a tooth, each as the two full axes of an ellipse, mm."""

    mesiodistal_mm: float
    """The crown along the arch."""
    labiolingual_mm: float
    """The crown across the arch."""
    neck_mesiodistal_mm: float
    """The neck along the arch."""
    neck_labiolingual_mm: float
    """The neck across the arch."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a tooth stands, how it is turned and what it measures."""

    tooth: Tooth
    """The tooth."""
    centre: MouthPoint
    """The middle of its chord, mouth frame."""
    facial: Direction
    """Out of the mouth's middle, at right angles to the arch."""
    leftward: Direction
    """Along the arch towards the patient's left."""
    size: ToothSize
    """Its crown and neck."""
    turned_deg: float = 0.0
    """How far it is rotated from `leftward`, anticlockwise as the operator sees it."""

    def moved(self, *, facial_mm: float, mesial_mm: float, turned_deg: float) -> Place:
        """The tooth where it really stands: lingual and distal are negative."""
        along = -mesial_mm if self.tooth.side == "left" else mesial_mm
        x = self.centre[0] + facial_mm * self.facial[0] + along * self.leftward[0]
        y = self.centre[1] + facial_mm * self.facial[1] + along * self.leftward[1]
        return replace(self, centre=MouthPoint(x, y), turned_deg=self.turned_deg + turned_deg)


@dataclass(frozen=True, slots=True)
class Arch:
    """A jaw's teeth as the arch model lays them."""

    model: str
    """The arch model's name."""
    jaw: Jaw
    """Which jaw."""
    places: tuple[Place, ...]
    """Every tooth and open gap, from the patient's right to the left."""
    incisal_y_mm: float
    """The y of the incisal point, mouth frame."""

    def place(self, tooth: Tooth) -> Place:
        """Where the tooth stands. Raises StopIteration for a tooth that the arch does not hold."""
        return next(place for place in self.places if place.tooth == tooth)

    @property
    def teeth(self) -> tuple[Tooth, ...]:
        """The teeth from the patient's right to the left."""
        return tuple(place.tooth for place in self.places)


# One side of a jaw from the midline outwards: slot and, for a gap, its length in mm.
SideRow = tuple[tuple[str, float | None], ...]


def curve_of(model: ArchModel, jaw: Jaw) -> Curve:
    """The jaw's curve: the one it carries, else solved from its centre widths.

    Raises InputError when no curve carries them.
    """
    return model.jaw(jaw).curve or _solved(model, jaw)


@cache
def _solved(model: ArchModel, jaw: Jaw) -> Curve:
    from sheetmark.anatomy.solve import CentrePair, solve_sixth_order

    table = model.jaw(jaw)
    lengths, items = row_lengths(model, jaw, row_with(model, jaw, table.solve_from))
    front, back = (
        CentrePair(items.index(slot), table.centre_width(slot).mm, f"tooth {slot}")
        for slot in table.solve_from
    )
    return solve_sixth_order(lengths, front, back)


def whole_row(model: ArchModel, jaw: Jaw) -> SideRow:
    """One side of the model's own row, every tooth standing."""
    return tuple((slot, None) for slot in model.jaw(jaw).row)


def row_with(model: ArchModel, jaw: Jaw, slots: tuple[str, ...]) -> SideRow:
    """The model's own row, and behind it those of the slots that it does not hold."""
    own = whole_row(model, jaw)
    return own + tuple((slot, None) for slot in slots if (slot, None) not in own)


def row_lengths(
    model: ArchModel, jaw: Jaw, row: SideRow
) -> tuple[tuple[float, ...], tuple[str, ...]]:
    """Chord lengths in mm from the midline outwards, and the slot of each; "" for a space."""
    lengths: list[float] = []
    items: list[str] = []
    for slot, gap_mm in row:
        lengths.append(model.width(jaw, slot)[0].mm if gap_mm is None else gap_mm)
        items.append(slot)
        space = model.jaw(jaw).space_after(slot)
        if space:
            lengths.append(space)
            items.append("")
    return tuple(lengths), tuple(items)


@cache
def build_arch(
    model: ArchModel, jaw: Jaw, right: SideRow | None = None, left: SideRow | None = None
) -> Arch:
    """The jaw of the model in the mouth frame, with the given teeth, or the model's own row.

    Where both sides hold the same teeth they are exact mirror images. Raises InputError when no
    curve carries the model's widths, or when the teeth run past the end of its curve.
    """
    own = whole_row(model, jaw)
    curve = curve_of(model, jaw)
    # `up` turns depth behind the incisal point into y towards the nose.
    up = 1.0 if jaw == "upper" else -1.0
    incisal_y = up * (LAST_MOLARS_APART_MM / 2 + _last_molar_depth(model, jaw, curve))
    places: dict[Tooth, Place] = {}
    sides: tuple[tuple[Side, SideRow | None], ...] = (("right", right), ("left", left))
    for side, given in sides:
        lengths, items = row_lengths(model, jaw, own if given is None else given)
        chords = lay_chords(curve.depth, lengths, curve.reach_mm)
        for item, length, chord in zip(items, lengths, chords, strict=True):
            if item:
                tooth = tooth_of_slot(jaw, side, item)
                places[tooth] = _place(tooth, length, chord, incisal_y, up)
    ordered = tuple(places[tooth] for tooth in in_arch_order(places))
    return Arch(model.name, jaw, ordered, incisal_y)


def _last_molar_depth(model: ArchModel, jaw: Jaw, curve: Curve) -> float:
    """Depth of the second molar's centre, or of the last tooth in a row that has none yet."""
    lengths, items = row_lengths(model, jaw, whole_row(model, jaw))
    chords = lay_chords(curve.depth, lengths, curve.reach_mm)
    last = "7" if "7" in items else model.jaw(jaw).row[-1]
    return chords[items.index(last)].centre[1]


def _place(tooth: Tooth, mesiodistal_mm: float, chord: Chord, incisal_y: float, up: float) -> Place:
    sign = 1.0 if tooth.side == "left" else -1.0
    length = hypot(chord.end[0] - chord.start[0], chord.end[1] - chord.start[1])
    across = (chord.end[0] - chord.start[0]) / length
    back = (chord.end[1] - chord.start[1]) / length
    crown = crowns().crown(tooth.jaw, tooth.slot)
    return Place(
        tooth=tooth,
        centre=MouthPoint(sign * chord.centre.x, incisal_y - up * chord.centre.y),
        facial=Direction(sign * back, up * across),
        leftward=Direction(across, -sign * up * back),
        size=ToothSize(
            mesiodistal_mm=mesiodistal_mm,
            labiolingual_mm=crown.labiolingual_mm,
            neck_mesiodistal_mm=crown.neck_mesiodistal_mm,
            neck_labiolingual_mm=crown.neck_labiolingual_mm,
        ),
    )
