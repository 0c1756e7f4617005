"""Mean arches of real mouths, and how far a model's arch is from them. Arch axes, mm.

x across from the midline, y behind the central incisors; each list holds the teeth 1 to 7.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Sequence
from math import hypot, sqrt

from sheetmark.anatomy.jaw import Arch
from sheetmark.anatomy.teeth import Jaw, tooth_at
from tests.helpers.paths import ROOT

Point = tuple[float, float]
DATA = tomllib.loads((ROOT / "tests" / "anatomy" / "mean_arches.toml").read_text("utf-8"))
SAMPLES = ("gum-line", "crowns", "whole-teeth")
SEVEN = range(1, 8)
# Teeth whose widths table 4 of Moyers and others gives, by which a sample's size is matched.
_MATCHED = (3, 4, 6)
_MATCHED_BOTH = (3, 4, 5, 6)


def sample(name: str, jaw: Jaw) -> list[Point]:
    """The sample's mean arch."""
    return [(x, y) for x, y in DATA[name][jaw]]


def landmarks(arch: Arch, name: str) -> list[Point]:
    """The model's arch by the sample's own landmark.

    A whole tooth's middle lies near its neck, so at the gum-line centre; a scanned crown's lies
    half way from there to the contact middle. Upper front teeth lean forward in the sample that
    the offsets are from: there half of the offset counts (all assumptions).
    """
    places = [arch.place(tooth_at(arch.jaw, p)) for p in SEVEN]
    up = 1 if arch.jaw == "upper" else -1
    front = places[0].centre.y
    points = []
    for place in places:
        part = 0.0
        if name == "crowns":
            part = 0.25 if arch.jaw == "upper" and place.tooth.front else 0.5
        x, y = (
            at + part * (contact - at)
            for at, contact in zip(place.centre, place.contact, strict=True)
        )
        points.append((x, up * (front - y)))
    return points


def across_only(own: Sequence[Point], mean: Sequence[Point]) -> list[Point]:
    """The mean arch with the model's widths, its depth as it is."""
    times = _ratio(own, mean, _MATCHED)
    return [(times * x, y) for x, y in mean]


def by_width(own: Sequence[Point], mean: Sequence[Point]) -> list[Point]:
    """The mean arch in the model's size by its widths, both ways."""
    times = _ratio(own, mean, _MATCHED_BOTH)
    return [(times * x, times * y) for x, y in mean]


def most_alike(own: Sequence[Point], mean: Sequence[Point]) -> list[Point]:
    """The mean arch in the size that comes nearest to the model."""
    a, b = _levelled(own), _levelled(mean)
    times = sum(x * u + y * v for (x, y), (u, v) in zip(a, b, strict=True))
    times /= sum(u * u + v * v for u, v in b)
    return [(times * x, times * y) for x, y in mean]


SCALED: dict[str, Callable[[Sequence[Point], Sequence[Point]], list[Point]]] = {
    "widths only": across_only,
    "by width, both ways": by_width,
    "most alike": most_alike,
}


def off(own: Sequence[Point], mean: Sequence[Point]) -> tuple[float, float]:
    """Worst tooth and root mean square after the best rigid fit of both whole arches.

    Both are symmetric, so the fit is a shift along the midline.
    """
    a, b = _levelled(own), _levelled(mean)
    each = [hypot(x - u, y - v) for (x, y), (u, v) in zip(a, b, strict=True)]
    return max(each), sqrt(sum(width * width for width in each) / len(each))


def _levelled(points: Sequence[Point]) -> list[Point]:
    middle = sum(y for _, y in points) / len(points)
    return [(x, y - middle) for x, y in points]


def _ratio(own: Sequence[Point], mean: Sequence[Point], places: Sequence[int]) -> float:
    return sum(own[p - 1][0] for p in places) / sum(mean[p - 1][0] for p in places)
