"""The clinic's settings: sheet, punch, material, paper, and the rules of placement.

Every figure has its source beside it; a clinic changes figures here, never in the rules.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import isfinite
from typing import Literal, get_args

from msgspec import Struct, field
from msgspec.structs import replace

from sheetmark.anatomy.teeth import DEFAULT_NOTATION, Notation
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding, InputError
from sheetmark.base.frames import SheetPoint, Size
from sheetmark.base.numbers import read_number
from sheetmark.base.row_rules import DEFAULT_HOLD, DEFAULT_ROW, Hold, RowRule
from sheetmark.practice.list_terms import ListHeading, ListWord
from sheetmark.practice.printer import Printer
from sheetmark.practice.rules import CutterColours, PlacementRules
from sheetmark.practice.tolerance import DEFAULT_TOLERANCE_MM
from sheetmark.practice.tray import DEFAULT_TRAY, Clamp

PaperName = Literal["a4", "letter"]
SizingRule = Literal["crown", "two-size"]
MaterialName = Literal["latex", "nitrile"]
MarksKind = Literal["two-dots", "corner-hole"]
Corner = Literal["upper-left", "upper-right"]
Numbers = Literal["point", "comma"]
# Whether the frame goes on before the strips are worked between the teeth, or after.
FrameOrder = Literal["frame-first", "septa-first"]
ThicknessWord = Literal["thin", "medium", "heavy", "extra-heavy"]

SIZING_RULES: tuple[SizingRule, ...] = get_args(SizingRule)
MATERIALS: tuple[MaterialName, ...] = get_args(MaterialName)
MARKS_KINDS: tuple[MarksKind, ...] = get_args(MarksKind)
CORNERS: tuple[Corner, ...] = get_args(Corner)
NUMBERS: tuple[Numbers, ...] = get_args(Numbers)


class Paper(Struct, frozen=True):
    """A paper's name, and its width and height upright, mm."""

    name: str
    width_mm: float
    height_mm: float


# ISO 216 A4 and ANSI letter (standards).
PAPERS: dict[PaperName, Paper] = {
    "a4": Paper("A4", 210.0, 297.0),
    "letter": Paper("letter", 215.9, 279.4),
}
# Printers leave an edge white (assumption); beyond the upper limit no sheet fits the paper.
PAGE_MARGIN_LIMITS_MM = (10.0, 40.0)
# Room on the page, mm: the strip of each 100 mm bar, and the words below the sheet.
BAR_STRIP_MM = 10.0
BELOW_SHEET_MM = 86.0


class Sheet(Struct, frozen=True):
    """The dam sheet's width and height, mm."""

    width_mm: float
    height_mm: float

    @property
    def name(self) -> str:
        """The two sides, such as `152 x 152`, mm."""
        return f"{self.width_mm:g} x {self.height_mm:g}"


class StockSheet(Struct, frozen=True):
    """A sheet that the clinic keeps."""

    sheet: Sheet
    material: MaterialName
    """Latex or nitrile."""
    thickness_mm: float | None = None
    """None where it was not stated."""
    see_through: bool = True
    """Whether marks on paper can be seen through it."""

    @property
    def name(self) -> str:
        """The sheet in words, such as `152 x 152 mm, latex, medium 0.2 mm`."""
        thickness = [thickness_name(self.thickness_mm)] if self.thickness_mm is not None else []
        opaque = [] if self.see_through else ["not see-through"]
        return ", ".join([f"{self.sheet.name} mm", self.material, *thickness, *opaque])


# Seen in a secondary source.
THICKNESSES_MM: dict[ThicknessWord, float] = {
    "thin": 0.15,
    "medium": 0.20,
    "heavy": 0.25,
    "extra-heavy": 0.30,
}
# Beyond these a typing error is likelier than a sheet (assumption).
THICKNESS_LIMITS_MM = (0.1, 0.5)


def thickness_name(mm: float) -> str:
    """A thickness in words, such as `extra heavy 0.3 mm`."""
    word = [f"{word.replace('-', ' ')} " for word, usual in THICKNESSES_MM.items() if usual == mm]
    return f"{''.join(word)}{mm:g} mm"


# 5 inch and 6 inch sheets (seen in print).
STANDARD_SHEETS = (Sheet(127.0, 127.0), Sheet(152.0, 152.0))
# Below this no row of holes keeps its margins; above it no sheet is sold (assumption).
SHEET_LIMITS_MM = (80.0, 300.0)
# Wider than ISO 16635-1:2013 (0.5 to 2.6, catalogue summary, seen in print) for older punches;
# outside it a typing error is likelier than a punch (assumption).
PUNCH_LIMITS_MM = (0.3, 5.0)
EASE_LIMIT_MM = 5.0  # beyond it the row no longer fits the teeth (assumption)


class Punch(Struct, frozen=True):
    """Hole diameters in mm in the order of the punch; position 1 is the first.

    `labels` are what is written on the punch, one for each hole; none means 1, 2, 3 and so on.
    """

    diameters_mm: tuple[float, ...]
    labels: tuple[str, ...] = ()

    @property
    def ascending(self) -> tuple[float, ...]:
        """The diameters from the smallest up, mm, each once."""
        return tuple(sorted(set(self.diameters_mm)))

    def position(self, diameter_mm: float) -> int:
        """The position of a diameter (mm) on the punch, from 1. Raises ValueError for none such."""
        return self.diameters_mm.index(diameter_mm) + 1

    def label(self, position: int) -> str:
        """What is written on the punch at a position from 1."""
        return self.labels[position - 1] if self.labels else str(position)


# The dash that tells one face of a marked sheet from the other (ours).
DASH_OFF_DOT_MM, DASH_MM = 5.0, 6.0


class OrientationMarks(Struct, frozen=True):
    """Two dots near the upper edge, or a hole in an upper corner (common practice, no source)."""

    kind: MarksKind = "two-dots"
    below_edge_mm: float = 10.0
    """The dots, from the upper edge (assumption)."""
    from_middle_mm: float = 12.0
    """Each dot, from the middle across (assumption)."""
    corner: Corner = "upper-left"
    """The hole's corner, by the patient's sides."""
    from_corner_edges_mm: float = 10.0
    """The hole, from both edges of its corner (assumption)."""

    def on(self, sheet: Sheet) -> tuple[SheetPoint, ...]:
        """The marks' centres in the sheet frame, mm; x runs to the patient's left."""
        if self.kind == "two-dots":
            y = sheet.height_mm / 2 - self.below_edge_mm
            return (SheetPoint(-self.from_middle_mm, y), SheetPoint(self.from_middle_mm, y))
        x = sheet.width_mm / 2 - self.from_corner_edges_mm
        y = sheet.height_mm / 2 - self.from_corner_edges_mm
        return (SheetPoint(x if self.corner == "upper-left" else -x, y),)

    def dash_on(self, sheet: Sheet) -> tuple[SheetPoint, SheetPoint] | None:
        """The ends of the dash beside the dot at the patient's left, sheet frame, mm.

        A row of holes and two dots can look the same from behind; the dash does not. A hole in one
        corner needs none.
        """
        if self.kind != "two-dots":
            return None
        y = sheet.height_mm / 2 - self.below_edge_mm
        start = self.from_middle_mm + DASH_OFF_DOT_MM
        return SheetPoint(start, y), SheetPoint(start + DASH_MM, y)


NO_PRINTER = "none"


class Origin(Struct, frozen=True):
    """The practice file that settings come from: its name without folder, and what it said."""

    name: str
    practice: Practice


class Practice(Struct, frozen=True, kw_only=True):
    """All that a clinic sets once, and the day's choices that are not anatomy."""

    name: str = ""
    """Shown at the foot of every page; empty for none."""
    notation: Notation = DEFAULT_NOTATION
    """How teeth are written for people."""
    numbers: Numbers = "point"
    """The decimal sign in texts for people."""
    paper: PaperName = "a4"
    """The paper that pages are made for."""
    margin_mm: float = PAGE_MARGIN_LIMITS_MM[0]
    """White edge of every page."""
    sheet: Sheet = STANDARD_SHEETS[1]
    """The sheet in use."""
    # Diameters inside the ISO 16635-1:2013 range; the list itself is an assumption.
    punch: Punch = Punch((0.5, 1.0, 1.5, 2.0, 2.5, 2.6))
    """The punch's holes, in its order."""
    material: MaterialName = "latex"
    """The material of the sheet in use."""
    stock: tuple[StockSheet, ...] = ()
    """What the clinic keeps; empty where it did not say."""
    row: RowRule = DEFAULT_ROW
    """The rule for the row of teeth."""
    hold: Hold = DEFAULT_HOLD
    """What holds front teeth and first premolars."""
    sizing: SizingRule = "crown"
    """The rule for the size of holes."""
    share_of_break: float = 0.60
    """How much of the stretch at break a hole may use while the crown passes (assumption)."""
    ease_mm: float = 0.0
    """Added to each pitch along the row."""
    shift: bool = True
    """Whether the middle goes towards the quadrant worked on."""
    rules: PlacementRules = field(default_factory=PlacementRules)
    """Preferred limits of placement."""
    marks: OrientationMarks = field(default_factory=OrientationMarks)
    """What shows the way up of a marked sheet."""
    cutter: CutterColours = field(default_factory=CutterColours)
    """The colours of a cutter file's layers."""
    # Frame first: Sturdevant (from memory).
    frame: FrameOrder = "frame-first"
    """What goes on first."""
    tolerance_mm: float = DEFAULT_TOLERANCE_MM
    """How far off its place a checked hole may be."""
    tray: tuple[Clamp, ...] = DEFAULT_TRAY
    """The clamps that the clinic owns."""
    tray_turn_round_min: int = 60
    """Minutes from the time of a case until its clamp is sterilised (assumption)."""
    printers: tuple[Printer, ...] = ()
    """Those whose bars were measured."""
    printer: str = NO_PRINTER
    """The name of the one in use, or `none`."""
    list_headings: tuple[ListHeading, ...] = ()
    """What the clinic's lists call our columns."""
    list_words: tuple[ListWord, ...] = ()
    """What the clinic's lists call our procedures."""
    origin: Origin | None = None
    """The practice file that was read, so that a recipe can tell options from it."""

    @property
    def printer_in_use(self) -> Printer | None:
        """The printer in use; None where it is `none`."""
        return next((known for known in self.printers if known.name == self.printer), None)

    @property
    def stock_sheet(self) -> StockSheet:
        """The sheet in use as it stands in the stock, or as far as it is known."""
        known = (s for s in self.stock if (s.sheet, s.material) == (self.sheet, self.material))
        return next(known, StockSheet(self.sheet, self.material))

    def with_sheet(self, sheet: Sheet | None, material: MaterialName | None) -> Practice:
        """Another sheet in use. What is left open comes from the first in stock that fits."""
        if sheet is None and material is None:
            return self
        fitting = (
            known
            for known in self.stock
            if sheet in (None, known.sheet) and material in (None, known.material)
        )
        found = next(fitting, StockSheet(sheet or self.sheet, material or self.material))
        return replace(self, sheet=found.sheet, material=found.material)

    def with_printer(self, name: str) -> Practice:
        """Another printer in use, or `none`. Raises InputError for one that is not known."""
        names = [*(known.name for known in self.printers), NO_PRINTER]
        if name not in names:
            raise InputError(
                f"printer {name!r}: not in the practice file; use {', '.join(names)}, or store "
                f"it with sheetmark printer set"
            )
        return replace(self, printer=name)

    def numerals(self, text: str) -> str:
        """Words for people with the decimal sign of the practice; never for JSON or a recipe."""
        return text if self.numbers == "point" else _DECIMAL_POINT.sub(",", text)


_DECIMAL_POINT = re.compile(r"(?<=\d)\.(?=\d)")


def check_stock(practice: Practice) -> tuple[Finding, ...]:
    """A finding where the clinic said what it keeps and the sheet in use is not among it."""
    kept = {(known.sheet, known.material) for known in practice.stock}
    if not kept or (practice.sheet, practice.material) in kept:
        return ()
    return (
        Finding(
            Code.NOT_IN_STOCK,
            "info",
            f"Sheet {practice.stock_sheet.name} is not in stock.",
            f"In stock: {'; '.join(known.name for known in practice.stock)}.",
            field="sheet",
        ),
    )


def sheet_overflow_mm(paper: Paper, margin_mm: float, sheet: Sheet) -> Size:
    """By how much a sheet is too wide and too high for the page at true scale, mm; 0 if not."""
    width, height = sheet_room_mm(paper, margin_mm)
    over = (sheet.width_mm - width, sheet.height_mm - height)
    across, down = (mm if mm > 1e-9 else 0.0 for mm in over)  # less is rounding, no overflow
    return Size(across, down)


def sheet_room_mm(paper: Paper, margin_mm: float) -> Size:
    """The largest sheet, width and height, that a page holds at true scale, mm."""
    return Size(
        paper.width_mm - 2 * (margin_mm + BAR_STRIP_MM),
        paper.height_mm - 2 * margin_mm - BAR_STRIP_MM - BELOW_SHEET_MM,
    )


def read_sheet(text: str) -> Sheet:
    """`152`, `127` or `WxH` in mm. Raises InputError outside SHEET_LIMITS_MM."""
    sides = text.lower().replace("×", "x").split("x")
    try:
        # One digit behind a decimal comma: 152,127 is two sheets, not one.
        numbers = [float(re.sub(r",(\d)$", r".\1", side)) for side in sides]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 2):
        raise InputError(f"sheet {text!r}: not a size; use 152, 127 or WIDTHxHEIGHT in mm")
    width, height = numbers[0], numbers[-1]
    low, high = SHEET_LIMITS_MM
    if not (low <= width <= high and low <= height <= high):
        raise InputError(
            f"sheet {text!r}: each side must be {low:g} to {high:g} mm; "
            f"use 152, 127 or WIDTHxHEIGHT"
        )
    return Sheet(width, height)


def read_punch(text: str) -> Punch:
    """Diameters in mm, set apart by commas, or by semicolons with decimal commas.

    Raises InputError for none or outside the limits.
    """
    parts = [part.strip() for part in text.split(";" if ";" in text else ",")]
    if not any(parts):
        raise InputError('punch: it has no holes; give diameters in mm, such as "0.5,1,1.5,2,2.5"')
    if ";" not in text and len(parts) > 1 and all(part.isdigit() for part in parts):
        raise InputError(f"punch {text!r}: decimal commas? Set the holes apart by semicolons")
    return make_punch([_diameter(part) for part in parts])


def make_punch(diameters_mm: Sequence[float]) -> Punch:
    """A punch of these diameters, mm. Raises InputError outside PUNCH_LIMITS_MM."""
    low, high = PUNCH_LIMITS_MM
    for diameter in diameters_mm:
        if not (isfinite(diameter) and low <= diameter <= high):
            raise InputError(
                f"punch hole {diameter:g} mm: must be {low:g} to {high:g} mm; "
                f"check the decimal point"
            )
    return Punch(tuple(diameters_mm))


def _diameter(word: str) -> float:
    try:
        return read_number(word)
    except ValueError:
        raise InputError(
            f"punch hole {word!r}: not a number; give diameters in mm set apart by commas"
        ) from None


def next_sheet(sheet: Sheet) -> Sheet | None:
    """The smallest standard sheet that is larger one way at least and smaller neither way."""
    larger = (
        other
        for other in STANDARD_SHEETS
        if other != sheet
        and other.width_mm >= sheet.width_mm
        and other.height_mm >= sheet.height_mm
    )
    return next(larger, None)
