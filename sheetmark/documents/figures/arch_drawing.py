"""One fitted jaw at true scale: crowns, curve, landmarks, widths and depth. Page frame, mm."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import dist

from sheetmark.anatomy.jaw import Arch, Place
from sheetmark.anatomy.teeth import Tooth, tooth_of_slot
from sheetmark.base.frames import MouthPoint, PagePoint, mouth_to_page
from sheetmark.documents.case.sheet import tooth_outline
from sheetmark.documents.symbols import tooth_label, tooth_label_size
from sheetmark.fitting.cast import ENDS
from sheetmark.fitting.fit import JawFit, solved_pair
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.labels import Box, Taken, find_room
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import BLACK, FAINT, Disc, Line, Mark, Polygon, Ring

POINT_MM = 1.2
STRAY_MM = 3.2
TOOTH_SIZE_MM = 3.4
FIGURE_SIZE_MM = 3.2
_CURVE_LINE_MM = 0.15
_WIDTH_LINE_MM = 0.2
_TOOTH_LINE_MM = 0.25
_STRAY_LINE_MM = 0.4
_TICK_MM = 1.6
_OFF_LINE_MM = 1.0
_JAW_OFF_MM = 9.0
_CURVE_STEPS = 80


@dataclass(frozen=True, slots=True)
class View:
    """The part of a page that shows the mouth, and where the mouth's middle lies on the page."""

    frame: Box
    middle: PagePoint

    def at(self, point: MouthPoint) -> PagePoint:
        """From the mouth frame to the page, true scale."""
        return mouth_to_page(point, self.middle)

    def shows(self, point: MouthPoint) -> bool:
        """Whether the part of the page holds the point."""
        return self.frame.near(self.at(point), 1e-9)


def seen_points(fit: JawFit, arch: Arch) -> dict[tuple[str, Tooth], MouthPoint]:
    """The landmarks in the mouth frame, by end and tooth."""
    up = 1.0 if fit.jaw == "upper" else -1.0
    return {
        (end, seen.tooth): MouthPoint(x, arch.incisal_y_mm - up * y)
        for seen in fit.seen
        for end, (x, y) in zip(ENDS, seen.points, strict=True)
    }


def draw_jaw(fit: JawFit, arch: Arch, view: View, practice: Practice) -> tuple[Mark, ...]:
    """All marks of a jaw; landmarks that lie outside the view are left to the caller."""
    taken = Taken(view.frame)
    marks = [
        *_crowns(fit, arch, view, taken),
        *_curve(fit, arch, view),
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
    measured = {row.tooth for row in fit.table.mesiodistal if row.flag == "measured"}
    marks: list[Mark] = []
    for place in arch.places:
        points = tuple(view.at(point) for point in tooth_outline(place))
        grey = BLACK if place.tooth.slot in measured else FAINT
        marks.append(Polygon(points, _TOOTH_LINE_MM, f"tooth-{place.tooth.iso}", grey))
        taken.add_outline(view.at(place.contact), points)
    return marks


def _curve(fit: JawFit, arch: Arch, view: View) -> list[Mark]:
    """The curve as far as the last teeth reach."""
    curve = fit.table.curve
    assert curve is not None, "a fitted jaw carries its curve"
    up = 1.0 if fit.jaw == "upper" else -1.0
    reach = max(abs(place.centre[0]) for place in arch.places)
    points = []
    for step in range(-_CURVE_STEPS, _CURVE_STEPS + 1):
        x = reach * step / _CURVE_STEPS
        points.append(view.at(MouthPoint(x, arch.incisal_y_mm - up * curve.depth(x))))
    return [Line(start, end, _CURVE_LINE_MM, "curve") for start, end in pairwise(points)]


def _points(fit: JawFit, arch: Arch, view: View, taken: Taken) -> list[Mark]:
    strays = {
        (end, seen.tooth)
        for seen in fit.seen
        for end, kept in zip(ENDS, seen.kept, strict=True)
        if not kept
    }
    marks: list[Mark] = []
    for (end, tooth), point in seen_points(fit, arch).items():
        if not view.shows(point):
            continue
        at, name, reach = view.at(point), f"{end}-{tooth.iso}", POINT_MM
        marks.append(Disc(at, POINT_MM, name))
        if (end, tooth) in strays:
            marks.append(Ring(at, STRAY_MM, _STRAY_LINE_MM, f"stray-{name}"))
            reach = STRAY_MM + _STRAY_LINE_MM
        taken.discs.append((at, reach / 2))
    return marks


def _widths(fit: JawFit, arch: Arch, view: View, taken: Taken, practice: Practice) -> list[Mark]:
    """Lines between centres where the curve was measured or solved, and the depth."""
    rows = fit.table.centre_widths
    slots = {*solved_pair(fit.table), *(r.tooth for r in rows if r.source.startswith("measured"))}
    places = {place.tooth: place for place in arch.places}
    marks: list[Mark] = []
    for slot in fit.table.row:
        right = places.get(tooth_of_slot(fit.jaw, "right", slot))
        left = places.get(tooth_of_slot(fit.jaw, "left", slot))
        if slot in slots and right and left:
            marks += _width(right, left, view, taken, practice)
    _, back = solved_pair(fit.table)
    back = back if back in fit.table.row else fit.table.row[-1]
    right, left = (places.get(tooth_of_slot(fit.jaw, side, back)) for side in ("right", "left"))
    if right and left:
        marks += _depth(fit, arch, (right, left), view, taken, practice)
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
    arch: Arch,
    molars: tuple[Place, Place],
    view: View,
    taken: Taken,
    practice: Practice,
) -> list[Mark]:
    up = 1.0 if fit.jaw == "upper" else -1.0
    y = (molars[0].centre[1] + molars[1].centre[1]) / 2
    start, end = view.at(MouthPoint(0.0, arch.incisal_y_mm)), view.at(MouthPoint(0.0, y))
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
