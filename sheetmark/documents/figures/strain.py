"""The sheet at rest and stretched, side by side, coloured by its largest stretch.

The colours run from light to dark and from yellow to blue, so that they read in grey and for
colour-blind eyes; contour lines carry their stretch as a number. Not to scale, not for marking.
"""

from __future__ import annotations

from itertools import pairwise
from math import dist
from statistics import fmean

import numpy as np
from msgspec import Struct

from sheetmark.anatomy.teeth import read, write
from sheetmark.base.frames import Direction, PagePoint, Size
from sheetmark.base.sources import MEANING
from sheetmark.base.version import __version__
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.documents.figures.strain_key import (
    BODY_MM,
    COLOURS,
    LABEL_MM,
    LEVELS,
    figures,
    legend,
)
from sheetmark.practice.materials import materials
from sheetmark.studies.membrane.energy import Floats
from sheetmark.studies.membrane.report import LEFT_OUT, PURPOSE, SOURCES, Placed, Report
from sheetmark.studies.membrane.scene import Neck
from sheetmark.typesetting.labels import Box, Taken, find_room
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import Document, Line, Mark, Page, Polygon
from sheetmark.typesetting.paragraphs import SMALL_MM, Column, Paragraph, height_of, set_blocks
from sheetmark.typesetting.rectangle import rectangle

_WHITE = (1.0, 1.0, 1.0)
_TITLE_MM = 5.6
_SIDE_MM = 6.0
_SIDES_UP = 0.33  # of the picture's height, above its middle
_GAP_MM = 8.0
# Round each hole no word covers what one looks at.
_LOOK_MM = 7.0
_LEADER_MM = 0.2
_LEGEND_MM = 9.0
_BELOW_MM = 48.0  # figures and limits, above the foot
_NAMES: dict[Placed, str] = {
    "centred": "middle not moved",
    "rule": "middle moved by the rule",
    "best": "middle where the pull is most even",
}


class _Panel(Struct, frozen=True):
    """A picture's frame on the page: model mm to page mm."""

    middle: PagePoint
    origin: PagePoint
    scale: float

    def at(self, points: Floats) -> list[PagePoint]:
        return [
            PagePoint(
                float(self.middle[0] + self.scale * (x - self.origin[0])),
                float(self.middle[1] + self.scale * (y - self.origin[1])),
            )
            for x, y in points
        ]


def strain_picture(report: Report, shown: Placed = "rule") -> Document:
    """One page across the paper: both pictures, the colours, the figures, the limits."""
    paper, margin = report.plan.paper, report.plan.practice.margin_mm
    width, height = paper.height_mm, paper.width_mm
    foot = _foot(report)
    low = margin + height_of(foot, width - 2 * margin)
    whole = Column(left=margin, top=height - margin, width=width - 2 * margin, bottom=low)
    case = report.plan.case
    title = f"How the sheet is stretched: {case.write(report.plan.isolation.treated)}"
    title = f"{title} · {_NAMES[shown]}" + (f" · {case.reference}" if case.reference else "")
    marks, y, _ = set_blocks([Paragraph(title, bold=True, size=_TITLE_MM, name="title")], whole)
    half = (whole.width - _GAP_MM) / 2
    bottom = low + _BELOW_MM + _LEGEND_MM + 2.0
    for number, (name, draw) in enumerate((("At rest", _at_rest), ("Stretched", _stretched))):
        left = whole.left + number * (half + _GAP_MM)
        head, top, _ = set_blocks(
            [
                Paragraph(
                    f"{name}, as the operator sees it, nose at the top. "
                    f"Not to scale, not for marking.",
                    size=3.2,
                )
            ],
            Column(left=left, top=y, width=half, bottom=bottom),
        )
        marks += head + draw(
            report,
            shown,
            PagePoint(left + half / 2, (top + bottom) / 2),
            PagePoint(half, top - bottom),
        )
    marks += legend(report, whole, bottom - 3.0)
    key_column = Column(left=whole.left, top=low + _BELOW_MM - 2.0, width=half, bottom=low)
    marks += figures(report, key_column)
    right = Column(left=whole.left + half + _GAP_MM, top=key_column.top, width=half, bottom=low)
    limits = [
        Paragraph(PURPOSE, bold=True, size=BODY_MM),
        Paragraph(report.plan.practice.numerals(LEFT_OUT), size=BODY_MM),
        Paragraph(
            "Numbers at the frame: newtons. At a tooth: largest stretch at its rim.", size=BODY_MM
        ),
        *(Paragraph(f"– {caution}", size=SMALL_MM, after_mm=0.2) for caution in CAUTIONS),
        Paragraph(RESPONSIBILITY, bold=True, size=BODY_MM),
    ]
    more, _, left_over = set_blocks(limits, right)
    assert not left_over, "the limits and cautions fit the page"
    last, _, _ = set_blocks(foot, Column(left=margin, top=low, width=whole.width, bottom=0.0))
    return Document(title, report.command, (Page(width, height, (*marks, *more, *last)),))


def _foot(report: Report) -> list[Paragraph]:
    """Sources and recipe, across the whole page."""
    sources = "; ".join((*SOURCES, f"stretch at break: {_break_source(report)}"))
    cited = report.plan.practice.numerals(f"Sources. {sources}")
    return [
        Paragraph(cited, size=SMALL_MM, name="source"),
        Paragraph(
            f"sheetmark {__version__} · {report.command}",
            size=SMALL_MM,
            name="recipe",
            after_mm=0.0,
        ),
    ]


def _break_source(report: Report) -> str:
    material = materials()[report.plan.practice.material]
    return f"{material.source} ({MEANING[material.flag]}), measured on {material.tested_on}"


def _at_rest(report: Report, shown: Placed, middle: PagePoint, room: PagePoint) -> list[Mark]:
    sheet = report.sheets[shown]
    rest = sheet.laid.mesh.rest
    panel = _fitted(rest, middle, room)
    marks = _bands(report, shown, rest, panel)
    edge = _edge(rest, rest, panel)
    marks += [*_lines(report, shown, rest, panel), edge]
    taken = _taken(report, shown, rest, panel, edge, PagePoint(room[0] + 4.0, room[1] + 4.0))
    marks += _side_letters(panel, room, taken)
    plan = report.plan
    shift = np.array(sheet.laid.shift_mm)
    rule = np.array(plan.shift_mm)
    for planned in plan.holes:
        centre = panel.at(np.array([np.array(planned.centre_mm) + rule - shift]))[0]
        taken.add_disc(centre, _LOOK_MM)
    labels: list[Mark] = []
    for planned in plan.holes:
        centre = panel.at(np.array([np.array(planned.centre_mm) + rule - shift]))[0]
        labels += _tooth_word(report, planned.tooth.iso, centre, planned.facial, taken, "")
    return marks + _leaders_first(labels) + _contour_labels(report, shown, rest, panel, taken)


def _stretched(report: Report, shown: Placed, middle: PagePoint, room: PagePoint) -> list[Mark]:
    sheet, strain = report.sheets[shown], report.strains[shown]
    positions = sheet.found.positions
    panel = _fitted(positions[:, :2], middle, PagePoint(room[0] - 12.0, room[1] - 4.0))
    marks = _bands(report, shown, positions, panel)
    marks += _lines(report, shown, positions, panel)
    edge = _edge(positions, sheet.laid.mesh.rest, panel)
    marks.append(edge)
    taken = _taken(report, shown, positions, panel, edge, PagePoint(room[0] + 4.0, room[1] + 4.0))
    marks += _side_letters(panel, room, taken)
    for pull in strain.pull:
        at = panel.at(np.array([(pull.x_mm, pull.y_mm)]))[0]
        marks += _pull_labels(report, at, panel.middle, pull.newton, taken)
    scene = sheet.laid.scene
    necks: list[tuple[str, Neck]] = [
        (name, neck)
        for names, rim in zip(report.teeth, scene.rims, strict=True)
        for name, neck in zip(names, rim.necks, strict=True)
    ]
    for name, neck in necks:
        outline = tuple(panel.at(scene.in_space(neck.outline(60))[:, :2]))
        marks.append(Polygon(outline, 0.25, f"neck-{name}"))
        taken.add_disc(panel.at(scene.in_space(np.array([neck.centre]))[:, :2])[0], _LOOK_MM)
    labels: list[Mark] = []
    for planned in report.plan.holes:
        name = planned.tooth.iso
        neck = dict(necks)[name]
        centre = panel.at(scene.in_space(np.array([neck.centre]))[:, :2])[0]
        rim = f" {strain.rim_stretch[name]:.1f}"
        labels += _tooth_word(report, name, centre, planned.facial, taken, rim)
    return marks + _leaders_first(labels) + _contour_labels(report, shown, positions, panel, taken)


def _taken(
    report: Report, shown: Placed, positions: Floats, panel: _Panel, edge: Polygon, room: PagePoint
) -> Taken:
    """The room for words, without the sheet's edge and the holes that hang on the frame."""
    taken = Taken(Box(panel.middle, *room))
    for start, end in pairwise((*edge.points, edge.points[0])):
        taken.add_line(start, end, edge.width)
    for rim in report.sheets[shown].laid.hook_rims:
        around = panel.at(positions[rim, :2])
        middle = PagePoint(fmean(x for x, _ in around), fmean(y for _, y in around))
        taken.add_disc(middle, max(dist(middle, point) for point in around))
    return taken


def _side_letters(panel: _Panel, room: PagePoint, taken: Taken) -> list[Mark]:
    """R and L beside the sheet, where no frame point has its pull."""
    marks: list[Mark] = []
    for sign, letter in ((-1, "R"), (1, "L")):
        width, height = text_width(letter, _SIDE_MM, True), CAP_HEIGHT * _SIDE_MM
        x = panel.middle[0] + sign * (room[0] / 2 - width / 2)
        y = panel.middle[1] + _SIDES_UP * room[1]
        taken.boxes.append(Box(PagePoint(x, y), width, height))
        at = PagePoint(x, y - height / 2)
        marks.append(lettered(at, letter, _SIDE_MM, f"side-{letter}", "middle", bold=True))
    return marks


def _fitted(points: Floats, middle: PagePoint, room: PagePoint) -> _Panel:
    low, high = points.min(axis=0), points.max(axis=0)
    scale = float(min(room[0] / (high[0] - low[0]), room[1] / (high[1] - low[1])))
    x, y = (low + high) / 2
    return _Panel(middle, PagePoint(float(x), float(y)), scale)


def _bands(report: Report, shown: Placed, positions: Floats, panel: _Panel) -> list[Mark]:
    """The triangles in their colours, cut along the contour lines, the farthest first."""
    corners = report.sheets[shown].laid.mesh.corners
    value = _at_nodes(report, shown)
    depth = (
        positions[corners, 2].mean(axis=1) if positions.shape[1] == 3 else np.zeros(len(corners))
    )
    flat = panel.at(positions[:, :2])
    marks: list[Mark] = []
    for number in np.argsort(depth, kind="stable"):
        whole = [(flat[node], float(value[node])) for node in corners[number]]
        least, most = np.searchsorted(LEVELS, (min(v for _, v in whole), max(v for _, v in whole)))
        for band in range(int(least), int(most) + 1):
            piece = whole
            if band > least:
                piece = _cut(piece, LEVELS[band - 1], 1.0)
            if band < most:
                piece = _cut(piece, LEVELS[band], -1.0)
            if len(piece) > 2:
                outline = tuple(point for point, _ in piece)
                colour = COLOURS[band]
                marks.append(Polygon(outline, 0.08, "sheet", 0.8, filled=True, colour=colour))
    return marks


def _cut(
    piece: list[tuple[PagePoint, float]], level: float, side: float
) -> list[tuple[PagePoint, float]]:
    """The part of a polygon above (side 1) or below (-1) a level of its corners' values."""
    kept: list[tuple[PagePoint, float]] = []
    for (a, value), (b, next_value) in zip(piece, (*piece[1:], piece[0]), strict=True):
        if (value - level) * side >= 0:
            kept.append((a, value))
        if (value - level) * (next_value - level) < 0:
            share = (level - value) / (next_value - value)
            kept.append(
                (PagePoint(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])), level)
            )
    return kept


def _edge(positions: Floats, rest: Floats, panel: _Panel) -> Polygon:
    """The sheet's outer edge."""
    half = np.abs(rest).max(axis=0)
    nodes = np.flatnonzero((np.abs(rest) > half - 1e-6).any(axis=1))
    order = np.argsort(np.arctan2(rest[nodes, 1] / half[1], rest[nodes, 0] / half[0]))
    return Polygon(tuple(panel.at(positions[nodes[order], :2])), 0.25, "edge")


def _at_nodes(report: Report, shown: Placed) -> Floats:
    """The largest stretch at each node: the mean of the triangles round it by area at rest."""
    sheet = report.sheets[shown].sheet
    largest = sheet.respond(report.sheets[shown].found.positions).stretch[:, 0]
    flat, nodes = sheet.corners.ravel(), len(report.sheets[shown].found.positions)
    weight = np.bincount(flat, np.repeat(sheet.area, 3), minlength=nodes)
    return np.asarray(
        np.bincount(flat, np.repeat(sheet.area * largest, 3), minlength=nodes) / weight
    )


def _contour(report: Report, shown: Placed, level: float, positions: Floats) -> Floats:
    """Pieces of the line of one stretch, (pieces, 2 ends, 2)."""
    corners, value = report.sheets[shown].laid.mesh.corners, _at_nodes(report, shown)
    pieces = []
    above = value[corners] > level
    for number in np.flatnonzero(above.any(axis=1) & ~above.all(axis=1)):
        ends = []
        for i in range(3):
            a, b = corners[number, i], corners[number, (i + 1) % 3]
            if (value[a] > level) != (value[b] > level):
                share = (level - value[a]) / (value[b] - value[a])
                ends.append(positions[a, :2] + share * (positions[b, :2] - positions[a, :2]))
        pieces.append(ends)
    return np.array(pieces).reshape(-1, 2, 2)


def _lines(report: Report, shown: Placed, positions: Floats, panel: _Panel) -> list[Mark]:
    marks: list[Mark] = []
    for level in LEVELS:
        for piece in _contour(report, shown, level, positions):
            start, end = panel.at(piece)
            marks.append(Line(start, end, 0.12, f"contour-{level:g}"))
    return marks


def _contour_labels(
    report: Report, shown: Placed, positions: Floats, panel: _Panel, taken: Taken
) -> list[Mark]:
    """Each line's stretch on a white ground, up to three times where there is room; else beside
    the holes, with a line to it."""
    holes = [centre for centre, radius in taken.discs if radius == _LOOK_MM]
    marks: list[Mark] = []
    for level in LEVELS:
        word = report.plan.practice.numerals(f"{level:g}")
        size = Size(text_width(word, LABEL_MM) + 0.6, CAP_HEIGHT * LABEL_MM + 0.8)
        points = panel.at(_contour(report, shown, level, positions).mean(axis=1).reshape(-1, 2))
        placed: list[PagePoint] = []
        for point in points:
            box = Box(point, *size)
            far = all(np.hypot(point[0] - x, point[1] - y) > 30.0 for x, y in placed)
            if len(placed) < 3 and far and taken.clear(box):
                taken.boxes.append(box)
                placed.append(point)
                marks += _on_white(box, word, f"level-{level:g}")
        if points and not placed:
            marks += _led(points, holes, panel, taken, size, word, f"level-{level:g}")
    return _leaders_first(marks)


def _led(
    points: list[PagePoint],
    holes: list[PagePoint],
    panel: _Panel,
    taken: Taken,
    size: Size,
    word: str,
    name: str,
) -> list[Mark]:
    """A line's word away from the holes, and a leader to the point of it that is farthest off."""
    at = max(points, key=lambda point: min(dist(point, hole) for hole in holes))
    away = PagePoint(panel.middle[0] - at[0], panel.middle[1] - at[1])
    length = float(np.hypot(*away)) or 1.0
    box = find_room(taken, at, Direction(away[0] / length, away[1] / length), 0.0, size)
    return [Line(at, box.centre, _LEADER_MM, f"{name}-leader"), *_on_white(box, word, name)]


def _on_white(box: Box, word: str, name: str, bold: bool = False) -> list[Mark]:
    x, y = box.centre
    ground = rectangle(box.centre, box.width / 2, box.height / 2)
    return [
        Polygon(ground, 0.05, "ground", grey=1.0, filled=True, colour=_WHITE),
        lettered(PagePoint(x, y - CAP_HEIGHT * LABEL_MM / 2), word, LABEL_MM, name, "middle", bold),
    ]


def _tooth_word(
    report: Report, iso: str, centre: PagePoint, facial: Direction, taken: Taken, extra: str
) -> list[Mark]:
    word = report.plan.practice.numerals(write(read(iso, "iso"), report.plan.case.notation) + extra)
    size = Size(text_width(word, LABEL_MM, True) + 0.6, CAP_HEIGHT * LABEL_MM + 0.8)
    box = find_room(taken, centre, facial, _LOOK_MM, size)
    return [
        Line(centre, box.centre, _LEADER_MM, f"leader-{iso}"),
        *_on_white(box, word, f"tooth-{iso}", True),
    ]


def _leaders_first(labels: list[Mark]) -> list[Mark]:
    """No leader crosses a word."""
    return sorted(labels, key=lambda mark: not isinstance(mark, Line))


def _pull_labels(
    report: Report, at: PagePoint, middle: PagePoint, newton: float, taken: Taken
) -> list[Mark]:
    word = report.plan.practice.numerals(f"{newton:.1f}")
    size = Size(text_width(word, LABEL_MM, True) + 0.6, CAP_HEIGHT * LABEL_MM + 0.8)
    away = (at[0] - middle[0], at[1] - middle[1])
    length = float(np.hypot(*away))
    box = find_room(taken, at, Direction(away[0] / length, away[1] / length), 1.0, size)
    return _on_white(box, word, "pull", True)
