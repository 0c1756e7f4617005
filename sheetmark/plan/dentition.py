"""Which tooth stands in each slot of this mouth: the model's row, the age, what the case says.

Knows no geometry; the only millimetres are those of gaps that were measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.eruption import mean_eruption_years, years_at
from sheetmark.anatomy.jaw import SideRow, whole_row
from sheetmark.anatomy.teeth import (
    PRIMARY_LETTERS,
    SIDES,
    Jaw,
    Side,
    Tooth,
    tooth_at,
    tooth_of_slot,
)
from sheetmark.base.findings import Action, Choice, InputError
from sheetmark.case.case import Case, ToothState
from sheetmark.case.exceptions import state_terms

# Third molars count as absent until named; younger rows do not hold them at all (assumption).
THIRD_MOLARS_FROM_YEARS = 16


class Dentition(Struct, frozen=True):
    """Each side of a jaw from the midline outwards, as `anatomy.jaw.build_arch` takes it."""

    jaw: Jaw
    right: SideRow
    """The patient's right."""
    left: SideRow
    """The patient's left."""

    @property
    def teeth(self) -> tuple[Tooth, ...]:
        """Every tooth and open gap of the jaw."""
        return tuple(
            tooth_of_slot(self.jaw, side, slot)
            for side, row in zip(SIDES, (self.right, self.left), strict=True)
            for slot, _ in row
        )


def dentition(case: Case, model: ArchModel) -> Dentition:
    """The rows of the case's jaw.

    Raises InputError for a description of a tooth in whose place its other form stands.
    """
    jaw = case.treat[0].jaw
    rows = jaw_of(jaw, case.age, case.special, model)
    for state in case.special:
        if state.tooth.jaw == jaw and state.tooth not in rows.teeth:
            _check_form(case, state, rows)
    return rows


def _check_form(case: Case, state: ToothState, rows: Dentition) -> None:
    """A tooth cannot be described while the primary or permanent one stands in its place."""
    along = state.tooth.along
    standing = next((t for t in rows.teeth if t.along == along and case.state(t).real), None)
    if standing is None:
        return
    tooth, other = case.write([state.tooth]), case.write([standing])
    raise InputError(
        f"tooth {tooth} {' '.join(state_terms(state))}: {other} stands in its place; describe "
        f"{other} instead, mark {other} as missing, or mark {tooth} as present",
        actions=(Action(Choice.WITH),),
    )


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

    def erupted(position: int) -> bool:
        mean = mean_eruption_years(tooth_at(jaw, position))
        return mean is not None and years_at(years) >= mean

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
