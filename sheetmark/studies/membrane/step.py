"""One step of Newton's within reach: conjugate gradients that stop at the reach's edge (Steihaug's
way, from memory; derivable).

The exact second derivatives of a sheet on round teeth may fall in some direction. A factored
matrix that never falls, and differs from them at the nodes on teeth only, makes the gradients
converge in a few rounds, and measures lengths. Where the energy curves downwards the step follows
it to the edge of the reach, which is how the sheet slides off a crown quickly.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from msgspec import Struct
from scipy.sparse import csc_matrix

from sheetmark.studies.membrane.energy import Floats

_MOST_ROUNDS = 60


class Step(Struct, frozen=True, kw_only=True):
    """Where to go, its length as the safe matrix measures it, the fall in energy that is expected
    of it, and whether the reach cut it short."""

    by: Floats
    length: float
    fall: float
    cut: bool


def step_within(
    reach: float, gradient: Floats, exact: csc_matrix, factored: Any, precision: float
) -> Step:
    """The step that lowers the quadratic model, to that share of its gradient. `exact` may have
    negative values; `factored` is the safe matrix."""
    by, left = np.zeros_like(gradient), gradient
    eased = factored.solve(left)
    towards, rest = -eased, float(left @ eased)
    # Squares and products of `by` and `towards` in the safe matrix's measure.
    length2, along, towards2 = 0.0, 0.0, rest
    enough = precision**2 * rest
    cut = False
    for _ in range(_MOST_ROUNDS):
        if rest <= enough:
            break
        bent = exact @ towards
        curvature = float(towards @ bent)
        share = rest / curvature if curvature > 0 else np.inf
        cut = not length2 + share * (2 * along + share * towards2) < reach**2
        if cut:
            share = (np.sqrt(along**2 + towards2 * (reach**2 - length2)) - along) / towards2
        by, left = by + share * towards, left + share * bent
        length2 += share * (2 * along + share * towards2)
        if cut:
            break
        eased = factored.solve(left)
        before, rest = rest, float(left @ eased)
        kept = rest / before
        along = kept * (along + share * towards2)
        towards, towards2 = kept * towards - eased, rest + kept**2 * towards2
    # `left` is the model's gradient at the step's end.
    fall = -float(by @ (gradient + left)) / 2
    return Step(by=by, length=float(np.sqrt(length2)), fall=fall, cut=cut)
