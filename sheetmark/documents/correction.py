"""The lowest line of every page: the practice's name, and on a PDF the printer's correction."""

from __future__ import annotations

from msgspec.structs import replace

from sheetmark.base.frames import PagePoint
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.lettering import lettered, text_width
from sheetmark.typesetting.marks import Document, Mark, Page
from sheetmark.typesetting.paragraphs import LEADING, SMALL_MM

# Kept free of anything else on every page, so that a correction moves nothing.
FOOT_LINE_MM = SMALL_MM * LEADING
_BASELINE_MM = 0.3 * SMALL_MM
_GAP_MM = 4.0


def practice_name(practice: Practice) -> list[Mark]:
    """The practice's name on the lowest line, at the left."""
    if not practice.name:
        return []
    at = PagePoint(practice.margin_mm, practice.margin_mm + _BASELINE_MM)
    return [lettered(at, practice.name, SMALL_MM, "practice", bold=True)]


def corrected(document: Document, practice: Practice) -> Document:
    """The document for the printer in use, which each page then names, at the right of its
    lowest line; the same document where there is none."""
    printer = practice.printer_in_use
    if printer is None:
        return document
    pages = tuple(corrected_page(page, practice) for page in document.pages)
    return replace(document, pages=pages, correction=printer.correction)


def corrected_page(page: Page, practice: Practice) -> Page:
    """The page with the line that names the printer in use; the same where there is none."""
    printer = practice.printer_in_use
    if printer is None:
        return page
    text = practice.numerals(printer.summary)
    return replace(page, marks=(*page.marks, _line(page, text, practice)))


def _line(page: Page, text: str, practice: Practice) -> Mark:
    margin = practice.margin_mm
    room = page.width - 2 * margin
    if practice.name:
        room -= text_width(practice.name, SMALL_MM, True) + _GAP_MM
    # Beside the longest of names the type is smaller, rather than on top of it.
    size = SMALL_MM * min(1.0, room / text_width(text, SMALL_MM))
    return lettered(
        PagePoint(page.width - margin, margin + _BASELINE_MM), text, size, "printer", "right"
    )
