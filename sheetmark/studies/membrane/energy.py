"""Energy of an incompressible neo-Hookean membrane in space, per unit of modulus and thickness.

W = (l1^2 + l2^2 + 1/(l1 l2)^2 - 3) / 2 for principal stretches l1 >= l2 (Treloar, from memory;
derivable). A sheet cannot carry compression: it wrinkles. So W is relaxed (tension field): where
l2 < l1^(-1/2) the sheet is in simple tension along l1 and wrinkled across, and where l1 < 1 it is
slack and W = 0.

Why Newton cannot go astray here: W is convex in C = F^T F, and wrinkling adds a positive
semidefinite strain, so the relaxed W is convex in C and grows with it; C is quadratic in the
positions, so the energy is convex in the positions, and its tangent positive semidefinite. The
teeth that it may not enter (`contact`) are all that is not convex.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

# A trace of plain stiffness, as a share of the modulus, towards the flat sheet at rest. It holds
# slack rubber where it hangs, which would otherwise have no place of its own (ours).
TRACE = 1e-3

SLACK, WRINKLED, TAUT = 0, 1, 2


class Response(Struct, frozen=True, kw_only=True):
    """What the triangles answer to a deformation: energy density, second Piola-Kirchhoff stress
    (m, 2, 2), its tangent in Voigt form (m, 3, 3), principal stretches and state."""

    density: Floats
    stress: Floats
    tangent: Floats
    stretch: Floats
    state: Ints


def respond(cauchy_green: Floats) -> Response:
    """The relaxed response to C, shape (m, 2, 2)."""
    c11, c22, c12 = cauchy_green[:, 0, 0], cauchy_green[:, 1, 1], cauchy_green[:, 0, 1]
    mean, half = (c11 + c22) / 2, (c11 - c22) / 2
    spread = np.hypot(half, c12)
    c1 = mean + spread
    c2 = np.maximum(mean - spread, 0.0)
    taut = c2 * c2 * c1 > 1
    wrinkled = ~taut & (c1 > 1)
    state = np.where(taut, TAUT, np.where(wrinkled, WRINKLED, SLACK))

    m = len(c11)
    density, stress, tangent = np.zeros(m), np.zeros((m, 2, 2)), np.zeros((m, 3, 3))
    density[taut], stress[taut], tangent[taut] = _taut(c11[taut], c22[taut], c12[taut])
    density[wrinkled], stress[wrinkled], tangent[wrinkled] = _wrinkled(
        c1[wrinkled], c2[wrinkled], half[wrinkled], c12[wrinkled]
    )
    return Response(
        density=density,
        stress=stress,
        tangent=tangent,
        stretch=np.sqrt(np.stack([c1, c2], axis=1)),
        state=state,
    )


def _taut(c11: Floats, c22: Floats, c12: Floats) -> tuple[Floats, Floats, Floats]:
    det = c11 * c22 - c12 * c12
    i11, i22, i12 = c22 / det, c11 / det, -c12 / det  # C^-1
    density = (c11 + c22 + 1 / det - 3) / 2
    stress = _symmetric(1 - i11 / det, 1 - i22 / det, -i12 / det)
    tangent = np.empty((len(det), 3, 3))
    tangent[:, 0, 0] = 4 * i11 * i11
    tangent[:, 1, 1] = 4 * i22 * i22
    tangent[:, 2, 2] = i11 * i22 + 3 * i12 * i12
    tangent[:, 0, 1] = tangent[:, 1, 0] = 2 * (i12 * i12 + i11 * i22)
    tangent[:, 0, 2] = tangent[:, 2, 0] = 4 * i11 * i12
    tangent[:, 1, 2] = tangent[:, 2, 1] = 4 * i22 * i12
    return density, stress, tangent / det[:, None, None]


def _wrinkled(c1: Floats, c2: Floats, half: Floats, c12: Floats) -> tuple[Floats, Floats, Floats]:
    angle = np.arctan2(c12, half) / 2  # of the pull's direction n, at rest
    n1, n2 = np.cos(angle), np.sin(angle)
    density = (c1 + 2 / np.sqrt(c1) - 3) / 2
    pull = 1 - c1**-1.5
    along = np.stack([n1 * n1, n2 * n2, n1 * n2], axis=1)
    turning = np.stack([-n1 * n2, n1 * n2, (n1 * n1 - n2 * n2) / 2], axis=1)
    stress = _symmetric(*(pull[:, None] * along).T)
    tangent = (3 * c1**-2.5)[:, None, None] * along[:, :, None] * along[:, None, :]
    tangent += (4 * pull / (c1 - c2))[:, None, None] * turning[:, :, None] * turning[:, None, :]
    return density, stress, tangent


def _symmetric(a11: Floats, a22: Floats, a12: Floats) -> Floats:
    return np.stack([np.stack([a11, a12], axis=1), np.stack([a12, a22], axis=1)], axis=1)


class Triangles(Struct, frozen=True):
    """Linear triangles at rest: corners (m, 3), area at rest (m), and the gradients of the three
    shape functions (m, 3, 2)."""

    corners: Ints
    area: Floats
    gradient: Floats

    def deformation(self, positions: Floats) -> Floats:
        """F, shape (m, 3, 2), for positions (n, 3)."""
        return np.asarray(np.matmul(positions[self.corners].transpose(0, 2, 1), self.gradient))

    def respond(self, positions: Floats) -> Response:
        """Energy density, stress and state of each triangle at these positions."""
        f = self.deformation(positions)
        return respond(np.matmul(f.transpose(0, 2, 1), f))


def triangles(rest: Floats, corners: Ints) -> Triangles:
    """The triangles of a mesh at rest (n, 2), corners anticlockwise."""
    a, b, c = (rest[corners[:, i]] for i in range(3))
    twice = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    edges = np.stack([c - b, a - c, b - a], axis=1)  # opposite each corner
    gradient = np.stack([-edges[:, :, 1], edges[:, :, 0]], axis=2) / twice[:, None, None]
    return Triangles(corners, twice / 2, gradient)


_FLAT = np.array([[1.0, 0.0], [0.0, 1.0], [0.0, 0.0]])


def energy(sheet: Triangles, positions: Floats, trace: float = TRACE) -> float:
    """Energy in mm^2 per modulus and thickness."""
    f = sheet.deformation(positions)
    density = respond(np.matmul(f.transpose(0, 2, 1), f)).density
    return float(sheet.area @ (density + _trace_density(f, trace)))


def energy_forces_tangent(
    sheet: Triangles, positions: Floats, trace: float = TRACE
) -> tuple[float, Floats, Floats]:
    """Energy, its gradient (n, 3), and its second derivative triangle by triangle (m, 9, 9)."""
    f = sheet.deformation(positions)
    answer = respond(np.matmul(f.transpose(0, 2, 1), f))
    total = float(sheet.area @ (answer.density + _trace_density(f, trace)))
    gradient = _gathered(sheet, _corner_forces(sheet, f, answer.stress, trace), len(positions))

    m, g = len(sheet.area), sheet.gradient
    # Strain for each of the nine displacements: (m, 3 Voigt, 3 corners, 3 directions).
    strain = np.empty((m, 3, 3, 3))
    strain[:, 0] = g[:, :, 0, None] * f[:, None, :, 0]
    strain[:, 1] = g[:, :, 1, None] * f[:, None, :, 1]
    strain[:, 2] = g[:, :, 1, None] * f[:, None, :, 0] + g[:, :, 0, None] * f[:, None, :, 1]
    by_nine = strain.reshape(m, 3, 9)
    weighted = answer.tangent * sheet.area[:, None, None]
    tangent = np.matmul(by_nine.transpose(0, 2, 1), np.matmul(weighted, by_nine))
    held = answer.stress.copy()
    held[:, 0, 0] += trace
    held[:, 1, 1] += trace
    between = np.matmul(g, np.matmul(held, g.transpose(0, 2, 1))) * sheet.area[:, None, None]
    blocks = tangent.reshape(m, 3, 3, 3, 3)
    for direction in range(3):
        blocks[:, :, direction, :, direction] += between
    return total, gradient, tangent


def _trace_density(f: Floats, trace: float) -> Floats:
    return np.asarray(trace / 2 * np.sum((f - _FLAT) ** 2, axis=(1, 2)))


def _corner_forces(sheet: Triangles, f: Floats, stress: Floats, trace: float) -> Floats:
    nominal = np.matmul(f, stress) + trace * (f - _FLAT)
    return np.asarray(
        np.matmul(sheet.gradient, nominal.transpose(0, 2, 1)) * sheet.area[:, None, None]
    )


def _gathered(sheet: Triangles, at_corners: Floats, nodes: int) -> Floats:
    flat = sheet.corners.ravel()
    columns = at_corners.reshape(-1, 3)
    return np.stack([np.bincount(flat, columns[:, i], minlength=nodes) for i in range(3)], axis=1)
