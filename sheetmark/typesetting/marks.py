"""The display list: what stands on a page, in mm from its lower left corner, y up.

Renderers draw these and know no tooth. `name` says what a mark is, such as `hole-16`.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from sheetmark.base.frames import PagePoint

Align = Literal["left", "middle", "right"]

BLACK = 0.0
FAINT = 0.62


class Disc(Struct, frozen=True):
    """A filled black circle."""

    centre: PagePoint
    """Its centre."""
    diameter: float
    """Its diameter."""
    name: str
    """What it is, such as `hole-16`."""


class Ring(Struct, frozen=True):
    """A circle line."""

    centre: PagePoint
    """Its centre."""
    diameter: float
    """That of the line's middle."""
    width: float
    """The line's thickness."""
    name: str
    """What it is."""


class Line(Struct, frozen=True):
    """A straight line with blunt ends."""

    start: PagePoint
    """One end."""
    end: PagePoint
    """The other end."""
    width: float
    """Its thickness."""
    name: str
    """What it is."""


class Polygon(Struct, frozen=True):
    """A closed outline."""

    points: tuple[PagePoint, ...]
    """The corners in turn."""
    width: float
    """The line's thickness; 0: none."""
    name: str
    """What it is."""
    grey: float = BLACK
    """0 black to 1 white."""
    filled: bool = False
    """Whether the same grey fills it."""
    colour: tuple[float, float, float] | None = None
    """Red, green and blue, 0 to 1, where colour is extra, never the only sign."""


class Text(Struct, frozen=True):
    """One line of text."""

    at: PagePoint
    """On the baseline: its left end, middle or right end, by `align`."""
    text: str
    """What it says."""
    size: float
    """The font size."""
    width: float
    """Its length as measured."""
    name: str
    """What it is."""
    align: Align = "left"
    """Which point of it `at` is."""
    bold: bool = False
    """Whether it is bold."""
    angle: float = 0.0
    """Degrees anticlockwise."""
    link: str = ""
    """In a PDF it leads to the page that has this key; empty: nowhere."""


Mark = Disc | Ring | Line | Polygon | Text


class Page(Struct, frozen=True):
    """A page and its marks."""

    width: float
    """Exactly, unrounded."""
    height: float
    """Exactly, unrounded."""
    marks: tuple[Mark, ...]
    """In drawing order."""
    key: str = ""
    """Links find the page by it."""


class Document(Struct, frozen=True):
    """Pages, and what the file says of itself."""

    title: str
    """What the file is called."""
    recipe: str
    """The command line that makes it again."""
    pages: tuple[Page, ...]
    """All of one size."""
    correction: tuple[float, float] = (1.0, 1.0)
    """Makes up for a printer's own error: the PDF draws each page larger by it, across and down,
    about the page's middle. Nothing else does, and the marks do not know of it."""
