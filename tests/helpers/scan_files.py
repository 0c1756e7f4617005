"""Drawn scans as the files that scanners write, and the damage that such files come with."""

from __future__ import annotations

from functools import cache

import numpy as np
import trimesh

from sheetmark.fitting.scan.mesh import Floats, Ints, Mesh
from tests.helpers.scans import DrawnScan, Recipe, draw_scan


@cache
def drawn(recipe: Recipe) -> DrawnScan:
    """The drawn scan of a recipe, drawn once."""
    return draw_scan(recipe)


def as_file(mesh: Mesh, kind: str = "stl", **more: str) -> bytes:
    """The mesh as `stl`, `stl_ascii`, `ply` or `obj`."""
    content = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).export(
        file_type=kind, **more
    )
    return content if isinstance(content, bytes) else str(content).encode()


def scaled(mesh: Mesh, times: float) -> Mesh:
    """The mesh in another unit."""
    return Mesh(mesh.vertices * times, mesh.faces)


def together(first: Mesh, other: Mesh, shift: Floats, *, over: bool = False) -> Mesh:
    """Both meshes in one; the other is moved, and with `over` turned teeth to teeth before."""
    vertices = other.vertices * [-1.0, 1.0, -1.0] if over else other.vertices
    faces: Ints = np.vstack([first.faces, other.faces + len(first.vertices)])
    return Mesh(np.vstack([first.vertices, vertices + shift]), faces)


def with_crumbs(mesh: Mesh, count: int) -> Mesh:
    """The mesh with loose triangles about it."""
    random = np.random.default_rng(0)
    middles = random.uniform(-30, 30, (count, 3)) + mesh.vertices.mean(axis=0)
    corners = (middles[:, None] + random.normal(0, 1, (count, 3, 3))).reshape(-1, 3)
    crumbs = np.arange(3 * count).reshape(-1, 3) + len(mesh.vertices)
    return Mesh(np.vstack([mesh.vertices, corners]), np.vstack([mesh.faces, crumbs]))
