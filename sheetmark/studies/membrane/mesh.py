"""A triangle mesh of the sheet at rest, fine at the openings and coarser away from them.

Each opening lays rings of points round itself, wider apart the farther out; a lattice fills the
rest; Delaunay joins them (SciPy), and a few rounds of smoothing even them out. Same input, same
mesh. A layout that is its own mirror image gets a mesh that is, and mirrored layouts get mirrored
meshes, so that their fields mirror to the last digits.
"""

from __future__ import annotations

from itertools import pairwise
from math import ceil, hypot, pi

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from scipy.spatial import Delaunay, cKDTree

from sheetmark.base.findings import NoAnswerError
from sheetmark.base.frames import SheetPoint
from sheetmark.studies.membrane.energy import Floats, Ints, triangles

# Two points stay at least this share of the wanted spacing apart.
_APART = 0.65
_ROUNDS = 12
_JOINED_EACH = 3  # rounds: points move little in them
LEAST_ANGLE_DEG = 12.0


class MeshError(NoAnswerError):
    """No usable mesh; the message says where."""


class Opening(Struct, frozen=True):
    """A rim in the sheet at rest: all points at `radius_mm` from a centre line, which for a round
    hole is one point. `sides` points go round a circle of that radius."""

    line: tuple[SheetPoint, ...]
    radius_mm: float
    sides: int

    @property
    def mirrored(self) -> Opening:
        """The opening on the other side of x = 0."""
        return replace(self, line=tuple(SheetPoint(-x, y) for x, y in self.line))

    @property
    def spacing_mm(self) -> float:
        """The distance along the rim from corner to corner, mm."""
        return 2 * pi * self.radius_mm / self.sides

    def distance(self, points: Floats) -> Floats:
        """From the centre line, for points (n, 2)."""
        return np.asarray(np.min([_to_segment(points, a, b) for a, b in self._segments], axis=0))

    @property
    def _segments(self) -> list[tuple[SheetPoint, SheetPoint]]:
        if len(self.line) == 1:
            return [(self.line[0], self.line[0])]
        return list(pairwise(self.line))

    def ring(self, radius_mm: float, spacing_mm: float, offset: float) -> Floats:
        """Points at about that spacing and exactly that distance from the centre line."""
        if len(self.line) == 1:
            n = max(6, round(2 * pi * radius_mm / spacing_mm))
            angle = 2 * pi * (np.arange(n) + offset) / n
            ring = np.stack([np.cos(angle), np.sin(angle)], axis=1)
            return np.asarray(radius_mm * ring + self.line[0])
        from shapely import LineString

        outline = LineString(self.line).buffer(radius_mm, quad_segs=64).exterior
        n = max(6, round(outline.length / spacing_mm))
        at = [outline.interpolate((i + offset) / n, normalized=True) for i in range(n)]
        return np.array([(point.x, point.y) for point in at])


class Layout(Struct, frozen=True):
    """A sheet at rest, its centre at the origin, its openings, and the coarsest spacing, mm."""

    width_mm: float
    height_mm: float
    openings: tuple[Opening, ...]
    coarsest_mm: float

    @property
    def mirrored(self) -> Layout:
        """The layout on the other side of x = 0."""
        return replace(self, openings=tuple(o.mirrored for o in self.openings))

    def spacing(self, points: Floats) -> Floats:
        """Wanted spacing at each point: as many points go round an opening at any distance."""
        wanted = np.full(len(points), float(self.coarsest_mm))
        for opening in self.openings:
            np.minimum(wanted, 2 * pi / opening.sides * opening.distance(points), out=wanted)
        return wanted


class Mesh(Struct, frozen=True):
    """Nodes at rest (n, 2), triangles anticlockwise (m, 3), and each opening's rim nodes in
    anticlockwise order, as the layout lists the openings."""

    rest: Floats
    corners: Ints
    rims: tuple[Ints, ...]


def make_mesh(layout: Layout) -> Mesh:
    """The mesh of a layout. Raises MeshError where a rim or the triangles' shape is lost."""
    key, mirrored_key = _key(layout), _key(layout.mirrored)
    if mirrored_key < key:
        return _mirrored(make_mesh(layout.mirrored))
    half = key == mirrored_key and all(
        max(x for x, _ in o.line) < -1.5 * o.radius_mm
        or min(x for x, _ in o.line) > 1.5 * o.radius_mm
        for o in layout.openings
    )
    # In an order of their own, so that mirrored layouts number their nodes alike.
    in_order = tuple(sorted(layout.openings, key=_opening_key))
    rest, corners = _mesh(replace(layout, openings=in_order), half)
    if half:
        rest, corners = _doubled(rest, corners)
    rims = tuple(_rim(opening, rest) for opening in layout.openings)
    mesh = Mesh(rest, corners, rims)
    check_mesh(mesh)
    return mesh


def _key(layout: Layout) -> list[tuple[tuple[tuple[float, float], ...], float]]:
    """The openings in an order of their own."""
    return sorted(_opening_key(opening) for opening in layout.openings)


def _opening_key(opening: Opening) -> tuple[tuple[tuple[float, float], ...], float]:
    """Places to a nanometre."""
    line = sorted((round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in opening.line)
    return (tuple(line), opening.radius_mm)


def _mirrored(mesh: Mesh) -> Mesh:
    rest = mesh.rest * np.array([-1.0, 1.0])
    return Mesh(rest, mesh.corners[:, ::-1].copy(), tuple(rim[::-1] for rim in mesh.rims))


def _doubled(rest: Floats, corners: Ints) -> tuple[Floats, Ints]:
    """A left half and its mirror image, joined at x = 0."""
    off = np.flatnonzero(rest[:, 0] < 0)
    twin = np.arange(len(rest))
    twin[off] = len(rest) + np.arange(len(off))
    both = np.concatenate([rest, rest[off] * np.array([-1.0, 1.0])])
    return both, np.concatenate([corners, twin[corners][:, ::-1]])


def _mesh(layout: Layout, half: bool) -> tuple[Floats, Ints]:
    """Points and triangles of the whole sheet, or of its half at x < 0."""
    w, h = layout.width_mm / 2, layout.height_mm / 2
    right = 0.0 if half else w
    openings = [o for o in layout.openings if not half or o.line[0][0] < 0]
    rims = [o.ring(o.radius_mm, o.spacing_mm, 0.0) for o in openings]
    edge = ((-w, -h), (right, -h), (right, h), (-w, h))
    box = [SheetPoint(x, y) for x, y in edge]
    edges = [_along(layout, a, b) for a, b in zip(box, (*box[1:], box[0]), strict=True)]
    held = np.concatenate([*rims, *edges])
    inside = _candidates(layout, openings, right)
    points = np.concatenate([held, inside[_apart(layout, held, inside)]])
    for number in range(_ROUNDS):
        if number % _JOINED_EACH == 0:
            corners = _join(points, openings)
        points = _smoothed(layout, points, corners, len(held))
    return points, _join(points, openings)


def _along(layout: Layout, start: SheetPoint, end: SheetPoint) -> Floats:
    """Points along an edge at the wanted spacing, without its end."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    share = np.linspace(0.0, 1.0, 400)[:, None]
    line = np.array(start) + share * (np.array(end) - np.array(start))
    density = 1 / layout.spacing(line)
    count = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2)]) * length / 399
    n = max(2, round(count[-1]))
    at = np.interp(np.arange(n) * count[-1] / n, count, share[:, 0])[:, None]
    return np.asarray(np.array(start) + at * (np.array(end) - np.array(start)))


def _candidates(layout: Layout, openings: list[Opening], right: float) -> Floats:
    """Rings round each opening as far as it is the nearest, then a lattice, finest first."""
    w, h = layout.width_mm / 2, layout.height_mm / 2
    rings, own = [np.zeros((0, 2))], [np.zeros(0)]
    for opening in openings:
        turn = 2 * pi / opening.sides
        radius, number = opening.radius_mm, 0
        while turn * radius < layout.coarsest_mm:
            radius *= 1 + 0.87 * turn
            number += 1
            ring = opening.ring(radius, turn * radius, 0.5 * (number % 2))
            rings.append(ring)
            own.append(turn * opening.distance(ring))
    points = np.concatenate(rings)
    points = points[np.concatenate(own) <= layout.spacing(points) + 1e-9]
    step = layout.coarsest_mm
    rows = np.arange(ceil(2 * h / (0.87 * step)) + 1)
    columns = np.arange(ceil(2 * w / step) + 2)
    x = -w + (columns[None, :] + 0.5 * (rows[:, None] % 2)) * step
    y = np.broadcast_to(-h + rows[:, None] * 0.87 * step, x.shape)
    lattice = np.stack([x.ravel(), y.ravel()], axis=1)
    lattice = lattice[layout.spacing(lattice) >= 0.999 * step]
    points = np.concatenate([points, lattice])
    wanted = layout.spacing(points)
    room = np.minimum(np.minimum(points[:, 0] + w, right - points[:, 0]), h - np.abs(points[:, 1]))
    keep = room > 0.5 * wanted
    for opening in openings:
        keep &= opening.distance(points) > opening.radius_mm * 1.001
    return points[keep]


def _apart(layout: Layout, held: Floats, points: Floats) -> Ints:
    """Which points to keep so that none stands too near a held or an earlier kept one."""
    wanted = _APART * layout.spacing(points)
    near_held, _ = cKDTree(held).query(points)
    near = cKDTree(points).query_ball_point(points, wanted)
    kept = np.zeros(len(points), dtype=bool)
    for i in np.argsort(np.round(wanted, 9), kind="stable"):
        kept[i] = near_held[i] > wanted[i] and not any(kept[j] for j in near[i])
    return np.flatnonzero(kept)


def _join(points: Floats, openings: list[Opening]) -> Ints:
    """Delaunay triangles outside the openings, anticlockwise."""
    corners = Delaunay(points).simplices.astype(np.intp)
    middle = points[corners].mean(axis=1)
    outside = np.ones(len(corners), dtype=bool)
    first = 0
    for opening in openings:
        n = len(opening.ring(opening.radius_mm, opening.spacing_mm, 0.0))
        own = np.all((corners >= first) & (corners < first + n), axis=1)
        outside &= ~(own & (opening.distance(middle) < opening.radius_mm))
        first += n
    corners = corners[outside]
    a, b, c = (points[corners[:, i]] for i in range(3))
    twice = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    corners = np.where((twice < 0)[:, None], corners[:, ::-1], corners)
    return np.asarray(corners[np.abs(twice) > 1e-9])


def _smoothed(layout: Layout, points: Floats, corners: Ints, held: int) -> Floats:
    """Each free point moved to the middle of the triangles round it, weighed by wanted number."""
    middle = points[corners].mean(axis=1)
    a, b, c = (points[corners[:, i]] for i in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    weight = area / layout.spacing(middle) ** 3
    flat = corners.ravel()
    total = np.bincount(flat, np.repeat(weight, 3), minlength=len(points))
    moved = np.stack(
        [
            np.bincount(flat, np.repeat(weight * middle[:, i], 3), minlength=len(points)) / total
            for i in (0, 1)
        ],
        axis=1,
    )
    moved[:held] = points[:held]
    return moved


def _rim(opening: Opening, rest: Floats) -> Ints:
    """The nodes on an opening's rim, anticlockwise from its first."""
    nodes = np.flatnonzero(np.abs(opening.distance(rest) - opening.radius_mm) < 1e-4)
    middle = np.mean(opening.line, axis=0)
    angle = np.arctan2(rest[nodes, 1] - middle[1], rest[nodes, 0] - middle[0])
    return nodes[np.argsort(angle)]


def check_mesh(mesh: Mesh) -> None:
    """Raises MeshError unless every rim's edges are in the mesh and no triangle is a sliver."""
    worst = float(np.degrees(least_angles(mesh.rest, mesh.corners).min()))
    if worst < LEAST_ANGLE_DEG:
        raise MeshError(
            f"the mesh has an angle of {worst:.1f} degrees, under {LEAST_ANGLE_DEG:g}; "
            f"holes may stand too near each other or the sheet's edge"
        )
    n = len(mesh.rest)
    pairs = np.concatenate([mesh.corners[:, [i, (i + 1) % 3]] for i in range(3)])
    keys = np.sort(pairs, axis=1) @ np.array([n, 1])
    for rim in mesh.rims:
        edges = np.sort(np.stack([rim, np.roll(rim, -1)], axis=1), axis=1) @ np.array([n, 1])
        if len(rim) < 6 or not np.isin(edges, keys).all():
            x, y = mesh.rest[rim].mean(axis=0) if len(rim) else (0.0, 0.0)
            raise MeshError(
                f"the mesh lost the rim of the opening at ({x:.1f}, {y:.1f}) mm; "
                f"holes may stand too near each other"
            )


def least_angles(rest: Floats, corners: Ints) -> Floats:
    """The smallest angle of each triangle, radians; negative area gives 0."""
    sides = [rest[corners[:, (i + 2) % 3]] - rest[corners[:, (i + 1) % 3]] for i in range(3)]
    lengths = [np.hypot(*side.T) for side in sides]
    area = triangles(rest, corners).area
    products = [lengths[(i + 1) % 3] * lengths[(i + 2) % 3] for i in range(3)]
    sines = [np.clip(2 * area / product, 0.0, 1.0) for product in products]
    # The smallest angle lies opposite the shortest side and is under 60 degrees.
    return np.asarray(np.arcsin(np.min(sines, axis=0)))


def _to_segment(points: Floats, a: SheetPoint, b: SheetPoint) -> Floats:
    d = np.array(b) - np.array(a)
    length = float(d @ d)
    offset = points - np.array(a)
    if length:
        share = np.clip(offset @ d / length, 0.0, 1.0)
        offset = offset - share[:, None] * d
    return np.asarray(np.hypot(offset[:, 0], offset[:, 1]))
