"""A triangle mesh in mm, in the scanner's axes, and the few sums that the checks need."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]


class Mesh(Struct, frozen=True):
    """`vertices`: (n, 3) mm in the scanner's axes. `faces`: (m, 3) rows of vertex numbers."""

    vertices: Floats
    faces: Ints

    @property
    def extents(self) -> Floats:
        """Size of the box round all vertices, three lengths in mm."""
        return np.asarray(np.ptp(self.vertices, axis=0), dtype=np.float64)


def merged(vertices: Floats, faces: Ints) -> Mesh:
    """The mesh with equal corners joined and faces without area left out.

    STL repeats each corner in every triangle; corners are equal when their numbers are.
    """
    order = np.lexsort(vertices.T)
    ordered = vertices[order]
    new = np.ones(len(order), dtype=np.bool_)
    new[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    number = np.empty(len(order), dtype=np.int64)
    number[order] = np.cumsum(new) - 1
    joined = number[faces]
    a, b, c = joined.T
    return Mesh(np.ascontiguousarray(ordered[new]), joined[(a != b) & (b != c) & (c != a)])


def area_vectors(mesh: Mesh) -> Floats:
    """(m, 3) mm²: each face's normal, as long as the face is large."""
    a, b, c = (mesh.vertices[mesh.faces[:, corner]] for corner in range(3))
    return np.asarray(np.cross(b - a, c - a) / 2.0, dtype=np.float64)


def inside_out(mesh: Mesh, up: Floats) -> bool:
    """Whether the surface faces away from its teeth: exported inside out, or mirrored."""
    vectors = area_vectors(mesh)
    facing = float(vectors.sum(axis=0) @ up / np.linalg.norm(vectors, axis=1).sum())
    if abs(facing) > 0.1:
        return facing < 0
    middles = mesh.vertices[mesh.faces].mean(axis=1) - mesh.vertices.mean(axis=0)
    return float((middles * vectors).sum()) < 0  # three times the volume, closed surfaces


def parts(mesh: Mesh) -> Ints:
    """(m,) for each face the number of the connected part it belongs to, from 0."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    starts = np.concatenate([mesh.faces[:, 0], mesh.faces[:, 1]])
    ends = np.concatenate([mesh.faces[:, 1], mesh.faces[:, 2]])
    count = len(mesh.vertices)
    graph = coo_array((np.ones(len(starts), dtype=np.int8), (starts, ends)), shape=(count, count))
    labels = connected_components(graph, directed=False)[1].astype(np.int64)
    used, numbers = np.unique(labels[mesh.faces[:, 0]], return_inverse=True)
    del used
    return np.asarray(numbers, dtype=np.int64)


def rim_vertices(mesh: Mesh) -> Ints:
    """Numbers of the vertices on edges that only one face has: the rim, and holes."""
    ends = np.concatenate([mesh.faces[:, [0, 1]], mesh.faces[:, [1, 2]], mesh.faces[:, [2, 0]]])
    ends.sort(axis=1)
    keys = ends[:, 0] * np.int64(len(mesh.vertices)) + ends[:, 1]
    found, first, counts = np.unique(keys, return_index=True, return_counts=True)
    del found
    return np.unique(ends[first[counts == 1]])


def subset(mesh: Mesh, keep: Mask) -> Mesh:
    """The faces to keep, with the vertices that they use."""
    used, numbers = np.unique(mesh.faces[keep], return_inverse=True)
    return Mesh(mesh.vertices[used], np.asarray(numbers.reshape(-1, 3), dtype=np.int64))
