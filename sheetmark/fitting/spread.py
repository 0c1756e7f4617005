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
from importlib.resources import files
from typing import Annotated

import msgspec
import numpy as np
from numpy.typing import ArrayLike, NDArray

from sheetmark.anatomy.gum_line_table import LAST_POSITION, Position
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import InputError
from sheetmark.base.sources import Sourced, read_sourced

Array = NDArray[np.float64]

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

    def across_mm(self, jaw: Jaw) -> Array:
        """The SDs of the widths across by place, mm."""
        rows = self.upper if jaw == "upper" else self.lower
        return np.array([row.sd_mm for row in rows.across])


@cache
def spread() -> Spread:
    """The spread of real mouths. Raises InputError for a file whose rows are not in order."""
    shown = "spread.toml"
    found = read_sourced(files("sheetmark.fitting") / shown, shown, Spread)
    wanted = [str(place) for place in range(1, LAST_POSITION + 1)]
    for name in JAWS:
        rows = found.upper if name == "upper" else found.lower
        if [row.tooth for row in rows.across] != wanted:
            raise InputError(f"{shown}: {name}.across: give a row for each of {', '.join(wanted)}")
    return found


def loadings(jaw: Jaw, along: Sequence[int], tooth_mm: Array, own_mm: float | None = None) -> Array:
    """The loadings of a row's teeth; `along` is right negative, `tooth_mm` the SD of each width,
    `own_mm` another SD of each tooth's own place along each axis. Not to be written to."""
    own = spread().causes.own_mm.value if own_mm is None else own_mm
    return _loadings(jaw, tuple(along), tuple(tooth_mm), own)


# A jaw is predicted again and again: at each change on the page, and for each drawn mouth.
@lru_cache(maxsize=16)
def _loadings(jaw: Jaw, along: tuple[int, ...], sds: tuple[float, ...], own: float) -> Array:
    known, tooth_mm = spread(), np.array(sds)
    causes = known.causes
    teeth = len(along)
    places = np.array([abs(a) - 1 for a in along])
    side = np.sign(np.array(along, float))
    columns: list[Array] = []

    def cause(x: ArrayLike = 0.0, y: ArrayLike = 0.0, w: ArrayLike = 0.0) -> None:
        parts = [np.broadcast_to(np.asarray(part, float), (teeth,)) for part in (x, y, w)]
        columns.append(np.concatenate(parts))

    # What is each tooth's own is part of the published spread of the widths.
    half = np.sqrt(np.maximum((known.across_mm(jaw) / 2) ** 2 - own**2 / 2, 0.01))
    steps = np.arange(LAST_POSITION)
    correlation = known.correlations.neighbours.value ** np.abs(steps[:, None] - steps)
    root = np.linalg.cholesky(correlation) * half[:, None]
    for number in range(LAST_POSITION):
        cause(x=side * root[places, number])

    def longer(width: Array) -> Array:
        """How far further back each tooth stands when the teeth of its side are wider."""
        return causes.takes_room.value * _row_to(width, places, side)

    two, pair = known.correlations.teeth.value, known.correlations.pair.value
    # All teeth large: wider arches a little, and longer rows.
    size = tooth_mm * two**0.5
    cause(side * half[places] * known.correlations.tooth_arch.value / two**0.5, longer(size), size)
    for place in range(LAST_POSITION):
        both = np.where(places == place, tooth_mm, 0.0) * (pair - two) ** 0.5
        cause(0.0, longer(both), both)
    for number in range(teeth):
        here = np.arange(teeth) == number
        alone = np.where(here, tooth_mm, 0.0) * (1 - pair) ** 0.5
        cause(0.0, longer(alone), alone)
        cause(x=here * own)
        cause(y=here * own)
    for place in range(1, LAST_POSITION):
        cause(y=causes.link_mm.value * (places >= place))
    cause(y=causes.lean_mm.value * np.array(_LEAN)[places])
    cause(y=causes.ahead_mm.value * side * places / (_AHEAD_PLACE - 1))
    stacked = np.stack(columns, axis=1)
    stacked.flags.writeable = False
    return stacked


def _row_to(width: Array, places: NDArray[np.int_], side: Array) -> Array:
    """From each side's first tooth to each of its teeth, middle to middle, as the widths have it;
    the midline's own half of a central incisor carries nothing backwards."""
    reach = np.zeros(len(width))
    for number, place in enumerate(places):
        if place:
            before = (side == side[number]) & (places < place)
            ends = np.where(places == 0, 0.5, 1.0)
            reach[number] = (width * ends)[before].sum() + width[number] / 2
    return reach
