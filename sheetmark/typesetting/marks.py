"""The display list: what stands on a page, in mm from its lower left corner, y up.

Renderers draw these and know no tooth. `name` says what a mark is, such as `hole-16`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sheetmark.base.frames import PagePoint

Align = Literal["left", "middle", "right"]

BLACK = 0.0
FAINT = 0.62


@dataclass(frozen=True, slots=True)
class Disc:
    """A filled black circle."""

    centre: PagePoint
    diameter: float
    name: str


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle line; `diameter` is that of the line's middle, `width` its thickness."""

    centre: PagePoint
    diameter: float
    width: float
    name: str


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line, `width` mm thick, with blunt ends."""

    start: PagePoint
    end: PagePoint
    width: float
    name: str


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed outline; `grey` is 0 black to 1 white; `filled` fills it with the same grey.

    `colour` (red, green, blue, 0 to 1) takes its place where colour is extra, never the only sign.
    """

    points: tuple[PagePoint, ...]
    width: float
    name: str
    grey: float = BLACK
    filled: bool = False
    colour: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; `at` is on the baseline, `size` the font size in mm, `width` its length
    in mm as measured, `angle` in degrees anticlockwise. In a PDF a `link` leads to the page that
    has this key."""

    at: PagePoint
    text: str
    size: float
    width: float
    name: str
    align: Align = "left"
    bold: bool = False
    angle: float = 0.0
    link: str = ""


Mark = Disc | Ring | Line | Polygon | Text


@dataclass(frozen=True, slots=True)
class Page:
    """A page of exactly `width` x `height` mm and its marks in drawing order; links find it by its
    `key`."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    key: str = ""


@dataclass(frozen=True, slots=True)
class Document:
    """Pages of one size, with what the file says of itself.

    `correction` makes up for a printer's own error: the PDF draws each page larger by it, across
    and down, about the page's middle. Nothing else does, and the marks do not know of it.
    """

    title: str
    recipe: str
    pages: tuple[Page, ...]
    correction: tuple[float, float] = (1.0, 1.0)
