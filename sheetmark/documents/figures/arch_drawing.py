"""One fitted jaw at true scale: crowns, row, landmarks, widths and depth. Page frame, mm."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import dist, fsum

from msgspec import Struct

from sheetmark.anatomy.jaw import Arch, Place
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.frames import MouthPoint, PagePoint, mouth_to_page
from sheetmark.documents.case.sheet import tooth_outline
from sheetmark.documents.symbols import tooth_label, tooth_label_size
from sheetmark.fitting.fit import JawFit
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.labels import Box, Taken, find_room
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import BLACK, FAINT, Disc, Line, Mark, Polygon, Ring

POINT_MM = 1.2
ODD_MM = 3.2
TOOTH_SIZE_MM = 3.4
FIGURE_SIZE_MM = 3.2
_ROW_LINE_MM = 0.15
_WIDTH_LINE_MM = 0.2
_TOOTH_LINE_MM = 0.25
_ODD_LINE_MM = 0.4
_TICK_MM = 1.6
_OFF_LINE_MM = 1.0
_JAW_OFF_MM = 9.0
# Places whose widths across are drawn, and those that the depth runs between.
_WIDE_PLACES = (3, 6)
_DEPTH_PLACES = (1, 6)


class View(Struct, frozen=True):
    """The part of a page that shows the mouth, and where the mouth's middle lies on the page."""

    frame: Box
    middle: PagePoint

    def at(self, point: MouthPoint) -> PagePoint:
        """From the mouth frame to the page, true scale."""
        return mouth_to_page(point, self.middle)

    def shows(self, point: MouthPoint) -> bool:
        """Whether the part of the page holds the point."""
        return self.frame.near(self.at(point), 1e-9)


def seen_points(fit: JawFit, arch: Arch) -> dict[tuple[Tooth, int], MouthPoint]:
    """The landmarks in the mouth frame, by tooth and number, from 1."""
    up = 1.0 if fit.jaw == "upper" else -1.0
    centres = {place.tooth: place.centre for place in arch.places}
    return {
        (seen.tooth, number): MouthPoint(centres[seen.tooth].x + x, centres[seen.tooth].y - up * y)
        for seen in fit.seen
        for number, (x, y) in enumerate(seen.points, start=1)
    }


def draw_jaw(fit: JawFit, arch: Arch, view: View, practice: Practice) -> tuple[Mark, ...]:
    """All marks of a jaw; landmarks that lie outside the view are left to the caller."""
    taken = Taken(view.frame)
    marks = [
        *_crowns(fit, arch, view, taken),
        *_row(arch, view),
        *_points(fit, arch, view, taken),
        *_widths(fit, arch, view, taken, practice),
    ]
    for place in arch.places:
        size = tooth_label_size(place.tooth, practice.notation, TOOTH_SIZE_MM)
        start = place.size.labiolingual_mm / 2
        room = find_room(taken, view.at(place.contact), place.facial, start, size)
        name = f"number-{place.tooth.iso}"
        marks += tooth_label(place.tooth, practice.notation, room.centre, TOOTH_SIZE_MM, name)
    return tuple(marks)


def _crowns(fit: JawFit, arch: Arch, view: View, taken: Taken) -> list[Mark]:
    """Those whose places were seen dark, those predicted grey."""
    marks: list[Mark] = []
    for place in arch.places:
        points = tuple(view.at(point) for point in tooth_outline(place))
        grey = FAINT if place.tooth in fit.predicted else BLACK
        marks.append(Polygon(points, _TOOTH_LINE_MM, f"tooth-{place.tooth.iso}", grey))
        taken.add_outline(view.at(place.contact), points)
    return marks


def _row(arch: Arch, view: View) -> list[Mark]:
    """From gum-line centre to gum-line centre."""
    points = [view.at(place.centre) for place in arch.places]
    return [Line(start, end, _ROW_LINE_MM, "row") for start, end in pairwise(points)]


def _points(fit: JawFit, arch: Arch, view: View, taken: Taken) -> list[Mark]:
    """The landmarks; those of teeth away from where the others would put them in a ring."""
    odd = {seen.tooth for seen in fit.seen if seen.odd}
    marks: list[Mark] = []
    for (tooth, number), point in seen_points(fit, arch).items():
        if not view.shows(point):
            continue
        at, name, reach = view.at(point), f"landmark-{tooth.iso}-{number}", POINT_MM
        marks.append(Disc(at, POINT_MM, name))
        if tooth in odd:
            marks.append(Ring(at, ODD_MM, _ODD_LINE_MM, f"odd-{name}"))
            reach = ODD_MM + _ODD_LINE_MM
        taken.add_disc(at, reach / 2)
    return marks


def _widths(fit: JawFit, arch: Arch, view: View, taken: Taken, practice: Practice) -> list[Mark]:
    """Lines between gum-line centres: two widths across, and the depth."""
    places = {place.tooth.along: place for place in arch.places}
    marks: list[Mark] = []
    for place in _WIDE_PLACES:
        right, left = places.get(-place), places.get(place)
        if right and left:
            marks += _width(right, left, view, taken, practice)
    front, back = ([places.get(side * p) for side in (-1, 1)] for p in _DEPTH_PLACES)
    between, molars = [p for p in front if p], [p for p in back if p]
    if len(between) == len(molars) == 2:
        marks += _depth(fit, between, molars, view, taken, practice)
    return marks


def _width(right: Place, left: Place, view: View, taken: Taken, practice: Practice) -> list[Mark]:
    """A width's line, its figure on the molars' side of it."""
    start, end = view.at(right.centre), view.at(left.centre)
    name = f"width-{right.tooth.iso}-{left.tooth.iso}"
    text = practice.numerals(f"{dist(start, end):.1f}")
    line = (start[1] + end[1]) / 2
    below = right.tooth.jaw == "upper"
    y = line - _OFF_LINE_MM - CAP_HEIGHT * FIGURE_SIZE_MM if below else line + _OFF_LINE_MM
    at = PagePoint(view.middle[0] + _OFF_LINE_MM, y)
    taken.add_line(start, end, _WIDTH_LINE_MM)
    return [*_measure(start, end, name), _figure(at, text, name, taken)]


def _depth(
    fit: JawFit,
    front: Sequence[Place],
    molars: Sequence[Place],
    view: View,
    taken: Taken,
    practice: Practice,
) -> list[Mark]:
    up = 1.0 if fit.jaw == "upper" else -1.0
    start, end = (
        view.at(MouthPoint(0.0, fsum(place.centre.y for place in pair) / 2))
        for pair in (front, molars)
    )
    text = practice.numerals(f"{abs(end[1] - start[1]):.1f}")
    beside = PagePoint(
        end[0] - _OFF_LINE_MM - text_width(text, FIGURE_SIZE_MM),
        (start[1] + end[1]) / 2 - CAP_HEIGHT * FIGURE_SIZE_MM / 2,
    )
    jaw = f"{fit.jaw} jaw"
    beyond = PagePoint(
        end[0] - text_width(jaw, FIGURE_SIZE_MM, True) / 2, end[1] - up * _JAW_OFF_MM
    )
    taken.add_line(start, end, _WIDTH_LINE_MM)
    return [
        *_measure(start, end, f"depth-{fit.jaw}"),
        _figure(beside, text, f"depth-{fit.jaw}", taken),
        _figure(beyond, jaw, f"jaw-{fit.jaw}", taken, bold=True),
    ]


def _measure(start: PagePoint, end: PagePoint, name: str) -> list[Mark]:
    """A thin line with a tick at each end."""
    tick = _TICK_MM / 2
    upright = abs(end[1] - start[1]) > abs(end[0] - start[0])
    dx, dy = (tick, 0.0) if upright else (0.0, tick)
    marks: list[Mark] = [Line(start, end, _WIDTH_LINE_MM, name)]
    for x, y in (start, end):
        marks.append(
            Line(
                PagePoint(x - dx, y - dy), PagePoint(x + dx, y + dy), _WIDTH_LINE_MM, f"{name}-end"
            )
        )
    return marks


def _figure(at: PagePoint, text: str, name: str, taken: Taken, bold: bool = False) -> Mark:
    mark = lettered(at, text, FIGURE_SIZE_MM, f"{name}-words", bold=bold)
    height = CAP_HEIGHT * FIGURE_SIZE_MM
    middle = PagePoint(at[0] + mark.width / 2, at[1] + height / 2)
    taken.boxes.append(Box(middle, mark.width, height))
    return mark
