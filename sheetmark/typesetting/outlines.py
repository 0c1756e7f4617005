"""Letters as outlines in mm, for machines that know lines and no fonts."""

from __future__ import annotations

from functools import cache
from typing import Any

from sheetmark.base.frames import PagePoint
from sheetmark.typesetting.lettering import CAP_HEIGHT, font_file, text_width

Outline = tuple[PagePoint, ...]
# In a glyph's own axes: units of the font, or shares of the font size.
_GlyphPoint = tuple[float, float]

_CURVE_STEPS = 4


def letter_outlines(text: str, centre: PagePoint, size: float) -> tuple[Outline, ...]:
    """Closed outlines of a text centred on a point; `size` is the font size in mm.

    Raises InputError for a character the font does not have.
    """
    x = centre[0] - text_width(text, size) / 2
    y = centre[1] - CAP_HEIGHT * size / 2
    outlines: list[Outline] = []
    for letter in text:
        for outline in _glyph(letter):
            placed = tuple(PagePoint(x + px * size, y + py * size) for px, py in outline)
            outlines.append(placed)
        x += text_width(letter, size)
    return tuple(outlines)


@cache
def _font() -> tuple[Any, dict[int, str], float]:
    from fontTools.ttLib import TTFont

    font = TTFont(font_file(bold=False), lazy=True)
    return font.getGlyphSet(), font.getBestCmap(), float(font["head"].unitsPerEm)


@cache
def _glyph(letter: str) -> tuple[tuple[_GlyphPoint, ...], ...]:
    """The outlines of one letter for a font size of 1."""
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    glyphs, names, em = _font()
    pen = DecomposingRecordingPen(glyphs)
    glyphs[names[ord(letter)]].draw(pen)
    outlines: list[tuple[_GlyphPoint, ...]] = []
    points: list[_GlyphPoint] = []
    for command, arguments in pen.value:
        if command in ("moveTo", "lineTo"):
            points.append(arguments[0])
        elif command == "qCurveTo":
            points += _quadratic(points[-1], arguments)
        elif command in ("closePath", "endPath"):
            outlines.append(tuple((px / em, py / em) for px, py in points))
            points = []
    return tuple(outlines)


def _quadratic(start: _GlyphPoint, arguments: tuple[_GlyphPoint, ...]) -> list[_GlyphPoint]:
    """A chain of quadratic curves with implied points between the controls, as TrueType has it."""
    points: list[_GlyphPoint] = []
    controls, end = arguments[:-1], arguments[-1]
    for number, control in enumerate(controls):
        following = controls[number + 1 : number + 2]
        stop = (
            ((control[0] + following[0][0]) / 2, (control[1] + following[0][1]) / 2)
            if following
            else end
        )
        for step in range(1, _CURVE_STEPS + 1):
            t = step / _CURVE_STEPS
            a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
            points.append(
                (
                    a * start[0] + b * control[0] + c * stop[0],
                    a * start[1] + b * control[1] + c * stop[1],
                )
            )
        start = stop
    return points
