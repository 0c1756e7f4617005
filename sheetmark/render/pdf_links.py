"""How a PDF is found one's way in: a bookmark for each page, and links from lists to pages."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from operator import attrgetter

from reportlab.pdfgen.canvas import Canvas

from sheetmark.typesetting.lettering import CAP_HEIGHT
from sheetmark.typesetting.marks import Page, Text

# Of the font size: below the baseline, so that a finger hits the line.
_BELOW = 0.25


def begin_bookmark(canvas: Canvas, page: Page, number: int) -> tuple[str, str]:
    """Bookmark the page that is being drawn, the file's `number`th; gives its key and title."""
    key = page.key or f"page-{number}"
    canvas.bookmarkPage(key)
    return key, _title(page)


def add_outline(canvas: Canvas, pages: Iterable[tuple[str, str]]) -> None:
    """The outline of a file of several pages, by their keys and titles in its order."""
    found = list(pages)
    if len(found) < 2:
        return
    for number, (key, title) in enumerate(found, start=1):
        canvas.addOutlineEntry(title or f"Page {number}", key)


def add_links(canvas: Canvas, page: Page, points_per_mm: float) -> None:
    """The links of a page, as the page's own transformation has it; lines of one text are one."""
    linked = [mark for mark in page.marks if isinstance(mark, Text) and mark.link]
    for link, lines in groupby(linked, key=attrgetter("link")):
        texts = list(lines)
        lefts, lows, rights, highs = zip(*map(_area, texts), strict=True)
        area = (min(lefts), min(lows), max(rights), max(highs))
        points = tuple(mm * points_per_mm for mm in area)
        canvas.linkRect(" ".join(t.text for t in texts), link, points, relative=1, thickness=0)


def _area(text: Text) -> tuple[float, float, float, float]:
    """Left, low, right and high of the area that a finger hits, mm."""
    x, y = text.at
    left = x - {"left": 0.0, "middle": text.width / 2, "right": text.width}[text.align]
    return left, y - _BELOW * text.size, left + text.width, y + CAP_HEIGHT * text.size


def _title(page: Page) -> str:
    """The page's heading, and what stands beside it but a scale; empty where there is none."""
    texts = [mark for mark in page.marks if isinstance(mark, Text)]
    heading = " ".join(text.text for text in texts if text.name == "title")
    asides = [text.text for text in texts if text.name == "aside"]
    return " · ".join([heading, *asides]) if heading else ""
