"""Teeth as solid columns: without them the rubber would pull itself through the teeth.

A column has its neck's cross-section, goes on without end below it, and is rounded off above at
the height of a crown. The sheet slides on it without friction. A node inside pays for its depth.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from sheetmark.studies.membrane.energy import Floats

# Force per depth and area at rest, per modulus and thickness (1/mm^2): hard enough for depths of
# a few hundredths of a mm, soft enough for Newton (ours).
HARDNESS = 20.0


class Columns(Struct, frozen=True):
    """k columns: centres of the necks (k, 3), axes as rows (k, 3, 3), and half lengths along them
    (k, 3), the last one the height."""

    centre: Floats
    axes: Floats
    half: Floats


def contact_energy(columns: Columns, positions: Floats, area: Floats) -> float:
    """For positions (n, 3) and the area at rest of each node."""
    total = 0.0
    for local, half in _local(columns, positions):
        size = _size(local, half)
        depth = np.maximum(1 - size, 0.0) ** 2
        total += HARDNESS / 2 * float(half[0] * half[1] * (area @ depth))
    return total


def contact_forces(
    columns: Columns, positions: Floats, area: Floats, *, exact: bool = True
) -> tuple[Floats, Floats]:
    """The gradient (n, 3) and each node's second derivative (n, 3, 3).

    The exact one may have negative values, since a column is round; the other never has.
    """
    gradient, blocks = np.zeros_like(positions), np.zeros((len(positions), 3, 3))
    for number, (local, half) in enumerate(_local(columns, positions)):
        size = _size(local, half)
        inside = np.flatnonzero(size < 1)
        if not len(inside):
            continue
        at, size = local[inside], np.maximum(size[inside], 1e-3)
        across = at[:, :2] / half[:2] ** 2
        q2 = np.sum(at[:, :2] ** 2 / half[:2] ** 2, axis=1)
        up = np.maximum(at[:, 2], 0.0)
        slope = np.concatenate([q2[:, None] * across, up[:, None] ** 3 / half[2] ** 4], axis=1)
        slope /= size[:, None] ** 3
        weight = HARDNESS * half[0] * half[1] * area[inside]
        second = slope[:, :, None] * slope[:, None, :]
        if exact:
            bend = np.zeros((len(inside), 3, 3))
            bend[:, :2, :2] = 2 * across[:, :, None] * across[:, None, :]
            bend[:, 0, 0] += q2 / half[0] ** 2
            bend[:, 1, 1] += q2 / half[1] ** 2
            bend[:, 2, 2] = 3 * up**2 / half[2] ** 4
            bend -= 3 * (size**2)[:, None, None] * second
            second = second - ((1 - size) / size**3)[:, None, None] * bend
        axes = columns.axes[number]
        gradient[inside] += (-weight * (1 - size))[:, None] * slope @ axes
        blocks[inside] += weight[:, None, None] * np.matmul(axes.T, np.matmul(second, axes))
    return gradient, blocks


def _local(columns: Columns, positions: Floats) -> list[tuple[Floats, Floats]]:
    return [
        ((positions - centre) @ axes.T, half)
        for centre, axes, half in zip(columns.centre, columns.axes, columns.half, strict=True)
    ]


def _size(local: Floats, half: Floats) -> Floats:
    """1 on the column's surface, less inside; the fourth power rounds the top without an edge."""
    q2 = (local[:, 0] / half[0]) ** 2 + (local[:, 1] / half[1]) ** 2
    up = np.maximum(local[:, 2], 0.0) / half[2]
    return np.asarray((q2**2 + up**4) ** 0.25)
