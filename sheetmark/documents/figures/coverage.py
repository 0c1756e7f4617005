"""The page of `arch coverage`: shares of patients as points, errors as curves, in black alone.

A drawing to read, not to mark through: nothing on it is at the scale of a mouth.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from sheetmark.anatomy.arch_model import DEFAULT_MODEL
from sheetmark.anatomy.teeth import JAWS
from sheetmark.base.frames import PagePoint
from sheetmark.base.version import __version__
from sheetmark.documents.cautions import DRAWING_CAUTIONS, RESPONSIBILITY
from sheetmark.practice.settings import PAGE_MARGIN_LIMITS_MM, Paper
from sheetmark.studies.coverage.situations import Situation
from sheetmark.studies.coverage.study import (
    DISTRIBUTION_STEP_MM,
    LIMITS_MM,
    NOTES,
    SIZES,
    STEP_LIMITS_MM,
    WANTED_SHARE,
    Coverage,
    Served,
)
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import (
    FAINT,
    Align,
    Disc,
    Document,
    Line,
    Mark,
    Page,
    Polygon,
    Ring,
    Text,
)
from sheetmark.typesetting.paragraphs import SMALL_MM, Column, Paragraph, height_of, set_blocks
from sheetmark.typesetting.rectangle import rectangle

TITLE = "How many patients does an arch model serve?"
SYMBOL_MM = 1.5
CURVE_REACH_MM = 4.0
_TITLE_MM = 5.6
_TEXT_MM = 2.9
_AXIS_MM = 0.3
_GRID_MM = 0.1
_ROW_MM = 8.4
_LABEL_MM = 25.0
_STEPS_MM = 19.0
_PANEL_GAP_MM = 5.0
# The curves take what height is left, within these.
_CURVES_HIGH_MM = (35.0, 66.0)
_CURVES_FOOT_MM = 12.0
_CURVE_WIDTHS = {"front": 0.4, "full arch": 0.6}
_CURVE_MM = 0.2


def coverage_page(study: Coverage, paper: Paper) -> Document:
    """One page of the study, for a monochrome printer."""
    width = paper.width_mm - 2 * PAGE_MARGIN_LIMITS_MM[0]
    top = paper.height_mm - PAGE_MARGIN_LIMITS_MM[0]
    foot, foot_top = _foot(study, width)
    column = Column(left=PAGE_MARGIN_LIMITS_MM[0], top=top, width=width, bottom=foot_top)
    marks, y, left_over = set_blocks(_heading(study), column)
    more, y = _shares(study, column.below(y - 1.0))
    assert not left_over, "the heading fits"
    curves = _curves(study, column.below(y - 3.0))
    page = Page(paper.width_mm, paper.height_mm, (*marks, *more, *curves, *foot))
    return Document(TITLE, study.command, (page,))


def _heading(study: Coverage) -> list[Paragraph]:
    rho = study.correlations
    missed = ", ".join(f"{jaw} {_percent(study.missed[jaw])}" for jaw in JAWS)
    return [
        Paragraph(TITLE, bold=True, size=_TITLE_MM, name="title"),
        Paragraph(
            f"{study.patients:,} patients drawn from {study.population}, seed {study.seed}. "
            f"Correlations, all assumptions: teeth {rho.teeth:g}, pairs {rho.pair:g}, arch widths "
            f"{rho.arch:g}, tooth and arch width {rho.tooth_arch:g}. Each tooth's own displacement "
            f"from its arch: SD {study.own_mm:g} mm along and across. Laid on the nearest arch, "
            f"since their teeth cannot reach a width across: {missed}.",
            size=_TEXT_MM,
        ),
    ]


def _shares(study: Coverage, column: Column) -> tuple[list[Mark], float]:
    """A panel for each limit, a row for each situation, a symbol for each model; then the sizes."""
    situations = _situations(study)
    marks, y = _key(study, column)
    head, top = y - 4.0, y - 6.0
    bottom = top - _ROW_MM * len(situations)
    middles = {s: top - _ROW_MM * (n + 0.5) for n, s in enumerate(situations)}
    for situation, middle in middles.items():
        label = f"{situation.jaw} {situation.row}"
        marks.append(_text(PagePoint(column.left, middle), label, "row"))
        below = middle - _ROW_MM / 2
        marks.append(
            _grid(PagePoint(column.left, below), PagePoint(column.left + column.width, below))
        )
    panels = column.width - _LABEL_MM - len(STEP_LIMITS_MM) * _STEPS_MM
    wide = panels / len(LIMITS_MM) - _PANEL_GAP_MM
    for number, limit in enumerate(LIMITS_MM):
        left = column.left + _LABEL_MM + number * (wide + _PANEL_GAP_MM)
        marks.append(
            _text(
                PagePoint(left + wide / 2, head), f"within {limit:.1f} mm", "head", "middle", True
            )
        )
        marks += _share_axis(left, wide, top, bottom)
        for row in study.served:
            share = row.hole_within[number]
            model = study.models.index(row.model)
            spread = (model - (len(study.models) - 1) / 2) / max(len(study.models), 5)
            at = PagePoint(left + share * wide, middles[row.situation] - spread * (_ROW_MM - 0.6))
            marks += _symbol(model, at, f"share-{row.model}-{row.situation.row}-{limit:g}")
    for number, limit in enumerate(STEP_LIMITS_MM):
        middle_x = column.left + column.width - (len(STEP_LIMITS_MM) - number - 0.5) * _STEPS_MM
        marks.append(_text(PagePoint(middle_x, head), f"{limit:.1f} mm", "head", "middle", True))
        for steps in study.size_steps:
            if steps.limit_mm == limit:
                at = PagePoint(middle_x, middles[steps.situation])
                text = f"{len(steps.sizes)}" if steps.sizes else f"none: {_percent(steps.share)}"
                marks.append(_text(at, text, f"steps-{steps.situation.row}-{limit:g}", "middle"))
    over = column.left + column.width - len(STEP_LIMITS_MM) * _STEPS_MM / 2
    text = f"sizes for {_percent(WANTED_SHARE, 0)} within"
    marks.append(_text(PagePoint(over, head + 4.2), text, "head", "middle", True))
    sizes, y, _ = set_blocks(
        [Paragraph(_sizes_note(study), size=SMALL_MM)], column.below(bottom - 5.0)
    )
    return [*marks, *sizes], y


def _sizes_note(study: Coverage) -> str:
    return (
        "Sizes: the fewest models, in even steps of the SD of every width on both sides of the "
        f"mean of {study.population}; each patient gets the best one. none: even all from "
        f"{SIZES[0]:g} to {SIZES[-1]:g} SD by {SIZES[1] - SIZES[0]:g} are too few; the share that "
        f"they serve."
    )


def _key(study: Coverage, column: Column) -> tuple[list[Mark], float]:
    heading = Paragraph(
        "Share of patients (%) whose worst hole lies within a limit of its tooth", bold=True
    )
    marks, y, _ = set_blocks([heading], column)
    x, y = column.left, y - 2.5
    for number, name in enumerate(study.models):
        word = _text(PagePoint(x + 2.6, y), name, "key")
        if x + 2.6 + word.width > column.left + column.width:
            x, y = column.left, y - 4.4
            word = _text(PagePoint(x + 2.6, y), name, "key")
        marks += [*_symbol(number, PagePoint(x + 0.9, y), "key"), word]
        x += 2.6 + word.width + 5.0
    return marks, y - 6.5


def _share_axis(left: float, wide: float, top: float, bottom: float) -> list[Mark]:
    marks: list[Mark] = [
        Line(PagePoint(left, bottom), PagePoint(left + wide, bottom), _AXIS_MM, "axis")
    ]
    for share in (0.0, 0.25, 0.5, 0.75, WANTED_SHARE):
        x = left + share * wide
        wanted = share == WANTED_SHARE
        line = (PagePoint(x, bottom), PagePoint(x, top))
        marks.append(Line(*line, _AXIS_MM, "wanted") if wanted else _grid(*line))
        marks.append(
            _text(PagePoint(x, bottom - 2.4), f"{100 * share:g}", "tick", "middle", wanted)
        )
    return marks


def _curves(study: Coverage, column: Column) -> list[Mark]:
    """For each jaw the share of patients within any error, a curve for each situation."""
    model = DEFAULT_MODEL if DEFAULT_MODEL in study.models else study.models[0]
    heading = Paragraph(f"Share of patients (%) within any error, {model}", bold=True)
    marks, y, _ = set_blocks([heading], column)
    wide = column.width / len(JAWS) - 12.0
    least, most = _CURVES_HIGH_MM
    top = y - 4.5
    high = min(most, top - column.bottom - _CURVES_FOOT_MM)
    assert high >= least, "the curves fit above the foot on every paper"
    bottom = top - high
    for number, jaw in enumerate(JAWS):
        left = column.left + 7.0 + number * (wide + 14.0)

        def at(error: float, share: float, left: float = left) -> PagePoint:
            return PagePoint(left + error / CURVE_REACH_MM * wide, bottom + share * high)

        marks.append(_text(PagePoint(left, top + 2.2), f"{jaw} jaw", "head", "left", True))
        marks += _curve_axes(at)
        rows = [r for r in study.served if r.model == model and r.situation.jaw == jaw]
        letters: list[Mark] = []
        for count, row in enumerate(rows):
            width = _CURVE_WIDTHS.get(row.situation.name, _CURVE_MM)
            points = [at(0.0, 0.0), *(at(*point) for point in _points(row))]
            name = f"curve-{row.situation.row}"
            marks += [Line(a, b, width, name) for a, b in pairwise(points)]
            # Each letter at a height of its own, so that none meets another.
            letters += _letter(at, row, 0.9 - 0.15 * count, "abcdef"[count])
        marks += letters
        key = "   ".join(f"{'abcdef'[n]} {row.situation.row}" for n, row in enumerate(rows))
        marks.append(_text(PagePoint(left, bottom - 9.8), key, "key"))
    return marks


def _points(row: Served) -> list[tuple[float, float]]:
    """Error and share, as far as the axis reaches."""
    points = [(DISTRIBUTION_STEP_MM * (n + 1), s) for n, s in enumerate(row.distribution)]
    return [point for point in points if point[0] <= CURVE_REACH_MM + 1e-9]


def _reaching(points: Sequence[tuple[float, float]], level: float) -> tuple[float, float]:
    """Where the curve crosses the level, or its end where it stays below."""
    before = (0.0, 0.0)
    for error, share in points:
        if share >= level:
            part = (level - before[1]) / (share - before[1])
            return before[0] + part * (error - before[0]), level
        before = (error, share)
    return before


def _curve_axes(at: Callable[[float, float], PagePoint]) -> list[Mark]:
    marks: list[Mark] = [
        Line(at(0.0, 0.0), at(CURVE_REACH_MM, 0.0), _AXIS_MM, "axis"),
        Line(at(0.0, 0.0), at(0.0, 1.0), _AXIS_MM, "axis"),
    ]
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        x, y = at(0.0, share)
        marks.append(_text(PagePoint(x - 1.2, y), f"{100 * share:g}", "tick", "right"))
        if share:
            marks.append(_grid(PagePoint(x, y), at(CURVE_REACH_MM, share)))
    for half in range(int(2 * CURVE_REACH_MM) + 1):
        x, y = at(half / 2, 0.0)
        marks.append(Line(PagePoint(x, y), PagePoint(x, y - 1.0), _AXIS_MM, "axis"))
        marks.append(_text(PagePoint(x, y - 2.8), f"{half / 2:g}", "tick", "middle"))
    x, y = at(CURVE_REACH_MM / 2, 0.0)
    marks.append(
        _text(PagePoint(x, y - 6.2), "worst hole off its tooth, mm", "axis-title", "middle")
    )
    return marks


def _letter(
    at: Callable[[float, float], PagePoint], row: Served, level: float, letter: str
) -> list[Mark]:
    """The curve's letter where it reaches the level, on a patch that hides the curves."""
    middle = at(*_reaching(_points(row), level))
    half = text_width(letter, _TEXT_MM, True) / 2 + 0.4
    corners = rectangle(middle, half, _TEXT_MM * 0.5)
    patch = Polygon(corners, 0.0, "patch", grey=1.0, filled=True)
    return [patch, _text(middle, letter, f"letter-{row.situation.row}", "middle", True)]


def _symbol(number: int, centre: PagePoint, name: str) -> list[Mark]:
    """A shape for each model in turn: eight that tell apart without colour."""
    x, y = centre
    r, line = SYMBOL_MM / 2, 0.25
    corners: Sequence[Sequence[PagePoint]] = (
        (PagePoint(x - r, y + r), PagePoint(x + r, y + r), PagePoint(x, y - r)),
        (),
        (PagePoint(x - r, y - r), PagePoint(x + r, y - r), PagePoint(x, y + r)),
        (
            PagePoint(x, y - 1.2 * r),
            PagePoint(x + 1.2 * r, y),
            PagePoint(x, y + 1.2 * r),
            PagePoint(x - 1.2 * r, y),
        ),
        rectangle(centre, r, r),
    )
    if number < len(corners) and corners[number]:
        return [Polygon(tuple(corners[number]), line, name)]
    if number == 1:
        return [Disc(centre, SYMBOL_MM, name)]
    if number == 5:
        return [Ring(centre, SYMBOL_MM, line, name)]
    if number == 6:
        return [
            Line(PagePoint(x - r, y), PagePoint(x + r, y), line, name),
            Line(PagePoint(x, y - r), PagePoint(x, y + r), line, name),
        ]
    falling = Line(PagePoint(x - r, y + r), PagePoint(x + r, y - r), line, name)
    return [falling, Line(PagePoint(x - r, y - r), PagePoint(x + r, y + r), line, name)]


def _foot(study: Coverage, width: float) -> tuple[list[Mark], float]:
    """What the figures rest on, the cautions whole, and the recipe; and the y above them."""
    paragraphs = [
        *(Paragraph(note, size=SMALL_MM, after_mm=0.3) for note in NOTES),
        Paragraph(" ".join(DRAWING_CAUTIONS), size=SMALL_MM, after_mm=0.3),
        Paragraph(RESPONSIBILITY, bold=True, size=SMALL_MM),
        Paragraph(f"sheetmark {__version__} · {study.command}", size=SMALL_MM, name="recipe"),
    ]
    top = PAGE_MARGIN_LIMITS_MM[0] + height_of(paragraphs, width)
    marks, _, _ = set_blocks(
        paragraphs, Column(left=PAGE_MARGIN_LIMITS_MM[0], top=top, width=width, bottom=0.0)
    )
    return marks, top + 1.0


def _situations(study: Coverage) -> list[Situation]:
    return list(dict.fromkeys(row.situation for row in study.served))


def _grid(start: PagePoint, end: PagePoint) -> Mark:
    """A faint line, which only a polygon can be."""
    return Polygon((start, end), _GRID_MM, "grid", grey=FAINT)


def _text(
    middle: PagePoint, text: str, name: str, align: Align = "left", bold: bool = False
) -> Text:
    """Small words whose capitals stand about the height of a point."""
    at = PagePoint(middle[0], middle[1] - CAP_HEIGHT * _TEXT_MM / 2)
    return lettered(at, text, _TEXT_MM, name, align, bold)


def _percent(share: float, digits: int = 1) -> str:
    return f"{100 * share:.{digits}f} %"
