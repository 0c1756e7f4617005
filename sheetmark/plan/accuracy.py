"""How far a page's worst hole may be off from the teeth.

The figures are those of drawn patients, not measured on patients: for an average arch from a table
(see `accuracy.toml` and `studies.coverage`), for a mouth that was measured from what was measured
(see `fitting.how_far`). A single hole has none: the sheet is laid where its tooth is.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import msgspec

from sheetmark.anatomy.arch_model import ArchModel, model_names
from sheetmark.anatomy.row_kind import RowKind, WorstHole, kind_of_row, stretch_of
from sheetmark.anatomy.teeth import Jaw, Tooth
from sheetmark.base.sources import Sourced, read_sourced

if TYPE_CHECKING:
    # numpy is no part of a plain overlay.
    from sheetmark.fitting.measured import Measured


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
    """The text of each source, by its key."""
    worst_hole: tuple[WorstHoleRow, ...]
    """A row for each model, jaw and kind of row."""


def worst_hole(
    model: ArchModel, row: Sequence[Tooth], measured: Measured | None = None
) -> WorstHole | None:
    """What is known of a page for these teeth, from the patient's right to the left, on an arch
    model, or on what was measured of this mouth. None for a single hole, and where nothing is."""
    kind = kind_of_row(row)
    if kind is None:
        return None
    jaw = row[0].jaw
    if measured is not None:
        return measured.worst_hole(row)
    if model.jaw(jaw).placed:
        return model.jaw(jaw).worst_hole_of(stretch_of(row))
    if model.name not in model_names():
        return None
    found = (
        known
        for known in _table()
        if (known.model, known.jaw, known.row) == (model.name, jaw, kind)
    )
    known = next(found, None)
    return None if known is None else WorstHole(known.half_mm, known.most_mm)


@cache
def _table() -> tuple[WorstHoleRow, ...]:
    path = Path(__file__).with_name("accuracy.toml")
    return read_sourced(path, "plan/accuracy.toml", WorstHoleTable).worst_hole
