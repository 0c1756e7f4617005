"""How far up and down the face the sheet may reach, mm from the upper incisal line.

The upper lip is covered and the nostrils stay free (Black 1908, seen in print). Nostrils begin
about 24 to 28 above the upper incisal edge in adults: lip heights of one sample (seen in print)
and of Farkas 1984, and the incisor shown at rest of Vig & Brundo 1978 (both from memory), added
up (derived). The lower end is taken, since a free nose matters more than a covered lip.
"""

from __future__ import annotations

from msgspec import Struct

from sheetmark.base.frames import Range
from sheetmark.practice.rules import PlacementRules

# A child's lips are lower; that they grow is published (Zhu et al. 2008, seen in print for the
# trend), how much is an assumption: this share of the adult's at 6 years, evenly up to 16.
SHARE_AT_6 = 0.80
ADULT_FROM_YEARS = 16


class FaceLimits(Struct, frozen=True, kw_only=True):
    """Heights on one person's face, mm from the upper incisal line."""

    upper_edge_mm: Range
    """How far above it the sheet's upper edge should lie."""
    nostrils_mm: float
    """How far above it the nostrils begin."""
    lower_edge_mm: float
    """How far below it the sheet's lower edge should lie at least, the mouth held open."""


def face_share(age: float | None) -> float:
    """The height of a face as a share of an adult's; `age` in years, None for an adult."""
    if age is None or age >= ADULT_FROM_YEARS:
        return 1.0
    return SHARE_AT_6 + (1 - SHARE_AT_6) * (age - 6) / (ADULT_FROM_YEARS - 6)


def face_limits(rules: PlacementRules, age: float | None) -> FaceLimits:
    """The practice's limits for an adult, scaled to the age in years."""
    share = face_share(age)
    near, far = rules.upper_edge_above_incisal_mm
    return FaceLimits(
        upper_edge_mm=Range(share * near, share * far),
        nostrils_mm=share * rules.nostrils_above_incisal_mm,
        lower_edge_mm=share * rules.lower_edge_below_incisal_mm,
    )
