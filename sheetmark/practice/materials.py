"""The sheet materials that ship, and how far each stretches before it breaks."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Annotated, Literal

import msgspec

from sheetmark.base.sources import Flag, Sourced, citation, read_sourced
from sheetmark.practice.settings import MaterialName

# What a material's stretch at break was measured on.
TestPiece = Literal["dam", "glove"]


class Material(msgspec.Struct, frozen=True):
    """A sheet material. `stretch_at_break` is length at break over first length, measured on what
    `tested_on` says; `source` is the citation for it, `flag` how sure we are."""

    name: str
    stretch_at_break: float
    tested_on: TestPiece
    source: str
    flag: Flag


class MaterialRow(Sourced, frozen=True, kw_only=True):
    """A row of `materials.toml`: elongation at break in percent, with its SD."""

    name: MaterialName
    elongation_at_break_percent: Annotated[float, msgspec.Meta(gt=0, le=2000)]
    sd_percent: Annotated[float, msgspec.Meta(gt=0, le=200)]
    tested_on: TestPiece


class MaterialTable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The file `materials.toml`, with its sources by key."""

    sources: dict[str, str]
    material: tuple[MaterialRow, ...]


@cache
def materials() -> dict[str, Material]:
    """The sheet materials that ship, by name."""
    path = Path(__file__).with_name("materials.toml")
    table = read_sourced(path, "materials.toml", MaterialTable)
    return {
        row.name: Material(
            row.name,
            1 + row.elongation_at_break_percent / 100,
            row.tested_on,
            citation(row.source),
            row.flag,
        )
        for row in table.material
    }
