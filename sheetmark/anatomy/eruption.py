"""When permanent teeth erupt. Knows no geometry."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from math import fsum
from pathlib import Path
from typing import Annotated, Literal

import msgspec

from sheetmark.anatomy.teeth import Jaw, Tooth
from sheetmark.base.sources import Sourced, read_sourced

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


@cache
def eruption_years() -> Mapping[Jaw, Mapping[int, tuple[int, int]]]:
    """The usual range of eruption by jaw and place from the midline, completed years."""
    table = read_sourced(Path(__file__).with_name("eruption.toml"), "eruption.toml", EruptionTable)
    rows: dict[Jaw, tuple[EruptionRow, ...]] = {"upper": table.upper, "lower": table.lower}
    return {jaw: {int(row.tooth): row.years for row in rows[jaw]} for jaw in rows}


def mean_eruption_years(tooth: Tooth) -> float | None:
    """The middle of the tooth's usual range (assumption); None where no range is known.

    Third molars and primary teeth have none.
    """
    years = None if tooth.primary else eruption_years()[tooth.jaw].get(tooth.position)
    return None if years is None else fsum(years) / 2


def years_at(age: int) -> float:
    """The likely age of a person of so many completed years: half a year more."""
    return age + 0.5
