"""Drawn mouths measured with callipers or in a picture, and how far the holes are then off. mm.

Every reading carries its error: callipers 0.3, a point 0.3 over both axes, cusp tips and contacts
that of their offset from the gum line in each mouth.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache

import numpy as np

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.jaw import Arch, build_arch
from sheetmark.anatomy.teeth import Jaw, tooth_at
from sheetmark.fitting.landmarks import Kind
from sheetmark.fitting.measures import Measure, MeasuringPoint
from sheetmark.fitting.mouth import prior_of
from sheetmark.fitting.place_teeth import Sighting, place_teeth
from sheetmark.fitting.predict import ArchPoint, Predicted, Prior, predict
from sheetmark.fitting.readings import reading
from tests.helpers.drawn_mouths import ALONG, Array, Mouths, worst

CALLIPER_MM, POINT_MM = 0.3, 0.3
# Teeth of a row, from the patient's right: quadrant rows, fronts and full arches.
ROWS = {"7-4": (0, 4), "6-3": (1, 5), "4-4": (3, 11), "7-7": (0, 14)}

Take = Callable[[Mouths, int, np.random.Generator], Measure]


def at(along: int) -> int:
    """The number of a tooth among a mouth's."""
    return ALONG.index(along)


def across(jaw: Jaw, place: int, point: MeasuringPoint = "centres") -> Take:
    """The measure of a width as somebody would take it on a drawn mouth."""

    def take(mouths: Mouths, number: int, dice: np.random.Generator) -> Measure:
        points = mouths.contacts if point == "contacts" else mouths.centres
        mm = np.hypot(*(points[number, at(place)] - points[number, at(-place)]))
        if point == "cusp-tips":
            rows = {row.tooth: row for row in gum_line_table().jaw(jaw).cusp_tips}
            row = rows[str(place)]  # type: ignore[index]
            mm += row.wider_mm + row.sd_mm * dice.standard_normal()
        teeth = tooth_at(jaw, -place), tooth_at(jaw, place)
        return Measure("across", teeth, float(mm) + CALLIPER_MM * dice.standard_normal(), point)

    return take


def depth(jaw: Jaw, point: MeasuringPoint = "centres") -> Take:
    def take(mouths: Mouths, number: int, dice: np.random.Generator) -> Measure:
        points = mouths.mesial if point == "contacts" else mouths.centres
        front, back = (points[number, [at(-p), at(p)], 1].mean() for p in (1, 6))
        teeth = tooth_at(jaw, -6), tooth_at(jaw, 6)
        mm = float(back - front) + CALLIPER_MM * dice.standard_normal()
        return Measure("depth", teeth, mm, point, "depth")

    return take


def row(jaw: Jaw, first: int, last: int) -> Take:
    def take(mouths: Mouths, number: int, dice: np.random.Generator) -> Measure:
        inner, outer = sorted((first, last), key=abs)
        ends = mouths.mesial if first * last > 0 else mouths.distal
        mm = np.hypot(*(mouths.distal[number, at(outer)] - ends[number, at(inner)]))
        teeth = tooth_at(jaw, first), tooth_at(jaw, last)
        return Measure("row", teeth, float(mm) + CALLIPER_MM * dice.standard_normal())

    return take


def teeth(jaw: Jaw, *along: int) -> Take:
    def take(mouths: Mouths, number: int, dice: np.random.Generator) -> Measure:
        mm = sum(mouths.widths[number, at(a)] + CALLIPER_MM * dice.standard_normal() for a in along)
        return Measure("teeth", tuple(tooth_at(jaw, a) for a in along), float(mm))

    return take


def sets(jaw: Jaw) -> dict[str, list[Take]]:
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
def prior(jaw: Jaw) -> tuple[Arch, Prior]:
    """The mean adult's jaw to the second molars."""
    model = load_model("adult-mean")
    side = tuple((str(place), None) for place in range(1, 8))
    arch = build_arch(model, jaw, side, side)
    return arch, prior_of(arch, model)


def measured_holes(
    jaw: Jaw, mouths: Mouths, takes: Sequence[Take], seed: int
) -> tuple[Array, float]:
    """Where the holes go, a mouth, a tooth, x and y; and the most surprising reading, in SDs."""
    arch, before = prior(jaw)
    dice = np.random.default_rng(seed)
    holes, surprise = [], 0.0
    for number in range(len(mouths)):
        measures = [take(mouths, number, dice) for take in takes]
        found = predict(
            before, [reading(measure, before, arch.teeth, "iso") for measure in measures]
        )
        holes.append(found.mouth.centres)
        surprise = max(surprise, *map(abs, found.surprise_sds), 0.0)
    return np.stack(holes), surprise


def predicted_of(jaw: Jaw, mouths: Mouths, takes: Sequence[Take]) -> Predicted:
    """The first mouth as it is predicted from those measures."""
    arch, before = prior(jaw)
    dice = np.random.default_rng(1)
    measures = [take(mouths, 0, dice) for take in takes]
    return predict(before, [reading(measure, before, arch.teeth, "iso") for measure in measures])


def seen_holes(
    jaw: Jaw, mouths: Mouths, kind: Kind, seed: int, along: Sequence[int] = ALONG
) -> Array:
    """Where the holes go when those teeth were seen in a picture or scan."""
    _, before = prior(jaw)
    dice = np.random.default_rng(seed)
    share = {"gum line": 0.0, "middle": 0.5, "contacts": 1.0}[kind]
    middles = mouths.centres + share * (mouths.contacts - mouths.centres)
    noisy = middles + POINT_MM / np.sqrt(2) * dice.standard_normal(middles.shape)
    holes = []
    for mouth in noisy:
        points = {position: ArchPoint(*map(float, mouth[at(position)])) for position in along}
        seen = [
            Sighting(before.at(position), point, None, (point,))
            for position, point in points.items()
        ]
        holes.append(place_teeth(before, seen, kind).mouth.centres)
    return np.stack(holes)


def worst_by_row(holes: Array, mouths: Mouths) -> dict[str, Array]:
    """The worst hole of each mouth, row by row."""
    true = mouths.centres
    return {
        name: worst(holes[:, first:last], true[:, first:last])
        for name, (first, last) in ROWS.items()
    }


def average_holes(jaw: Jaw, mouths: Mouths) -> Array:
    """Where the holes go when nothing is measured."""
    return np.repeat(np.array(prior(jaw)[1].centres)[None], len(mouths), axis=0)
