"""A scene's sheet laid at one place: its mesh, which nodes are held, and where they go."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from scipy.spatial import cKDTree

from sheetmark.base.frames import MouthPoint, mouth_to_sheet
from sheetmark.studies.membrane.energy import TRACE, Floats, Ints
from sheetmark.studies.membrane.matrix import Mask
from sheetmark.studies.membrane.mesh import (
    Layout,
    Mesh,
    Opening,
    least_angles,
    make_mesh,
)
from sheetmark.studies.membrane.scene import Scene, rim_target
from sheetmark.studies.membrane.solve import TOLERANCE


class Density(Struct, frozen=True, kw_only=True):
    """How fine the work is: points round a hole's rim and a hook's, and the coarsest spacing of the
    mesh; the trace of stiffness, and what may stay unbalanced."""

    hole_sides: int = 20
    hook_sides: int = 12
    coarsest_mm: float = 6.0
    trace: float = TRACE
    tolerance: float = TOLERANCE


# A coarse mesh, a stiffer trace and a looser balance, for first guesses and searches: off by 0.01
# in evenness, which a test holds.
SEARCH_DENSITY = Density(hole_sides=14, hook_sides=10, coarsest_mm=8.0, trace=1e-2, tolerance=1e-4)


class Laid(Struct, frozen=True):
    """A scene's sheet with its middle at `shift_mm` (mouth frame): mesh at rest (sheet frame),
    held nodes and where they go (frame coordinates)."""

    scene: Scene
    shift_mm: MouthPoint
    mesh: Mesh
    held: Mask
    goal: Floats
    density: Density

    @property
    def hole_rims(self) -> tuple[Ints, ...]:
        """The mesh nodes of each hole's rim."""
        return self.mesh.rims[: len(self.scene.rims)]

    @property
    def hook_rims(self) -> tuple[Ints, ...]:
        """The mesh nodes of each hook's rim."""
        return self.mesh.rims[len(self.scene.rims) :]


def tidy(shift_mm: MouthPoint) -> MouthPoint:
    """Without the last digits, in which the shifts of two mirror images differ."""
    return MouthPoint(round(shift_mm.x, 6) + 0.0, round(shift_mm.y, 6) + 0.0)


def lay(scene: Scene, shift_mm: MouthPoint, density: Density | None = None) -> Laid:
    """The sheet meshed afresh for this place of its middle. Raises MeshError."""
    density = density or Density()
    hooked = scene.frame.hooked_mm(scene.sheet)
    holes = [
        Opening(
            tuple(mouth_to_sheet(point, shift_mm) for point in rim.line),
            rim.radius_mm,
            density.hole_sides,
        )
        for rim in scene.rims
    ]
    hooks = [Opening((point,), scene.frame.pin_mm, density.hook_sides) for point in hooked]
    layout = Layout(
        scene.sheet.width_mm, scene.sheet.height_mm, (*holes, *hooks), density.coarsest_mm
    )
    mesh = make_mesh(layout)
    held = np.zeros((len(mesh.rest), 3), dtype=bool)
    goal = np.zeros((len(mesh.rest), 3))
    for rim, nodes in zip(scene.rims, mesh.rims, strict=False):
        held[nodes] = True
        goal[nodes] = scene.in_space(rim_target(rim, mesh.rest[nodes] + np.array(shift_mm)))
    for on_sheet, on_frame, nodes in zip(
        hooked, scene.frame.hooks_mm(), mesh.rims[len(scene.rims) :], strict=True
    ):
        held[nodes] = True
        goal[nodes, :2] = mesh.rest[nodes] + np.array(on_frame) - np.array(on_sheet)
    return Laid(scene, shift_mm, mesh, held, goal, density)


# A mesh that was moved along keeps at least this angle, degrees; else a new one is made.
_LEAST_MOVED_DEG = 8.0
_PAD_MM = 2.0  # this far from the holes the mesh moves with them


def moved(laid: Laid, shift_mm: MouthPoint) -> Laid | None:
    """The same mesh with the holes moved along in it, or None when that would spoil it.

    The same nodes then serve as a first guess, and results change smoothly with the shift.
    """
    by = np.array(laid.shift_mm) - np.array(shift_mm)
    rest = laid.mesh.rest
    holes = rest[np.concatenate(laid.hole_rims)]
    from_holes = np.hypot(
        *np.maximum(np.maximum(holes.min(axis=0) - rest, rest - holes.max(axis=0)) - _PAD_MM, 0).T
    )
    half = np.array([laid.scene.sheet.width_mm, laid.scene.sheet.height_mm]) / 2
    hooks = np.array(laid.scene.frame.hooked_mm(laid.scene.sheet))
    from_hooks, _ = cKDTree(hooks).query(rest)
    from_hooks = np.maximum(from_hooks - 2 * laid.scene.frame.pin_mm, 0.0)
    from_fixed = np.minimum(from_hooks, (half - np.abs(rest)).min(axis=1))
    if (from_fixed + from_holes <= 0).any():
        return None
    new = rest + (from_fixed / (from_fixed + from_holes))[:, None] * by
    if np.degrees(least_angles(new, laid.mesh.corners).min()) < _LEAST_MOVED_DEG:
        return None
    mesh = Mesh(new, laid.mesh.corners, laid.mesh.rims)
    return replace(laid, shift_mm=shift_mm, mesh=mesh)


# A point's triangle is among this many with the nearest middles.
_NEAREST = 8


def carried(known: Mesh, values: Floats, points: Floats) -> Floats:
    """Values at a mesh's nodes (n, k) at other points of the sheet at rest (p, 2), linear in each
    triangle; beyond an edge, by the nearest triangle."""
    corners = known.rest[known.corners]
    _, near = cKDTree(corners.mean(axis=1)).query(points, _NEAREST)
    origin = corners[near, 0]
    u, v = corners[near, 1] - origin, corners[near, 2] - origin
    to = points[:, None] - origin
    whole = _cross(u, v)
    second, third = _cross(to, v) / whole, _cross(u, to) / whole
    shares = np.stack([1 - second - third, second, third], axis=-1)
    best = np.argmax(shares.min(axis=-1), axis=1)
    at = np.arange(len(points))
    within = known.corners[near[at, best]]
    return np.asarray(np.einsum("pc,pck->pk", shares[at, best], values[within]))


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
