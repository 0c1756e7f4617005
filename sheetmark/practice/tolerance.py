"""How far off its place a hole may be, in a check of what was punched or drawn."""

from __future__ import annotations

from sheetmark.base.findings import InputError

# Two assumptions of ours; a practice sets its own.
DEFAULT_TOLERANCE_MM = 2.0
TOLERANCE_LIMITS_MM = (0.5, 5.0)


def check_tolerance(tolerance_mm: float) -> None:
    """Raises InputError for a tolerance outside TOLERANCE_LIMITS_MM."""
    low, high = TOLERANCE_LIMITS_MM
    if not low <= tolerance_mm <= high:
        raise InputError(f"tolerance {tolerance_mm:g} mm: must be {low:g} to {high:g} mm")
