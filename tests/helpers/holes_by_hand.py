"""The hole that a crown needs, worked out from the published figures: nothing of sheetmark."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import cos, dist, pi, sin

# Latex: elongation at break 858 % (Jariyapongpaiboon et al., seen in print), of which a share of
# 0.60 is used (assumption); the punch's holes are an assumption inside the ISO 16635-1 range.
STRETCH = 0.60 * (1 + 858 / 100)
PUNCH = (0.5, 1.0, 1.5, 2.0, 2.5, 2.6)


@cache
def perimeter(width: float, depth: float) -> float:
    """Of an ellipse by its full axes, as a polygon of many sides."""
    corners = [
        (width / 2 * cos(2 * pi * i / 5000), depth / 2 * sin(2 * pi * i / 5000))
        for i in range(5001)
    ]
    return sum(dist(a, b) for a, b in pairwise(corners))


def diameter(width: float, depth: float, *, larger: int = 0) -> float:
    """The smallest hole that passes the crown, or the one `larger` holes up."""
    needed = perimeter(width, depth) / (pi * STRETCH)
    return PUNCH[next(i for i, d in enumerate(PUNCH) if d >= needed) + larger]
