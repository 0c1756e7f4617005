"""Laid sheets in equilibrium."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from sheetmark.base.frames import MouthPoint
from sheetmark.studies.membrane.energy import Floats, Triangles, triangles
from sheetmark.studies.membrane.laid import SEARCH_DENSITY, Laid, carried, lay
from sheetmark.studies.membrane.mesh import Mesh
from sheetmark.studies.membrane.scene import Scene, columns_of
from sheetmark.studies.membrane.solve import (
    Equilibrium,
    Problem,
    equilibria,
    equilibrium,
)


class Stretched(Struct, frozen=True):
    """A laid sheet in equilibrium."""

    laid: Laid
    sheet: Triangles
    found: Equilibrium


def stretch(laid: Laid, start: Floats | None = None) -> Stretched:
    """An equilibrium of the sheet. Raises SolveError when there is none to be found."""
    problem = _problem(laid)
    return Stretched(laid, problem.sheet, equilibrium(problem, laid.goal, start))


@lru_cache(maxsize=16)
def first_guesses(scene: Scene, shift_mm: MouthPoint) -> tuple[Stretched, ...]:
    """On the coarse mesh, loosely balanced: that with the least energy of those that are found,
    and others nearly as low. Raises MeshError or SolveError."""
    laid = lay(scene, shift_mm, SEARCH_DENSITY)
    problem = _problem(laid)
    return tuple(Stretched(laid, problem.sheet, end) for end in equilibria(problem, laid.goal))


def settled(laid: Laid) -> Stretched:
    """The lowest of the equilibria that the first guesses lead to, carried over to this mesh.

    Raises MeshError or SolveError.
    """
    guesses = first_guesses(laid.scene, laid.shift_mm)
    ends = [
        stretch(laid, carried(guess.laid.mesh, guess.found.positions, laid.mesh.rest))
        for guess in guesses
    ]
    lowest = min(ends, key=lambda end: end.found.energy)
    taken = sum(sheet.found.iterations for sheet in (*guesses, *ends))
    return replace(lowest, found=replace(lowest.found, iterations=taken))


def _problem(laid: Laid) -> Problem:
    sheet = triangles(laid.mesh.rest, laid.mesh.corners)
    density = laid.density
    return Problem(sheet, laid.held, columns_of(laid.scene), density.trace, density.tolerance)


def mirrored(stretched: Stretched) -> Stretched:
    """The answer for the mirror image of the scene and the shift."""
    laid, found = stretched.laid, stretched.found
    across = np.array([-1.0, 1.0, 1.0])
    rims = (*reversed(laid.hole_rims), *reversed(laid.hook_rims))
    mesh = Mesh(
        laid.mesh.rest * across[:2],
        laid.mesh.corners[:, ::-1].copy(),
        tuple(rim[::-1] for rim in rims),
    )
    x, y = laid.shift_mm
    other = Laid(
        laid.scene.mirrored,
        MouthPoint(-x + 0.0, y),
        mesh,
        laid.held,
        laid.goal * across,
        laid.density,
    )
    positions, gradient = found.positions * across, found.gradient * across
    return Stretched(
        other,
        triangles(mesh.rest, mesh.corners),
        replace(found, positions=positions, gradient=gradient),
    )
