"""SVG: size in mm, user units are mm, for editing and cutting. The PDF is for printing.

A browser that prints a file all the same prints it true: it carries the size of its own paper.
"""

from __future__ import annotations

from sheetmark.base.frames import PagePoint
from sheetmark.render.svg_elements import circle, element, escaped, listed_points, svg_file
from sheetmark.typesetting.lettering import FAMILY
from sheetmark.typesetting.marks import Disc, Document, Line, Mark, Page, Polygon, Ring, Text

_DIGITS = 4  # of a mm: a tenth of a micrometre
# Some viewers have neither our font nor `textLength`: letters in a file are smaller by this, so
# that Arial, whose figures are 12 % wider (measured), keeps to the room of each word.
_SLACK = 1.12
# The narrow fonts of most machines first; some viewers show no word without a font they know.
_FAMILIES = f"{FAMILY}, Arial, Liberation Sans, Helvetica, DejaVu Sans Condensed, DejaVu Sans"
_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}


def render_svg(document: Document, *, inline: bool = False) -> bytes:
    """The document's first page as an SVG of its exact size.

    `inline` is for a picture within a page: that has our font and a paper's size of its own.
    """
    page = document.pages[0]
    attributes = {
        "width": f"{page.width:g}mm",
        "height": f"{page.height:g}mm",
        "viewBox": f"0 0 {page.width:g} {page.height:g}",
        "font-family": f"{_FAMILIES}, sans-serif",
    }
    drawn = [_drawn(page, mark, 1.0 if inline else _SLACK) for mark in page.marks]
    if not inline:
        # Without it browsers print at 0.935 on A4 and 0.909 on letter (measured).
        paper = f"@page {{ size: {page.width:g}mm {page.height:g}mm; margin: 0 }}"
        drawn.insert(0, element("style", {"type": "text/css"}, f"<![CDATA[{paper}]]>"))
    return svg_file(attributes, document.title, document.recipe, drawn)


def _drawn(page: Page, mark: Mark, slack: float) -> str:
    def at(point: PagePoint) -> PagePoint:
        """Page frame (y up) to SVG (y down)."""
        return PagePoint(round(point[0], _DIGITS), round(page.height - point[1], _DIGITS))

    named = {"data-name": mark.name}
    match mark:
        case Disc(centre, diameter):
            return circle(at(centre), round(diameter / 2, _DIGITS), {**named, "fill": "black"})
        case Ring(centre, diameter, width):
            line = {**named, "fill": "none", "stroke": "black", "stroke-width": width}
            return circle(at(centre), round(diameter / 2, _DIGITS), line)
        case Line(start, end, width):
            (x1, y1), (x2, y2) = at(start), at(end)
            ends = {"x1": x1, "y1": y1, "x2": x2, "y2": y2}
            return element("line", {**named, **ends, "stroke": "black", "stroke-width": width})
        case Polygon(points, width, _, grey, filled, rgb):
            levels = ",".join([str(round(level * 255)) for level in rgb or (grey, grey, grey)])
            colour = f"rgb({levels})"
            line = {
                **named,
                "points": listed_points(map(at, points)),
                "fill": colour if filled else "none",
                "stroke": colour,
                "stroke-width": width,
            }
            return element("polygon", line)
        case Text():
            return _text(at(mark.at), mark, slack)


def _text(at: PagePoint, mark: Text, slack: float) -> str:
    x, y = at
    attributes = {
        "data-name": mark.name,
        "x": x,
        "y": y,
        "font-size": round(mark.size / slack, _DIGITS),
        "font-weight": "bold" if mark.bold else "normal",
        "text-anchor": _ANCHORS[mark.align],
        # Another font than ours must not make a label longer than was measured.
        "textLength": round(mark.width, _DIGITS),
        "lengthAdjust": "spacingAndGlyphs",
    }
    if mark.angle:
        attributes["transform"] = f"rotate({-mark.angle},{x},{y})"
    return element("text", attributes, escaped(mark.text))
