"""The clinic's settings: sheet, punch, material, paper, and the rules of placement.

Every figure has its source beside it; a clinic changes figures here, never in the rules.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from math import isfinite
from typing import Literal, get_args

from sheetmark.findings import InputError
from sheetmark.practice.tray import DEFAULT_TRAY, Clamp
from sheetmark.sources import Flag

PaperName = Literal["a4", "letter"]
SizingRule = Literal["crown", "two-size"]
MaterialName = Literal["latex", "nitrile"]

SIZING_RULES: tuple[SizingRule, ...] = get_args(SizingRule)
MATERIALS: tuple[MaterialName, ...] = get_args(MaterialName)


@dataclass(frozen=True, slots=True)
class Paper:
    name: str
    width_mm: float
    height_mm: float


# ISO 216 A4 and ANSI letter (standards).
PAPERS: dict[PaperName, Paper] = {
    "a4": Paper("A4", 210.0, 297.0),
    "letter": Paper("letter", 215.9, 279.4),
}


@dataclass(frozen=True, slots=True)
class Sheet:
    """The dam sheet's width and height, mm."""

    width_mm: float
    height_mm: float

    @property
    def name(self) -> str:
        return f"{self.width_mm:g} x {self.height_mm:g}"


# 5 inch and 6 inch sheets (seen in print).
STANDARD_SHEETS = (Sheet(127.0, 127.0), Sheet(152.0, 152.0))
# Below this no row of holes keeps its margins; above it no sheet is sold (assumption).
SHEET_LIMITS_MM = (80.0, 300.0)
# Wider than ISO 16635-1:2013 (0.5 to 2.6, catalogue summary, seen in print) for older punches;
# outside it a typing error is likelier than a punch (assumption).
PUNCH_LIMITS_MM = (0.3, 5.0)


@dataclass(frozen=True, slots=True)
class Punch:
    """Hole diameters in mm in the order of the punch; position 1 is the first."""

    diameters_mm: tuple[float, ...]

    @property
    def ascending(self) -> tuple[float, ...]:
        return tuple(sorted(set(self.diameters_mm)))

    def position(self, diameter_mm: float) -> int:
        return self.diameters_mm.index(diameter_mm) + 1


@dataclass(frozen=True, slots=True)
class Material:
    """A sheet material. `stretch_at_break` is length at break over first length."""

    name: str
    stretch_at_break: float
    source: str
    flag: Flag


@dataclass(frozen=True, slots=True)
class PlacementRules:
    """Preferred limits of placement, mm. All are assumptions, unless said otherwise.

    That the sheet's middle goes into the working quadrant is common practice, no source; that
    the upper lip is covered and the nostrils stay free is Black 1908 (seen in print).
    """

    inwards_mm: float = 10.0
    upper_edge_above_incisal_mm: tuple[float, float] = (10.0, 45.0)
    side_edge_from_midline_mm: float = 45.0
    hole_to_edge_mm: float = 30.0
    hole_to_edge_refused_mm: float = 15.0
    # Gumline lesion: Sturdevant (from memory).
    lesion_facial_mm: float = 1.0
    lesion_to_neighbour_mm: float = 1.0


@dataclass(frozen=True, slots=True)
class OrientationMarks:
    """Two dots near the upper edge (common practice, no source); distances are assumptions."""

    below_edge_mm: float = 10.0
    from_middle_mm: float = 12.0


@dataclass(frozen=True, slots=True)
class Practice:
    """All that a clinic sets once, and the day's choices that are not anatomy."""

    paper: PaperName = "a4"
    sheet: Sheet = STANDARD_SHEETS[1]
    # Diameters inside the ISO 16635-1:2013 range; the list itself is an assumption.
    punch: Punch = Punch((0.5, 1.0, 1.5, 2.0, 2.5, 2.6))
    material: MaterialName = "latex"
    sizing: SizingRule = "crown"
    # How much of the stretch at break a hole may use while the crown passes (assumption).
    share_of_break: float = 0.60
    ease_mm: float = 0.0
    shift: bool = True
    rules: PlacementRules = field(default_factory=PlacementRules)
    marks: OrientationMarks = field(default_factory=OrientationMarks)
    tray: tuple[Clamp, ...] = DEFAULT_TRAY


@cache
def materials() -> dict[str, Material]:
    """The sheet materials that ship, by name."""
    text = (files("sheetmark") / "data" / "materials.toml").read_text("utf-8")
    return {
        row["name"]: Material(
            row["name"],
            1 + row["elongation_at_break_percent"] / 100,
            row["source"],
            row["flag"],
        )
        for row in tomllib.loads(text)["material"]
    }


def read_sheet(text: str) -> Sheet:
    """`152`, `127` or `WxH` in mm. Raises InputError outside SHEET_LIMITS_MM."""
    sides = text.lower().replace("×", "x").split("x")
    try:
        numbers = [float(side) for side in sides]
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
    """Diameters in mm, set apart by commas. Raises InputError for none or outside the limits."""
    words = [word.strip() for word in text.split(",") if word.strip()]
    if not words:
        raise InputError('punch: it has no holes; give diameters in mm, such as "0.5,1,1.5,2,2.5"')
    return make_punch([_diameter(word) for word in words])


def make_punch(diameters_mm: Sequence[float]) -> Punch:
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
        return float(word)
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
