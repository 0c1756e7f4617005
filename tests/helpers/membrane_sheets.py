"""Small sheets for the membrane's tests: a coarse mesh, a meshed rectangle, and a ring with its
equation."""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sheetmark.studies.membrane.energy import (
    TRACE,
    Floats,
    Triangles,
    energy_forces_tangent,
    triangles,
)
from sheetmark.studies.membrane.laid import Density
from sheetmark.studies.membrane.matrix import Mask
from sheetmark.studies.membrane.mesh import Layout, Mesh, Opening, make_mesh
from sheetmark.studies.membrane.solve import Problem, equilibrium

COARSE = Density(hole_sides=14, hook_sides=10, coarsest_mm=8.0)


def rectangle(*openings: Opening, coarsest_mm: float = 6.0) -> tuple[Mesh, Triangles]:
    """A sheet of 60 x 40 mm."""
    mesh = make_mesh(Layout(60.0, 40.0, openings, coarsest_mm))
    return mesh, triangles(mesh.rest, mesh.corners)


def on_edge(mesh: Mesh, axis: int, sign: int) -> Mask:
    half = (30.0, 20.0)[axis]
    return np.asarray(np.abs(mesh.rest[:, axis] - sign * half) < 1e-9)


def ring(inner: float, outer: float, around: int) -> tuple[Floats, Triangles, int]:
    """A flat ring of triangles, its rings as far apart as its points; nodes, and rows of them."""
    rows = max(2, round(np.log(outer / inner) / (2 * np.pi / around)) + 1)
    radius = np.geomspace(inner, outer, rows)
    angle = 2 * np.pi * (np.arange(around)[None, :] + 0.5 * (np.arange(rows) % 2)[:, None]) / around
    rest = np.stack([radius[:, None] * np.cos(angle), radius[:, None] * np.sin(angle)], axis=-1)
    corners = []
    for row in range(rows - 1):
        for i in range(around):
            a, b = row * around + i, row * around + (i + 1) % around
            c, d = a + around, b + around
            # Every other row is turned by half a step.
            corners += [[a, c, b], [b, c, d]] if row % 2 == 0 else [[a, c, d], [a, d, b]]
    flat = rest.reshape(-1, 2)
    cells = np.array(corners)
    sheet = triangles(flat, cells)
    cells = np.where((sheet.area < 0)[:, None], cells[:, ::-1], cells)
    return flat, triangles(flat, cells), rows


def stretched_ring(outer_stretch: float, rim_stretch: float | None, around: int) -> Floats:
    """Stretch of the rim, and force per radian at the outer edge."""
    rest, sheet, rows = ring(1.0, 8.0, around)
    inner, outer = slice(0, around), slice((rows - 1) * around, rows * around)
    held = np.zeros((len(rest), 3), dtype=bool)
    held[outer] = True
    goal = np.column_stack([outer_stretch * rest, np.zeros(len(rest))])
    if rim_stretch is not None:
        held[inner] = True
        goal[inner, :2] = rim_stretch * rest[inner]
    found = equilibrium(Problem(sheet, held), goal)
    rim = np.hypot(*found.positions[inner, :2].T).mean()
    outwards = rest[outer] / np.hypot(*rest[outer].T)[:, None]
    return np.array([rim, np.sum(found.gradient[outer, :2] * outwards) / (2 * np.pi)])


def _slopes(radius: float, state: Floats) -> list[float]:
    """d(R T1)/dR = T2 for a flat ring stretched evenly (Rivlin & Thomas 1951)."""
    place, along = state
    around = place / radius
    t1 = along - along**-3 * around**-2
    t2 = around - around**-3 * along**-2
    by_along, by_around = 1 + 3 * along**-4 * around**-2, 2 * along**-3 * around**-3
    return [along, ((t2 - t1) / radius - by_around * (along - around) / radius) / by_along]


def ring_by_equation(
    inner: float, outer: float, outer_stretch: float, rim_stretch: float | None
) -> tuple[float, float]:
    """Stretch of the rim, and the force at the outer edge per radian, modulus and thickness.

    The rim is free where its stretch is None.
    """

    def miss(guess: float) -> float:
        end = _solution(inner, outer, guess, rim_stretch)
        return float(end[0] / outer - outer_stretch)

    low, high = (1.0001, 12.0) if rim_stretch is None else (rim_stretch**-0.5, 6.0)
    guess = brentq(miss, low, high, xtol=1e-12)
    place, along = _solution(inner, outer, guess, rim_stretch)
    around = place / outer
    return (guess if rim_stretch is None else rim_stretch, outer * (along - along**-3 * around**-2))


def _solution(inner: float, outer: float, guess: float, rim_stretch: float | None) -> Floats:
    around = guess if rim_stretch is None else rim_stretch
    along = around**-0.5 if rim_stretch is None else guess
    done = solve_ivp(_slopes, (inner, outer), [around * inner, along], rtol=1e-9, atol=1e-11)
    return np.asarray(done.y[:, -1])


def forces(sheet: Triangles, positions: Floats, trace: float = TRACE) -> Floats:
    """The energy's gradient by node, (n, 3), per modulus and thickness."""
    return energy_forces_tangent(sheet, positions, trace)[1]
