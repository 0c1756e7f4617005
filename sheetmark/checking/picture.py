"""The sheet as photographed, seen from straight above, with planned places and found holes."""

from __future__ import annotations

from io import BytesIO
from math import cos, radians, sin

import numpy as np

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.flat import PITCH_MM
from sheetmark.checking.look import Page, Seen
from sheetmark.checking.result import Check
from sheetmark.typesetting.lettering import font_file

# Seen on any rubber and in black and white: a dark line inside a light one.
_LIGHT, _DARK = (255, 255, 255), (0, 0, 0)
_LETTERS_MM = 4.0


def check_picture(seen: Seen, check: Check) -> bytes:
    """A PNG: a ring of the tolerance round each planned place, a thin one round each found hole, a
    cross on a hole too many; the teeth's numbers."""
    picture = FlatPicture(seen.page)
    turn = radians(seen.laid.turn_deg)
    mirror = -1.0 if check.laid == "face down" else 1.0

    def laid(point: SheetPoint) -> tuple[float, float]:
        x, y = mirror * point.x, point.y
        return (
            seen.laid.middle.x + x * cos(turn) - y * sin(turn),
            seen.laid.middle.y + x * sin(turn) + y * cos(turn),
        )

    for hole in check.holes:
        picture.ring(laid(hole.wanted.at), check.tolerance_mm)
        picture.word(laid(hole.wanted.at), check.wanted.written(hole.wanted.tooth))
    for opening in seen.found.openings:
        picture.ring(seen_at(seen, opening.at), opening.diameter_mm / 2 + 0.5)
    for extra in check.extra:
        picture.cross(laid(extra.at), 2.0)
    return picture.png()


def seen_at(seen: Seen, point: SheetPoint) -> tuple[float, float]:
    """A point of the sheet as it lies, in the page's sheet frame."""
    turn = radians(seen.laid.turn_deg)
    return (
        seen.laid.middle.x + point.x * cos(turn) - point.y * sin(turn),
        seen.laid.middle.y + point.x * sin(turn) + point.y * cos(turn),
    )


class FlatPicture:
    """A page seen from straight above, to draw on; points in the page's sheet frame, mm."""

    def __init__(self, page: Page) -> None:
        from PIL import Image, ImageDraw, ImageFont

        self._grid = page.flat.grid
        light = np.clip(page.flat.light, 0.0, 1.0)
        coded = np.where(light < 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        self._image = Image.fromarray((coded * 255 + 0.5).astype(np.uint8))
        self._draw = ImageDraw.Draw(self._image)
        self._font = ImageFont.truetype(str(font_file(True)), round(_LETTERS_MM / PITCH_MM))

    def ring(self, at: tuple[float, float], radius_mm: float) -> None:
        """A circle line."""
        x, y, r = self._grid.column(at[0]), self._grid.row(at[1]), radius_mm / PITCH_MM
        for colour, width, more in ((_LIGHT, 4, 1.5), (_DARK, 2, 0.5)):
            box = (x - r - more, y - r - more, x + r + more, y + r + more)
            self._draw.ellipse(box, outline=colour, width=width)

    def cross(self, at: tuple[float, float], half_mm: float) -> None:
        """A lying cross."""
        x, y, h = self._grid.column(at[0]), self._grid.row(at[1]), half_mm / PITCH_MM
        for colour, width in ((_LIGHT, 5), (_DARK, 2)):
            self._draw.line((x - h, y - h, x + h, y + h), fill=colour, width=width)
            self._draw.line((x - h, y + h, x + h, y - h), fill=colour, width=width)

    def word(self, at: tuple[float, float], text: str) -> None:
        """A word to the right of a point."""
        x, y = self._grid.column(at[0]) + 3.2 / PITCH_MM, self._grid.row(at[1])
        self._draw.text(
            (x, y), text, _DARK, self._font, anchor="lm", stroke_width=2, stroke_fill=_LIGHT
        )

    def png(self) -> bytes:
        """The picture so far."""
        out = BytesIO()
        self._image.save(out, "PNG", optimize=False)
        return out.getvalue()
