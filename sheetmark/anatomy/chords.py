"""Teeth laid along a curve as chords, contact point to contact point, from the midline.

The tooth's centre is the middle of its chord.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot
from typing import NamedTuple

from msgspec import Struct

from sheetmark.anatomy.curves import Depth
from sheetmark.base.findings import InputError


class ArchPoint(NamedTuple):
    """A point in the arch's own axes, mm: x across from the midline, y backwards. On a published
    curve y counts from the incisal point, on the gum line from the first tooth's centre."""

    x: float
    y: float


class Chord(Struct, frozen=True):
    """One chord of the curve: its two ends."""

    start: ArchPoint
    """The end nearer to the midline."""
    end: ArchPoint
    """The end further back."""

    @property
    def centre(self) -> ArchPoint:
        """The middle of the chord: the tooth's centre."""
        return ArchPoint((self.start.x + self.end.x) / 2, (self.start.y + self.end.y) / 2)


def lay_chords(depth: Depth, lengths_mm: Iterable[float], reach_mm: float) -> tuple[Chord, ...]:
    """Chords of the given lengths, end to end from (0, 0) outwards (x grows).

    Raises InputError when the curve ends before the teeth do.
    """
    chords = []
    here = ArchPoint(0.0, 0.0)
    for count, length in enumerate(lengths_mm, start=1):
        there = chord_end(depth, here, length, reach_mm)
        if there is None:
            raise InputError(
                f"arch curve: it ends {reach_mm:.1f} mm from the midline, "
                f"before tooth {count} of the row is laid; use a wider curve or fewer teeth"
            )
        chords.append(Chord(here, there))
        here = there
    return tuple(chords)


def chord_end(depth: Depth, start: ArchPoint, length: float, reach_mm: float) -> ArchPoint | None:
    """The point further out on the curve at the given straight distance, to the last bit; None
    where the curve ends before.

    Bisection: the distance grows with x on every curve whose depth never falls outwards.
    """
    start_x, start_y = start
    low, high = start_x, min(start_x + length, reach_mm)
    if hypot(high - low, depth(high) - start_y) < length * (1 - 1e-12):
        return None
    while True:
        middle = (low + high) / 2
        if middle in (low, high):
            return ArchPoint(high, depth(high))
        if hypot(middle - start_x, depth(middle) - start_y) < length:
            low = middle
        else:
            high = middle
