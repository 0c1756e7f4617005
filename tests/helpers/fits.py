"""What the tests of fitted arches measure on them, and the day they are dated."""

from __future__ import annotations

from sheetmark.anatomy.jaw import Arch
from sheetmark.anatomy.teeth import tooth_of_slot
from sheetmark.fitting.fit import JawFit

DAY = "2026-11-25"


MEASURED = f"measured, {DAY}, date given by the user"


def width(arch: Arch, slot: str) -> float:
    """Between the centres of a slot's two sides."""
    right, left = (arch.place(tooth_of_slot(arch.jaw, side, slot)) for side in ("right", "left"))
    return left.centre[0] - right.centre[0]


def codes(fit: JawFit) -> list[str]:
    """The codes of what a fit has to say."""
    return [finding.code for finding in fit.findings]
