"""What a value of the practice file may be. Bounds that are not from print are assumptions."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from sheetmark.practice.printer import bar_limits_mm
from sheetmark.practice.settings import PUNCH_LIMITS_MM, SHEET_LIMITS_MM, THICKNESS_LIMITS_MM

# One line without a space at either end; which letters the font has is checked apart from this.
_LINE = r"^(?!\s|[\s\S]*[\x00-\x1f\x7f-\x9f]|[\s\S]*\s$)"
# A colour, red, green and blue in hexadecimal.
COLOUR_PATTERN = "^#[0-9a-f]{6}$"
Colour = Annotated[str, Meta(pattern=COLOUR_PATTERN)]
Line = Annotated[str, Meta(pattern=_LINE, max_length=40)]
Label = Annotated[str, Meta(pattern=_LINE, min_length=1, max_length=40)]
PunchLabel = Annotated[str, Meta(pattern=_LINE, min_length=1, max_length=3)]
PrinterName = Annotated[str, Meta(pattern=_LINE, min_length=1, max_length=20)]
SideMm = Annotated[float, Meta(ge=SHEET_LIMITS_MM[0], le=SHEET_LIMITS_MM[1])]
DiameterMm = Annotated[float, Meta(ge=PUNCH_LIMITS_MM[0], le=PUNCH_LIMITS_MM[1])]
ThicknessMm = Annotated[float, Meta(ge=THICKNESS_LIMITS_MM[0], le=THICKNESS_LIMITS_MM[1])]
EdgeMm = Annotated[float, Meta(ge=0, le=100)]
BarMm = Annotated[float, Meta(ge=bar_limits_mm()[0], le=bar_limits_mm()[1])]
NeckMm = Annotated[float, Meta(ge=1, le=15)]
