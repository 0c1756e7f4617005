"""A printer's own error of scale: two measured bars, the correction, the likely cause.

Print the test page, measure its bars, and the correction is 150 / measured on each axis.
"""

from __future__ import annotations

from math import fsum, isfinite

from msgspec import Struct

from sheetmark.base.findings import InputError

TEST_BAR_MM = 150.0
# Beyond these it is not the printer's own error, but a setting to be put right (assumption).
SCALE_LIMITS = (0.98, 1.02)

_FIT = "the viewer or the print queue fits the page to the paper: print at 100 % (actual size)"
_FILL = "the print queue fills the paper with the page: print at 100 % (actual size)"
_ON_LETTER = "an A4 page was fitted to letter paper: choose the paper that is in the tray, at 100 %"
_ON_A4 = "a letter page was fitted to A4 paper: choose the paper that is in the tray, at 100 %"
_OVERLAY = "these look like the 100 mm bars of an overlay: measure the 150 mm bars of the test page"
_MIXED = "A4 and letter are mixed up: choose the paper that is in the tray, at 100 %"
# The scales that common settings give: measured through a print queue with printer margins of
# 4.2 and 6 mm, and with smaller ones, for A4 and letter. The last two follow from the papers'
# sizes alone, without margins: 279.4 / 297 and 210 / 215.9.
_CAUSES = (
    (0.900, 0.912, _ON_LETTER),
    (0.917, 0.933, _ON_A4),
    (0.943, 0.961, _FIT),
    (0.957, 0.972, _FILL),
    (0.981, 0.987, _FIT),
    (0.660, 0.673, _OVERLAY),
    (0.941, 0.941, _MIXED),
    (0.973, 0.973, _MIXED),
)
_NEAR = 0.003  # how near a scale must come to a cause, 0.45 mm of the bar (assumption)
_OTHER = "check that scaling is off (100 %, actual size) and measure the bar again"

# Fitting scales both axes alike; a printer's own error is seldom alike and seldom as large.
_SELDOM = "a printer's own error is seldom alike on both axes, so check that it was 100 %"
_ALIKE = 0.002  # 0.3 mm of the bar: as well as two bars are measured (assumption)
_LARGE = 0.005  # of both axes (assumption)


class Printer(Struct, frozen=True):
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
    return f"printed at {scale:.3f}: {' or '.join(_causes(scale)) or _OTHER}"


def _causes(scale: float) -> tuple[str, ...]:
    return tuple(cause for low, high, cause in _CAUSES if low - _NEAR <= scale <= high + _NEAR)


def fitted_question(bar_x_mm: float, bar_y_mm: float) -> str:
    """What to ask about bars within the limits that look like a setting, not like the printer's
    own error: alike on both axes and off by more than 0.5 %. Empty where there is no doubt."""
    scales = (bar_x_mm / TEST_BAR_MM, bar_y_mm / TEST_BAR_MM)
    off = min(abs(scale - 1) for scale in scales)
    if off <= _LARGE or abs(scales[0] - scales[1]) > _ALIKE:
        return ""
    mean = fsum(scales) / 2
    why = " or ".join(_causes(mean)) or _SELDOM
    return (
        f"bars x {bar_x_mm:g} mm, y {bar_y_mm:g} mm: both printed at {mean:.3f}: {why}; "
        f"store them only if the page was printed so"
    )
