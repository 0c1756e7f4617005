"""A printer's own error of scale: two measured bars, the correction, the likely cause.

Print the test page, measure its bars, and the correction is 150 / measured on each axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from sheetmark.base.findings import InputError

TEST_BAR_MM = 150.0
# Beyond these it is not the printer's own error, but a setting to be put right (assumption).
SCALE_LIMITS = (0.98, 1.02)

_FIT = "the viewer fits the page to the paper: print at 100 % (actual size)"
_MIXED = "A4 and letter are mixed up: choose the paper that is in the tray, at 100 %"
# The scales that common mistakes give. Fit to page: from memory; the others derived from the
# papers' sizes, 279.4 / 297 and 210 / 215.9.
_CAUSES = ((0.941, _MIXED), (0.965, _FIT), (0.973, _MIXED))
_NEAR = 0.006  # how near a measured scale must be to count as that mistake (assumption)
_OTHER = "check that scaling is off (100 %, actual size) and measure the bar again"


@dataclass(frozen=True, slots=True)
class Printer:
    """A printer by the clinic's own name, with its 150 mm bars as measured on paper, mm."""

    name: str
    bar_x_mm: float
    bar_y_mm: float

    @property
    def correction(self) -> tuple[float, float]:
        """The factors by which a page is drawn larger so that it prints true, across and down."""
        return (TEST_BAR_MM / self.bar_x_mm, TEST_BAR_MM / self.bar_y_mm)

    @property
    def summary(self) -> str:
        """The name and the two factors of the correction, in a line."""
        x, y = self.correction
        return f"Printer {self.name}: x {x:.4f}, y {y:.4f}"

    @property
    def effect(self) -> str:
        """The correction as what happens to a page, in words."""
        across, down = (_in_percent(factor) for factor in self.correction)
        return f"Pages are drawn {across} across and {down} down, so that they print true."


def _in_percent(factor: float) -> str:
    percent = 100 * (factor - 1)
    if abs(percent) < 0.005:
        return "unchanged"
    return f"{abs(percent):.2f} % {'larger' if percent > 0 else 'smaller'}"


def bar_limits_mm() -> tuple[float, float]:
    """The lengths between which a measured 150 mm bar is accepted."""
    return (SCALE_LIMITS[0] * TEST_BAR_MM, SCALE_LIMITS[1] * TEST_BAR_MM)


def check_bars(bar_x_mm: float, bar_y_mm: float) -> None:
    """Raises InputError, a line for each bar outside the limits with the likely cause."""
    problems = [
        f"bar {axis} {measured:g} mm: must be {low:g} to {high:g} mm; nothing was stored; "
        f"{likely_cause(measured)}"
        for axis, measured in (("x", bar_x_mm), ("y", bar_y_mm))
        for low, high in [bar_limits_mm()]
        if not low <= measured <= high
    ]
    if problems:
        raise InputError(*problems)


def likely_cause(measured_mm: float) -> str:
    """Why a 150 mm bar came out so far off, as far as the length tells."""
    scale = measured_mm / TEST_BAR_MM
    if not isfinite(scale) or not 0.5 <= scale <= 2:
        return f"measure the {TEST_BAR_MM:g} mm bar from end to end, in mm"
    distance, cause = min((abs(scale - usual), cause) for usual, cause in _CAUSES)
    return f"printed at {scale:.3f}: {cause if distance <= _NEAR else _OTHER}"
