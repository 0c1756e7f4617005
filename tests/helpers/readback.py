"""Independent readers of finished pages: what is drawn, where, how large, in mm.

They know nothing of sheetmark. The PDF is walked with pdfminer.six, every path and every glyph
through its matrices; the SVG with the standard library's XML parser. Both give the same records,
in the page frame: mm from the paper's lower left corner, y up.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from io import BytesIO
from math import cos, dist, hypot, radians, sin
from typing import Any, NamedTuple
from xml.etree import ElementTree

from msgspec import Struct
from msgspec.structs import replace
from pdfminer.pdfdevice import PDFTextDevice
from pdfminer.pdfinterp import PDFResourceManager
from pdfminer.pdfpage import PDFPage
from pdfminer.utils import Matrix, apply_matrix_pt

from tests.helpers.page_operators import QuickInterpreter

Point = tuple[float, float]

POINT_MM = 25.4 / 72
# Four Bezier quarters bulge by up to 0.027 % of the radius (D: 0.5523 of it as handle).
ROUND = 0.0005


class Circle(Struct, frozen=True):
    """A filled disc (`line` 0) or a circle line of that width; `diameter` is of its path."""

    centre: Point
    diameter: float
    filled: bool
    line: float
    grey: float

    def moved(self, move: Callable[[Point], Point]) -> Circle:
        return replace(self, centre=move(self.centre))


class Line(Struct, frozen=True):
    start: Point
    end: Point
    line: float
    grey: float

    def moved(self, move: Callable[[Point], Point]) -> Line:
        return replace(self, start=move(self.start), end=move(self.end))


class Outline(Struct, frozen=True):
    """A closed polygon by its corners."""

    points: tuple[Point, ...]
    filled: bool
    line: float
    grey: float

    def moved(self, move: Callable[[Point], Point]) -> Outline:
        return replace(self, points=tuple(move(point) for point in self.points))


class Word(Struct, frozen=True):
    """A line of text from one end of its baseline to the other; `size` is that of the font."""

    text: str
    start: Point
    end: Point
    size: float
    bold: bool

    @property
    def middle(self) -> Point:
        """Half way along, and half the height of a capital or figure (about 0.66) up."""
        length = dist(self.start, self.end)
        rise = 0.33 * self.size / length
        along = (self.end[0] - self.start[0], self.end[1] - self.start[1])
        return (
            self.start[0] + along[0] / 2 - along[1] * rise,
            self.start[1] + along[1] / 2 + along[0] * rise,
        )

    def moved(self, move: Callable[[Point], Point]) -> Word:
        return replace(self, start=move(self.start), end=move(self.end))


Found = Circle | Line | Outline | Word


class Drawing(Struct, frozen=True):
    """All that stands on one page of `width` x `height` mm, in drawing order."""

    width: float
    height: float
    found: tuple[Found, ...]

    @property
    def circles(self) -> tuple[Circle, ...]:
        return tuple(mark for mark in self.found if isinstance(mark, Circle))

    @property
    def lines(self) -> tuple[Line, ...]:
        return tuple(mark for mark in self.found if isinstance(mark, Line))

    @property
    def outlines(self) -> tuple[Outline, ...]:
        return tuple(mark for mark in self.found if isinstance(mark, Outline))

    @property
    def texts(self) -> tuple[Word, ...]:
        return tuple(mark for mark in self.found if isinstance(mark, Word))

    @property
    def text(self) -> str:
        """All words in drawing order, a space between two."""
        return " ".join(word.text for word in self.texts)

    def moved(self, move: Callable[[Point], Point]) -> Drawing:
        """The drawing with every point of it moved; diameters and line widths stay."""
        return replace(self, found=tuple(mark.moved(move) for mark in self.found))


def read_pdf(pdf: bytes, printer: Point = (1.0, 1.0)) -> tuple[Drawing, ...]:
    """Every page of a PDF. Raises AssertionError for anything that the walk would overlook.

    `printer` is what a printer puts down for 1 mm across and for 1 mm down, about the middle of
    the paper: the page is then measured as it comes out of it.
    """
    return tuple(_drawings(pdf, printer))


def read_first_page(pdf: bytes, printer: Point = (1.0, 1.0)) -> Drawing:
    """The first page alone, as `read_pdf` reads it: half the time where a card follows."""
    return next(_drawings(pdf, printer))


def _drawings(pdf: bytes, printer: Point) -> Iterator[Drawing]:
    manager = PDFResourceManager()
    walk = _Walk(manager, printer)
    for page in PDFPage.get_pages(BytesIO(pdf)):
        x0, y0, x1, y1 = page.mediabox
        assert (x0, y0) == (0, 0), "the paper's lower left corner is the origin"
        walk.found, walk.middle = [], (x1 * POINT_MM / 2, y1 * POINT_MM / 2)
        _Interpreter(manager, walk).process_page(page)
        yield Drawing(x1 * POINT_MM, y1 * POINT_MM, tuple(walk.found))


class _Interpreter(QuickInterpreter):
    """Tells the walk where a line of text begins, and refuses what could hide a mark."""

    device: _Walk

    def do_BT(self) -> None:  # noqa: N802  the operator's name
        super().do_BT()
        self.device.letters = []

    def do_ET(self) -> None:  # noqa: N802
        super().do_ET()
        self.device.end_word()

    def do_W(self) -> None:  # noqa: N802
        raise AssertionError("a clipping path could hide a mark")

    def do_W_a(self) -> None:  # noqa: N802
        raise AssertionError("a clipping path could hide a mark")


class _Letter(NamedTuple):
    text: str
    matrix: Matrix
    advance: float
    rise: float
    size: float
    font: str


class _Walk(PDFTextDevice):
    """Collects what is painted. Points come in user space and leave in mm on the page."""

    def __init__(self, manager: PDFResourceManager, printer: Point) -> None:
        super().__init__(manager)
        self.printer = printer
        self.middle: Point = (0.0, 0.0)
        self.found: list[Found] = []
        self.letters: list[_Letter] = []

    def paint_path(
        self,
        graphicstate: Any,
        stroke: bool,
        fill: bool,
        evenodd: bool,  # noqa: ARG002  pdfminer's signature, here and below
        path: Sequence[Any],
    ) -> None:
        assert graphicstate.dash in (None, ([], 0)), "no dashes: they could hide part of a mark"
        # pdfminer has already scaled the line width by the matrix.
        line = graphicstate.linewidth * POINT_MM if stroke else 0.0
        if stroke and fill:
            assert graphicstate.scolor == graphicstate.ncolor
        grey = _grey(graphicstate.scolor if stroke else graphicstate.ncolor)
        kinds = "".join(segment[0] for segment in path)
        points = [self._mm(*segment[-2:]) for segment in path if segment[0] != "h"]
        if kinds in ("mcccc", "mcccch"):
            handles = [self._mm(*segment[i : i + 2]) for segment in path[1:5] for i in (1, 3)]
            centre, diameter = _circle(points, handles)
            self.found.append(Circle(centre, diameter, fill, line, grey))
        elif kinds == "ml":
            self.found.append(Line(points[0], points[1], line, grey))
        elif re.fullmatch("ml+h", kinds):
            self.found.append(Outline(tuple(points), fill, line, grey))
        else:
            raise AssertionError(f"a path of another sort: {kinds}")

    def render_char(
        self,
        matrix: Any,
        font: Any,
        fontsize: float,
        scaling: float,
        rise: float,
        cid: int,
        ncs: Any,  # noqa: ARG002
        graphicstate: Any,
    ) -> float:
        advance: float = font.char_width(cid) * fontsize * scaling
        assert _grey(graphicstate.ncolor) == 0, "all text is black"
        self.letters.append(
            _Letter(font.to_unichr(cid), matrix, advance, rise, fontsize, font.fontname)
        )
        return advance

    def end_word(self) -> None:
        """Take the letters since the text began as one word."""
        if not self.letters:
            return
        first, last = self.letters[0], self.letters[-1]
        text = "".join(letter.text for letter in self.letters)
        start = self._paper(apply_matrix_pt(first.matrix, (0.0, first.rise)))
        end = self._paper(apply_matrix_pt(last.matrix, (last.advance, last.rise)))
        size = hypot(first.matrix[2], first.matrix[3]) * first.size * POINT_MM
        self.found.append(Word(text, start, end, size, "Bold" in first.font))

    def render_image(self, name: str, stream: Any) -> None:  # noqa: ARG002
        raise AssertionError(f"an image: {name}")

    def _mm(self, x: float, y: float) -> Point:
        assert self.ctm is not None
        return self._paper(apply_matrix_pt(self.ctm, (x, y)))

    def _paper(self, point: Point) -> Point:
        """From points in the file to mm on the paper."""
        (x, y), (across, down) = self.middle, self.printer
        return (x + (point[0] * POINT_MM - x) * across, y + (point[1] * POINT_MM - y) * down)


def _grey(colour: Any) -> float:
    assert isinstance(colour, int | float), f"a colour that is no grey: {colour}"
    return float(colour)


def _circle(ends: Sequence[Point], handles: Sequence[Point]) -> tuple[Point, float]:
    """Centre and diameter of four Bezier quarters, from their first point and their four ends.

    Raises AssertionError when they are no circle, at the ends or half way between two.
    """
    assert dist(ends[0], ends[4]) < 1e-3, "the circle is closed"
    centre = (sum(x for x, _ in ends[1:]) / 4, sum(y for _, y in ends[1:]) / 4)
    radius = sum(dist(centre, end) for end in ends[1:]) / 4
    for quarter in range(4):
        a, d = ends[quarter], ends[quarter + 1]
        b, c = handles[2 * quarter : 2 * quarter + 2]
        half = ((a[0] + 3 * b[0] + 3 * c[0] + d[0]) / 8, (a[1] + 3 * b[1] + 3 * c[1] + d[1]) / 8)
        for point in (a, half):
            off = abs(dist(centre, point) - radius)
            assert off < max(ROUND * radius, 1e-3), f"no circle: off by {off:.4f} mm at {point}"
    return centre, 2 * radius


_SVG = "{http://www.w3.org/2000/svg}"
# Letters of an SVG are smaller by this than their room allows; test_svg_text.py says why.
_SLACK = 1.12
_NUMBER = r"(-?[\d.]+(?:e-?\d+)?)"


def read_svg(svg: bytes) -> Drawing:
    """The SVG's one page. Raises AssertionError for an element or attribute of another sort."""
    root = ElementTree.fromstring(svg)
    assert root.tag == f"{_SVG}svg"
    assert "transform" not in root.attrib
    width, height = (_millimetres(root.attrib[side]) for side in ("width", "height"))
    assert [float(n) for n in root.attrib["viewBox"].split()] == [0, 0, width, height]
    found: list[Found] = []
    for element in root:
        kind = element.tag.removeprefix(_SVG)
        if kind in ("title", "desc") or (kind == "defs" and not len(element)):
            continue
        assert not len(element), f"{kind} holds other elements"
        if kind == "style":  # nothing but the size of its own paper, for a browser that prints it
            paper = f"@page {{ size: {width:g}mm {height:g}mm; margin: 0 }}"
            assert element.text == paper, element.text
            continue
        assert "style" not in element.attrib
        assert kind == "text" or "transform" not in element.attrib
        found.append(_READ_SVG[kind](element, height))
    return Drawing(width, height, tuple(found))


def _millimetres(text: str) -> float:
    assert text.endswith("mm"), text
    return float(text.removesuffix("mm"))


def _number(element: ElementTree.Element, name: str) -> float:
    return float(element.attrib[name])


def _svg_paint(element: ElementTree.Element) -> tuple[bool, float, float]:
    """Whether it is filled, its line width (0 without a line), its grey."""
    fill = _svg_grey(element.attrib.get("fill", "black"))
    stroke = _svg_grey(element.attrib.get("stroke", "none"))
    line = _number(element, "stroke-width") if stroke is not None else 0.0
    shown = {grey for grey in (fill, stroke) if grey is not None}
    assert len(shown) == 1, "one grey for the whole mark"
    return fill is not None, line, shown.pop()


def _svg_grey(colour: str) -> float | None:
    if colour == "none":
        return None
    if colour == "black":
        return 0.0
    match = re.fullmatch(r"rgb\((\d+),(\d+),(\d+)\)", colour)
    assert match, colour
    assert match[1] == match[2] == match[3], f"a colour that is no grey: {colour}"
    return int(match[1]) / 255


def _svg_circle(element: ElementTree.Element, height: float) -> Circle:
    centre = (_number(element, "cx"), height - _number(element, "cy"))
    return Circle(centre, 2 * _number(element, "r"), *_svg_paint(element))


def _svg_line(element: ElementTree.Element, height: float) -> Line:
    start, end = ((_number(element, f"x{n}"), height - _number(element, f"y{n}")) for n in (1, 2))
    stroke = _svg_grey(element.attrib["stroke"])
    assert stroke is not None
    return Line(start, end, _number(element, "stroke-width"), stroke)


def _svg_polygon(element: ElementTree.Element, height: float) -> Outline:
    pairs = [pair.split(",") for pair in element.attrib["points"].split()]
    points = tuple((float(x), height - float(y)) for x, y in pairs)
    return Outline(points, *_svg_paint(element))


def _svg_text(element: ElementTree.Element, height: float) -> Word:
    x, y, length = (_number(element, name) for name in ("x", "y", "textLength"))
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[element.attrib["text-anchor"]] * length
    turn = 0.0
    if "transform" in element.attrib:
        match = re.fullmatch(
            rf"rotate\({_NUMBER},{_NUMBER},{_NUMBER}\)", element.attrib["transform"]
        )
        assert match, element.attrib["transform"]
        assert (float(match[2]), float(match[3])) == (x, y), "turned about its own point"
        turn = radians(-float(match[1]))  # y is down there and up here
    along = (cos(turn), sin(turn))
    start = (x - back * along[0], height - y - back * along[1])
    return Word(
        element.text or "",
        start,
        (start[0] + length * along[0], start[1] + length * along[1]),
        round(_number(element, "font-size") * _SLACK, 3),
        element.attrib["font-weight"] == "bold",
    )


_READ_SVG: dict[str, Callable[[ElementTree.Element, float], Found]] = {
    "circle": _svg_circle,
    "line": _svg_line,
    "polygon": _svg_polygon,
    "text": _svg_text,
}
