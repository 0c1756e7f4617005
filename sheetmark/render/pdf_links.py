"""How a PDF is found one's way in: a bookmark for each page, and links from lists to pages."""

from __future__ import annotations

from collections.abc import Iterable

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
    """The links of a page, as the page's own transformation has it."""
    k = points_per_mm
    for mark in page.marks:
        if isinstance(mark, Text) and mark.link:
            x, y = mark.at
            left = x - {"left": 0.0, "middle": mark.width / 2, "right": mark.width}[mark.align]
            low, high = y - _BELOW * mark.size, y + CAP_HEIGHT * mark.size
            area = (left * k, low * k, (left + mark.width) * k, high * k)
            canvas.linkRect(mark.text, mark.link, area, relative=1, thickness=0)


def _title(page: Page) -> str:
    """The page's heading, and what stands beside it but a scale; empty where there is none."""
    texts = [mark for mark in page.marks if isinstance(mark, Text)]
    heading = " ".join(text.text for text in texts if text.name == "title")
    asides = [text.text for text in texts if text.name == "aside"]
    return " · ".join([heading, *asides]) if heading else ""
