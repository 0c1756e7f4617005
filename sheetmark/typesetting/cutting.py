"""Shapes for a cutter, mm, y up: circles and lines on two layers named by what the machine does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct

from sheetmark.base.frames import PagePoint

Layer = Literal["CUT", "ENGRAVE"]


class Round(Struct, frozen=True):
    """A circle by centre and diameter, mm."""

    layer: Layer
    centre: PagePoint
    diameter: float
    name: str


class Path(Struct, frozen=True):
    """A line through points, mm; a closed one ends where it starts."""

    layer: Layer
    points: tuple[PagePoint, ...]
    closed: bool
    name: str


Shape = Round | Path


class Stencil(Struct, frozen=True):
    """The parts of one stencil, and what the file says of itself."""

    title: str
    recipe: str
    shapes: tuple[Shape, ...]
    colours: Mapping[Layer, str]
    """The colour of each layer, `#rrggbb`; machines go by the layer's name."""

    @property
    def bounds(self) -> tuple[PagePoint, PagePoint]:
        """Lower left and upper right of all shapes, mm."""
        xs, ys = [], []
        for shape in self.shapes:
            r = shape.diameter / 2 if isinstance(shape, Round) else 0.0
            for x, y in (shape.centre,) if isinstance(shape, Round) else shape.points:
                xs += [x - r, x + r]
                ys += [y - r, y + r]
        return PagePoint(min(xs), min(ys)), PagePoint(max(xs), max(ys))
