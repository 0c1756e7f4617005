"""How mouths differ from the arch model: the spread of gum-line centres and tooth widths of a jaw.

A mouth is the model plus the sum of independent causes, each normal; `spread.toml` holds how large
they are and where that comes from. `loadings` has a quantity to a row and a cause to a column, mm
for one SD of the cause, so the covariance is loadings @ loadings.T. Quantities: the x of every
tooth, the y of every tooth, their widths; arch axes, x to the patient's left and y backwards; teeth
from the patient's right to the left.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from math import fsum, sqrt
from pathlib import Path
from typing import Annotated

import msgspec

from sheetmark.anatomy.gum_line_table import LAST_POSITION, Position
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import InputError
from sheetmark.base.sources import Sourced, read_sourced
from sheetmark.fitting.matrix import Vector, cholesky, transposed

# How much of the front's lean a tooth takes, by place: 0 stays, 1 moves back (assumption).
_LEAN = (0.0, 0.25, 0.7, 1.0, 1.0, 1.0, 1.0, 1.0)
# The place at which one side stands a whole SD ahead of the other: the second molar.
_AHEAD_PLACE = 7


class AcrossRow(Sourced, frozen=True, kw_only=True):
    """The SD of a width between the gum-line centres of a tooth's right and left."""

    tooth: Position
    sd_mm: Annotated[float, msgspec.Meta(gt=0, le=10)]
    note: str = ""


class JawSpread(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One jaw's rows, from the midline outwards."""

    across: tuple[AcrossRow, ...]


class Value(Sourced, frozen=True, kw_only=True):
    """One figure; mm, or a share or correlation from 0 to 1."""

    value: Annotated[float, msgspec.Meta(gt=0, le=10)]
    note: str = ""


class Correlations(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Correlations of widths; the file says of which."""

    neighbours: Value
    teeth: Value
    pair: Value
    tooth_arch: Value


class Causes(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What moves teeth, mm for one SD, and the share of excess width that lengthens a row."""

    own_mm: Value
    own_printed_mm: Value
    takes_room: Value
    link_mm: Value
    lean_mm: Value
    ahead_mm: Value


class Errors(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """SDs of what is measured, mm."""

    calliper_mm: Value
    point_mm: Value
    tooth_mm: Value


class Spread(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The file `spread.toml`, with the text of its sources by key."""

    sources: dict[str, str]
    upper: JawSpread
    lower: JawSpread
    correlations: Correlations
    causes: Causes
    errors: Errors

    def across_mm(self, jaw: Jaw) -> list[float]:
        """The SDs of the widths across by place, mm."""
        rows = self.upper if jaw == "upper" else self.lower
        return [row.sd_mm for row in rows.across]


@cache
def spread() -> Spread:
    """The spread of real mouths. Raises InputError for a file whose rows are not in order."""
    shown = "spread.toml"
    found = read_sourced(Path(__file__).with_name(shown), shown, Spread)
    wanted = [str(place) for place in range(1, LAST_POSITION + 1)]
    for name in JAWS:
        rows = found.upper if name == "upper" else found.lower
        if [row.tooth for row in rows.across] != wanted:
            raise InputError(f"{shown}: {name}.across: give a row for each of {', '.join(wanted)}")
    return found


@lru_cache(maxsize=16)  # a jaw is predicted again and again: at each change on the page
def loadings(
    jaw: Jaw, along: tuple[int, ...], tooth_mm: tuple[float, ...], own_mm: float | None = None
) -> list[list[float]]:
    """The loadings of a row's teeth; `along` is right negative, `tooth_mm` the SD of each width,
    `own_mm` another SD of each tooth's own place along each axis. Not to be written to."""
    known = spread()
    causes = known.causes
    own = causes.own_mm.value if own_mm is None else own_mm
    teeth = range(len(along))
    places = [abs(at) - 1 for at in along]
    side = [1.0 if at > 0 else -1.0 for at in along]
    none = [0.0 for _ in teeth]
    columns: list[list[float]] = []

    def cause(*, x: Vector = none, y: Vector = none, w: Vector = none) -> None:
        columns.append([*x, *y, *w])

    # What is each tooth's own is part of the published spread of the widths.
    half = [sqrt(max((sd / 2) ** 2 - own**2 / 2, 0.01)) for sd in known.across_mm(jaw)]
    steps, near = range(LAST_POSITION), known.correlations.neighbours.value
    root = cholesky([[near ** abs(first - other) for other in steps] for first in steps])
    for number in steps:
        cause(x=[side[at] * half[places[at]] * root[places[at]][number] for at in teeth])

    def wider(width: Vector, x: Vector = none) -> None:
        """These teeth are wider, and those behind them stand further back."""
        row = _row_to(width, places, side)
        cause(x=x, y=[causes.takes_room.value * reach for reach in row], w=width)

    two, pair = known.correlations.teeth.value, known.correlations.pair.value
    # All teeth large: wider arches a little, and longer rows.
    arch = known.correlations.tooth_arch.value / two**0.5
    wider([mm * two**0.5 for mm in tooth_mm], [side[at] * half[places[at]] * arch for at in teeth])
    for place in steps:
        wider([tooth_mm[at] * (pair - two) ** 0.5 * (places[at] == place) for at in teeth])
    for number in teeth:
        here = [float(at == number) for at in teeth]
        wider([mm * (1 - pair) ** 0.5 * at for mm, at in zip(tooth_mm, here, strict=True)])
        cause(x=[own * at for at in here])
        cause(y=[own * at for at in here])
    for place in range(1, LAST_POSITION):
        cause(y=[causes.link_mm.value * (at >= place) for at in places])
    cause(y=[causes.lean_mm.value * _LEAN[at] for at in places])
    ahead = causes.ahead_mm.value / (_AHEAD_PLACE - 1)
    cause(y=[ahead * side[at] * places[at] for at in teeth])
    return transposed(columns)


def _row_to(width: Vector, places: Sequence[int], side: Vector) -> list[float]:
    """From each side's first tooth to each of its teeth, middle to middle, as the widths have it;
    the midline's own half of a central incisor carries nothing backwards."""
    reach = []
    for number, place in enumerate(places):
        before = (
            width[at] * (0.5 if other == 0 else 1.0)
            for at, other in enumerate(places)
            if side[at] == side[number] and other < place
        )
        reach.append(fsum(before) + width[number] / 2 if place else 0.0)
    return reach
