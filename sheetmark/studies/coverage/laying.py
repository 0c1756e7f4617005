"""Many arches at once: teeth laid as chords, and the curve that carries each patient's widths.

The same rules as `anatomy.chords` and `anatomy.solve`, on arrays with a row for each patient, so
that 100,000 are solved in seconds. Lengths here are in units of the patient's front half width,
which keeps both coefficients of y = alpha x^6 + beta x^2 near 1. Each side of the mouth is laid
on the same curve with its own teeth; a width is the distance across between the two sides' centres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_LAYING_STEPS = 60
_SOLVING_STEPS = 60
# Of the front half width, about 2e-12 mm: what double precision leaves after seven chords.
_CLOSE_ENOUGH = 1e-13
_WIDTH_CLOSE_ENOUGH = 1e-12


@dataclass(frozen=True, slots=True)
class Curves:
    """One sixth-order curve a patient, `a` in mm^-5, `b` in mm^-1, and whose widths have none.

    `straight` patients have canines too far apart for their front teeth even in a straight line:
    their `a` and `b` are NaN. `narrow` and `wide` ones have a back width that no curve with
    A, B >= 0 carries with that front width: theirs is the nearest, the pure sixth power or the
    parabola, which carries the front width and misses the back width by `missed_mm`.
    """

    a: Array
    b: Array
    straight: NDArray[np.bool_]
    narrow: NDArray[np.bool_]
    wide: NDArray[np.bool_]
    missed_mm: Array

    @property
    def exist(self) -> NDArray[np.bool_]:
        """Which of the patients have a curve through their widths."""
        return ~(self.straight | self.narrow | self.wide)

    @classmethod
    def joined(cls, parts: Sequence[Curves]) -> Curves:
        """One record out of those of several groups of patients."""
        return cls(*(np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(cls)))


@dataclass(frozen=True, slots=True)
class _Laid:
    """Chord centres, an item to a row, and their derivatives by the two coefficients."""

    x: Array
    by_alpha: Array
    by_beta: Array


def chord_ends(lengths: Array, a: Array, b: Array) -> tuple[Array, Array]:
    """The ends (x, y) of chords laid from (0, 0) outwards on y = a x^6 + b x^2, a, b >= 0.

    `lengths` has an item to a row and a patient to a column; the ends have one row more.
    """
    x = np.zeros((len(lengths) + 1, lengths.shape[1]))
    y = np.zeros_like(x)
    for item, length in enumerate(lengths):
        x[item + 1], y[item + 1] = _next_end(x[item], y[item], length, a, b)
    return x, y


def _next_end(x0: Array, y0: Array, length: Array, a: Array, b: Array) -> tuple[Array, Array]:
    """The point further out at the given straight distance, by Newton's method.

    The squared distance is convex and grows with x, and the tangent at the start gives a point at
    or beyond the end; so each step comes nearer from outside and none can fail.
    """
    slope = x0 * (6 * a * x0**4 + 2 * b)
    x = x0 + length / np.sqrt(1 + slope * slope)
    for _ in range(_LAYING_STEPS):
        square = x * x
        fourth = square * square
        dx, dy = x - x0, square * (a * fourth + b) - y0
        slope = x * (6 * a * fourth + 2 * b)
        step = (dx * dx + dy * dy - length * length) / (2 * (dx + dy * slope))
        x = x - step
        if np.abs(step).max(initial=0.0) < _CLOSE_ENOUGH * length.max(initial=1.0):
            break
    else:
        raise ArithmeticError("chords: Newton's method did not settle")
    square = x * x
    return x, square * (a * square * square + b)


def _centres(lengths: Array, alpha: Array, beta: Array) -> _Laid:
    """Centres across, with derivatives by implicit differentiation of each chord's length."""
    x, y = chord_ends(lengths, alpha, beta)
    square = x * x
    sixth = square * square * square
    slope = x * (6 * alpha * square * square + 2 * beta)
    dx, dy = np.diff(x, axis=0), np.diff(y, axis=0)
    near = dx + dy * slope[:-1]
    far = dx + dy * slope[1:]
    by_alpha, by_beta = np.zeros_like(x), np.zeros_like(x)
    for item in range(len(lengths)):
        for by, term in ((by_alpha, sixth), (by_beta, square)):
            turned = dy[item] * (term[item + 1] - term[item])
            by[item + 1] = (by[item] * near[item] - turned) / far[item]
    return _Laid(_middles(x), _middles(by_alpha), _middles(by_beta))


def _middles(ends: Array) -> Array:
    middles: Array = (ends[1:] + ends[:-1]) / 2
    return middles


def solve_curves(
    lengths_mm: Array, front: int, back: int, front_mm: Array, back_mm: Array
) -> Curves:
    """The curve of each patient. `lengths_mm` has a row for each tooth from the midline outwards,
    in it the right and the left, and in those a patient to a column; `front` and `back` are the
    rows of the two teeth whose centres stand `front_mm` and `back_mm` apart.

    Among curves with A, B >= 0 that carry the front width the parabola stands widest at the back
    and the pure sixth power narrowest, as in `anatomy.solve`.
    """
    count = lengths_mm.shape[2]
    unit = front_mm / 2
    lengths = lengths_mm[: back + 1] / unit
    wanted = back_mm / unit
    reach = 2 * lengths[:front].sum(axis=0) + lengths[front]
    straight = reach.sum(axis=0) / 2 <= 2
    a, b, missed = (np.full(count, np.nan) for _ in range(3))
    narrow, wide = np.zeros(count, bool), np.zeros(count, bool)

    at = np.flatnonzero(~straight)
    lengths, unit, wanted = lengths[:, :, at], unit[at], wanted[at]
    none = np.zeros(len(at))
    most_alpha = _alone(lengths[: front + 1], sixth=True)
    most_beta = _alone(lengths[: front + 1], sixth=False)
    narrowest = _widths(lengths, most_alpha, none)[0][back]
    widest = _widths(lengths, none, most_beta)[0][back]
    narrow[at], wide[at] = wanted < narrowest, wanted > widest
    possible = np.clip(wanted, narrowest, widest)
    missed[at] = (possible - wanted) * unit

    # How far from the parabola towards the pure sixth power; near enough for Newton's method.
    share = (widest - possible) / np.maximum(widest - narrowest, 1e-9)
    alpha, beta = share * most_alpha, (1 - share) * most_beta
    for _ in range(_SOLVING_STEPS):
        width, by_alpha, by_beta = _widths(lengths, alpha, beta)
        off_front, off_back = width[front] - 2, width[back] - possible
        worst = np.maximum(np.abs(off_front), np.abs(off_back)).max(initial=0.0)
        if worst < _WIDTH_CLOSE_ENOUGH:
            break
        (fa, fb), (ba, bb) = (by_alpha[front], by_beta[front]), (by_alpha[back], by_beta[back])
        determinant = fa * bb - fb * ba
        alpha = alpha - (off_front * bb - off_back * fb) / determinant
        beta = beta - (off_back * fa - off_front * ba) / determinant
        alpha, beta = np.clip(alpha, 0, most_alpha), np.clip(beta, 0, most_beta)
    else:
        raise ArithmeticError("arch curves: Newton's method did not settle")
    a[at], b[at] = alpha / unit**5, beta / unit
    return Curves(a, b, straight, narrow, wide, missed)


def _widths(lengths: Array, alpha: Array, beta: Array) -> tuple[Array, Array, Array]:
    """Widths between the centres of right and left, and their derivatives."""
    items, _, count = lengths.shape
    laid = _centres(lengths.reshape(items, 2 * count), np.tile(alpha, 2), np.tile(beta, 2))
    both = (part[:, :count] + part[:, count:] for part in (laid.x, laid.by_alpha, laid.by_beta))
    x, by_alpha, by_beta = both
    return x, by_alpha, by_beta


def _alone(lengths: Array, *, sixth: bool) -> Array:
    """The one coefficient that gives the last tooth of the row its width of 2, the other being 0.

    Newton's method, halving a bracket instead wherever it would leave it.
    """
    count = lengths.shape[2]
    value, low, high = np.full(count, 0.3), np.zeros(count), np.full(count, np.inf)
    none = np.zeros(count)
    for _ in range(_SOLVING_STEPS):
        width, *by = _widths(lengths, *((value, none) if sixth else (none, value)))
        off, slope = width[-1] - 2, by[0 if sixth else 1][-1]
        settled = np.abs(off) < _WIDTH_CLOSE_ENOUGH
        if settled.all():
            return value
        low, high = np.where(off > 0, value, low), np.where(off > 0, high, value)
        halved = np.where(np.isinf(high), 2 * value, (low + high) / 2)
        newton = value - off / slope
        moved = np.where((newton > low) & (newton < high), newton, halved)
        value = np.where(settled, value, moved)
    raise ArithmeticError("arch curves: no bracket closed")
