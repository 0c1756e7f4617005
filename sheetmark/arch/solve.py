"""The curve that carries given teeth between given centre widths. Printing does not load it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sheetmark.arch.chords import lay_chords
from sheetmark.arch.curves import SixthOrder
from sheetmark.findings import InputError


@dataclass(frozen=True, slots=True)
class CentrePair:
    """A width between the centres of a tooth's two sides.

    `item` counts the row from the midline, gaps included, 0 first; `name` is for messages.
    """

    item: int
    mm: float
    name: str


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
    # Lengths in units of the front half width keep both unknowns near 1.
    unit = front.mm / 2

    def curve(a: float, b: float) -> SixthOrder:
        return SixthOrder(a=a / unit**5, b=b / unit, source="solved from the widths", flag="D")

    def width(shape: SixthOrder, at: CentrePair) -> float:
        chords = lay_chords(shape.depth, lengths_mm[: at.item + 1], shape.reach_mm)
        return 2 * chords[at.item].centre[0]

    straight = 2 * sum(lengths_mm[: front.item]) + lengths_mm[front.item]
    if front.mm >= straight:
        raise InputError(
            f"{front.name} width {front.mm:g} mm: too large for its teeth, which reach only "
            f"{straight:.1f} mm in a straight line; measure again or widen the front teeth"
        )
    steepest = _root(lambda a: width(curve(a, 0.0), front) - front.mm, 0.0, None)

    def b_for(a: float) -> float:
        if width(curve(a, 0.0), front) <= front.mm:
            return 0.0
        return _root(lambda b: width(curve(a, b), front) - front.mm, 0.0, None)

    widest = width(curve(0.0, b_for(0.0)), back)
    narrowest = width(curve(steepest, 0.0), back)
    if not narrowest <= back.mm <= widest:
        kind = "too small" if back.mm < narrowest else "too large"
        raise InputError(
            f"{back.name} width {back.mm:g} mm: {kind} for these teeth; with the {front.name}s "
            f"{front.mm:g} mm apart it can be {narrowest:.1f} to {widest:.1f} mm; "
            f"measure both widths and the teeth between again"
        )
    a = _root(lambda a: width(curve(a, b_for(a)), back) - back.mm, 0.0, steepest)
    return curve(a, b_for(a))


def _root(function: Callable[[float], float], low: float, high: float | None) -> float:
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
