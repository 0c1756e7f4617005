"""The outcome of one check: each hole's error, the pattern's as a whole, and the verdict in words.

Errors are in the sheet's own frame, mm: x to the patient's left, y towards the nose.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING, Literal, get_args

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.wanted import Wanted, WantedHole

if TYPE_CHECKING:
    # Needs numpy, which a plain install does not have; exercises do without.
    from sheetmark.checking.openings import Opening

SizeVerdict = Literal["right", "wrong", "cannot be told"]
Laid = Literal["straight", "turned", "face down"]
Pattern = Literal["straight", "turned", "wrong side"]
SIZE_VERDICTS: tuple[SizeVerdict, ...] = get_args(SizeVerdict)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleCheck:
    """One planned hole. `found` is None where it is missing. `own_mm` is what is left of its error
    after the pattern's shift and turn; None where too few holes tell one from the other.
    `uncertain_mm` is how far off the measured place may be, in 95 of 100."""

    wanted: WantedHole
    found: Opening | None
    at: SheetPoint | None
    off_mm: SheetPoint | None
    own_mm: float | None
    uncertain_mm: float
    size: SizeVerdict | None
    sizes_mm: tuple[float, ...]
    """The punch holes that the measured diameter may be."""

    @property
    def distance_mm(self) -> float | None:
        """How far the hole lies from its place, mm."""
        return None if self.off_mm is None else hypot(*self.off_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtraHole:
    """A hole that no tooth has; `beside` names the tooth whose hole it doubles."""

    at: SheetPoint
    diameter_mm: float
    beside: WantedHole | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A checked sheet. `laid` is how the sheet lies on the page, `pattern` how the holes lie on the
    sheet; where the marks did not tell (`face_known`), a sheet that seems turned or face down may
    as well be punched so. Shift and turn are the pattern's as a
    whole, about its own middle, anticlockwise as seen by the operator."""

    wanted: Wanted
    tolerance_mm: float
    holes: tuple[HoleCheck, ...]
    extra: tuple[ExtraHole, ...]
    laid: Laid
    pattern: Pattern
    face_known: bool
    shift_mm: SheetPoint | None
    turn_deg: float | None
    tilt_deg: float
    sheet_size_mm: tuple[float, float]

    @property
    def missing(self) -> tuple[WantedHole, ...]:
        """The planned holes that are not there."""
        return tuple(hole.wanted for hole in self.holes if hole.found is None)

    @property
    def misplaced(self) -> tuple[HoleCheck, ...]:
        """The holes further off than the tolerance."""
        return tuple(
            hole
            for hole in self.holes
            if hole.distance_mm is not None and hole.distance_mm > self.tolerance_mm
        )

    @property
    def unsure(self) -> tuple[HoleCheck, ...]:
        """The holes so near the tolerance that the measurement does not decide."""
        return tuple(
            hole
            for hole in self.holes
            if hole.distance_mm is not None
            and abs(hole.distance_mm - self.tolerance_mm) < hole.uncertain_mm
        )

    @property
    def wrong_sizes(self) -> tuple[HoleCheck, ...]:
        """The holes punched with another hole of the punch."""
        return tuple(hole for hole in self.holes if hole.size == "wrong")

    @property
    def ragged(self) -> tuple[HoleCheck, ...]:
        """The holes that are not round."""
        return tuple(h for h in self.holes if h.found is not None and not h.found.round)

    @property
    def good(self) -> bool:
        """Whether all is as planned within the tolerance."""
        return not (
            self.missing
            or self.misplaced
            or self.wrong_sizes
            or self.ragged
            or self.extra
            or self.pattern != "straight"
            or not (self.face_known or self.laid == "straight")
        )
