"""A picture of fitted jaws at true scale, over the landmarks they were fitted to. mm.

Seen from the biting side, as the mouth frame has it.
"""

from __future__ import annotations

from collections.abc import Sequence

from sheetmark import __version__
from sheetmark.arch.fit import JawFit
from sheetmark.arch.jaw import Arch, build_arch
from sheetmark.arch.model import ArchModel
from sheetmark.documents.arch_drawing import View, draw_jaw, seen_points
from sheetmark.documents.cautions import RESPONSIBILITY
from sheetmark.documents.labels import Box
from sheetmark.documents.lettering import CAP_HEIGHT, lettered
from sheetmark.documents.marks import Document, Line, Mark, Page, Point
from sheetmark.documents.sheet import tooth_outline
from sheetmark.documents.words import BODY_MM, SMALL_MM, Column, Words, set_words
from sheetmark.practice.settings import Paper
from sheetmark.teeth import Notation, write

MARGIN_MM = 10.0
BAR_MM = 100.0
_BAR_STRIP_MM = 9.0
_BAR_LINE_MM = 0.4
_BAR_END_MM = 3.0
_TITLE_MM = 5.6
_SIDE_SIZE_MM = 7.0
# Room round the crowns for the teeth's numbers and for points that lie off them.
_ROOM_MM = 8.0
_GAP_MM = 6.0

_HOW_TO = (
    "Print at 100 %, check both bars. Seen from the biting side; R and L are the patient's. "
    "Dark crowns were measured, grey ones are the base model's."
)
_LANDMARKS = "Dots: landmarks; one in a ring does not belong and was left out."
_WIDTHS = "Lines, mm: widths between the teeth's centres, depth straight back to the molars' line."


def arch_picture(
    model: ArchModel, fits: Sequence[JawFit], notation: Notation, paper: Paper, command: str
) -> Document:
    """The fitted jaws on one page; further pages only for words that do not fit on it."""
    title = f"{model.name} · {model.title}"
    whole = Column(MARGIN_MM, paper.height_mm - MARGIN_MM, paper.width_mm - 2 * MARGIN_MM, 0.0)
    foot, foot_top = _foot(command, whole)
    heading, y = _heading(title, whole)
    marks, outside = [*heading, *_bars(whole, y)], []
    top = y - _BAR_STRIP_MM
    for fit in fits:
        arch = build_arch(model, fit.jaw, fit.right, fit.left)
        view = _view(arch, whole, top)
        marks += [*_sides(view), *draw_jaw(fit, arch, view, notation)]
        for (end, tooth), point in seen_points(fit, arch).items():
            if not view.shows(point):
                outside.append(f"The {end} point of {write(tooth, notation)}")
        top -= view.frame.height

    words = _words(fits, outside)
    left, width = whole.left + _BAR_STRIP_MM, whole.width - _BAR_STRIP_MM
    half = (width - _GAP_MM) / 2
    below = Column(left, top - 1.0, half, foot_top)
    columns = [below, Column(left + half + _GAP_MM, below.top, half, foot_top)]
    pages: list[Page] = []
    while words or not pages:
        for column in columns:
            more, _, words = set_words(words, column)
            marks += more
        pages.append(Page(paper.width_mm, paper.height_mm, (*marks, *foot)))
        marks, y = _heading(f"{title} (continued)", whole)
        columns = [whole.below(y).above(foot_top)]
    return Document(title, command, tuple(pages))


def _view(arch: Arch, whole: Column, top: float) -> View:
    """All crowns of a jaw with room round them, across the page, from the top down."""
    ys = [y for place in arch.places for _, y in tooth_outline(place)]
    middle_x = whole.left + _BAR_STRIP_MM + (whole.width - _BAR_STRIP_MM) / 2
    height = max(ys) - min(ys) + 2 * _ROOM_MM
    frame = Box((middle_x, top - height / 2), whole.width - _BAR_STRIP_MM, height)
    return View(frame, (middle_x, top - _ROOM_MM - max(ys)))


def _words(fits: Sequence[JawFit], outside: Sequence[str]) -> list[Words]:
    """How to use the page, the warnings, and the figures."""
    words = [Words(_HOW_TO)]
    if any(fit.seen for fit in fits):
        words.append(Words(_LANDMARKS))
    words.append(Words(_WIDTHS, after_mm=2.0))
    warnings = [finding for fit in fits for finding in fit.findings if finding.severity != "info"]
    words += [Words(f"! {finding.line}", bold=True) for finding in warnings]
    words += [Words(f"! {point} lies off this picture.", bold=True) for point in outside]
    for fit in fits:
        words.append(Words(f"{fit.jaw.capitalize()} jaw, mm", bold=True))
        words += [Words(figure.sentence, after_mm=0.2) for figure in fit.figures]
    return words


def _heading(title: str, column: Column) -> tuple[list[Mark], float]:
    """The title and the scale, and the y below them."""
    at = (column.left + column.width, column.top - CAP_HEIGHT * _TITLE_MM - 0.9)
    scale = lettered(at, "1:1", _TITLE_MM, "scale", "right", bold=True)
    room = Column(column.left, column.top, column.width - scale.width - 4.0, column.bottom)
    words = [Words(title, bold=True, size=_TITLE_MM, name="title")]
    marks, y, _ = set_words(words, room)
    return [scale, *marks], y - 1.0


def _foot(command: str, whole: Column) -> tuple[list[Mark], float]:
    """Who decides, the version and the recipe, and the y above them."""
    words = [
        Words(RESPONSIBILITY, bold=True),
        Words(f"sheetmark {__version__} · {command}", size=SMALL_MM, name="recipe"),
    ]
    top = MARGIN_MM + sum(word.height(whole.width) for word in words)
    marks, _, _ = set_words(words, Column(whole.left, top, whole.width, 0.0))
    return marks, top + 1.0


def _sides(view: View) -> list[Mark]:
    """R and L, the patient's, in the upper corners of the picture."""
    y = view.frame.centre[1] + view.frame.height / 2 - CAP_HEIGHT * _SIDE_SIZE_MM - _ROOM_MM
    half = view.frame.width / 2 - _SIDE_SIZE_MM
    return [
        lettered((view.middle[0] + x, y), letter, _SIDE_SIZE_MM, f"side-{letter}", "middle", True)
        for x, letter in ((-half, "R"), (half, "L"))
    ]


def _bars(whole: Column, top: float) -> list[Mark]:
    """A 100 mm bar across and one down, each with its words."""
    words = f"this bar is {BAR_MM:g} mm"
    half = BAR_MM / 2
    middle = whole.left + whole.width / 2
    y = top - _BAR_STRIP_MM / 2
    marks = _bar((middle - half, y), (middle + half, y), "bar-x")
    marks.append(lettered((middle, y + 1.2), words, BODY_MM, "bar-x-words", "middle"))
    x, y = whole.left + _BAR_STRIP_MM / 2, top - _BAR_STRIP_MM - half
    marks += _bar((x, y - half), (x, y + half), "bar-y")
    marks.append(lettered((x - 1.2, y), words, BODY_MM, "bar-y-words", "middle", angle=90.0))
    return marks


def _bar(start: Point, end: Point, name: str) -> list[Mark]:
    """A line with a tick across each end; the middles of the ticks are the stated length apart."""
    across = (0.0, _BAR_END_MM / 2) if start[1] == end[1] else (_BAR_END_MM / 2, 0.0)
    marks: list[Mark] = [Line(start, end, _BAR_LINE_MM, name)]
    for x, y in (start, end):
        tick = ((x - across[0], y - across[1]), (x + across[0], y + across[1]))
        marks.append(Line(*tick, _BAR_LINE_MM, f"{name}-end"))
    return marks
