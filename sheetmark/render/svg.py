"""SVG by svgwrite: size in mm, user units are mm, for editing and cutting. The PDF is for printing.

A browser that prints a file all the same prints it true: it carries the size of its own paper.

svgwrite is no longer developed; nothing outside this module knows it.
"""

from __future__ import annotations

from sheetmark.base.frames import PagePoint
from sheetmark.render.light_svgwrite import svgwrite
from sheetmark.typesetting.lettering import FAMILY
from sheetmark.typesetting.marks import Disc, Document, Line, Mark, Page, Polygon, Ring, Text

_DIGITS = 4  # of a mm: a tenth of a micrometre
# Some viewers have neither our font nor `textLength`: letters in a file are smaller by this, so
# that Arial, whose figures are 12 % wider (measured), keeps to the room of each word.
_SLACK = 1.12
# The narrow fonts of most machines first; some viewers show no word without a font they know.
_FAMILIES = f"{FAMILY}, Arial, Liberation Sans, Helvetica, DejaVu Sans Condensed, DejaVu Sans"


def render_svg(document: Document, *, inline: bool = False) -> bytes:
    """The document's first page as an SVG of its exact size.

    `inline` is for a picture within a page: that has our font and a paper's size of its own.
    """
    page = document.pages[0]
    drawing = svgwrite.Drawing(
        size=(f"{page.width:g}mm", f"{page.height:g}mm"),
        viewBox=f"0 0 {page.width:g} {page.height:g}",
        font_family=f"{_FAMILIES}, sans-serif",
        debug=False,
    )
    drawing.set_desc(title=document.title, desc=document.recipe)
    if not inline:
        # Without it browsers print at 0.935 on A4 and 0.909 on letter (measured).
        paper = f"@page {{ size: {page.width:g}mm {page.height:g}mm; margin: 0 }}"
        drawing.add(drawing.style(paper))
    for mark in page.marks:
        element = _element(drawing, page, mark, 1.0 if inline else _SLACK)
        element.attribs["data-name"] = mark.name
        drawing.add(element)
    xml: str = drawing.tostring()
    return f'<?xml version="1.0" encoding="utf-8"?>\n{xml}\n'.encode()


def _element(
    drawing: svgwrite.Drawing, page: Page, mark: Mark, slack: float
) -> svgwrite.base.BaseElement:
    def at(point: PagePoint) -> PagePoint:
        """Page frame (y up) to SVG (y down)."""
        return PagePoint(round(point[0], _DIGITS), round(page.height - point[1], _DIGITS))

    match mark:
        case Disc(centre, diameter):
            return drawing.circle(at(centre), round(diameter / 2, _DIGITS), fill="black")
        case Ring(centre, diameter, width):
            radius = round(diameter / 2, _DIGITS)
            return drawing.circle(
                at(centre), radius, fill="none", stroke="black", stroke_width=width
            )
        case Line(start, end, width):
            return drawing.line(at(start), at(end), stroke="black", stroke_width=width)
        case Polygon(points, width, _, grey, filled, rgb):
            levels = ",".join(str(round(level * 255)) for level in rgb or (grey, grey, grey))
            colour = f"rgb({levels})"
            return drawing.polygon(
                [at(point) for point in points],
                fill=colour if filled else "none",
                stroke=colour,
                stroke_width=width,
            )
        case Text():
            return _text(drawing, at(mark.at), mark, slack)


def _text(
    drawing: svgwrite.Drawing, at: PagePoint, mark: Text, slack: float
) -> svgwrite.base.BaseElement:
    element = drawing.text(
        mark.text,
        insert=at,
        font_size=round(mark.size / slack, _DIGITS),
        font_weight="bold" if mark.bold else "normal",
        text_anchor={"left": "start", "middle": "middle", "right": "end"}[mark.align],
        # Another font than ours must not make a label longer than was measured.
        textLength=round(mark.width, _DIGITS),
        lengthAdjust="spacingAndGlyphs",
    )
    if mark.angle:
        element.rotate(-mark.angle, center=at)
    return element
