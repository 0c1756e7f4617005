"""One jaw of a model, laid out in the mouth frame: where each tooth stands and what it measures.

A tooth's place is two points that are never mixed: the gum-line centre, where the rim of its hole
comes to rest, and the contact middle, between the points where it touches its neighbours, where its
crown is measured. Everything here is in the mouth frame, mm (see `base.frames`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from math import hypot

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import FIRST_MOLAR, ArchModel, crowns
from sheetmark.anatomy.chords import ArchPoint, lay_chords
from sheetmark.anatomy.curves import Curve
from sheetmark.anatomy.gum_line import Chain, RowTooth, lay_chain
from sheetmark.anatomy.gum_line_table import Reference, reference
from sheetmark.anatomy.placed import Placed
from sheetmark.anatomy.teeth import SIDES, Jaw, Side, Tooth, in_arch_order, read, tooth_of_slot
from sheetmark.base.frames import Direction, MouthPoint

# The gum-line centres of upper and lower first molars stand this far apart in y (assumption, chosen
# so that a centred sheet of 152 has its upper incisor holes about 25 below its edge). The mouth
# hangs on them at every age, on the place where they will come in a row without.
FIRST_MOLARS_APART_MM = 46.0


class ToothSize(Struct, frozen=True, kw_only=True):
    """Crown and neck of a tooth, each as the two full axes of an ellipse, mm."""

    mesiodistal_mm: float
    """The crown along the arch."""
    labiolingual_mm: float
    """The crown across the arch."""
    neck_mesiodistal_mm: float
    """The neck along the arch."""
    neck_labiolingual_mm: float
    """The neck across the arch."""


class Place(Struct, frozen=True):
    """Where a tooth stands, how it is turned and what it measures."""

    tooth: Tooth
    """The tooth."""
    centre: MouthPoint
    """The gum-line centre, mouth frame: holes and necks go there."""
    contact: MouthPoint
    """The contact middle, mouth frame: the crown stands there."""
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
        dx = facial_mm * self.facial[0] + along * self.leftward[0]
        dy = facial_mm * self.facial[1] + along * self.leftward[1]
        return replace(
            self,
            centre=MouthPoint(self.centre.x + dx, self.centre.y + dy),
            contact=MouthPoint(self.contact.x + dx, self.contact.y + dy),
            turned_deg=self.turned_deg + turned_deg,
        )


class Arch(Struct, frozen=True):
    """A jaw's teeth as the arch model lays them."""

    model: str
    """The arch model's name."""
    jaw: Jaw
    """Which jaw."""
    places: tuple[Place, ...]
    """Every tooth and open gap, from the patient's right to the left."""
    incisal_y_mm: float
    """The y of the incisal point, mouth frame: the contact middle of the model's most forward
    tooth, or the curve's own point at the midline."""
    seen: tuple[Tooth, ...] = ()
    """The teeth whose own places were measured; the places of all others are predicted. Empty where
    nothing but the model is known."""
    missed_mm: tuple[tuple[int, float], ...] = ()
    """By place from the midline, what a width across came to less what the model asks, where it is
    out of reach of the teeth; the nearest was laid."""

    def place(self, tooth: Tooth) -> Place:
        """Where the tooth stands. Raises StopIteration for a tooth that the arch does not hold."""
        return next(place for place in self.places if place.tooth == tooth)

    @property
    def teeth(self) -> tuple[Tooth, ...]:
        """The teeth from the patient's right to the left."""
        return tuple(place.tooth for place in self.places)


# One side of a jaw from the midline outwards: slot and, for a gap, its length in mm.
SideRow = tuple[tuple[str, float | None], ...]


class _Spot(Struct, frozen=True):
    """Where a tooth stands in the arch's axes, the direction of the row outwards there, and how
    long the tooth is along the row."""

    centre: ArchPoint
    contact: ArchPoint
    across: float
    back: float
    width_mm: float


def whole_row(model: ArchModel, jaw: Jaw) -> SideRow:
    """One side of the model's own row, every tooth standing."""
    return _standing(model.jaw(jaw).row)


def row_lengths(
    model: ArchModel, jaw: Jaw, row: SideRow
) -> tuple[tuple[float, ...], tuple[str, ...]]:
    """Chord lengths in mm from the midline outwards, and the slot of each; "" for a space."""
    lengths: list[float] = []
    items: list[str] = []
    for (slot, _), tooth in zip(row, _teeth(model, jaw, row), strict=True):
        lengths.append(tooth.mesiodistal_mm)
        items.append(slot)
        if tooth.space_mm:
            lengths.append(tooth.space_mm)
            items.append("")
    return tuple(lengths), tuple(items)


@cache
def chain_of(model: ArchModel, jaw: Jaw) -> Chain:
    """The model's own row, and the teeth behind it as far as its widths and the first molar, laid
    by their gum-line centres."""
    table = model.jaw(jaw)
    teeth = _teeth(model, jaw, _standing(table.reaching_row))
    return lay_chain(teeth, table.across_mm, reference(jaw))


@cache
def build_arch(
    model: ArchModel, jaw: Jaw, right: SideRow | None = None, left: SideRow | None = None
) -> Arch:
    """The jaw of the model in the mouth frame, with the given teeth, or the model's own row.

    Where both sides hold the same teeth they are exact mirror images. A model that carries a curve
    of its own is laid along it, chord by chord; then one point is both of a tooth's. Raises
    InputError when the teeth run past the end of such a curve.
    """
    own = whole_row(model, jaw)
    # `up` turns depth into y towards the nose.
    up = 1.0 if jaw == "upper" else -1.0
    start_y = up * (FIRST_MOLARS_APART_MM / 2 + _molar_depth(model, jaw))
    places: dict[Tooth, Place] = {}
    sides: tuple[tuple[Side, SideRow | None], ...] = (("right", right), ("left", left))
    for side, given in sides:
        row = own if given is None else given
        for (slot, _), spot in zip(row, _spots(model, jaw, side, row), strict=True):
            place = _place(tooth_of_slot(jaw, side, slot), spot, start_y, up)
            places[place.tooth] = place
    table = model.jaw(jaw)
    on_curve = table.curve is not None and not table.placed
    own_spots = [spot for side in SIDES for spot in _spots(model, jaw, side, own)]
    front_depth = 0.0 if on_curve else min(spot.contact.y for spot in own_spots)
    laid = table.curve is None and not table.placed
    return Arch(
        model.name,
        jaw,
        tuple(places[tooth] for tooth in in_arch_order(places)),
        start_y - up * front_depth,
        tuple(tooth for tooth in in_arch_order(places) if tooth.iso in table.seen),
        tuple(chain_of(model, jaw).missed_mm.items()) if laid else (),
    )


def _standing(slots: Iterable[str]) -> SideRow:
    return tuple((slot, None) for slot in slots)


def _position(slot: str) -> int:
    return tooth_of_slot("upper", "left", slot).position


def _molar_depth(model: ArchModel, jaw: Jaw) -> float:
    """Depth of the first molars' gum-line centres, where they stand or will stand; their mean."""
    own = model.jaw(jaw).row
    before = [slot for slot in own if _position(slot) < _position(FIRST_MOLAR)]
    row = _standing((*before, FIRST_MOLAR))
    right, left = (_spots(model, jaw, side, row)[-1].centre.y for side in SIDES)
    return (right + left) / 2


def _teeth(model: ArchModel, jaw: Jaw, row: SideRow) -> tuple[RowTooth, ...]:
    return tuple(
        RowTooth(
            _position(slot),
            model.width(jaw, slot)[0].mm if gap_mm is None else gap_mm,
            model.jaw(jaw).space_after(slot),
        )
        for slot, gap_mm in row
    )


def _spots(model: ArchModel, jaw: Jaw, side: Side, row: SideRow) -> tuple[_Spot, ...]:
    """Where the teeth of one side stand, seen as the left one."""
    laid = _laid(model, jaw, row)
    table = model.jaw(jaw)
    if not table.placed:
        return laid
    placed = [(read(given.tooth, "iso"), given) for given in table.placed]
    known = {tooth.position: given for tooth, given in placed if tooth.side == side}
    own_row = table.reaching_row
    own = zip(own_row, _laid(model, jaw, _standing(own_row)), strict=True)
    own_centres = {_position(slot): spot.centre for slot, spot in own}
    return tuple(_as_measured(jaw, side, row, laid, known, own_centres))


def _laid(model: ArchModel, jaw: Jaw, row: SideRow) -> tuple[_Spot, ...]:
    """The same as the model's widths alone have it."""
    curve = model.jaw(jaw).curve
    if curve is not None:
        return _on_curve(curve, *row_lengths(model, jaw, row))
    chain = chain_of(model, jaw)
    teeth = _teeth(model, jaw, row)
    offsets = reference(jaw)
    return tuple(
        _on_gum_line(centre, chain.line.slope(centre.x), tooth, offsets)
        for tooth, centre in zip(teeth, chain.lay(teeth), strict=True)
    )


def _as_measured(
    jaw: Jaw,
    side: Side,
    row: SideRow,
    laid: Sequence[_Spot],
    known: Mapping[int, Placed],
    own: Mapping[int, ArchPoint],
) -> Iterator[_Spot]:
    """The spots of a side in a mouth that was measured.

    A tooth that was seen stands where it was seen, whatever the case says of the others. Any other
    keeps its predicted place, unless a tooth in front of it is missing: then it moves as the
    model's row moves it, but past no tooth that was seen. `own` has the model's row as it is laid
    with all its teeth, `known` the places of the mouth; both by place from the midline.
    """
    sign = 1.0 if side == "left" else -1.0
    kept_x = kept_y = off_x = off_y = 0.0
    behind, changed = 0, False
    for (slot, gap_mm), spot in zip(row, laid, strict=True):
        position, width = _position(slot), spot.width_mm
        here = known.get(position)
        own_tooth = tooth_of_slot(jaw, side, slot).iso
        stands = gap_mm is None and here is not None and here.tooth == own_tooth
        # Anything between this tooth and the last that was seen may have moved it.
        changed = changed or not stands or position != behind + 1
        behind = position
        if here is not None:
            at = own[position]
            moved_x, moved_y = spot.centre.x - at.x, spot.centre.y - at.y
            width = here.width_mm if stands else width
            if stands and here.seen:
                kept_x, kept_y, changed = moved_x, moved_y, False
            by_x, by_y = (moved_x - kept_x, moved_y - kept_y) if changed else (0.0, 0.0)
            centre = ArchPoint(sign * here.x_mm + by_x, here.y_mm + by_y)
            off_x, off_y = centre.x - spot.centre.x, centre.y - spot.centre.y
        else:
            centre = ArchPoint(spot.centre.x + off_x, spot.centre.y + off_y)
        contact = ArchPoint(
            centre.x + (spot.contact.x - spot.centre.x), centre.y + (spot.contact.y - spot.centre.y)
        )
        yield replace(spot, centre=centre, contact=contact, width_mm=width)


def _on_gum_line(centre: ArchPoint, slope: float, tooth: RowTooth, offsets: Reference) -> _Spot:
    unit = hypot(1.0, slope)
    across, back = 1 / unit, slope / unit
    at = tooth.position - 1
    facial, mesial = offsets.lingual_mm[at], offsets.mesial_mm[at]
    contact = ArchPoint(
        centre.x + facial * back - mesial * across, centre.y - facial * across - mesial * back
    )
    return _Spot(centre, contact, across, back, tooth.mesiodistal_mm)


def _on_curve(
    curve: Curve, lengths: tuple[float, ...], items: tuple[str, ...]
) -> tuple[_Spot, ...]:
    spots = []
    chords = lay_chords(curve.depth, lengths, curve.reach_mm)
    for item, width, chord in zip(items, lengths, chords, strict=True):
        if item:
            length = hypot(chord.end.x - chord.start.x, chord.end.y - chord.start.y)
            across = (chord.end.x - chord.start.x) / length
            back = (chord.end.y - chord.start.y) / length
            spots.append(_Spot(chord.centre, chord.centre, across, back, width))
    return tuple(spots)


def _place(tooth: Tooth, spot: _Spot, start_y: float, up: float) -> Place:
    sign = 1.0 if tooth.side == "left" else -1.0
    crown = crowns().crown(tooth.jaw, tooth.slot)
    return Place(
        tooth=tooth,
        centre=MouthPoint(sign * spot.centre.x, start_y - up * spot.centre.y),
        contact=MouthPoint(sign * spot.contact.x, start_y - up * spot.contact.y),
        facial=Direction(sign * spot.back, up * spot.across),
        leftward=Direction(spot.across, -sign * up * spot.back),
        size=ToothSize(
            mesiodistal_mm=spot.width_mm,
            labiolingual_mm=crown.labiolingual_mm,
            neck_mesiodistal_mm=crown.neck_mesiodistal_mm,
            neck_labiolingual_mm=crown.neck_labiolingual_mm,
        ),
    )
