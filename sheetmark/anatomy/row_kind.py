"""What kind of row some teeth make, and how far its worst hole may be off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from sheetmark.anatomy.teeth import Tooth

RowKind = Literal["one-sided", "front", "full-arch"]
# The same of a mouth that was measured, where one side may be better known than the other.
Stretch = Literal["right", "left", "front", "full-arch"]
_FIRST_MOLAR = 6
# A longer row on one side bends as a front does.
LONGEST_ONE_SIDED = 5


class WorstHole(Struct, frozen=True):
    """Half of the patients stand better than `half_mm`, 95 % better than `most_mm`."""

    half_mm: float
    most_mm: float


def kind_of_row(row: Sequence[Tooth]) -> RowKind | None:
    """Of teeth from the patient's right to the left; None for a single one."""
    if len(row) < 2:
        return None
    first, last = row[0], row[-1]
    if first.side == last.side and len(row) <= LONGEST_ONE_SIDED:
        return "one-sided"
    if first.side != last.side and min(first.position, last.position) >= _FIRST_MOLAR:
        return "full-arch"
    return "front"


def stretch_of(row: Sequence[Tooth]) -> Stretch | None:
    """The kind of row, with the patient's side for a row on one."""
    kind = kind_of_row(row)
    return row[0].side if kind == "one-sided" else kind
