"""Which tooth stands in each slot of this mouth: the model's row, the age, what the case says.

Knows no geometry; the only millimetres are those of gaps that were measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

import msgspec

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.jaw import SideRow, whole_row
from sheetmark.anatomy.teeth import PRIMARY_LETTERS, SIDES, Jaw, Side, Tooth, tooth_of_slot
from sheetmark.base.sources import Sourced, read_sourced
from sheetmark.case.case import Case, ToothState

# Third molars count as absent until named; younger rows do not hold them at all (assumption).
THIRD_MOLARS_FROM_YEARS = 16


_Years = Annotated[int, msgspec.Meta(ge=4, le=30)]  # against slips (assumption)


class EruptionRow(Sourced, frozen=True, kw_only=True):
    """The usual range in which a permanent tooth erupts: completed years, first and last."""

    tooth: Literal["1", "2", "3", "4", "5", "6", "7"]
    years: tuple[_Years, _Years]


class EruptionTable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The file `eruption.toml`, with its sources by key."""

    sources: dict[str, str]
    upper: tuple[EruptionRow, ...]
    lower: tuple[EruptionRow, ...]


@dataclass(frozen=True, slots=True)
class Dentition:
    """Each side of a jaw from the midline outwards, as `anatomy.jaw.build_arch` takes it."""

    jaw: Jaw
    right: SideRow
    left: SideRow

    @property
    def teeth(self) -> tuple[Tooth, ...]:
        """Every tooth and open gap of the jaw."""
        return tuple(
            tooth_of_slot(self.jaw, side, slot)
            for side, row in zip(SIDES, (self.right, self.left), strict=True)
            for slot, _ in row
        )


def dentition(case: Case, model: ArchModel) -> Dentition:
    """The rows of the case's jaw."""
    return jaw_of(case.treat[0].jaw, case.age, case.special, model)


def jaw_of(jaw: Jaw, age: int | None, states: Iterable[ToothState], model: ArchModel) -> Dentition:
    """The rows of a jaw. A present tooth takes its slot; a closed gap leaves none."""
    row = row_at_age(jaw, age) if age is not None else whole_row(model, jaw)
    known = {state.tooth: state for state in states if state.tooth.jaw == jaw}
    right, left = (_side(known, jaw, side, row) for side in SIDES)
    return Dentition(jaw, right, left)


def row_at_age(jaw: Jaw, years: int) -> SideRow:
    """The usual row at an age in completed years, taken half a year on.

    A permanent tooth stands from the middle of its usual range of eruption (assumption; the
    ranges from memory, see anatomy/eruption.toml); second molars come behind the first.
    """
    ages = eruption_years()[jaw]
    age = years + 0.5

    def erupted(position: int) -> bool:
        first, last = ages[position]
        return age >= (first + last) / 2

    front = [(str(p) if erupted(p) else PRIMARY_LETTERS[p - 1], None) for p in range(1, 6)]
    back = [(str(p), None) for p in (6, 7) if erupted(p)]
    third = [("8", None)] if years >= THIRD_MOLARS_FROM_YEARS else []
    return (*front, *back, *third)


def _side(known: Mapping[Tooth, ToothState], jaw: Jaw, side: Side, row: SideRow) -> SideRow:
    slots = {tooth_of_slot(jaw, side, slot).position: slot for slot, _ in row}
    for tooth, state in known.items():
        if tooth.side == side and state.confirmed:
            slots[tooth.position] = tooth.slot
    items: list[tuple[str, float | None]] = []
    for _, slot in sorted(slots.items()):
        tooth = tooth_of_slot(jaw, side, slot)
        gap = known.get(tooth, ToothState(tooth)).gap_mm
        if gap != 0:
            items.append((slot, gap))
    return tuple(items)


@cache
def eruption_years() -> Mapping[Jaw, Mapping[int, tuple[int, int]]]:
    """The usual range of eruption by jaw and place from the midline, completed years."""
    table = read_sourced(
        files("sheetmark.anatomy") / "eruption.toml", "eruption.toml", EruptionTable
    )
    rows: dict[Jaw, tuple[EruptionRow, ...]] = {"upper": table.upper, "lower": table.lower}
    return {jaw: {int(row.tooth): row.years for row in rows[jaw]} for jaw in rows}
