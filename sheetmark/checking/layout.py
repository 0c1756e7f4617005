"""Where the bullseyes of a page stand round its sheet, sheet frame, mm."""

from __future__ import annotations

from msgspec import Struct

from sheetmark.base.frames import PagePoint, SheetPoint
from sheetmark.practice.settings import Sheet
from sheetmark.typesetting.bullseyes import BullseyeKind, bullseyes_round

# From the sheet's edge to the bullseyes' middles on the check page (ours).
CHECK_GAP_MM = 10.0
# The printer's test page: a square for a bank card, and the bullseyes round it (ours).
CARD_SQUARE_MM, CARD_GAP_MM = 120.0, 6.0


class Fiducial(Struct, frozen=True):
    """A bullseye's middle, sheet frame, and its kind."""

    at: SheetPoint
    kind: BullseyeKind


class Layout(Struct, frozen=True):
    """A page's sheet and the bullseyes round it. `name` is what a person calls the page."""

    name: str
    sheet: Sheet
    fiducials: tuple[Fiducial, ...]


def round_sheet(name: str, sheet: Sheet, gap_mm: float) -> Layout:
    """The layout of `bullseyes_round` a sheet, that far outside its edges."""
    middle = PagePoint(0.0, 0.0)
    found = bullseyes_round(middle, sheet.width_mm, sheet.height_mm, gap_mm)
    marks = tuple(Fiducial(SheetPoint(*mark.centre), mark.kind) for mark in found)
    return Layout(name, sheet, marks)


def check_layout(sheet: Sheet) -> Layout:
    """The layout of the check page for one sheet."""
    return round_sheet(f"check page for a sheet of {sheet.name} mm", sheet, CHECK_GAP_MM)


def card_layout() -> Layout:
    """The layout of the printer's test page."""
    square = Sheet(CARD_SQUARE_MM, CARD_SQUARE_MM)
    return round_sheet("printer's test page", square, CARD_GAP_MM)
