"""Equilibrium of the membrane: Newton with a line search on an energy that is convex but for the
teeth. A strip may rest on a crown or slide off it: both are equilibria, and Newton finds one.

Held coordinates are given; the rest finds its place. The first guess is the harmonic one (each
node in the balance of its neighbours), unless an earlier solution is at hand. The way to the
answer leads over sheets with a stiffer trace (`energy.TRACE`), which is what load steps would be
for an energy that is not convex: here a full load is no worse a start than a part of it. Should
Newton stall all the same, SolveError says so in words.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray
from scipy.sparse import bsr_matrix, csc_matrix
from scipy.sparse.linalg import splu

from sheetmark.base.findings import NoAnswerError
from sheetmark.base.stopping import go_on
from sheetmark.studies.membrane.contact import Columns, contact_energy, contact_forces
from sheetmark.studies.membrane.energy import (
    TRACE,
    Floats,
    Ints,
    Triangles,
    energy,
    energy_forces_tangent,
)

Mask = NDArray[np.bool_]

# Largest unbalanced force on a free coordinate, as a share of the mean of the holding forces.
TOLERANCE = 1e-8
MOST_ITERATIONS = 200
# A stiffer trace is easy to solve and near the answer: one step down to it, then many.
STIFFER = ((1e-2,), (1.0, 0.3, 0.1, 0.03, 1e-2, 3e-3))
_ENOUGH = 1e-4  # of the fall that the slope promises (Armijo)
_MOST_HALVINGS = 30


class SolveError(NoAnswerError):
    """The sheet found no equilibrium; the message says how far it came."""


class Equilibrium(Struct, frozen=True, kw_only=True):
    """Positions (n, 3), mm; the energy's gradient there, which at held coordinates is the force
    that holds them, per modulus and thickness (mm); the Newton steps taken; what was left
    unbalanced, as a share of the mean holding force; and the number of free nodes."""

    positions: Floats
    gradient: Floats
    energy: float
    iterations: int
    residual: float
    free_nodes: int


class Pattern(Struct, frozen=True, kw_only=True):
    """The sparse matrix of the nodes that are free: where each triangle's 3 x 3 blocks go."""

    nodes: Ints  # the free nodes
    held: Mask  # (free nodes, 3): coordinates of theirs that are held all the same
    take: Ints  # which of the triangles' blocks couple free nodes
    slot: Ints  # where each of them is added
    row: Ints
    start: Ints

    def gathered(self, blocks: Floats, own: Floats | None = None) -> csc_matrix:
        """The matrix from the triangles' second derivatives, (m, 9, 9), and the free nodes' own,
        (n, 3, 3); held coordinates get a 1."""
        flat = blocks.reshape(-1, 3, 3, 3, 3).transpose(0, 1, 3, 2, 4).reshape(-1, 9)[self.take]
        size = len(self.row)
        sums = [np.bincount(self.slot, weights=flat[:, i], minlength=size) for i in range(9)]
        data: Floats = np.stack(sums, axis=1).astype(np.float64).reshape(-1, 3, 3)
        column = np.repeat(np.arange(len(self.nodes)), np.diff(self.start))
        diagonal = np.flatnonzero(self.row == column)
        if own is not None:
            data[diagonal] = data[diagonal] + own
        if self.held.any():
            data *= ~self.held[column][:, :, None] & ~self.held[self.row][:, None, :]
            for i in range(3):
                data[diagonal, i, i] += self.held[:, i]
        n = 3 * len(self.nodes)
        # The matrix is symmetric: its rows are its columns.
        rows = bsr_matrix((data, self.row, self.start), shape=(n, n)).tocsr()
        return csc_matrix((rows.data, rows.indices, rows.indptr), shape=(n, n))


def pattern(sheet: Triangles, held: Mask) -> Pattern:
    """For a mask of held coordinates, (n, 3)."""
    nodes = _eliminated_in_turn(sheet, np.flatnonzero(~held.all(axis=1)), len(held))
    take, first, second = _couples(sheet, nodes, len(held))
    keys, slot = np.unique(first * len(nodes) + second, return_inverse=True)
    column, row = np.divmod(keys, len(nodes))
    start = np.concatenate([[0], np.cumsum(np.bincount(column, minlength=len(nodes)))])
    return Pattern(nodes=nodes, held=held[nodes], take=take, slot=slot, row=row, start=start)


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


class Problem(Struct, frozen=True):
    """A sheet with a mask of held coordinates (n, 3), and the columns it may not enter; its trace
    of stiffness, and what may stay unbalanced."""

    sheet: Triangles
    held: Mask
    columns: Columns | None = None
    trace: float = TRACE
    tolerance: float = TOLERANCE


def equilibrium(problem: Problem, goal: Floats, start: Floats | None = None) -> Equilibrium:
    """The sheet at rest in space: `goal` (n, 3) gives the held coordinates.

    `start` is a first guess for the free ones. Raises SolveError when there is no equilibrium,
    StoppedError where nobody waits for it.
    """
    held = problem.held
    if not held.any(axis=0).all():
        raise SolveError("the sheet is held nowhere, so that it has no equilibrium")
    solver = _Newton(problem, pattern(problem.sheet, held))
    if start is not None:
        found = solver.run(np.where(held, goal, start), problem.trace)
        if found.residual <= problem.tolerance:
            return found
    guess = harmonic(problem.sheet, held, goal)
    for traces in STIFFER:
        positions, taken = guess, 0
        for trace in (*(stiff for stiff in traces if stiff > problem.trace), problem.trace):
            found = solver.run(positions, trace)
            positions, taken = found.positions, taken + found.iterations
        if found.residual <= problem.tolerance:
            return replace(found, iterations=taken)
    raise SolveError(
        f"the sheet found no equilibrium in {taken} steps: forces out of balance by "
        f"{found.residual:.1e} of the mean holding force, over {problem.tolerance:.0e}"
    )


def harmonic(sheet: Triangles, held: Mask, goal: Floats) -> Floats:
    """Each free coordinate in the balance of its neighbours: a soap film's first guess."""
    m, n = len(sheet.area), len(goal)
    g = sheet.gradient
    between = np.matmul(g, g.transpose(0, 2, 1)) * sheet.area[:, None, None]
    rows = np.repeat(sheet.corners, 3, axis=1).ravel()
    columns = np.tile(sheet.corners, (1, 3)).ravel()
    laplace = csc_matrix((between.reshape(m * 9), (rows, columns)), shape=(n, n))
    guess = goal.copy()
    for i in range(3):
        free = np.flatnonzero(~held[:, i])
        fixed = np.flatnonzero(held[:, i])
        if len(free):
            columns_free = laplace[:, free]
            load = -laplace[free][:, fixed] @ goal[fixed, i]
            guess[free, i] = factor(columns_free[free]).solve(load)
    return guess


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


class _Newton:
    """Newton with a line search for one problem."""

    def __init__(self, problem: Problem, plan: Pattern) -> None:
        self.sheet, self.columns, self.plan = problem.sheet, problem.columns, plan
        self.moving, self.tolerance = ~plan.held, problem.tolerance
        self.fixed = np.ones(len(problem.held), dtype=bool)
        self.fixed[plan.nodes[~plan.held.any(axis=1)]] = False
        corners = problem.sheet.corners
        thirds = np.repeat(problem.sheet.area / 3, 3)
        whole = np.bincount(corners.ravel(), weights=thirds, minlength=len(problem.held))
        self.area = np.asarray(whole[plan.nodes], dtype=np.float64)

    def run(self, positions: Floats, trace: float) -> Equilibrium:
        """From these positions; the caller looks at the residual."""
        nodes, iterations = self.plan.nodes, 0
        while True:
            go_on()
            value, gradient, blocks = energy_forces_tangent(self.sheet, positions, trace)
            unbalanced = gradient[nodes]
            if self.columns:
                value += contact_energy(self.columns, positions[nodes], self.area)
                push, _ = contact_forces(self.columns, positions[nodes], self.area)
                unbalanced = unbalanced + push
            unbalanced = np.where(self.moving, unbalanced, 0.0)
            residual = float(np.abs(unbalanced).max(initial=0.0)) / self._holding(gradient)
            if residual <= self.tolerance or iterations == MOST_ITERATIONS:
                return Equilibrium(
                    positions=positions,
                    gradient=gradient,
                    energy=value,
                    iterations=iterations,
                    residual=residual,
                    free_nodes=len(nodes),
                )
            step, slope = self._step(positions, blocks, unbalanced)
            positions = self._search(positions, value, step, slope, trace)
            iterations += 1

    def _step(self, positions: Floats, blocks: Floats, unbalanced: Floats) -> tuple[Floats, float]:
        """Newton's step and the energy's slope along it, always downhill."""
        for exact in (True, False):
            own = None
            if self.columns:
                at = positions[self.plan.nodes]
                _, own = contact_forces(self.columns, at, self.area, exact=exact)
            step = factor(self.plan.gathered(blocks, own), in_turn=True).solve(-unbalanced.ravel())
            step = step.reshape(-1, 3)
            slope = float(np.sum(step * unbalanced))
            if slope < 0:
                break
        return step, slope

    def _search(
        self, positions: Floats, value: float, step: Floats, slope: float, trace: float
    ) -> Floats:
        """As much of the step as lowers the energy enough."""
        share = 1.0
        for _ in range(_MOST_HALVINGS):
            trial = positions.copy()
            trial[self.plan.nodes] += share * step
            reached = energy(self.sheet, trial, trace)
            if self.columns:
                reached += contact_energy(self.columns, trial[self.plan.nodes], self.area)
            if reached <= value + _ENOUGH * share * slope + 1e-13 * abs(value):
                break
            share /= 2
        return trial

    def _holding(self, gradient: Floats) -> float:
        """The mean size of the forces at the held nodes."""
        return float(np.linalg.norm(gradient[self.fixed], axis=1).mean()) + 1e-12
