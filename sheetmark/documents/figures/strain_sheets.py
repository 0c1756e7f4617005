"""The two pictures of the strain page: the sheet at rest and stretched, with bands and labels."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import dist
from statistics import fmean

import numpy as np

from sheetmark.anatomy.teeth import read, write
from sheetmark.base.frames import Direction, PagePoint, Size
from sheetmark.studies.membrane.energy import Floats
from sheetmark.studies.membrane.report import Placed, Report
from sheetmark.studies.membrane.scene import Neck
from sheetmark.typesetting.labels import Box, Taken, find_room
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import Line, Mark, Polygon

LEVELS = (1.1, 1.25, 1.5, 2.0, 3.0, 4.5)
# From light to dark in even steps of lightness, along yellow and blue.
COLOURS = (
    (1.00, 0.97, 0.80),
    (0.93, 0.86, 0.62),
    (0.72, 0.75, 0.66),
    (0.52, 0.63, 0.69),
    (0.33, 0.49, 0.68),
    (0.16, 0.33, 0.58),
    (0.04, 0.15, 0.38),
)
_WHITE = (1.0, 1.0, 1.0)
LABEL_MM = 2.7
_SIDE_MM = 6.0
_SIDES_UP = 0.33  # of the picture's height, above its middle


@dataclass(frozen=True, slots=True)
class _Panel:
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


def at_rest(report: Report, shown: Placed, middle: PagePoint, room: PagePoint) -> list[Mark]:
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
        taken.discs.append((centre, panel.scale * planned.hole.diameter_mm / 2 + 0.3))
    words: list[Mark] = []
    for planned in plan.holes:
        centre = panel.at(np.array([np.array(planned.centre_mm) + rule - shift]))[0]
        words += _tooth_word(report, planned.tooth.iso, centre, planned.facial, taken, "")
    return marks + _leaders_first(words) + _contour_words(report, shown, rest, panel, taken)


def stretched(report: Report, shown: Placed, middle: PagePoint, room: PagePoint) -> list[Mark]:
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
        marks += _pull_words(report, at, panel.middle, pull.newton, taken)
    scene = sheet.laid.scene
    necks: list[tuple[str, Neck]] = [
        (name, neck)
        for names, rim in zip(report.teeth, scene.rims, strict=True)
        for name, neck in zip(names, rim.necks, strict=True)
    ]
    for name, neck in necks:
        outline = tuple(panel.at(scene.in_space(neck.outline(60))[:, :2]))
        marks.append(Polygon(outline, 0.25, f"neck-{name}"))
        taken.add_outline(panel.at(scene.in_space(np.array([neck.centre]))[:, :2])[0], outline)
    words: list[Mark] = []
    for planned in report.plan.holes:
        name = planned.tooth.iso
        neck = dict(necks)[name]
        centre = panel.at(scene.in_space(np.array([neck.centre]))[:, :2])[0]
        rim = f" {strain.rim_stretch[name]:.1f}"
        words += _tooth_word(report, name, centre, planned.facial, taken, rim)
    return marks + _leaders_first(words) + _contour_words(report, shown, positions, panel, taken)


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
        taken.discs.append((middle, max(dist(middle, point) for point in around)))
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


def _contour_words(
    report: Report, shown: Placed, positions: Floats, panel: _Panel, taken: Taken
) -> list[Mark]:
    """Each line's stretch on a white ground, twice where there is room."""
    marks: list[Mark] = []
    for level in LEVELS:
        word = report.plan.practice.numerals(f"{level:g}")
        size = (text_width(word, LABEL_MM) + 0.6, CAP_HEIGHT * LABEL_MM + 0.8)
        middles = _contour(report, shown, level, positions).mean(axis=1).reshape(-1, 2)
        placed: list[PagePoint] = []
        for point in panel.at(middles):
            box = Box(point, *size)
            far = all(np.hypot(point[0] - x, point[1] - y) > 30.0 for x, y in placed)
            if len(placed) < 3 and far and taken.clear(box):
                taken.boxes.append(box)
                placed.append(point)
                marks += _on_white(box, word, f"level-{level:g}")
    return marks


def _on_white(box: Box, word: str, name: str, bold: bool = False) -> list[Mark]:
    (x, y), w, h = box.centre, box.width / 2, box.height / 2
    ground = (
        PagePoint(x - w, y - h),
        PagePoint(x + w, y - h),
        PagePoint(x + w, y + h),
        PagePoint(x - w, y + h),
    )
    return [
        Polygon(ground, 0.05, "ground", grey=1.0, filled=True, colour=_WHITE),
        lettered(PagePoint(x, y - CAP_HEIGHT * LABEL_MM / 2), word, LABEL_MM, name, "middle", bold),
    ]


def _tooth_word(
    report: Report, iso: str, centre: PagePoint, facial: Direction, taken: Taken, extra: str
) -> list[Mark]:
    word = report.plan.practice.numerals(write(read(iso, "iso"), report.plan.case.notation) + extra)
    size = Size(text_width(word, LABEL_MM, True) + 0.6, CAP_HEIGHT * LABEL_MM + 0.8)
    box = find_room(taken, centre, facial, 1.2, size)
    return [
        Line(centre, box.centre, 0.15, f"leader-{iso}"),
        *_on_white(box, word, f"tooth-{iso}", True),
    ]


def _leaders_first(words: list[Mark]) -> list[Mark]:
    """No leader crosses a word."""
    return sorted(words, key=lambda mark: not isinstance(mark, Line))


def _pull_words(
    report: Report, at: PagePoint, middle: PagePoint, newton: float, taken: Taken
) -> list[Mark]:
    word = report.plan.practice.numerals(f"{newton:.2f}")
    size = Size(text_width(word, LABEL_MM, True) + 0.6, CAP_HEIGHT * LABEL_MM + 0.8)
    away = (at[0] - middle[0], at[1] - middle[1])
    length = float(np.hypot(*away))
    box = find_room(taken, at, Direction(away[0] / length, away[1] / length), 1.0, size)
    return _on_white(box, word, "pull", True)
