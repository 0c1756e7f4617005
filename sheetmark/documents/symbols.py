"""The shapes round a hole that tell the roles apart without colour, and Palmer's bracket."""

from __future__ import annotations

from sheetmark.anatomy.teeth import Notation, Tooth, write
from sheetmark.base.frames import PagePoint, Size
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import Line, Mark, Polygon, Ring
from sheetmark.typesetting.rectangle import rectangle

LINE_MM = 0.5
# A diamond's half diagonal, in ring radii.
_TREATED = 1.1
_BRACKET_GAP = 0.16  # of the font size
_BRACKET_LINE = 0.07


def role_symbol(
    centre: PagePoint, unit: float, *, anchor: bool, treated: bool, name: str
) -> tuple[Mark, ...]:
    """A square for an anchor, a diamond for a tooth to treat, both for both, else a ring.

    Both together are two equal squares, one turned: a star with eight points. `unit` is the
    ring's radius in mm.
    """
    x, y = centre
    marks: list[Mark] = []
    if anchor:
        marks.append(Polygon(rectangle(centre, unit, unit), LINE_MM, f"anchor-{name}"))
    if treated:
        a = unit * (2**0.5 if anchor else _TREATED)
        tips = (PagePoint(x, y - a), PagePoint(x + a, y), PagePoint(x, y + a), PagePoint(x - a, y))
        marks.append(Polygon(tips, LINE_MM, f"treated-{name}"))
    if not marks:
        marks.append(Ring(centre, 2 * unit, LINE_MM, f"exposed-{name}"))
    return tuple(marks)


def symbol_reach(unit: float, *, anchor: bool, treated: bool) -> float:
    """Radius in mm of a circle that holds the symbol and its line."""
    if anchor:
        return unit * 2**0.5 + LINE_MM / 2
    return unit * (_TREATED if treated else 1.0) + LINE_MM / 2


def least_unit(clear: float, *, anchor: bool, treated: bool) -> float:
    """The smallest ring radius whose symbol's lines run `clear` mm or more from its centre."""
    return clear * 2**0.5 / _TREATED if treated and not anchor else clear


def unit_in_text(unit: float, *, anchor: bool, treated: bool) -> float:
    """The ring radius for a symbol among words: a star, which reaches furthest, as wide as a
    diamond, so that it touches no word or line beside it."""
    return unit * _TREATED / 2**0.5 if anchor and treated else unit


def tooth_label_size(tooth: Tooth, notation: Notation, size: float) -> Size:
    """Width and height in mm of a tooth's label in bold type."""
    extra = _BRACKET_GAP * size + _BRACKET_LINE * size if notation == "palmer" else 0.0
    return Size(text_width(_word(tooth, notation), size, True) + extra, CAP_HEIGHT * size + extra)


def tooth_label(
    tooth: Tooth, notation: Notation, centre: PagePoint, size: float, name: str
) -> tuple[Mark, ...]:
    """A tooth's number in bold, centred; in Palmer notation inside its two bracket lines."""
    word = _word(tooth, notation)
    width, height = tooth_label_size(tooth, notation, size)
    if notation != "palmer":
        at = PagePoint(centre[0], centre[1] - height / 2)
        return (lettered(at, word, size, name, "middle", bold=True),)
    line, gap = _BRACKET_LINE * size, _BRACKET_GAP * size
    # The bracket's lines stand towards the midline and towards the other jaw.
    inner = 1 if tooth.side == "right" else -1
    below = 1 if tooth.jaw == "upper" else -1
    middle = (centre[0] - inner * (line + gap) / 2, centre[1] + below * (line + gap) / 2)
    text = lettered(
        PagePoint(middle[0], middle[1] - CAP_HEIGHT * size / 2), word, size, name, "middle", True
    )
    x = centre[0] + inner * (width - line) / 2
    y = centre[1] - below * (height - line) / 2
    top, bottom = centre[1] + height / 2, centre[1] - height / 2
    left, right = centre[0] - width / 2, centre[0] + width / 2
    return (
        text,
        Line(PagePoint(x, bottom), PagePoint(x, top), line, f"{name}-bracket"),
        Line(PagePoint(left, y), PagePoint(right, y), line, f"{name}-bracket"),
    )


def _word(tooth: Tooth, notation: Notation) -> str:
    return tooth.slot if notation == "palmer" else write(tooth, notation)
