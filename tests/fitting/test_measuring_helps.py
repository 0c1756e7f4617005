"""Measuring never makes a sheet worse: measured on drawn mouths that sheetmark knows nothing of.

Every reading carries the error of the callipers, and where it is not taken at the gum line that of
its offset. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, tooth_at
from sheetmark.fitting.measures import Measure, MeasuringPoint
from sheetmark.fitting.mouth import prior_of
from sheetmark.fitting.place_teeth import Sighting, place_teeth
from sheetmark.fitting.predict import predict
from sheetmark.fitting.readings import reading
from tests.helpers.drawn_mouths import ALONG, Array, Mouths, draw, worst

COUNT = 100
CALLIPERS = 0.3
# Teeth of a row, from the patient's right: quadrant rows, fronts and full arches.
ROWS = {"7-4": (0, 4), "6-3": (1, 5), "4-4": (3, 11), "7-7": (0, 14)}
# Mean of the worst hole over the mouths: half its standard error, about 0.5 over the root of 100.
NOISE = 0.025


def at(along: int) -> int:
    return ALONG.index(along)


def across(jaw: Jaw, place: int, point: MeasuringPoint = "centres") -> Callable[..., Measure]:
    """The measure of a width as somebody would take it on a drawn mouth."""

    def take(mouths: Mouths, number: int, dice: np.random.Generator) -> Measure:
        points = mouths.contacts if point == "contacts" else mouths.centres
        mm = np.hypot(*(points[number, at(place)] - points[number, at(-place)]))
        if point == "cusp-tips":
            rows = {row.tooth: row for row in gum_line_table().jaw(jaw).cusp_tips}
            row = rows[str(place)]  # type: ignore[index]
            mm += row.wider_mm + row.sd_mm * dice.standard_normal()
        teeth = tooth_at(jaw, -place), tooth_at(jaw, place)
        return Measure("across", teeth, float(mm) + CALLIPERS * dice.standard_normal(), point)

    return take


def depth(jaw: Jaw, point: MeasuringPoint = "centres") -> Callable[..., Measure]:
    def take(mouths: Mouths, number: int, dice: np.random.Generator) -> Measure:
        points = mouths.mesial if point == "contacts" else mouths.centres
        front, back = (points[number, [at(-p), at(p)], 1].mean() for p in (1, 6))
        teeth = tooth_at(jaw, -6), tooth_at(jaw, 6)
        mm = float(back - front) + CALLIPERS * dice.standard_normal()
        return Measure("depth", teeth, mm, point, "depth")

    return take


def row(jaw: Jaw, first: int, last: int) -> Callable[..., Measure]:
    def take(mouths: Mouths, number: int, dice: np.random.Generator) -> Measure:
        inner, outer = sorted((first, last), key=abs)
        ends = mouths.mesial if first * last > 0 else mouths.distal
        mm = np.hypot(*(mouths.distal[number, at(outer)] - ends[number, at(inner)]))
        teeth = tooth_at(jaw, first), tooth_at(jaw, last)
        return Measure("row", teeth, float(mm) + CALLIPERS * dice.standard_normal())

    return take


def teeth(jaw: Jaw, *along: int) -> Callable[..., Measure]:
    def take(mouths: Mouths, number: int, dice: np.random.Generator) -> Measure:
        mm = sum(mouths.widths[number, at(a)] + CALLIPERS * dice.standard_normal() for a in along)
        return Measure("teeth", tuple(tooth_at(jaw, a) for a in along), float(mm))

    return take


def sets(jaw: Jaw) -> dict[str, list[Callable[..., Measure]]]:
    """Every kind of measure alone, and the sets that somebody would take together."""
    c, m = across(jaw, 3), across(jaw, 6)
    return {
        "canines": [c],
        "premolars": [across(jaw, 4)],
        "molars": [m],
        "canines and molars": [c, m],
        "canines and molars, contacts": [across(jaw, p, "contacts") for p in (3, 6)],
        "canines and molars, cusp tips": [across(jaw, p, "cusp-tips") for p in (3, 6)],
        "depth": [depth(jaw)],
        "depth, contacts": [depth(jaw, "contacts")],
        "canines, molars, depth": [c, m, depth(jaw)],
        "row 7-4": [row(jaw, -7, -4)],
        "row 6-3": [row(jaw, -6, -3)],
        "row 4-4": [row(jaw, -4, 4)],
        "one tooth": [teeth(jaw, -6)],
        "six fronts": [teeth(jaw, -3, -2, -1, 1, 2, 3)],
        "canines, molars, depth, rows": [c, m, depth(jaw), row(jaw, -7, -4), row(jaw, 4, 7)],
    }


@cache
def mouths(jaw: Jaw) -> Mouths:
    return draw(jaw, COUNT, seed=11)


@cache
def prior(jaw: Jaw):  # type: ignore[no-untyped-def]
    model = load_model("adult-mean")
    side = tuple((str(place), None) for place in range(1, 8))
    arch = build_arch(model, jaw, side, side)
    return arch, prior_of(arch, model)


def worst_of(holes: Array, jaw: Jaw) -> dict[str, float]:
    """The mean of the worst hole of each row."""
    true = mouths(jaw).centres
    return {
        name: float(worst(holes[:, first:last], true[:, first:last]).mean())
        for name, (first, last) in ROWS.items()
    }


@cache
def unmeasured(jaw: Jaw) -> dict[str, float]:
    return worst_of(np.repeat(prior(jaw)[1].centres[None], COUNT, axis=0), jaw)


@cache
def measured(jaw: Jaw, name: str) -> tuple[dict[str, float], float]:
    """The mean of the worst hole by row, and the most surprising of all readings, in SDs."""
    arch, before = prior(jaw)
    dice = np.random.default_rng(3)
    holes, surprise = [], 0.0
    for number in range(COUNT):
        measures = [take(mouths(jaw), number, dice) for take in sets(jaw)[name]]
        readings = [reading(measure, before, arch.teeth, "iso") for measure in measures]
        found = predict(before, readings)
        holes.append(found.mouth.centres)
        surprise = max(surprise, *map(abs, found.surprise_sds))
    return worst_of(np.stack(holes), jaw), surprise


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
    means = [unmeasured(jaw)["7-7"], *(measured(jaw, name)[0]["7-7"] for name in steps)]
    assert means == sorted(means, reverse=True)


# Mean of the worst hole with a point for every tooth, errors of 0.3 a point included.
LANDMARKS = {"contacts": (0.7, 0.8, 1.6, 1.8), "gum line": (0.5, 0.5, 0.7, 0.8)}


@pytest.mark.parametrize("kind", LANDMARKS)
@pytest.mark.parametrize("jaw", JAWS)
def test_landmarks_of_all_teeth_leave_little(jaw: Jaw, kind: str) -> None:
    _, before = prior(jaw)
    dice, drawn = np.random.default_rng(4), mouths(jaw)
    middles = drawn.contacts if kind == "contacts" else drawn.centres
    noisy = middles + 0.3 / np.sqrt(2) * dice.standard_normal(middles.shape)
    holes = []
    for one in noisy:
        seen = [
            Sighting(number, (float(x), float(y)), None, ((float(x), float(y)),))
            for number, (x, y) in enumerate(one)
        ]
        holes.append(place_teeth(before, seen, kind).mouth.centres)  # type: ignore[arg-type]
    found = worst_of(np.stack(holes), jaw)
    for (name, mean), limit in zip(found.items(), LANDMARKS[kind], strict=True):
        assert mean < limit, name
        assert mean < unmeasured(jaw)[name]
