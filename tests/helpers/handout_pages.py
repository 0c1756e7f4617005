"""The handouts' pages as an independent reader sees them, each read once, and their tables."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from typing import Any

from sheetmark.anatomy.teeth import Notation
from sheetmark.practice.settings import Practice
from tests.helpers.golden_pages import HANDOUTS, handout_pdf
from tests.helpers.paths import ROOT
from tests.helpers.readback import Circle, Drawing, Line, Outline, Point, Word, read_pdf

MODELS = ROOT / "arch_models"
CROWNS = tomllib.loads((MODELS / "crowns.toml").read_text("utf-8"))
MEAN = tomllib.loads((MODELS / "adult-mean.toml").read_text("utf-8"))


@cache
def pages(name: str, paper: Any = "a4", notation: Notation = "iso") -> tuple[Drawing, ...]:
    """The pages of a handout, as an independent reader sees them."""
    practice = Practice(paper=paper, notation=notation)
    return read_pdf(handout_pdf(name, practice, **HANDOUTS[name]))


def middle_of(line: Line) -> Point:
    """Half way along a line."""
    return ((line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2)


def mean_of(points: Sequence[Point]) -> Point:
    """The centre of gravity of points."""
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))


def points_of(mark: object) -> list[Point]:
    """The outermost points of a mark."""
    match mark:
        case Circle(centre, size):
            (x, y), r = centre, size / 2
            return [(x - r, y - r), (x + r, y + r)]
        case Line(start, end) | Word(_, start, end):
            return [start, end]
        case Outline(points):
            return list(points)
    raise AssertionError(mark)
