"""Which found hole belongs to which planned one, and how the pattern as a whole lies.

The sheet can lie turned or face down, and the pattern can be punched turned or mirrored: eight
ways to lay a square. For each the planned holes are shifted and turned a little to where they meet
most of the found ones; what is cheapest by squares of distances wins.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, degrees, radians, sin

import numpy as np
from msgspec import Struct

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.camera import Array
from sheetmark.practice.settings import Sheet

# A hole's own error, the pattern's shift and turn that are as likely, and when a hole is not the
# one that was meant (assumptions, all of them about a hand that marks and punches).
_REST_MM, _SHIFT_MM, _TURN_DEG = 1.0, 4.0, 3.0
_NOT_MEANT_MM = 4.0
_FARTHEST_SHIFT_MM = 25.0
_CAP = (_NOT_MEANT_MM / _REST_MM) ** 2
_TRIES = 6
# Errors below this count alike in the pattern's shift and turn (assumption).
_OWN_MM, _ROUNDS = 0.3, 6
# Below this two ways of laying are as good as each other (ours).
CLEARLY = 6.0


class Way(Struct, frozen=True):
    """A way to lay a sheet: mirrored left to right or not, then turned by quarters, anticlockwise
    as seen."""

    quarters: int
    mirrored: bool

    def laid(self, points: Array) -> Array:
        """Points (n, 2) of the sheet's frame where they then lie."""
        x, y = points[:, 0] * (-1 if self.mirrored else 1), points[:, 1]
        for _ in range(self.quarters):
            x, y = -y, x
        return np.stack([x, y], axis=1)

    def back(self, points: Array) -> Array:
        """The inverse of `laid`."""
        x, y = points[:, 0], points[:, 1]
        for _ in range(self.quarters):
            x, y = y, -x
        return np.stack([x * (-1 if self.mirrored else 1), y], axis=1)


STRAIGHT = Way(0, mirrored=False)


def ways(sheet: Sheet) -> tuple[Way, ...]:
    """The ways to lay this sheet in its brackets, the right one first."""
    square = abs(sheet.width_mm - sheet.height_mm) < 1.0
    quarters = (0, 1, 2, 3) if square else (0, 2)
    return tuple(Way(q, mirrored=m) for m in (False, True) for q in quarters)


class Pairing(Struct, frozen=True):
    """`found[i]` is the number of the found hole of planned hole i, or -1. Shift and turn bring the
    planned pattern onto the found one: about the pattern's own middle, mm and degrees."""

    way: Way
    found: tuple[int, ...]
    shift: SheetPoint
    turn_deg: float
    rest_mm: tuple[float, ...]
    """What each planned hole is still off after shift and turn, mm; nan for a missing one."""
    cost: float


def pair(planned: Sequence[SheetPoint], found: Sequence[SheetPoint], sheet: Sheet) -> list[Pairing]:
    """The best pairing for each way of laying the sheet, the cheapest first; found holes as seen,
    shift, turn and rest in the frame of the picture."""
    have = np.array(found, float).reshape(-1, 2)
    want = np.array(planned, float).reshape(-1, 2)
    tried = [_pairing(way, way.laid(want), have) for way in ways(sheet)]
    return sorted(tried, key=lambda pairing: pairing.cost)


def _pairing(way: Way, want: Array, have: Array) -> Pairing:
    shifts = [np.zeros(2)]
    if len(have):
        every = (have[None, :, :] - want[:, None, :]).reshape(-1, 2)
        every = every[np.hypot(*every.T) < _FARTHEST_SHIFT_MM]
        if len(every):
            moved = want[None, :, :] + every[:, None, :]
            gaps = np.linalg.norm(moved[:, :, None, :] - have[None, None], axis=-1).min(axis=2)
            cost = np.minimum((gaps / _REST_MM) ** 2, _CAP).sum(axis=1)
            cost += (every**2).sum(axis=1) / _SHIFT_MM**2
            shifts += [every[i] for i in np.argsort(cost, kind="stable")[:_TRIES]]
    return min((_settled(way, want, have, shift) for shift in shifts), key=lambda p: p.cost)


def _settled(way: Way, want: Array, have: Array, shift: Array) -> Pairing:
    """Assigns, fits shift and turn, and assigns again, from a first shift."""
    turn, middle = 0.0, want.mean(axis=0)
    chosen = np.full(len(want), -1)
    for _ in range(4):
        moved = _moved(want, middle, shift, turn)
        before, chosen = chosen, _assigned(moved, have)
        known = chosen >= 0
        # The same holes would be fitted the same again.
        if not known.any() or np.array_equal(before, chosen):
            break
        shift, turn = _rigid(want[known], have[chosen[known]], middle)
    moved = _moved(want, middle, shift, turn)
    known = chosen >= 0
    rest = np.full(len(want), np.nan)
    if known.any():
        rest[known] = np.linalg.norm(moved[known] - have[chosen[known]], axis=1)
    else:
        shift, turn = np.zeros(2), 0.0
    lost = int((~known).sum()) + len(have) - int(known.sum())
    cost = float(np.nansum((rest / _REST_MM) ** 2)) + _CAP * lost / 2
    cost += float(shift @ shift) / _SHIFT_MM**2 + (turn / _TURN_DEG) ** 2
    return Pairing(
        way,
        tuple(int(c) for c in chosen),
        SheetPoint(float(shift[0]), float(shift[1])),
        turn,
        tuple(float(r) for r in rest),
        cost,
    )


def _moved(want: Array, middle: Array, shift: Array, turn_deg: float) -> Array:
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    return np.asarray((want - middle) @ np.array([[c, s], [-s, c]]) + middle + shift)


def _assigned(want: Array, have: Array) -> Array:
    """For each wanted point the found one, at most _NOT_MEANT_MM away, or -1: least squares sum."""
    from scipy.optimize import linear_sum_assignment

    chosen = np.full(len(want), -1)
    if len(have):
        gaps = np.linalg.norm(want[:, None, :] - have[None], axis=-1)
        rows, columns = linear_sum_assignment(np.minimum((gaps / _REST_MM) ** 2, _CAP))
        near = gaps[rows, columns] < _NOT_MEANT_MM
        chosen[rows[near]] = columns[near]
    return chosen


def _rigid(want: Array, have: Array, middle: Array) -> tuple[Array, float]:
    """Shift and turn about `middle`; no turn from fewer than three holes.

    A hole far off the others' pattern counts less, so that its error stays its own.
    """
    weight, shift, turn = np.ones(len(want)), np.zeros(2), 0.0
    for _ in range(_ROUNDS):
        share = (weight / weight.sum())[:, None]
        centre, other = (want * share).sum(axis=0), (have * share).sum(axis=0)
        if len(want) >= 3:
            a, b = want - centre, (have - other) * share
            cross = float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum())
            turn = degrees(atan2(cross, float((a * b).sum())))
        shift = other - _moved(centre[None], middle, np.zeros(2), turn)[0]
        rest = np.linalg.norm(_moved(want, middle, shift, turn) - have, axis=1)
        weight = 1 / np.maximum(rest, _OWN_MM)
    return shift, turn
