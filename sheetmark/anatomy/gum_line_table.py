"""The file `gum_line.toml` as a checked record: what the tables of widths do not give of the row.

Three samples of real mouths stand behind it: gum-line-landmarks, crown-scans and whole-teeth in the
bibliography.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Annotated, Literal

import msgspec

from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import InputError
from sheetmark.base.sources import Flag, Sourced, read_sourced

Link = Literal["1-2", "2-3", "3-4", "4-5", "5-6", "6-7", "7-8"]
Position = Literal["1", "2", "3", "4", "5", "6", "7", "8"]

LAST_POSITION = 8
# Links of the front have no share of their own: it follows from the first width across.
FIRST_SHARED = 3


class DirectionRow(Sourced, frozen=True, kw_only=True):
    """The direction of the link between two neighbours: 0 straight across, 90 straight back."""

    link: Link
    deg: Annotated[float, msgspec.Meta(gt=0, lt=90)]
    note: str = ""


class ShareRow(Sourced, frozen=True, kw_only=True):
    """The distance of two neighbours' gum-line centres over what their crown widths ask."""

    link: Link
    share: Annotated[float, msgspec.Meta(ge=0.5, le=1.5)]
    note: str = ""


class LingualRow(Sourced, frozen=True, kw_only=True):
    """How far a tooth's gum-line centre lies lingual of its contact middle, with the SD, mm."""

    tooth: Position
    mm: Annotated[float, msgspec.Meta(ge=-10, le=10)]
    sd_mm: Annotated[float, msgspec.Meta(gt=0, le=5)]
    note: str = ""


class MesialRow(Sourced, frozen=True, kw_only=True):
    """How far a tooth's contact middle lies mesial of its gum-line centre, mm."""

    tooth: Position
    mm: Annotated[float, msgspec.Meta(ge=-5, le=5)]
    note: str = ""


class CuspTipRow(Sourced, frozen=True, kw_only=True):
    """The width between a pair's cusp tips less that between its gum-line centres, mm. The SD has
    a flag of its own."""

    tooth: Position
    wider_mm: Annotated[float, msgspec.Meta(ge=-10, le=10)]
    sd_mm: Annotated[float, msgspec.Meta(gt=0, le=5)]
    sd_flag: Flag
    note: str = ""


class JawTable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One jaw's rows, each kind from the midline outwards."""

    directions: tuple[DirectionRow, ...]
    shares: tuple[ShareRow, ...]
    lingual: tuple[LingualRow, ...]
    mesial: tuple[MesialRow, ...]
    cusp_tips: tuple[CuspTipRow, ...]


class GumLineTable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The file, with the text of its sources by key."""

    sources: dict[str, str]
    upper: JawTable
    lower: JawTable

    def jaw(self, jaw: Jaw) -> JawTable:
        """The rows of one jaw."""
        return self.upper if jaw == "upper" else self.lower


class Reference(msgspec.Struct, frozen=True):
    """One jaw's figures in order from the midline; place p of a list is at p - 1."""

    direction_deg: tuple[float, ...]
    """Of the links 1-2 to 7-8."""
    share: tuple[float, ...]
    """Of the links 1-2 to 7-8; 1 in the front."""
    lingual_mm: tuple[float, ...]
    """How far the gum-line centre lies lingual of the contact middle, teeth 1 to 8."""
    mesial_mm: tuple[float, ...]
    """How far the contact middle lies mesial of the gum-line centre, teeth 1 to 8."""


@cache
def gum_line_table() -> GumLineTable:
    """The table. Raises InputError for a file whose rows are not complete and in order."""
    shown = "gum_line.toml"
    table = read_sourced(Path(__file__).with_name(shown), shown, GumLineTable)
    links = [f"{p}-{p + 1}" for p in range(1, LAST_POSITION)]
    for name in JAWS:
        jaw = table.jaw(name)
        _check(shown, f"{name}.directions", [row.link for row in jaw.directions], links)
        shared = links[FIRST_SHARED - 1 :]
        _check(shown, f"{name}.shares", [row.link for row in jaw.shares], shared)
        teeth = [str(p) for p in range(1, LAST_POSITION + 1)]
        _check(shown, f"{name}.lingual", [row.tooth for row in jaw.lingual], teeth)
        _check(shown, f"{name}.mesial", [row.tooth for row in jaw.mesial], teeth)
    return table


def _check(shown: str, key: str, found: Sequence[str], wanted: Sequence[str]) -> None:
    if list(found) != list(wanted):
        raise InputError(f"{shown}: {key}: rows {', '.join(found)}; give {', '.join(wanted)}")


@cache
def reference(jaw: Jaw) -> Reference:
    """The jaw's figures without their sources."""
    table = gum_line_table().jaw(jaw)
    return Reference(
        tuple(row.deg for row in table.directions),
        (1.0,) * (FIRST_SHARED - 1) + tuple(row.share for row in table.shares),
        tuple(row.mm for row in table.lingual),
        tuple(row.mm for row in table.mesial),
    )
