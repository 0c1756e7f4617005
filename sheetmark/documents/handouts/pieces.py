"""What the drawings of the steps are made of: teeth, sheet, clamp, floss and frame in a panel."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, dist, pi, sin

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.jaw import Place
from sheetmark.base.frames import MouthPoint, PagePoint
from sheetmark.documents.case.sheet import draw_sheet, tooth_outline
from sheetmark.documents.handouts.lesson import polyline
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.labels import Box
from sheetmark.typesetting.marks import FAINT, Disc, Line, Mark, Polygon, Ring
from sheetmark.typesetting.rectangle import rectangle
from sheetmark.typesetting.scaled import scaled

# Below the row, for the bow.
ROOM_MM = 6.0
# Above the row, so that no tooth touches the panel's frame, nor a thread tied to one.
_ABOVE_MM = 5.0
SHEET_GREY = 0.86
WHITE = 1.0
WING_MM = 2.6
BOW_MM = 3.4
BAR_MM = 0.8
_BLADE_MM = 2.6


class Panel(Struct, frozen=True):
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
        low, high = min(ys) - ROOM_MM, max(ys) + (ROOM_MM if self.close_up else _ABOVE_MM)
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
        """A point by its distance from a crown's middle towards the midline and outwards, mm."""
        return self._beside(place.contact, place, along_mesial, facial)

    def near_hole(self, place: Place, facial: float) -> PagePoint:
        """A point by its distance outwards from where the tooth's hole comes to rest, mm."""
        return self._beside(place.centre, place, 0.0, facial)

    def _beside(
        self, point: MouthPoint, place: Place, along_mesial: float, facial: float
    ) -> PagePoint:
        a = -along_mesial if place.tooth.side == "left" else along_mesial
        (x, y), (lx, ly), (fx, fy) = point, place.leftward, place.facial
        return self.at(MouthPoint(x + a * lx + facial * fx, y + a * ly + facial * fy))


Drawing = Callable[[Panel], list[Mark]]


def field(panel: Panel) -> list[Mark]:
    """The sheet as a grey field that fills the panel."""
    box = panel.box
    corners = rectangle(box.centre, box.width / 2 - 1.5, box.height / 2 - 0.5)
    return [
        Polygon(corners, 0.1, "field", grey=SHEET_GREY, filled=True),
        Polygon(corners, 0.25, "field-edge"),
    ]


def crown(panel: Panel, place: Place, times: float = 1.0) -> tuple[PagePoint, ...]:
    """A crown's outline on the page, `times` as large about its centre."""
    x, y = place.contact
    return tuple(
        panel.at(MouthPoint(x + times * (px - x), y + times * (py - y)))
        for px, py in tooth_outline(place)
    )


def through(panel: Panel, places: Sequence[Place]) -> list[Mark]:
    """Crowns that have come through the sheet, white."""
    marks: list[Mark] = []
    for place in places:
        points = crown(panel, place)
        marks += [
            Polygon(points, 0.1, "through", grey=WHITE, filled=True),
            Polygon(points, 0.4, "crown"),
        ]
    return marks


def hidden(panel: Panel, places: Sequence[Place]) -> list[Mark]:
    """Crowns still under the sheet, as faint outlines."""
    outlines = [crown(panel, place) for place in places]
    return [Polygon(p, 0.3, "hidden", grey=FAINT) for p in outlines if panel.shows(p)]


def clamp(panel: Panel, *, winged: bool, off: tuple[float, float] = (0.0, 0.0)) -> list[Mark]:
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
                at(0.75 * half, side * (deep + WING_MM)),
                at(0.05 * half, side * (deep + WING_MM)),
            )
            marks.append(Polygon(wing, 0.4, "wing"))
    turns = [pi * i / 16 - pi / 2 for i in range(17)]
    bow = [
        at(-0.45 * half - (0.55 * half + BOW_MM) * cos(turn), deep * sin(turn)) for turn in turns
    ]
    return [*marks, *polyline(bow, BAR_MM, "bow")]


def opening(panel: Panel, along: float, across: float, back: float = 0.0) -> list[Mark]:
    """The anchor's hole stretched open: half axes in mm, `back` from the crown's middle."""
    points = tuple(
        panel.near(panel.anchor, along * cos(2 * pi * i / 40) - back, across * sin(2 * pi * i / 40))
        for i in range(40)
    )
    return [
        Polygon(points, 0.1, "opening", grey=WHITE, filled=True),
        Polygon(points, 0.35, "opening-edge"),
    ]


def floss(panel: Panel) -> list[Mark]:
    """From the bow to the panel's edge."""
    place = panel.anchor
    start = panel.near(place, -place.size.mesiodistal_mm / 2 - BOW_MM, 0.0)
    x, y = start
    side = 1.0 if place.tooth.side == "right" else -1.0
    end = panel.box.centre[0] + side * (panel.box.width / 2 - 2.0)
    steps = 24
    wave = [
        PagePoint(x + (end - x) * i / steps, y + 0.9 * sin(3 * pi * i / steps))
        for i in range(steps + 1)
    ]
    return [Ring(start, 1.5, 0.35, "knot"), *polyline(wave, 0.3, "floss")]


def small_sheet(panel: Panel, share: float = 0.96) -> list[Mark]:
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


def frame(panel: Panel) -> list[Mark]:
    """A bow open at the top, its curve along the chin."""
    x, y = panel.box.centre
    w, h = 0.40 * panel.square, 0.34 * panel.square
    turns = [pi * i / 16 for i in range(17)]
    curve = [PagePoint(x - w * cos(turn), y - 0.05 * h - 1.1 * h * sin(turn)) for turn in turns]
    return polyline([PagePoint(x - w, y + h), *curve, PagePoint(x + w, y + h)], 0.9, "frame")


def instrument(tip: PagePoint, end: PagePoint) -> list[Mark]:
    """A flat instrument: its handle, and its blade at the tip."""
    length = dist(tip, end)
    x, y = (end.x - tip.x) / length, (end.y - tip.y) / length
    blade = PagePoint(tip.x + _BLADE_MM * x, tip.y + _BLADE_MM * y)
    return [Line(blade, end, 1.0, "instrument"), Line(tip, blade, 1.8, "instrument")]


def finger(at: PagePoint) -> list[Mark]:
    """A finger's tip on the sheet."""
    points = tuple(
        PagePoint(at.x + 1.9 * cos(2 * pi * i / 24), at.y + 2.4 * sin(2 * pi * i / 24))
        for i in range(24)
    )
    return [
        Polygon(points, 0.1, "finger", grey=WHITE, filled=True),
        Polygon(points, 0.35, "finger"),
    ]


def tied(panel: Panel) -> list[Mark]:
    """A loop round the foremost tooth, with two ends on its outer side."""
    place = min(panel.row, key=lambda p: p.tooth.position)
    knot = place.size.labiolingual_mm / 2 + 0.7
    ends: list[Mark] = [
        Line(panel.near(place, 0.0, knot), panel.near(place, side * 1.8, knot + 3.0), 0.4, "tail")
        for side in (-1, 1)
    ]
    return [Polygon(crown(panel, place, 1.12), 0.5, "ligature"), *ends]
