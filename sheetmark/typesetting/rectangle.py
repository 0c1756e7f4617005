"""The corners of an upright rectangle."""

from __future__ import annotations

from sheetmark.base.frames import PagePoint


def rectangle(
    centre: PagePoint, half_width: float, half_height: float
) -> tuple[PagePoint, PagePoint, PagePoint, PagePoint]:
    """Anticlockwise from the lower left, page frame, mm."""
    x, y = centre
    return (
        PagePoint(x - half_width, y - half_height),
        PagePoint(x + half_width, y - half_height),
        PagePoint(x + half_width, y + half_height),
        PagePoint(x - half_width, y + half_height),
    )
