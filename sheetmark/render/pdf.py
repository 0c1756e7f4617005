"""PDF by ReportLab: exact paper, true scale, embedded font, the same bytes every time."""

from __future__ import annotations

import re
from functools import cache
from io import BytesIO
from math import cos, radians, sin
from typing import Any, BinaryIO

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFInfo
from reportlab.pdfgen.canvas import Canvas

from sheetmark.render.pdf_links import add_links, add_outline, begin_bookmark
from sheetmark.typesetting.lettering import font
from sheetmark.typesetting.marks import BLACK, Disc, Document, Line, Mark, Page, Polygon, Ring, Text

POINTS_PER_MM = 72 / 25.4


def render_pdf(document: Document) -> bytes:
    """The document as a PDF of its exact page size, print scaling set to none."""
    first = document.pages[0]
    buffer = BytesIO()
    canvas = new_canvas(buffer, first.width, first.height, document.title, document.recipe)
    titles = []
    for number, page in enumerate(document.pages, start=1):
        titles.append(begin_bookmark(canvas, page, number))
        draw_page(canvas, page, document.correction)
    add_outline(canvas, titles)
    canvas.save()
    return buffer.getvalue()


def new_canvas(file: BinaryIO, width: float, height: float, title: str, recipe: str) -> Canvas:
    """A canvas for pages of one size in mm; `recipe` says how the file was made."""
    _register_fonts()
    rl_config.useA85 = 0  # letters in place of bytes make a file a quarter larger and are slow
    canvas = _Canvas(
        file,
        pagesize=(width * POINTS_PER_MM, height * POINTS_PER_MM),
        pdfVersion=(1, 7),
        invariant=1,
        lang="en",
        pageCompression=1,
    )
    canvas.setTitle(title)
    canvas.setSubject(recipe)
    canvas.setCreator("sheetmark")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    # Nothing may come to lie on the back of a page that goes under a sheet, nor a key behind it.
    canvas.setViewerPreference("Duplex", "Simplex")
    canvas._doc.info.__class__ = _Info
    return canvas


class _Info(PDFInfo):  # type: ignore[misc]
    """What the file says of itself, without an author: ReportLab would name an anonymous one."""

    def format(self, document: Any) -> bytes:
        whole: bytes = super().format(document)
        return re.sub(rb"/Author \([^)]*\)\s*", b"", whole, count=1)


class _Canvas(Canvas):  # type: ignore[misc]  # ReportLab has no types
    """A canvas without the Helvetica that ReportLab names on each page and does not embed."""

    def _make_preamble(self) -> None:
        self._preamble = "1 0 0 1 0 0 cm"


@cache
def _register_fonts() -> None:
    for bold in (False, True):
        pdfmetrics.registerFont(font(bold))


def draw_page(canvas: Canvas, page: Page, correction: tuple[float, float]) -> None:
    """A page with all its marks, and then the next one begins."""
    begin_page(canvas, page, correction)
    for mark in page.marks:
        draw_mark(canvas, mark)
    add_links(canvas, page, POINTS_PER_MM)
    canvas.showPage()


def begin_page(canvas: Canvas, page: Page, correction: tuple[float, float]) -> None:
    """What holds for all marks of a page; the correction is about its middle."""
    if correction != (1.0, 1.0):
        # One transformation of all that is drawn, about the page's middle; the paper stays.
        across, down = correction
        x, y = page.width / 2 * POINTS_PER_MM, page.height / 2 * POINTS_PER_MM
        canvas.transform(across, 0, 0, down, x * (1 - across), y * (1 - down))
    canvas.setLineJoin(0)
    canvas.setLineCap(0)


def draw_mark(canvas: Canvas, mark: Mark) -> None:
    """One mark on the page; mm from its lower left corner."""
    k = POINTS_PER_MM
    match mark:
        case Disc(centre, diameter):
            canvas.setFillGray(BLACK)
            canvas.circle(centre[0] * k, centre[1] * k, diameter / 2 * k, stroke=0, fill=1)
        case Ring(centre, diameter, width):
            canvas.setStrokeGray(BLACK)
            canvas.setLineWidth(width * k)
            path = canvas.beginPath()
            path.circle(centre[0] * k, centre[1] * k, diameter / 2 * k)
            path.close()  # a thick line would show a notch where it begins
            canvas.drawPath(path, stroke=1, fill=0)
        case Line(start, end, width):
            canvas.setStrokeGray(BLACK)
            canvas.setLineWidth(width * k)
            canvas.line(start[0] * k, start[1] * k, end[0] * k, end[1] * k)
        case Polygon(points, width, _, grey, filled, colour):
            if colour is None:
                canvas.setStrokeGray(grey)
                canvas.setFillGray(grey)
            else:
                canvas.setStrokeColorRGB(*colour)
                canvas.setFillColorRGB(*colour)
            canvas.setLineWidth(width * k)
            path = canvas.beginPath()
            path.moveTo(points[0][0] * k, points[0][1] * k)
            for x, y in points[1:]:
                path.lineTo(x * k, y * k)
            path.close()
            canvas.drawPath(path, stroke=1, fill=int(filled))
        case Text():
            _draw_text(canvas, mark)


def _draw_text(canvas: Canvas, mark: Text) -> None:
    k = POINTS_PER_MM
    back = {"left": 0.0, "middle": mark.width / 2, "right": mark.width}[mark.align]
    turn = radians(mark.angle)
    x, y = mark.at[0] - back * cos(turn), mark.at[1] - back * sin(turn)
    text = canvas.beginText()
    text.setFont(font(mark.bold).fontName, mark.size * k)
    text.setFillGray(BLACK)
    text.setTextTransform(cos(turn), sin(turn), -sin(turn), cos(turn), x * k, y * k)
    text.textOut(mark.text)
    canvas.drawText(text)
