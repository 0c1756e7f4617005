"""From the practice file to the settings that it holds, and back."""

from __future__ import annotations

from sheetmark.practice.file.keys import FORMAT, PracticeFile
from sheetmark.practice.file.rows import ClampRow, ListHeadingRow, ListWordRow, PrinterRow, SheetRow
from sheetmark.practice.file.sections import (
    USUAL,
    CardSection,
    CheckSection,
    CutterSection,
    HolesSection,
    IsolationSection,
    MarksSection,
    PageSection,
    PlacementSection,
    PunchSection,
    shared_fields,
)
from sheetmark.practice.list_terms import ListHeading, ListWord
from sheetmark.practice.printer import Printer
from sheetmark.practice.rules import CutterColours, PlacementRules
from sheetmark.practice.settings import OrientationMarks, Practice, Punch, StockSheet
from sheetmark.practice.tray import Clamp


def to_practice(file: PracticeFile) -> Practice:
    """The settings that a checked file holds."""
    stock = tuple(row.record() for row in file.sheets)
    first = stock[0] if stock else StockSheet(USUAL.sheet, USUAL.material)
    plain = numbered(len(file.punch.diameters_mm))
    return Practice(
        **shared_fields(file.page, Practice)
        | shared_fields(file.isolation, Practice)
        | shared_fields(file.holes, Practice)
        | shared_fields(file.card, Practice)
        | shared_fields(file.check, Practice),
        name=file.name,
        notation=file.notation,
        numbers=file.numbers,
        sheet=first.sheet,
        material=first.material,
        stock=stock,
        punch=Punch(
            file.punch.diameters_mm, () if file.punch.labels == plain else file.punch.labels
        ),
        shift=file.placement.shift,
        rules=PlacementRules(**shared_fields(file.placement, PlacementRules)),
        cutter=CutterColours(**shared_fields(file.cutter, CutterColours)),
        marks=OrientationMarks(**shared_fields(file.marks, OrientationMarks)),
        tray=tuple(Clamp(**shared_fields(row, Clamp)) for row in file.tray),
        tray_turn_round_min=file.tray_turn_round_min,
        printers=tuple(Printer(**shared_fields(row, Printer)) for row in file.printers),
        list_headings=tuple(ListHeading(row.heading, row.column) for row in file.list_headings),
        list_words=tuple(ListWord(row.word, row.means) for row in file.list_words),
    )


def from_practice(practice: Practice) -> PracticeFile:
    """The file that holds these settings; the inverse of `to_practice`, but that the sheet in use
    is always the first in stock there."""
    punch = practice.punch
    return PracticeFile(
        format=FORMAT,
        name=practice.name,
        notation=practice.notation,
        numbers=practice.numbers,
        page=PageSection(**shared_fields(practice, PageSection)),
        sheets=tuple(SheetRow.of(kept) for kept in practice.stock),
        punch=PunchSection(
            diameters_mm=punch.diameters_mm,
            labels=punch.labels or numbered(len(punch.diameters_mm)),
        ),
        isolation=IsolationSection(**shared_fields(practice, IsolationSection)),
        holes=HolesSection(**shared_fields(practice, HolesSection)),
        placement=PlacementSection(
            **shared_fields(practice.rules, PlacementSection), shift=practice.shift
        ),
        marks=MarksSection(**shared_fields(practice.marks, MarksSection)),
        cutter=CutterSection(**shared_fields(practice.cutter, CutterSection)),
        card=CardSection(**shared_fields(practice, CardSection)),
        check=CheckSection(**shared_fields(practice, CheckSection)),
        tray=tuple(ClampRow(**shared_fields(clamp, ClampRow)) for clamp in practice.tray),
        tray_turn_round_min=practice.tray_turn_round_min,
        printers=tuple(
            PrinterRow(**shared_fields(known, PrinterRow)) for known in practice.printers
        ),
        list_headings=tuple(
            ListHeadingRow(heading=known.heading, column=known.column)
            for known in practice.list_headings
        ),
        list_words=tuple(
            ListWordRow(word=known.word, means=known.means) for known in practice.list_words
        ),
    )


def numbered(count: int) -> tuple[str, ...]:
    """The labels of a punch that has none of its own: 1, 2, 3 and so on."""
    return tuple(str(position + 1) for position in range(count))
