"""Published forms of the dental arch, one function each, and one that stands beside them.

All work in the arch's own axes, mm: x across from the midline, y backwards from the incisal
point. Each gives the depth y at x, so y(0) = 0.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cosh, inf, log
from typing import Annotated

import msgspec

from sheetmark.base.sources import Sourced

Depth = Callable[[float], float]
Positive = Annotated[float, msgspec.Meta(gt=0, lt=1000)]
NotNegative = Annotated[float, msgspec.Meta(ge=0, lt=1000)]

BETA_EXPONENT = 0.8  # Braun et al. 1998 (braun-1998), form from memory
BETA_FACTOR = 2 ** (2 * BETA_EXPONENT)  # derived: makes the depth at the midline D


def sixth_order_depth(x_mm: float, a: float, b: float) -> float:
    """y = A x^6 + B x^2, a in mm^-5, b in mm^-1.

    Noroozi et al. 2001 (noroozi-2001), seen in print.
    """
    square = x_mm * x_mm
    return a * square * square * square + b * square


def beta_depth(x_mm: float, width_mm: float, depth_mm: float) -> float:
    """D minus the beta function of width W and depth D at the second molars; |x| <= W/2.

    Braun et al. 1998 (braun-1998), form from memory.
    """
    share = x_mm / width_mm
    height: float = max(0.25 - share * share, 0.0) ** BETA_EXPONENT
    return depth_mm * (1 - BETA_FACTOR * height)


def catenary_depth(x_mm: float, a_mm: float) -> float:
    """y = a (cosh(x/a) - 1).

    MacConaill & Scher 1949 (macconaill-scher-1949); Musich & Ackerman 1973
    (musich-ackerman-1973); both from memory.
    """
    return a_mm * (cosh(x_mm / a_mm) - 1)


class SixthOrder(Sourced, frozen=True, kw_only=True, tag_field="form", tag="sixth-order"):
    """The sixth-order curve with its coefficients: `a` in mm^-5, `b` in mm^-1."""

    a: NotNegative
    b: NotNegative

    @property
    def reach_mm(self) -> float:
        """It runs on without end."""
        return inf

    def depth(self, x_mm: float) -> float:
        """The depth y at x, mm, arch axes."""
        return sixth_order_depth(x_mm, self.a, self.b)


class Beta(Sourced, frozen=True, kw_only=True, tag_field="form", tag="beta"):
    """The beta curve by its width and depth, mm. It ends at half its width."""

    width_mm: Positive
    depth_mm: Positive

    @property
    def reach_mm(self) -> float:
        """Half its width: it ends there."""
        return self.width_mm / 2

    def depth(self, x_mm: float) -> float:
        """The depth y at x, mm, arch axes."""
        return beta_depth(x_mm, self.width_mm, self.depth_mm)


class Catenary(Sourced, frozen=True, kw_only=True, tag_field="form", tag="catenary"):
    """The catenary by its parameter a, mm."""

    a_mm: Positive

    @property
    def reach_mm(self) -> float:
        """As far as it can be computed, mm."""
        # cosh overflows beyond about 710 a; no arch comes near.
        return self.a_mm * log(1e6)

    def depth(self, x_mm: float) -> float:
        """The depth y at x, mm, arch axes."""
        return catenary_depth(x_mm, self.a_mm)


class EvenOrder(Sourced, frozen=True, kw_only=True, tag_field="form", tag="even-order"):
    """y = a x^2 + b x^4 + c x^6: `a` in mm^-1, `b` in mm^-3, `c` in mm^-5, none of them negative,
    so that the curve never turns forwards. Not a published form: one term more than the sixth-order
    curve."""

    a: NotNegative
    b: NotNegative
    c: NotNegative

    @property
    def reach_mm(self) -> float:
        """It runs on without end."""
        return inf

    def depth(self, x_mm: float) -> float:
        """The depth y at x, mm, arch axes."""
        square = x_mm * x_mm
        return square * (self.a + square * (self.b + square * self.c))


Curve = SixthOrder | Beta | Catenary | EvenOrder
