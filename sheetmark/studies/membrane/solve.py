"""Equilibrium of the membrane: Newton within a reach, on an energy that is convex but for the
teeth. A strip may rest on a crown or slide off it: both are equilibria.

Held coordinates are given; the rest finds its place. Unless an earlier solution is at hand the
sheet is solved along two paths, and the one that ends at less energy is kept. Both start from the
harmonic guess (each node in the balance of its neighbours), with a stiffer trace (`energy.TRACE`)
and with teeth that are slim and low, which then grow to their size (`PATHS`).
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from scipy.sparse import csc_matrix

from sheetmark.base.findings import NoAnswerError
from sheetmark.base.stopping import go_on
from sheetmark.studies.membrane.contact import Columns, Contact, contact
from sheetmark.studies.membrane.energy import TRACE, Floats, Triangles, energy_forces_tangent
from sheetmark.studies.membrane.matrix import Mask, Pattern, factor, pattern
from sheetmark.studies.membrane.step import step_within

# Largest unbalanced force on a free coordinate, as a share of the mean of the holding forces.
TOLERANCE = 1e-8
MOST_ITERATIONS = 200
# Share of the teeth's widths and of their height. Of 26 sheets of 13 cases each path alone ended
# above the least energy known in two to seven, both together in none by more than 0.02 %.
PATHS = ((0.1, 0.5), (0.6, 0.5))
_SLIM_TRACE, _SLIM_TOLERANCE = 0.1, 0.3
# What may stay unbalanced where the ends of paths are compared; the share of the energy by which
# two ends differ; and how far above the least an end may lie that is followed up.
LOOSE, ALIKE, NEAR = 0.03, 1e-3, 0.01


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
    plan = pattern(problem.sheet, held)
    if start is not None:
        found = _solved(problem, plan, np.where(held, goal, start))
        if found.residual <= problem.tolerance:
            return found
    taken, left = 0, np.inf
    for end in _ends(problem, plan, goal):
        found = _solved(problem, plan, end.positions)
        taken, left = taken + end.iterations + found.iterations, min(left, found.residual)
        if found.residual <= problem.tolerance:
            return replace(found, iterations=taken)
    raise SolveError(
        f"the sheet found no equilibrium in {taken} steps: forces out of balance by "
        f"{left:.1e} of the mean holding force, over {problem.tolerance:.0e}"
    )


def equilibria(problem: Problem, goal: Floats) -> list[Equilibrium]:
    """Loosely balanced: that with the least energy, and others nearly as low."""
    ends = _ends(problem, pattern(problem.sheet, problem.held), goal)
    return [end for end in ends if end.energy <= (1 + NEAR) * ends[0].energy]


def _ends(problem: Problem, plan: Pattern, goal: Floats) -> list[Equilibrium]:
    """The ends of the paths that differ, followed loosely, that with the least energy first."""
    guess = harmonic(problem.sheet, problem.held, goal)
    # Without teeth there is one equilibrium, whatever the path.
    paths = PATHS if problem.columns else PATHS[:1]
    ends = [_along(path, problem, plan, guess) for path in paths]
    ends.sort(key=lambda end: end.energy)
    return [
        end
        for number, end in enumerate(ends)
        if number == 0 or end.energy > (1 + ALIKE) * ends[number - 1].energy
    ]


def _along(
    path: tuple[float, float], problem: Problem, plan: Pattern, guess: Floats
) -> Equilibrium:
    """With slim teeth first, then with the teeth as they are."""
    slim = replace(
        problem,
        columns=problem.columns and problem.columns.slimmed(*path),
        trace=max(_SLIM_TRACE, problem.trace),
        tolerance=_SLIM_TOLERANCE,
    )
    first = _solved(slim, plan, guess)
    end = _solved(replace(problem, tolerance=LOOSE), plan, first.positions)
    return replace(end, iterations=first.iterations + end.iterations)


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


class _State(Struct, frozen=True, kw_only=True):
    """The sheet somewhere: its energy, the whole gradient (n, 3), what is unbalanced at the free
    coordinates, and the second derivatives of triangles and contact."""

    positions: Floats
    energy: float
    gradient: Floats
    unbalanced: Floats
    blocks: Floats
    contact: Contact


def _solved(problem: Problem, plan: Pattern, positions: Floats) -> Equilibrium:
    """From these positions; the caller looks at the residual."""
    area = _node_areas(problem.sheet, len(positions))[plan.nodes]
    fixed = problem.held.any(axis=1)
    at = _state(problem, plan, area, positions)
    reach, iterations = np.inf, 0
    while True:
        go_on()
        holding = float(np.linalg.norm(at.gradient[fixed], axis=1).mean()) + 1e-12
        residual = float(np.abs(at.unbalanced).max(initial=0.0)) / holding
        if residual <= problem.tolerance or iterations == MOST_ITERATIONS:
            return Equilibrium(
                positions=at.positions,
                gradient=at.gradient,
                energy=at.energy,
                iterations=iterations,
                residual=residual,
                free_nodes=len(plan.nodes),
            )
        at, reach = _stepped(problem, plan, area, at, reach, min(0.1, residual**0.5))
        iterations += 1


def _stepped(
    problem: Problem, plan: Pattern, area: Floats, at: _State, reach: float, precision: float
) -> tuple[_State, float]:
    """The next state, which has less energy, and how far the step after it may reach."""
    sums = plan.summed(at.blocks)
    factored = factor(plan.matrix(sums, at.contact.safe), in_turn=True)
    exact = plan.matrix(sums, at.contact.exact)
    # Digits of the energy that are noise.
    noise = 1e-12 * abs(at.energy)
    if not np.isfinite(reach):
        reach = float(np.sqrt(at.unbalanced @ factored.solve(at.unbalanced)))
    while True:
        step = step_within(reach, at.unbalanced, exact, factored, precision)
        ahead = at.positions.copy()
        moved = np.zeros(3 * len(plan.nodes))
        moved[plan.free] = step.by
        ahead[plan.nodes] += moved.reshape(-1, 3)
        there = _state(problem, plan, area, ahead)
        kept = (at.energy - there.energy + noise) / (step.fall + noise)
        if kept > _WELL and step.cut:
            reach *= 3 if kept > 0.9 else 2
        elif kept < _BADLY:
            reach = step.length * (0.5 if kept > 0 else 0.25)
        if kept > _ENOUGH:
            return there, reach


# Shares of the expected fall in energy: to go farther, to go less far, and to go at all.
_WELL, _BADLY, _ENOUGH = 0.75, 0.25, 1e-4


def _state(problem: Problem, plan: Pattern, area: Floats, positions: Floats) -> _State:
    total, gradient, blocks = energy_forces_tangent(problem.sheet, positions, problem.trace)
    pushed = contact(problem.columns, positions[plan.nodes], area)
    unbalanced = (gradient[plan.nodes] + pushed.gradient).ravel()[plan.free]
    return _State(
        positions=positions,
        energy=total + pushed.energy,
        gradient=gradient,
        unbalanced=unbalanced,
        blocks=blocks,
        contact=pushed,
    )


def _node_areas(sheet: Triangles, count: int) -> Floats:
    """The area at rest that belongs to each node."""
    thirds = np.repeat(sheet.area / 3, 3)
    return np.asarray(
        np.bincount(sheet.corners.ravel(), weights=thirds, minlength=count), dtype=np.float64
    )
