"""Teeth laid along a curve as chords, contact point to contact point, from the midline.

The tooth's centre is the middle of its chord. Arch axes as in `curves`, mm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot

from sheetmark.anatomy.curves import Depth
from sheetmark.base.findings import InputError

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Chord:
    """One chord of the curve: its two ends (x, y) in mm."""

    start: Point
    end: Point

    @property
    def centre(self) -> Point:
        return ((self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2)


def lay_chords(depth: Depth, lengths_mm: Iterable[float], reach_mm: float) -> tuple[Chord, ...]:
    """Chords of the given lengths, end to end from (0, 0) outwards (x grows).

    Raises InputError when the curve ends before the teeth do.
    """
    chords = []
    here: Point = (0.0, 0.0)
    for count, length in enumerate(lengths_mm, start=1):
        there = _chord_end(depth, here, length, reach_mm)
        if there is None:
            raise InputError(
                f"arch curve: it ends {reach_mm:.1f} mm from the midline, "
                f"before tooth {count} of the row is laid; use a wider curve or fewer teeth"
            )
        chords.append(Chord(here, there))
        here = there
    return tuple(chords)


def _chord_end(depth: Depth, start: Point, length: float, reach_mm: float) -> Point | None:
    """The point further out on the curve at the given straight distance, to the last bit.

    Bisection: the distance grows with x on every curve whose depth never falls outwards.
    """
    low, high = start[0], min(start[0] + length, reach_mm)
    if hypot(high - low, depth(high) - start[1]) < length * (1 - 1e-12):
        return None
    while True:
        middle = (low + high) / 2
        if middle in (low, high):
            return (high, depth(high))
        if hypot(middle - start[0], depth(middle) - start[1]) < length:
            low = middle
        else:
            high = middle
