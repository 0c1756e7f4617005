"""The view from above as a PNG at true scale: what lies lower is darker, grooves darkest.

Written with Pillow. The scale is in the file twice: in the standard pHYs chunk, which any viewer
reads, and as text.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from PIL.PngImagePlugin import PngInfo

from sheetmark.fitting.scan.height_map import HeightMap

SCALE_KEY = "pixels-per-mm"
_MARK_MM, _TEXT_MM = 1.2, 2.4  # half a cross, and the height of its label
_LIGHT = (-0.35, 0.45, 0.82)  # from the upper left, as drawings are shaded


class Mark(Struct, frozen=True):
    """A point of the view, mm, and its label."""

    view_mm: tuple[float, float]
    label: str


def shaded(seen_from_above: HeightMap) -> NDArray[np.uint8]:
    """(rows, columns) grey values; 255 where the scan has nothing."""
    from scipy.ndimage import gaussian_filter

    k = seen_from_above.pixels_per_mm
    seen = seen_from_above.seen
    low = float(seen_from_above.heights_mm[seen].min())
    z = np.where(seen, seen_from_above.heights_mm, low)
    share = np.maximum(gaussian_filter(seen.astype(np.float64), 1.2 * k), 1e-6)
    around = gaussian_filter(np.where(seen, z, 0.0), 1.2 * k) / share
    relief = np.clip((z - around) / 1.2, -1, 1)
    dy, dx = np.gradient(gaussian_filter(z, 0.1 * k))
    normal = np.stack([-dx * k, dy * k, np.ones_like(z)])
    light = np.tensordot(np.array(_LIGHT), normal / np.linalg.norm(normal, axis=0), axes=1)
    depth = np.clip((z - np.percentile(z[seen], 99.5)) / 14.0, -1, 0)
    grey = 0.30 + 0.52 * np.clip(light, 0, 1) + 0.20 * relief + 0.22 * depth
    return np.where(seen, (np.clip(grey, 0.02, 0.97) * 255), 255).astype(np.uint8)


def picture_png(seen_from_above: HeightMap, marks: Sequence[Mark] = ()) -> bytes:
    """PNG bytes of the shaded view with its marks. Row 0 is at the largest y; pixels are square."""
    k = seen_from_above.pixels_per_mm
    notes = PngInfo()
    notes.add_text(SCALE_KEY, f"{k:g}")
    notes.add_text("left-mm", f"{seen_from_above.left_mm:.4f}")
    notes.add_text("top-mm", f"{seen_from_above.top_mm:.4f}")
    image = Image.fromarray(shaded(seen_from_above))
    drawing = ImageDraw.Draw(image)
    for mark in marks:
        _draw_mark(drawing, seen_from_above, mark)
    out = BytesIO()
    image.save(out, "PNG", pnginfo=notes, dpi=(k * 25.4, k * 25.4))
    return out.getvalue()


def _draw_mark(drawing: ImageDraw.ImageDraw, seen: HeightMap, mark: Mark) -> None:
    """A cross at the point and the label above it, black on white, so that both show anywhere."""
    row, column = seen.pixel_of(np.array([mark.view_mm]))[0]
    half = _MARK_MM * seen.pixels_per_mm
    for grey, width in ((255, 7), (0, 3)):
        drawing.line([(column - half, row), (column + half, row)], grey, width)
        drawing.line([(column, row - half), (column, row + half)], grey, width)
    above = (column, row - 1.3 * half)
    size = _TEXT_MM * seen.pixels_per_mm
    drawing.text(above, mark.label, 0, font_size=size, anchor="ms", stroke_width=3, stroke_fill=255)


def scale_of_png(content: bytes) -> float | None:
    """Pixels per mm that a PNG says: our text, else its pHYs chunk, else None."""
    with Image.open(BytesIO(content)) as image:
        if SCALE_KEY in image.info:
            return float(image.info[SCALE_KEY])
        dpi = image.info.get("dpi")
    return float(dpi[0]) / 25.4 if dpi else None
