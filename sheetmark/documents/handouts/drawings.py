"""Plain line drawings for the steps, made from the plan alone: crowns, sheet, clamp, frame.

As the operator sees them. The sheet is a grey field; a tooth through it is white. The clamp is a
diagram of ours, two jaws and a bow round the crown it holds, of no real clamp's form.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import cos, pi, sin

from sheetmark.anatomy.jaw import Place
from sheetmark.base.frames import MouthPoint, PagePoint
from sheetmark.documents.case.sheet import draw_sheet, tooth_outline
from sheetmark.documents.handouts.lesson import arrow, polyline
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.labels import Box
from sheetmark.typesetting.lettering import lettered
from sheetmark.typesetting.marks import FAINT, Disc, Line, Mark, Polygon, Ring
from sheetmark.typesetting.scaled import scaled

# Below the row, for the bow.
_ROOM_MM = 6.0
_SHEET_GREY = 0.86
_WHITE = 1.0
_WING_MM = 2.6
_BOW_MM = 3.4
_BAR_MM = 0.8


@dataclass(frozen=True, slots=True)
class Panel:
    """Room for one drawing, and the plan that it is made from."""

    plan: Plan
    box: Box
    close_up: bool = False

    @property
    def row(self) -> tuple[Place, ...]:
        """The places of the isolated teeth, mouth frame."""
        return tuple(self.plan.arch.place(tooth) for tooth in self.plan.isolation.row)

    @property
    def anchor(self) -> Place:
        """The place of the first anchor tooth, mouth frame."""
        return self.plan.arch.place(self.plan.isolation.anchors[0])

    @property
    def others(self) -> tuple[Place, ...]:
        """The isolated teeth but for the anchor."""
        return tuple(place for place in self.row if place != self.anchor)

    def at(self, point: MouthPoint) -> PagePoint:
        """From the mouth frame to the page: the whole row, or the anchor alone, in the middle."""
        shown = [self.anchor] if self.close_up else self.row
        points = [point for place in shown for point in tooth_outline(place)]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        # The bow stands below an upper row's last tooth.
        low, high = min(ys) - _ROOM_MM, max(ys) + (_ROOM_MM if self.close_up else 1.0)
        times = self.box.height / (high - low)
        return PagePoint(
            self.box.centre[0] + times * (point[0] - (min(xs) + max(xs)) / 2),
            self.box.centre[1] + times * (point[1] - (low + high) / 2),
        )

    @property
    def closer(self) -> Panel:
        """The same panel as a close-up."""
        return replace(self, close_up=True)

    def shows(self, points: Sequence[PagePoint]) -> bool:
        """Whether an outline lies in the panel, a little off its edge."""
        (x, y), w, h = self.box.centre, self.box.width / 2 - 1.8, self.box.height / 2 - 0.8
        return all(abs(px - x) < w and abs(py - y) < h for px, py in points)

    @property
    def square(self) -> float:
        """The side of a whole sheet in this panel, with room for arrows beside it."""
        return min(self.box.height, 0.72 * self.box.width)

    def near(self, place: Place, along_mesial: float, facial: float) -> PagePoint:
        """A point by its distance from a tooth's centre towards the midline and outwards, mm."""
        mesial = -1.0 if place.tooth.side == "left" else 1.0
        (x, y), (lx, ly), (fx, fy) = place.centre, place.leftward, place.facial
        a = mesial * along_mesial
        return self.at(MouthPoint(x + a * lx + facial * fx, y + a * ly + facial * fy))


Drawing = Callable[[Panel], list[Mark]]


def _field(panel: Panel) -> list[Mark]:
    x, y = panel.box.centre
    w, h = panel.box.width / 2 - 1.5, panel.box.height / 2 - 0.5
    corners = (
        PagePoint(x - w, y - h),
        PagePoint(x + w, y - h),
        PagePoint(x + w, y + h),
        PagePoint(x - w, y + h),
    )
    return [
        Polygon(corners, 0.1, "field", grey=_SHEET_GREY, filled=True),
        Polygon(corners, 0.25, "field-edge"),
    ]


def _crown(panel: Panel, place: Place, times: float = 1.0) -> tuple[PagePoint, ...]:
    x, y = place.centre
    return tuple(
        panel.at(MouthPoint(x + times * (px - x), y + times * (py - y)))
        for px, py in tooth_outline(place)
    )


def _through(panel: Panel, places: Sequence[Place]) -> list[Mark]:
    marks: list[Mark] = []
    for place in places:
        points = _crown(panel, place)
        marks += [
            Polygon(points, 0.1, "through", grey=_WHITE, filled=True),
            Polygon(points, 0.4, "crown"),
        ]
    return marks


def _hidden(panel: Panel, places: Sequence[Place]) -> list[Mark]:
    outlines = [_crown(panel, place) for place in places]
    return [Polygon(p, 0.3, "hidden", grey=FAINT) for p in outlines if panel.shows(p)]


def _clamp(panel: Panel, *, winged: bool, off: tuple[float, float] = (0.0, 0.0)) -> list[Mark]:
    """Jaws at the two sides of the crown, the bow behind it, wings where it has them."""
    place = panel.anchor
    half, deep = place.size.mesiodistal_mm / 2, 0.92 * place.size.labiolingual_mm / 2

    def at(mesial: float, facial: float) -> PagePoint:
        x, y = panel.near(place, mesial, facial)
        return PagePoint(x + off[0], y + off[1])

    marks: list[Mark] = []
    for side in (-1, 1):
        marks.append(Line(at(-0.45 * half, side * deep), at(0.45 * half, side * deep), 1.3, "jaw"))
        if winged:
            wing = (
                at(-0.1 * half, side * (deep + 0.4)),
                at(0.9 * half, side * (deep + 0.4)),
                at(0.75 * half, side * (deep + _WING_MM)),
                at(0.05 * half, side * (deep + _WING_MM)),
            )
            marks.append(Polygon(wing, 0.4, "wing"))
    turns = [pi * i / 16 - pi / 2 for i in range(17)]
    bow = [
        at(-0.45 * half - (0.55 * half + _BOW_MM) * cos(turn), deep * sin(turn)) for turn in turns
    ]
    return [*marks, *polyline(bow, _BAR_MM, "bow")]


def _opening(panel: Panel, along: float, across: float, back: float = 0.0) -> list[Mark]:
    """The anchor's hole stretched open: half axes in mm, `back` from the tooth's centre."""
    points = tuple(
        panel.near(panel.anchor, along * cos(2 * pi * i / 40) - back, across * sin(2 * pi * i / 40))
        for i in range(40)
    )
    return [
        Polygon(points, 0.1, "opening", grey=_WHITE, filled=True),
        Polygon(points, 0.35, "opening-edge"),
    ]


def _floss(panel: Panel) -> list[Mark]:
    """From the bow to the panel's edge."""
    place = panel.anchor
    start = panel.near(place, -place.size.mesiodistal_mm / 2 - _BOW_MM, 0.0)
    x, y = start
    side = 1.0 if place.tooth.side == "right" else -1.0
    end = panel.box.centre[0] + side * (panel.box.width / 2 - 2.0)
    steps = 24
    wave = [
        PagePoint(x + (end - x) * i / steps, y + 0.9 * sin(3 * pi * i / steps))
        for i in range(steps + 1)
    ]
    return [Ring(start, 1.5, 0.35, "knot"), *polyline(wave, 0.3, "floss")]


def _small_sheet(panel: Panel, share: float = 0.96) -> list[Mark]:
    """The whole sheet of the plan, without its words."""
    size = max(panel.plan.sheet.width_mm, panel.plan.sheet.height_mm)
    factor = share * panel.square / size
    shown = [
        mark
        for mark in draw_sheet(panel.plan)
        if isinstance(mark, Polygon | Line | Disc)
        and not mark.name.startswith(("anchor", "treated", "corner", "nose"))
        and not (isinstance(mark, Line) and mark.name.startswith("number"))
    ]
    marks = scaled(shown, factor, panel.plan.sheet_centre_on_page_mm, panel.box.centre)
    return [Disc(mark.centre, 1.0, mark.name) if isinstance(mark, Disc) else mark for mark in marks]


def _frame(panel: Panel) -> list[Mark]:
    """A bow open at the top, its curve along the chin."""
    x, y = panel.box.centre
    w, h = 0.40 * panel.square, 0.34 * panel.square
    turns = [pi * i / 16 for i in range(17)]
    curve = [PagePoint(x - w * cos(turn), y - 0.05 * h - 1.1 * h * sin(turn)) for turn in turns]
    return polyline([PagePoint(x - w, y + h), *curve, PagePoint(x + w, y + h)], 0.9, "frame")


def mark_sheet(panel: Panel) -> list[Mark]:
    """The sheet with its marks, seen whole."""
    return _small_sheet(panel)


def punch_holes(panel: Panel) -> list[Mark]:
    """The holes at their true distances, each with the hole of the punch beside it."""
    marks = _field(panel)
    for hole in panel.plan.holes:
        place = panel.plan.arch.place(hole.tooth)
        centre = panel.at(place.centre)
        label = panel.plan.practice.punch.label(hole.hole.punch_position)
        beside = panel.near(place, 0.0, -6.0)
        marks += [
            Disc(centre, hole.hole.diameter_mm, "hole"),
            lettered(
                PagePoint(beside[0], beside[1] - 1.1), label, 3.4, "punch", "middle", bold=True
            ),
        ]
    return marks


def look_at_holes(panel: Panel) -> list[Mark]:
    """The sheet stretched by hand, to look at each hole."""
    marks = _field(panel)
    for place in panel.row:
        x, y = panel.at(place.centre)
        points = tuple(
            PagePoint(x + 3.4 * cos(2 * pi * i / 30), y + 1.5 * sin(2 * pi * i / 30))
            for i in range(30)
        )
        marks += [
            Polygon(points, 0.1, "hole", grey=_WHITE, filled=True),
            Polygon(points, 0.35, "hole-edge"),
        ]
    x, y = panel.box.centre
    far = panel.box.width / 2 - 3.0
    return [
        *marks,
        *arrow(PagePoint(x - 8.0, y), PagePoint(x - far, y), "stretch"),
        *arrow(PagePoint(x + 8.0, y), PagePoint(x + far, y), "stretch"),
    ]


def tie_floss(panel: Panel, *, winged: bool) -> list[Mark]:
    """The clamp with floss tied to it."""
    panel = panel.closer
    return [*_clamp(panel, winged=winged), *_floss(panel)]


def hook_wings(panel: Panel) -> list[Mark]:
    """The hole stretched over the wings; no tooth yet."""
    panel = panel.closer
    size = panel.anchor.size
    hole = _opening(panel, 0.7 * size.mesiodistal_mm, size.labiolingual_mm / 2 + 1.2)
    return [*_field(panel), *hole, *_clamp(panel, winged=True), *_floss(panel)]


def set_together(panel: Panel) -> list[Mark]:
    """Clamp and sheet on the anchor, the sheet still held up by the wings."""
    panel = panel.closer
    size = panel.anchor.size
    hole = _opening(panel, 0.7 * size.mesiodistal_mm, size.labiolingual_mm / 2 + 1.2)
    rest = _hidden(panel, panel.others)
    tooth = _through(panel, [panel.anchor])
    return [*_field(panel), *rest, *hole, *tooth, *_clamp(panel, winged=True), *_floss(panel)]


def slip_off_wings(panel: Panel) -> list[Mark]:
    """The sheet slipped off the wings, under them."""
    panel = panel.closer
    place, deep = panel.anchor, panel.anchor.size.labiolingual_mm / 2
    arrows: list[Mark] = []
    for side in (-1, 1):
        start = panel.near(place, 1.8, side * (deep + _WING_MM + 2.4))
        arrows += arrow(start, panel.near(place, 1.8, side * (deep + 0.8)), "slip")
    return [
        *_field(panel),
        *_hidden(panel, panel.others),
        *_through(panel, [place]),
        *_clamp(panel, winged=True),
        *arrows,
    ]


def clamp_alone(panel: Panel) -> list[Mark]:
    """A wingless clamp on the bare tooth."""
    panel = panel.closer
    outlines = [_crown(panel, place) for place in panel.row]
    crowns = [Polygon(points, 0.4, "crown") for points in outlines if panel.shows(points)]
    return [*crowns, *_clamp(panel, winged=False), *_floss(panel)]


def draw_over(panel: Panel) -> list[Mark]:
    """The hole, stretched wide, over the whole clamp."""
    panel = panel.closer
    size = panel.anchor.size
    along = size.mesiodistal_mm / 2 + _BOW_MM / 2 + 2.2
    hole = _opening(panel, along, size.labiolingual_mm / 2 + 2.4, _BOW_MM / 2)
    start = panel.near(panel.anchor, 0.0, size.labiolingual_mm / 2 + 6.0)
    end = panel.near(panel.anchor, 0.0, size.labiolingual_mm / 2 + 2.0)
    return [
        *_field(panel),
        *_hidden(panel, panel.others),
        *hole,
        *_through(panel, [panel.anchor]),
        *_clamp(panel, winged=False),
        *arrow(start, end, "over"),
    ]


def _sealed(panel: Panel, *, winged: bool) -> list[Mark]:
    """All teeth of the row through the sheet, the clamp on."""
    return [*_field(panel), *_through(panel, panel.row), *_clamp(panel, winged=winged)]


def slip_over_others(panel: Panel, *, winged: bool) -> list[Mark]:
    """The sheet slipped over one tooth after the other, from the back."""
    places = sorted(panel.row, key=lambda place: -place.tooth.position)
    path = [panel.near(place, 0.0, place.size.labiolingual_mm / 2 + 4.2) for place in places]
    steps = [mark for a, b in pairwise(path) for mark in arrow(a, b, "next")]
    return [*_sealed(panel, winged=winged), *steps]


def put_frame_on(panel: Panel) -> list[Mark]:
    """The frame behind the sheet, which is stretched to both sides."""
    x, y = panel.box.centre
    near, far = 0.44 * panel.square, 0.44 * panel.square + 5.5
    return [
        *_small_sheet(panel, 0.82),
        *_frame(panel),
        *arrow(PagePoint(x - near, y), PagePoint(x - far, y), "stretch"),
        *arrow(PagePoint(x + near, y), PagePoint(x + far, y), "stretch"),
    ]


def floss_contacts(panel: Panel, *, winged: bool) -> list[Mark]:
    """Floss at each contact of the row."""
    lines: list[Mark] = []
    for first, other in pairwise(panel.row):
        x, y = (first.centre[0] + other.centre[0]) / 2, (first.centre[1] + other.centre[1]) / 2
        fx, fy = first.facial[0] + other.facial[0], first.facial[1] + other.facial[1]
        length = (fx * fx + fy * fy) ** 0.5 / 8.5
        a, b = (
            MouthPoint(x - fx / length, y - fy / length),
            MouthPoint(x + fx / length, y + fy / length),
        )
        lines.append(Line(panel.at(a), panel.at(b), 0.4, "floss"))
    return [*_sealed(panel, winged=winged), *lines]


def turn_edges_in(panel: Panel, *, winged: bool) -> list[Mark]:
    """A second line close to each crown: the edge that goes under."""
    edges = [Polygon(_crown(panel, place, 0.84), 0.25, "edge") for place in panel.others]
    tip = panel.others[-1 if panel.others[0].tooth.side == "right" else 0]
    reach = tip.size.labiolingual_mm / 2
    tool = arrow(panel.near(tip, 0.0, reach + 8.0), panel.near(tip, 0.0, reach - 0.8), "tool")
    return [*_sealed(panel, winged=winged), *edges, *tool]


def _tied(panel: Panel) -> list[Mark]:
    """A loop round the foremost tooth, with two ends on its outer side."""
    place = min(panel.row, key=lambda p: p.tooth.position)
    knot = place.size.labiolingual_mm / 2 + 0.7
    ends: list[Mark] = [
        Line(panel.near(place, 0.0, knot), panel.near(place, side * 1.8, knot + 5.0), 0.4, "tail")
        for side in (-1, 1)
    ]
    return [Polygon(_crown(panel, place, 1.12), 0.5, "ligature"), *ends]


def tie_ligature(panel: Panel, *, winged: bool) -> list[Mark]:
    """The ligature tied."""
    return [*_sealed(panel, winged=winged), *_tied(panel)]


def last_look(panel: Panel) -> list[Mark]:
    """The sheet on its frame, its marks up, the nose above it."""
    x, y = panel.box.centre
    top = y + 0.41 * panel.square
    nose = (PagePoint(x, top + 4.0), PagePoint(x - 2.2, top + 0.6), PagePoint(x + 2.2, top + 0.6))
    return [*_small_sheet(panel, 0.82), *_frame(panel), Polygon(nose, 0.4, "nose")]


def ligatures_off(panel: Panel, *, winged: bool) -> list[Mark]:
    """The ligature taken off."""
    place = min(panel.row, key=lambda p: p.tooth.position)
    reach = place.size.labiolingual_mm / 2 + 5.0
    away = arrow(panel.near(place, -2.0, reach), panel.near(place, -4.0, reach + 6.0), "away")
    return [*_sealed(panel, winged=winged), *_tied(panel), *away]


def cut_strips(panel: Panel, *, winged: bool) -> list[Mark]:
    """A thick line across each strip, from hole to hole, and one in front to cut along."""
    cuts: list[Mark] = []
    for first, other in pairwise(panel.row):
        a, b = panel.at(first.centre), panel.at(other.centre)
        x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        dx, dy = (b[0] - a[0]) * 0.3, (b[1] - a[1]) * 0.3
        cuts.append(Line(PagePoint(x - dx, y - dy), PagePoint(x + dx, y + dy), 0.9, "cut"))
    return [*_sealed(panel, winged=winged), *cuts]


def clamp_off(panel: Panel, *, winged: bool) -> list[Mark]:
    """The clamp lifted off."""
    place = panel.anchor
    side = 1.0 if place.tooth.side == "right" else -1.0
    off = (side * 12.0, 0.0)
    a = panel.near(place, 0.0, 0.0)
    return [
        *_field(panel),
        *_through(panel, panel.row),
        *_clamp(panel, winged=winged, off=off),
        *arrow(a, PagePoint(a[0] + side * 9.0, a[1]), "lift"),
    ]


def frame_and_sheet_off(panel: Panel) -> list[Mark]:
    """Frame and sheet taken off together."""
    x, y = panel.box.centre
    out = 0.46 * panel.square
    lift = arrow(PagePoint(x + out, y - 6.0), PagePoint(x + out + 5.0, y + 8.0), "away")
    return [*_small_sheet(panel, 0.82), *_frame(panel), *lift]


def spread_and_count(panel: Panel) -> list[Mark]:
    """Each hole numbered, cut through to the next."""
    marks = _field(panel)
    centres = [panel.at(place.centre) for place in panel.row]
    marks += [Line(a, b, 0.5, "cut") for a, b in pairwise(centres)]
    for number, (place, centre) in enumerate(zip(panel.row, centres, strict=True), start=1):
        disc = tuple(
            PagePoint(
                centre[0] + 1.6 * cos(2 * pi * i / 24), centre[1] + 1.6 * sin(2 * pi * i / 24)
            )
            for i in range(24)
        )
        beside = panel.near(place, 0.0, 6.0)
        marks += [
            Polygon(disc, 0.1, "hole", grey=_WHITE, filled=True),
            Ring(centre, 3.2, 0.35, "hole-edge"),
            lettered(PagePoint(beside[0], beside[1] - 1.1), str(number), 3.4, "count", "middle"),
        ]
    return marks


def piece_missing(panel: Panel) -> list[Mark]:
    """The bare row, with a place between two teeth to look at."""
    outlines: list[Mark] = [Polygon(_crown(panel, place), 0.4, "crown") for place in panel.row]
    first, other = panel.row[0], panel.row[1]
    a, b = panel.at(first.centre), panel.at(other.centre)
    x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    side = panel.near(first, 0.0, first.size.labiolingual_mm / 2 + 5.0)
    return [
        *outlines,
        Ring(PagePoint(x, y), 5.0, 0.5, "look"),
        lettered(PagePoint(side[0], y - 1.8), "?", 5.4, "look", "middle", bold=True),
    ]


def look_at_gum(panel: Panel) -> list[Mark]:
    """The anchor without its clamp, the gum as a line round it."""
    outlines: list[Mark] = [Polygon(_crown(panel, place), 0.3, "crown") for place in panel.others]
    place = panel.anchor
    start = panel.near(place, 0.0, place.size.labiolingual_mm / 2 + 9.0)
    end = panel.near(place, 0.0, place.size.labiolingual_mm / 2 + 2.6)
    return [
        *outlines,
        Polygon(_crown(panel, place), 0.5, "crown"),
        Polygon(_crown(panel, place, 1.3), 0.3, "gum", grey=FAINT),
        *arrow(start, end, "look"),
    ]
