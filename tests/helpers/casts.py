"""Invented casts for the tests: a model's own teeth as landmarks, in any position, with errors.

The points stand in the mouth frame (seen from the biting side), then turned and shifted. mm.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping
from math import cos, radians, sin

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.jaw import Place, build_arch
from sheetmark.anatomy.teeth import Jaw, write
from sheetmark.fitting.landmarks import COLUMNS, CastPoint, Kind, Landmark

# How far to displace a whole tooth across and up, mm.
Moves = Mapping[str, tuple[float, float]]


def cast(
    model: str = "adult-mean",
    jaw: Jaw = "upper",
    *,
    kind: Kind = "contacts",
    slots: Collection[str] | None = None,
    noise_mm: float = 0.0,
    seed: int = 0,
    turn_deg: float = 0.0,
    shift: tuple[float, float] = (0.0, 0.0),
    scale: float = 1.0,
    mirrored: bool = False,
    moves: Moves | None = None,
    without: Collection[str] = (),
) -> tuple[Landmark, ...]:
    """The model's teeth (of the given slots) from the patient's right to the left.

    Each coordinate gets a normal error of `noise_mm`. `moves` displaces teeth, by ISO number,
    before the picture is mirrored (x to -x), scaled, turned and shifted.
    """
    dice = random.Random(seed)
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))

    def in_picture(x: float, y: float) -> CastPoint:
        x, y = scale * (-x if mirrored else x), scale * y
        return CastPoint(c * x - s * y + shift[0], s * x + c * y + shift[1])

    marks = []
    for place in build_arch(load_model(model), jaw).places:
        dx, dy = (moves or {}).get(place.tooth.iso, (0.0, 0.0))
        points = tuple(
            in_picture(x + dx + dice.gauss(0.0, noise_mm), y + dy + dice.gauss(0.0, noise_mm))
            for x, y in points_of(place, kind)
        )
        if place.tooth.iso not in without and (slots is None or place.tooth.slot in slots):
            marks.append(Landmark(place.tooth, points, kind))
    return tuple(marks)


def points_of(place: Place, kind: Kind) -> list[tuple[float, float]]:
    """Where a tooth's landmarks lie, mouth frame."""
    (gx, gy), (cx, cy) = place.centre, place.contact
    if kind == "middle":
        return [((gx + cx) / 2, (gy + cy) / 2)]
    if kind == "gum line":
        half, (fx, fy) = place.size.neck_labiolingual_mm / 2, place.facial
        return [(gx + half * fx, gy + half * fy), (gx - half * fx, gy - half * fy)]
    half = place.size.mesiodistal_mm / 2 * (1 if place.tooth.side == "left" else -1)
    lx, ly = place.leftward
    return [(cx - half * lx, cy - half * ly), (cx + half * lx, cy + half * ly)]


def as_csv(marks: Collection[Landmark], separator: str = ",", decimal: str = ".") -> str:
    """The landmarks, all of one kind, as a file, to the last digit."""
    (kind,) = {mark.kind for mark in marks}
    lines = [separator.join(COLUMNS[kind])]
    for mark in marks:
        numbers = [repr(value).replace(".", decimal) for at in mark.points for value in at]
        lines.append(separator.join((write(mark.tooth, "iso"), *numbers)))
    return "\n".join(lines) + "\n"
