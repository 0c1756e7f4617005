"""Invented casts for the tests: a model's own teeth as landmarks, in any position, with errors.

The points stand in the mouth frame (seen from the biting side), then turned and shifted. mm.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping
from functools import cache
from math import cos, radians, sin

from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.chords import lay_chords
from sheetmark.anatomy.jaw import row_lengths, whole_row
from sheetmark.anatomy.teeth import JAWS, SIDES, Jaw, Tooth, tooth_of_slot, write
from sheetmark.base.sources import cite
from sheetmark.fitting.fit import FORM_KEY, sixth_order_of
from sheetmark.fitting.landmarks import CastPoint, Landmark

# How far to displace a point across and up, mm, by tooth and end.
Moves = Mapping[tuple[str, str], tuple[float, float]]


@cache
def curved(name: str) -> ArchModel:
    """A shipped model both of whose jaws carry a sixth-order curve, as fits lay them."""
    model = load_model(name)
    upper, lower = (replace(model.jaw(jaw), curve=sixth_order_of(model, jaw)) for jaw in JAWS)
    sources = model.sources | {FORM_KEY: cite(FORM_KEY)}
    return replace(model, upper=upper, lower=lower, sources=sources)


def cast(
    model: str = "adult-mean",
    jaw: Jaw = "upper",
    *,
    slots: Collection[str] | None = None,
    noise_mm: float = 0.0,
    seed: int = 0,
    turn_deg: float = 0.0,
    shift: tuple[float, float] = (0.0, 0.0),
    mirrored: bool = False,
    moves: Moves | None = None,
    without: Collection[str] = (),
) -> tuple[Landmark, ...]:
    """The model's teeth (of the given slots) from the patient's right to the left.

    Each coordinate gets a normal error of `noise_mm`. `moves` displaces one point, such as
    `("14", "mesial")`, before the picture is mirrored (x to -x), turned and shifted.
    """
    loaded, dice = load_model(model), random.Random(seed)
    curve = sixth_order_of(loaded, jaw)
    lengths, items = row_lengths(loaded, jaw, whole_row(loaded, jaw))
    chords = lay_chords(curve.depth, lengths, curve.reach_mm)
    up = 1.0 if jaw == "upper" else -1.0
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    marks: dict[Tooth, Landmark] = {}
    for side in SIDES:
        sign = 1.0 if side == "left" else -1.0
        for item, chord in zip(items, chords, strict=True):
            if not item or (slots is not None and item not in slots):
                continue
            tooth = tooth_of_slot(jaw, side, item)
            points = []
            for end, at in (("mesial", chord.start), ("distal", chord.end)):
                dx, dy = (moves or {}).get((tooth.iso, end), (0.0, 0.0))
                x = sign * at[0] + dx + dice.gauss(0.0, noise_mm)
                y = -up * at[1] + dy + dice.gauss(0.0, noise_mm)
                across = -x if mirrored else x
                points.append(
                    CastPoint(c * across - s * y + shift[0], s * across + c * y + shift[1])
                )
            if tooth.iso not in without:
                marks[tooth] = Landmark(tooth, points[0], points[1])
    return tuple(sorted(marks.values(), key=lambda mark: mark.tooth.along))


def as_csv(marks: Collection[Landmark], separator: str = ",", decimal: str = ".") -> str:
    """The landmarks as a file, to the last digit."""
    lines = [separator.join(("tooth", "mesial_x", "mesial_y", "distal_x", "distal_y"))]
    for mark in marks:
        numbers = [repr(value).replace(".", decimal) for value in (*mark.mesial, *mark.distal)]
        lines.append(separator.join((write(mark.tooth, "iso"), *numbers)))
    return "\n".join(lines) + "\n"
