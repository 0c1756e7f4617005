"""The outcome of one check: each hole's error, the pattern's as a whole, and the verdict in words.

Errors are in the sheet's own frame, mm: x to the patient's left, y towards the nose.
"""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING, Literal, get_args

from msgspec import Struct

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.wanted import Wanted, WantedHole

if TYPE_CHECKING:
    # Needs numpy, which a plain install does not have; exercises do without.
    from sheetmark.checking.openings import Opening

SizeVerdict = Literal["right", "wrong", "cannot be told"]
Laid = Literal["straight", "turned", "face down"]
Pattern = Literal["straight", "turned", "wrong side"]
SIZE_VERDICTS: tuple[SizeVerdict, ...] = get_args(SizeVerdict)


class HoleCheck(Struct, frozen=True, kw_only=True):
    """One planned hole, and what the photograph shows of it."""

    wanted: WantedHole
    """The hole as planned."""
    found: Opening | None
    """The hole of this tooth; None where it is missing."""
    at: SheetPoint | None
    """Where it is on the sheet, sheet frame; None where it is missing."""
    off_mm: SheetPoint | None
    """From its place to where it is, x and y, sheet frame."""
    own_mm: float | None
    """What is left of that after the pattern's shift and turn; None with too few holes."""
    uncertain_mm: float
    """How far off the measured place may be, in 95 of 100."""
    size: SizeVerdict | None
    """Whether it is of its size; None where it is missing."""
    sizes_mm: tuple[float, ...]
    """The punch holes that the measured diameter may be."""
    cut: bool = False
    """Whether it is cut into a slit that is seen: then it is not judged."""

    @property
    def distance_mm(self) -> float | None:
        """How far the hole lies from its place, mm."""
        return None if self.off_mm is None else hypot(*self.off_mm)


class ExtraHole(Struct, frozen=True, kw_only=True):
    """A hole that no tooth has."""

    at: SheetPoint
    """Its middle, sheet frame."""
    diameter_mm: float
    """Its diameter as measured."""
    beside: WantedHole | None
    """The hole that it doubles, where it lies beside one."""


class Check(Struct, frozen=True, kw_only=True):
    """A checked sheet."""

    wanted: Wanted
    """The sheet as planned."""
    tolerance_mm: float
    """How far off its place a hole may be."""
    holes: tuple[HoleCheck, ...]
    """A row for each planned hole, in the order of the plan."""
    extra: tuple[ExtraHole, ...]
    """Holes that no tooth has."""
    laid: Laid
    """How the sheet lies on the page."""
    pattern: Pattern
    """How the holes lie on the sheet."""
    face_known: bool
    """Whether the marks show which face lies up. If not, a sheet that seems turned or face down
    may be punched so instead."""
    shift_mm: SheetPoint | None
    """The pattern's shift as a whole, about its own middle, sheet frame; None without a hole."""
    turn_deg: float | None
    """Its turn, anticlockwise as the operator sees it; None where too few holes show it."""
    tilt_deg: float
    """How far off the vertical the photograph was taken."""
    sheet_size_mm: tuple[float, float]
    """The sheet's width and height by its edges."""

    @property
    def missing(self) -> tuple[WantedHole, ...]:
        """The planned holes that are not there."""
        return tuple(h.wanted for h in self.holes if h.found is None and not h.cut)

    @property
    def judged(self) -> tuple[HoleCheck, ...]:
        """The holes that are not cut into a slit."""
        return tuple(hole for hole in self.holes if not hole.cut)

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
        """Whether all that is judged is as planned within the tolerance."""
        return bool(self.judged) and not (
            self.missing
            or self.misplaced
            or self.wrong_sizes
            or self.ragged
            or self.extra
            or self.pattern != "straight"
            or not (self.face_known or self.laid == "straight")
        )
