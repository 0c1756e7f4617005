"""The sparse matrix of the sheet's second derivatives: its pattern is found once for a mesh, then
filled at each step and factored."""

from __future__ import annotations

from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from scipy.sparse import bsr_matrix, csc_matrix
from scipy.sparse.linalg import splu

from sheetmark.studies.membrane.energy import Floats, Ints, Triangles

Mask = NDArray[np.bool_]


class Pattern(Struct, frozen=True, kw_only=True):
    """Where the 3 x 3 blocks of the triangles go among the free coordinates."""

    nodes: Ints  # those with a free coordinate, in the order of elimination
    free: Ints  # their free coordinates, numbered 3 * node + direction in that order
    take: Ints  # which of the triangles' blocks couple such nodes
    slot: Ints  # to which pair of nodes each of them belongs
    pairs: int
    diagonal: Ints  # the pair of each node with itself
    place: Ints  # where each of the matrix's values stands among the sums
    rows: Ints
    starts: Ints

    def summed(self, blocks: Floats) -> Floats:
        """The triangles' second derivatives (m, 9, 9) by pair of directions and pair of nodes."""
        by_direction = blocks.reshape(-1, 3, 3, 3, 3).transpose(2, 4, 0, 1, 3).reshape(9, -1)
        return np.stack(
            [np.bincount(self.slot, of[self.take], minlength=self.pairs) for of in by_direction]
        )

    def matrix(self, sums: Floats, own: Floats) -> csc_matrix:
        """The matrix of the sums and the nodes' own second derivatives, (nodes, 3, 3)."""
        sums = sums.copy()
        sums[:, self.diagonal] += own.reshape(-1, 9).T
        n = len(self.free)
        return csc_matrix((sums.ravel()[self.place], self.rows, self.starts), shape=(n, n))


def pattern(sheet: Triangles, held: Mask) -> Pattern:
    """For a mask of held coordinates, (n, 3)."""
    nodes = _eliminated_in_turn(sheet, np.flatnonzero(~held.all(axis=1)), len(held))
    take, first, second = _couples(sheet, nodes, len(held))
    keys, slot = np.unique(first * len(nodes) + second, return_inverse=True)
    column, row = np.divmod(keys, len(nodes))
    starts = np.concatenate([[0], np.cumsum(np.bincount(column, minlength=len(nodes)))])
    # A matrix of the values' own places; it is symmetric, so that its rows are its columns.
    pairs = len(keys)
    places = np.arange(9).reshape(3, 3) * pairs + np.arange(pairs)[:, None, None] + 1
    n = 3 * len(nodes)
    whole = bsr_matrix((places, row, starts), shape=(n, n)).tocsr()
    free = np.flatnonzero(~held[nodes].ravel())
    if len(free) < n:
        whole = whole[free][:, free]
    return Pattern(
        nodes=nodes,
        free=free,
        take=take,
        slot=slot,
        pairs=pairs,
        diagonal=np.flatnonzero(row == column),
        place=whole.data - 1,
        rows=whole.indices,
        starts=whole.indptr,
    )


def _couples(sheet: Triangles, nodes: Ints, count: int) -> tuple[Ints, Ints, Ints]:
    """Which pairs of corners, of the nine of each triangle, are both among the nodes, and their
    numbers in the order of the nodes; `count` is that of all nodes."""
    number = np.full(count, -1, dtype=np.intp)
    number[nodes] = np.arange(len(nodes))
    corner = number[sheet.corners]
    first, second = np.repeat(corner, 3, axis=1).ravel(), np.tile(corner, (1, 3)).ravel()
    take = np.flatnonzero((first >= 0) & (second >= 0))
    return take, first[take], second[take]


def _eliminated_in_turn(sheet: Triangles, nodes: Ints, count: int) -> Ints:
    """The nodes in an order in which elimination keeps the matrix sparse: found once for the mesh,
    so that no step looks for it again."""
    if not len(nodes):
        return nodes
    _, row, column = _couples(sheet, nodes, count)
    # Any matrix of that pattern will do, if it is positive definite: the diagonal outweighs a row.
    weights = np.where(row == column, 2.0, -0.5)
    n = len(nodes)
    graph = csc_matrix((weights, (row, column)), shape=(n, n))
    return np.asarray(nodes[np.argsort(factor(graph).perm_c)], dtype=np.intp)


def factor(matrix: csc_matrix, *, in_turn: bool = False) -> Any:
    """Symmetric and positive definite: no pivoting, and an order that keeps it sparse, unless its
    rows stand in such an order already."""
    return splu(
        matrix.tocsc(),
        permc_spec="NATURAL" if in_turn else "MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        # Small panels: these matrices have few entries in a column.
        relax=1,
        panel_size=4,
        options={"SymmetricMode": True},
    )
