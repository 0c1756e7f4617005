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

    def slimmed(self, width: float, height: float) -> Columns:
        """The same with a share of their widths and of their height."""
        return Columns(self.centre, self.axes, self.half * [width, width, height])


class Contact(Struct, frozen=True, kw_only=True):
    """What columns do to n nodes: energy, its gradient (n, 3), and each node's second derivative
    (n, 3, 3). The exact one may have negative values, since a column is round; the other never
    has."""

    energy: float
    gradient: Floats
    exact: Floats
    safe: Floats


def contact(columns: Columns | None, positions: Floats, area: Floats) -> Contact:
    """For positions (n, 3) and the area at rest of each node."""
    n = len(positions)
    gradient, exact, safe = np.zeros((n, 3)), np.zeros((n, 3, 3)), np.zeros((n, 3, 3))
    if columns is None:
        return Contact(energy=0.0, gradient=gradient, exact=exact, safe=safe)
    local = np.matmul(positions - columns.centre[:, None], columns.axes.transpose(0, 2, 1))
    column, node = np.nonzero(_size(local, columns.half[:, None]) < 1)
    at, half, axes = local[column, node], columns.half[column], columns.axes[column]
    true_size = _size(at, half)
    weight = HARDNESS * half[:, 0] * half[:, 1] * area[node]
    energy = float(weight @ (1 - true_size) ** 2) / 2

    size = np.maximum(true_size, 1e-3)[:, None]
    across = at[:, :2] / half[:, :2] ** 2
    q2 = np.sum(at[:, :2] * across, axis=1)
    up, tall = np.maximum(at[:, 2], 0.0), half[:, 2]
    slope = np.concatenate([q2[:, None] * across, (up**3 / tall**4)[:, None]], axis=1) / size**3
    outwards = slope[:, :, None] * slope[:, None, :]
    bend = np.zeros((len(at), 3, 3))
    bend[:, :2, :2] = 2 * across[:, :, None] * across[:, None, :]
    bend[:, 0, 0] += q2 / half[:, 0] ** 2
    bend[:, 1, 1] += q2 / half[:, 1] ** 2
    bend[:, 2, 2] = 3 * up**2 / tall**4
    depth, cube = (1 - size)[:, :, None], (size**3)[:, :, None]
    bend = outwards - depth / cube * (bend - 3 * (size**2)[:, :, None] * outwards)

    push = (-weight[:, None] * (1 - size)) * slope
    np.add.at(gradient, node, np.matmul(push[:, None], axes)[:, 0])
    for total, own in ((exact, bend), (safe, outwards)):
        turned = np.matmul(axes.transpose(0, 2, 1), np.matmul(own, axes))
        np.add.at(total, node, weight[:, None, None] * turned)
    return Contact(energy=energy, gradient=gradient, exact=exact, safe=safe)


def _size(local: Floats, half: Floats) -> Floats:
    """1 on the column's surface, less inside; the fourth power rounds the top without an edge."""
    share = local / half
    q2 = share[..., 0] ** 2 + share[..., 1] ** 2
    return np.asarray((q2**2 + np.maximum(share[..., 2], 0.0) ** 4) ** 0.25)
