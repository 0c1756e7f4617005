"""The curve that carries given teeth between given centre widths. Printing does not load it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sheetmark.anatomy.chords import Chord, lay_chords
from sheetmark.anatomy.curves import SixthOrder
from sheetmark.base.findings import InputError


@dataclass(frozen=True, slots=True)
class CentrePair:
    """A width between the centres of a tooth's two sides.

    `item` counts the row from the midline, gaps included, 0 first; `name` is for messages.
    """

    item: int
    mm: float
    name: str

    def of(self, chord: Chord) -> float:
        """What is measured, mm, when the tooth lies on this chord."""
        return 2 * chord.centre[0]


def measure_on(curve: SixthOrder, lengths_mm: Sequence[float], at: CentrePair) -> float:
    """What the measure comes to on a curve, mm."""
    return at.of(lay_chords(curve.depth, lengths_mm[: at.item + 1], curve.reach_mm)[at.item])


def solve_sixth_order(
    lengths_mm: Sequence[float], front: CentrePair, back: CentrePair
) -> SixthOrder:
    """The sixth-order curve on which both pairs of centres stand as far apart as stated.

    `lengths_mm` runs from the midline outwards: mesiodistal widths, and gaps where there are any.
    Raises InputError, with the figures, when no such curve exists.

    Among curves with A, B >= 0 that carry the front width, the parabola (A = 0) stands widest
    at the back and the pure sixth power (B = 0) narrowest; the solution lies between, if any.
    Source of the form: Noroozi et al. 2001 (see `curves`); the way of solving is derived.
    """
    carrier = carriers(lengths_mm, front)
    widest, narrowest = (measure_on(carrier(share), lengths_mm, back) for share in (0.0, 1.0))
    if not narrowest <= back.mm <= widest:
        kind = "too small" if back.mm < narrowest else "too large"
        raise InputError(
            f"{back.name} width {back.mm:g} mm: {kind} for these teeth; with the {front.name}s "
            f"{front.mm:g} mm apart it can be {narrowest:.1f} to {widest:.1f} mm; "
            f"measure both widths and the teeth between again"
        )
    return carrier(root(lambda a: measure_on(carrier(a), lengths_mm, back) - back.mm, 0.0, 1.0))


def carriers(lengths_mm: Sequence[float], front: CentrePair) -> Callable[[float], SixthOrder]:
    """All sixth-order curves with A, B >= 0 on which the front pair stands as stated.

    From 0, the parabola, to 1, the pure sixth power. Raises InputError when there is none.
    """
    # Lengths in units of the front half width keep both unknowns near 1.
    unit = front.mm / 2

    def curve(a: float, b: float) -> SixthOrder:
        return SixthOrder(a=a / unit**5, b=b / unit, source="solved from the widths", flag="D")

    def off(a: float, b: float) -> float:
        return measure_on(curve(a, b), lengths_mm, front) - front.mm

    straight = 2 * sum(lengths_mm[: front.item]) + lengths_mm[front.item]
    if front.mm >= straight:
        raise InputError(
            f"{front.name} width {front.mm:g} mm: too large for its teeth, which reach only "
            f"{straight:.1f} mm in a straight line; measure again or widen the front teeth"
        )
    steepest = root(lambda a: off(a, 0.0), 0.0, None)

    def carrier(share: float) -> SixthOrder:
        a = share * steepest
        return curve(a, root(lambda b: off(a, b), 0.0, None) if off(a, 0.0) > 0 else 0.0)

    return carrier


def root(function: Callable[[float], float], low: float, high: float | None) -> float:
    """A root by Brent's method; without an upper end, one is sought by doubling."""
    from scipy.optimize import brentq

    if high is None:
        high = max(1.0, 2 * low)
        sign = function(low)
        while function(high) * sign > 0:
            high *= 2
            if high > 1e9:
                raise InputError("arch curve: no solution for these widths; measure again")
    return float(brentq(function, low, high, xtol=1e-14, rtol=8.9e-16))
