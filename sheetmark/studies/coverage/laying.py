"""Many rows of gum-line centres at once, by the same rules as `anatomy.gum_line`.

Arrays have a row for each tooth from the midline outwards, in it the right and the left, and in
those a patient to a column. Each side is a chain of its own that carries half of every width
across, so unlike sides differ in depth, not in width.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.anatomy.gum_line import FLATTEST_DEG, FRONT_SHARES, STEEPEST_DEG
from sheetmark.anatomy.gum_line_table import Reference

Array = NDArray[np.float64]

# Of a width across, mm: beyond rounding.
_MISSED_MM = 1e-6


class Rows(Struct, frozen=True):
    """Gum-line centres of every patient, mm: x from the midline, y behind the central incisors.

    `missed` patients have a width across that is out of reach of their teeth; they have the
    nearest.
    """

    x: Array
    y: Array
    missed: NDArray[np.bool_]


def lay_rows(widths_mm: Array, across_mm: Mapping[int, Array], reference: Reference) -> Rows:
    """The rows of teeth 1, 2, 3 … with these crown widths. `across_mm` holds widths between
    gum-line centres by place from the midline, one at least, a patient to an entry."""
    first, *others = sorted(across_mm)
    angles = np.radians(reference.direction_deg)
    lengths = (widths_mm[:-1] + widths_mm[1:]) / 2
    lengths = lengths * np.array(reference.share[: len(lengths)])[:, None, None]
    half = widths_mm[0] / 2
    own = half + np.tensordot(np.cos(angles[: first - 1]), lengths[: first - 1], axes=1)
    share = np.clip(across_mm[first] / 2 / own, *FRONT_SHARES)
    x, y = [half * share], [np.zeros_like(half)]

    def walk(links: range, turn: Array, scale: Array | float = 1.0) -> None:
        for link in links:
            angle = angles[link] + turn
            x.append(x[-1] + scale * lengths[link] * np.cos(angle))
            y.append(y[-1] + scale * lengths[link] * np.sin(angle))

    unturned = np.zeros_like(half)
    walk(range(first - 1), unturned, share)
    for start, end in pairwise([first, *others]):
        links = range(start - 1, end - 1)
        walk(links, _turn(lengths[start - 1 : end - 1], angles[links], across_mm[end] / 2 - x[-1]))
    walk(range(len(x) - 1, len(lengths)), unturned)
    missed = [np.abs(x[place - 1].sum(axis=0) - mm) > _MISSED_MM for place, mm in across_mm.items()]
    return Rows(np.array(x), np.array(y), np.any(missed, axis=0))


def _turn(lengths: Array, angles: Array, out_mm: Array) -> Array:
    """The turn, in radians, that carries a stretch outwards, or as near as its links allow."""
    across, back = (np.tensordot(of(angles), lengths, axes=1) for of in (np.cos, np.sin))
    aim = np.arccos(np.clip(out_mm / np.hypot(across, back), -1.0, 1.0))
    turn: Array = np.clip(
        aim - np.arctan2(back, across),
        np.radians(FLATTEST_DEG) - angles.min(),
        np.radians(STEEPEST_DEG) - angles.max(),
    )
    return turn
