"""How far the worst hole of a row may be off from its tooth, in a mouth that was measured. mm.

Mouths are drawn as the measures leave them open, the same for everybody, and the sheet is moved
and turned onto each row as best it fits.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from sheetmark.anatomy.placed import MeasuredRow
from sheetmark.anatomy.row_kind import Stretch, WorstHole, stretch_of
from sheetmark.anatomy.teeth import Tooth, in_arch_order
from sheetmark.fitting.spread import Array

_MOUTHS = 2000
# The share of mouths, %, that `most_mm` holds for.
_MOST = 95.0
# The usual rows of a mouth: four teeth on one side, a front to the first premolars, all but the
# third molars.
_ON_ONE_SIDE, _FRONT_PLACE, _LAST_PLACE = 4, 4, 7


def worst_hole(centres: Array, errors: Array, numbers: Sequence[int]) -> WorstHole:
    """Of the row of these teeth. `centres`: a tooth to a row, x and y; `errors`: every x, then
    every y, a row each, and a cause to a column (see `predict.Predicted`)."""
    dice = np.random.Generator(np.random.PCG64(1))
    causes = dice.standard_normal((errors.shape[1], _MOUTHS))
    x, y = (errors[[axis * len(centres) + n for n in numbers]] @ causes for axis in (0, 1))
    holes = (centres[numbers, 0] + 1j * centres[numbers, 1])[:, None]
    teeth = holes - x - 1j * y
    holes, teeth = holes - holes.mean(axis=0), teeth - teeth.mean(axis=0)
    turn = (holes.conj() * teeth).sum(axis=0)
    off = np.abs(teeth - holes * turn / np.abs(turn)).max(axis=0)
    half, most = np.percentile(off, (50.0, _MOST))
    return WorstHole(float(half), float(most))


def measured_rows(
    centres: Array,
    errors: Array,
    numbers: Mapping[Tooth, int],
    source: str,
) -> tuple[MeasuredRow, ...]:
    """The usual rows of the teeth that stand, each kind as its worst; `numbers` has each of them
    with its number among the centres."""
    found: dict[Stretch, list[WorstHole]] = {}
    for row in _usual_rows(numbers):
        stretch = stretch_of(row)
        if stretch is not None:
            off = worst_hole(centres, errors, [numbers[tooth] for tooth in row])
            found.setdefault(stretch, []).append(off)
    return tuple(
        MeasuredRow(
            row=stretch,
            half_mm=round(max(one.half_mm for one in rows), 2),
            most_mm=round(max(one.most_mm for one in rows), 2),
            source=source,
            flag="D",
        )
        for stretch, rows in found.items()
    )


def _usual_rows(standing: Collection[Tooth]) -> list[tuple[Tooth, ...]]:
    teeth = [tooth for tooth in in_arch_order(standing) if tooth.position <= _LAST_PLACE]
    right, left = ([tooth for tooth in teeth if tooth.side == side] for side in ("right", "left"))
    rows = [right[:_ON_ONE_SIDE], right[1 : _ON_ONE_SIDE + 1]]
    rows += [left[-_ON_ONE_SIDE:], left[-_ON_ONE_SIDE - 1 : -1]]
    rows += [[tooth for tooth in teeth if tooth.position <= _FRONT_PLACE], teeth]
    return [tuple(row) for row in rows]
