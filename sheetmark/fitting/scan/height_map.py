"""The mesh seen from above: for each pixel of a grid the highest point."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.fitting.scan.mesh import Floats, Ints, Mesh

EMPTY = -1e3  # mm; where the scan has nothing
_CHUNK = 4_000_000  # pixel tests at a time: bounds the memory


class HeightMap(Struct, frozen=True):
    """`heights_mm`: (rows, columns), row 0 at the largest y, EMPTY where there is nothing.

    left_mm, top_mm: the outer edges of the grid, in the view's frame.
    """

    heights_mm: Floats
    left_mm: float
    top_mm: float
    pixels_per_mm: float

    @property
    def seen(self) -> NDArray[np.bool_]:
        """Where the scan has a surface, by row and column."""
        return np.asarray(self.heights_mm > EMPTY / 2)

    def pixel_of(self, points_mm: Floats) -> Floats:
        """(n, 2) row and column, with fractions, of (n, 2) points; 0 is a pixel's middle."""
        columns = (points_mm[:, 0] - self.left_mm) * self.pixels_per_mm - 0.5
        rows = (self.top_mm - points_mm[:, 1]) * self.pixels_per_mm - 0.5
        return np.column_stack([rows, columns])

    def point_of(self, pixels: Floats) -> Floats:
        """(n, 2) x, y in mm of (n, 2) rows and columns: `pixel_of` backwards."""
        x = self.left_mm + (pixels[:, 1] + 0.5) / self.pixels_per_mm
        y = self.top_mm - (pixels[:, 0] + 0.5) / self.pixels_per_mm
        return np.column_stack([x, y])


def height_map(mesh: Mesh, pixels_per_mm: float = 10.0, margin_mm: float = 2.0) -> HeightMap:
    """Heights (z) over the x, y plane of the mesh's own axes."""
    low = mesh.vertices[:, :2].min(axis=0) - margin_mm
    high = mesh.vertices[:, :2].max(axis=0) + margin_mm
    columns, rows = (int(n) for n in np.ceil((high - low) * pixels_per_mm))
    top = float(low[1]) + rows / pixels_per_mm
    heights = np.full(rows * columns, EMPTY)
    # Pixel coordinates: a pixel's middle is a whole number.
    u = (mesh.vertices[:, 0] - low[0]) * pixels_per_mm - 0.5
    v = (top - mesh.vertices[:, 1]) * pixels_per_mm - 0.5
    corners = np.stack([u, v, mesh.vertices[:, 2]], axis=1)
    a, b, c = (np.ascontiguousarray(column) for column in mesh.faces.T)
    ends = []
    for axis in (u, v):
        at = axis[a], axis[b], axis[c]
        ends.append((np.ceil(np.minimum.reduce(at)), np.floor(np.maximum.reduce(at))))
    first = np.column_stack([low_end for low_end, _ in ends])
    spans = np.column_stack([high_end - low_end + 1 for low_end, high_end in ends]).astype(np.int64)
    drawn = (spans > 0).all(axis=1)
    for span in np.unique(spans[drawn].max(axis=1)) if drawn.any() else ():
        chosen = np.flatnonzero(drawn & (spans.max(axis=1) == span))
        step = max(1, _CHUNK // int(span * span))
        for start in range(0, len(chosen), step):
            some = chosen[start : start + step]
            _draw(
                corners, mesh.faces[some], first[some].astype(np.int64), int(span), heights, columns
            )
    return HeightMap(heights.reshape(rows, columns), float(low[0]), top, pixels_per_mm)


def _draw(
    corners: Floats, faces: Ints, first: Ints, span: int, heights: Floats, columns: int
) -> None:
    """Raises `heights` to the triangles, each tested on a square of `span` pixels from `first`."""
    a, b, c = (corners[faces[:, k]][:, None, :] for k in range(3))
    offsets = np.arange(span)
    px = first[:, 0, None] + np.tile(offsets, span)
    py = first[:, 1, None] + np.repeat(offsets, span)
    area = (b - a)[..., 0] * (c - a)[..., 1] - (b - a)[..., 1] * (c - a)[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        wb = ((px - a[..., 0]) * (c - a)[..., 1] - (py - a[..., 1]) * (c - a)[..., 0]) / area
        wc = ((py - a[..., 1]) * (b - a)[..., 0] - (px - a[..., 0]) * (b - a)[..., 1]) / area
    tiny = 1e-9
    inside = (wb >= -tiny) & (wc >= -tiny) & (wb + wc <= 1 + tiny)
    z = a[..., 2] + wb * (b - a)[..., 2] + wc * (c - a)[..., 2]
    np.maximum.at(heights, (py * columns + px)[inside], z[inside])
