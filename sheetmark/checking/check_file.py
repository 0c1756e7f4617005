"""What stands in the JSON report of a checked sheet, key by key; its schema is made from these
records.

Lengths are in mm, sheet frame; teeth are in ISO 3950.
"""

from __future__ import annotations

from typing import Literal, TypedDict

from sheetmark.base.json_files import Length, Point, Schemed
from sheetmark.checking.result import Laid, Pattern
from sheetmark.plan.plan_file import Iso


class Place(TypedDict):
    """A planned hole. Its diameter is 0 where a drawn cross stands for it."""

    x_mm: float
    y_mm: float
    diameter_mm: float


class FoundPlace(Place):
    """A hole that was found, and how far off: as it lies, and without the pattern's own shift."""

    off_mm: Point
    distance_mm: float
    own_mm: float | None
    uncertain_mm: float


class CheckedHole(TypedDict):
    """A planned hole, what was found of it, and the verdict as text."""

    tooth: Iso
    planned: Place
    found: FoundPlace | None
    place: str
    size: str


class ExtraRow(Place):
    """A hole that no tooth has; `beside` is the tooth whose hole it doubles."""

    beside: Iso | None


class CheckFile(Schemed):
    """One checked sheet."""

    format: Literal["sheetmark-check/1"]
    sheetmark: str
    case: str
    command: str
    verdict: str
    good: bool
    remarks: list[str]
    tolerance_mm: Length
    laid: Laid
    pattern: Pattern
    face_known: bool
    shift_mm: Point | None
    turn_deg: float | None
    tilt_deg: float
    sheet_size_mm: Point
    holes: list[CheckedHole]
    extra: list[ExtraRow]
