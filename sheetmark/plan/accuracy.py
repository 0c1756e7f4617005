"""How far a page's worst hole may be off from the teeth, where they were not measured.

The figures are those of drawn patients (see `accuracy.toml` and `studies.coverage`), not measured
on patients. A single hole has none: the sheet is laid where its tooth is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

import msgspec

from sheetmark.anatomy.teeth import Jaw, Tooth
from sheetmark.base.sources import Sourced, read_sourced

RowKind = Literal["one-sided", "front", "full-arch"]
FIRST_MOLAR = 6
# A longer row on one side bends as a front does.
LONGEST_ONE_SIDED = 5


@dataclass(frozen=True, slots=True)
class WorstHole:
    """Half of the patients stand better than `half_mm`, 95 % better than `most_mm`."""

    half_mm: float
    most_mm: float


class WorstHoleRow(Sourced, frozen=True, kw_only=True):
    """The figures of one arch model, jaw and kind of row, mm."""

    model: str
    jaw: Jaw
    row: RowKind
    half_mm: Annotated[float, msgspec.Meta(gt=0, lt=20)]
    most_mm: Annotated[float, msgspec.Meta(gt=0, lt=20)]


class WorstHoleTable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The file `accuracy.toml`."""

    sources: dict[str, str]
    worst_hole: tuple[WorstHoleRow, ...]


def kind_of_row(row: Sequence[Tooth]) -> RowKind | None:
    """Of teeth from the patient's right to the left; None for a single one."""
    if len(row) < 2:
        return None
    first, last = row[0], row[-1]
    if first.side == last.side and len(row) <= LONGEST_ONE_SIDED:
        return "one-sided"
    if first.side != last.side and min(first.position, last.position) >= FIRST_MOLAR:
        return "full-arch"
    return "front"


def worst_hole(model: str, row: Sequence[Tooth]) -> WorstHole | None:
    """What is known of a page for these teeth on an arch model; None where nothing is."""
    kind = kind_of_row(row)
    found = (
        known
        for known in _table()
        if (known.model, known.jaw, known.row) == (model, row[0].jaw, kind)
    )
    known = next(found, None)
    return None if known is None else WorstHole(known.half_mm, known.most_mm)


@cache
def _table() -> tuple[WorstHoleRow, ...]:
    path = files("sheetmark.plan") / "accuracy.toml"
    return read_sourced(path, "plan/accuracy.toml", WorstHoleTable).worst_hole
