"""Measuring never makes a sheet worse: measured on drawn mouths that sheetmark knows nothing of.

Every reading carries the error of the callipers, and where it is not taken at the gum line that of
its offset. Lengths in mm.
"""

from __future__ import annotations

from functools import cache

import pytest

from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.fitting.landmarks import Kind
from tests.helpers.drawn_mouths import Array, Mouths, draw
from tests.helpers.measuring import (
    average_holes,
    measured_holes,
    seen_holes,
    sets,
    worst_by_row,
)

COUNT = 100
# Mean of the worst hole over the mouths: half its standard error, about 0.5 over the root of 100.
NOISE = 0.025


@cache
def mouths(jaw: Jaw) -> Mouths:
    return draw(jaw, COUNT, seed=11)


def means(holes: Array, jaw: Jaw) -> dict[str, float]:
    """The mean of the worst hole of each row."""
    return {name: float(off.mean()) for name, off in worst_by_row(holes, mouths(jaw)).items()}


@cache
def unmeasured(jaw: Jaw) -> dict[str, float]:
    return means(average_holes(jaw, mouths(jaw)), jaw)


@cache
def measured(jaw: Jaw, name: str) -> tuple[dict[str, float], float]:
    holes, surprise = measured_holes(jaw, mouths(jaw), sets(jaw)[name], seed=3)
    return means(holes, jaw), surprise


@pytest.mark.parametrize("name", sets("upper"))
@pytest.mark.parametrize("jaw", JAWS)
def test_measuring_never_makes_a_row_worse(jaw: Jaw, name: str) -> None:
    found, surprise = measured(jaw, name)
    for row_name, mean in found.items():
        assert mean <= unmeasured(jaw)[row_name] + NOISE, row_name
    # None of these mouths is refused, and hardly one is worth a word.
    assert surprise < 5


# What each measure is for: how much of the mean of its row's worst hole it must take away.
FOR = {
    "row 7-4": ("7-4", 0.10),
    "row 6-3": ("6-3", 0.15),
    "canines, molars, depth": ("4-4", 0.5),
    "canines, molars, depth, rows": ("7-7", 1.0),
}


@pytest.mark.parametrize("name", FOR)
@pytest.mark.parametrize("jaw", JAWS)
def test_the_right_measure_helps_its_row(jaw: Jaw, name: str) -> None:
    row_name, less = FOR[name]
    assert measured(jaw, name)[0][row_name] < unmeasured(jaw)[row_name] - less


@pytest.mark.parametrize("jaw", JAWS)
def test_more_measures_help_more(jaw: Jaw) -> None:
    steps = ["canines", "canines and molars", "canines, molars, depth"]
    found = [unmeasured(jaw)["7-7"], *(measured(jaw, name)[0]["7-7"] for name in steps)]
    assert found == sorted(found, reverse=True)


# Mean of the worst hole with a point for every tooth, the points' errors included.
LANDMARKS: dict[Kind, tuple[float, ...]] = {
    "contacts": (0.7, 0.8, 1.6, 1.8),
    "middle": (0.6, 0.6, 1.1, 1.3),
    "gum line": (0.5, 0.5, 0.7, 0.8),
}


@pytest.mark.parametrize("kind", LANDMARKS)
@pytest.mark.parametrize("jaw", JAWS)
def test_landmarks_of_all_teeth_leave_little(jaw: Jaw, kind: Kind) -> None:
    found = means(seen_holes(jaw, mouths(jaw), kind, seed=4), jaw)
    for (name, mean), limit in zip(found.items(), LANDMARKS[kind], strict=True):
        assert mean < limit, name
        assert mean < unmeasured(jaw)[name]
