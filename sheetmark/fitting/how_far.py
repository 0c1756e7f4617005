"""How far the worst hole of a row may be off from its tooth, in a mouth that was measured. mm.

Mouths are drawn as the measures leave them open, the same for everybody, and the sheet is moved
and turned onto each row as best it fits.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import lru_cache
from math import fsum
from operator import mul
from random import Random

from sheetmark.anatomy.placed import MeasuredRow
from sheetmark.anatomy.row_kind import Stretch, WorstHole, stretch_of
from sheetmark.anatomy.teeth import Tooth, in_arch_order
from sheetmark.fitting.matrix import Matrix, cholesky, product, transposed
from sheetmark.fitting.predict import ArchPoint

MOUTHS = 2000
# Teeth that were seen may be off in fewer ways than they have coordinates; far below any error.
_NOTHING_MM2 = 1e-9
# The share of mouths, %, that `most_mm` holds for.
_MOST = 95.0
# The usual rows of a mouth: four teeth on one side, a front to the first premolars, all but the
# third molars.
_ON_ONE_SIDE, _FRONT_PLACE, _LAST_PLACE = 4, 4, 7


def worst_hole(centres: Sequence[ArchPoint], errors: Matrix, numbers: Sequence[int]) -> WorstHole:
    """Of the row of these teeth. `errors`: every x, then every y, a row each, and a cause to a
    column (see `predict.Predicted`)."""
    own = tuple(tuple(errors[axis * len(centres) + n]) for axis in (0, 1) for n in numbers)
    return _worst_of(tuple(complex(*centres[n]) for n in numbers), own, MOUTHS)


@lru_cache(maxsize=24)  # a fit that was looked at is kept with the same rows
def _worst_of(
    row: tuple[complex, ...], own: tuple[tuple[float, ...], ...], mouths: int
) -> WorstHole:
    spread = product(own, transposed(own))
    for at, line in enumerate(spread):
        line[at] += _NOTHING_MM2
    # As many causes as quantities say the same, and are sooner drawn.
    root = [line[: at + 1] for at, line in enumerate(cholesky(spread))]
    middle = _middle(row)
    offs = sorted(_offs([hole - middle for hole in row], root, _dice(len(own), mouths)))
    return WorstHole(_percentile(offs, 50.0), _percentile(offs, _MOST))


def _offs(holes: Sequence[complex], root: Matrix, mouths: Matrix) -> Iterator[float]:
    """The worst hole of each mouth, mm; a mouth by its independent causes."""
    count, back = len(holes), [hole.conjugate() for hole in holes]
    for dice in mouths:
        error = [fsum(map(mul, row, dice)) for row in root]
        off = list(map(complex, error[:count], error[count:]))
        middle = _middle(off)
        # The turn that brings the holes nearest to the teeth, from where none is.
        turn = 0j
        for hole, mirrored, way in zip(holes, back, off, strict=True):
            turn += mirrored * (hole - way)
        turn = 1 - turn / abs(turn)
        yield max([abs(hole * turn - way + middle) for hole, way in zip(holes, off, strict=True)])


def _middle(points: Sequence[complex]) -> complex:
    """Added in order: alike in every Python, as `sum` is not."""
    total = 0j
    for point in points:
        total += point
    return total / len(points)


@lru_cache(maxsize=4)  # rows of one length follow each other
def _dice(count: int, mouths: int) -> list[list[float]]:
    """That many independent causes, of each mouth."""
    draw = Random(1).gauss
    return [[draw(0.0, 1.0) for _ in range(count)] for _ in range(mouths)]


def _percentile(ordered: Sequence[float], percent: float) -> float:
    at = percent / 100 * (len(ordered) - 1)
    low = int(at)
    return ordered[low] + (at - low) * (ordered[min(low + 1, len(ordered) - 1)] - ordered[low])


def measured_rows(
    centres: Sequence[ArchPoint],
    errors: Matrix,
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
            half_mm=round(max(reach.half_mm for reach in rows), 2),
            most_mm=round(max(reach.most_mm for reach in rows), 2),
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
