"""Plain line drawings for the steps, made from the plan alone: crowns, sheet, clamp, frame.

As the operator sees them. The sheet is a grey field; a tooth through it is white. The clamp is a
diagram of ours, two jaws and a bow round the crown it holds, of no real clamp's form.
"""

from __future__ import annotations

from itertools import pairwise
from math import cos, dist, pi, sin

from sheetmark.base.frames import MouthPoint, PagePoint
from sheetmark.documents.handouts.lesson import arrow
from sheetmark.documents.handouts.pieces import (
    BOW_MM,
    WHITE,
    WING_MM,
    Panel,
    clamp,
    crown,
    field,
    finger,
    floss,
    frame,
    hidden,
    instrument,
    opening,
    small_sheet,
    through,
    tied,
)
from sheetmark.typesetting.lettering import lettered
from sheetmark.typesetting.marks import FAINT, Disc, Line, Mark, Polygon, Ring


def mark_sheet(panel: Panel) -> list[Mark]:
    """The sheet with its marks, seen whole."""
    return small_sheet(panel)


def punch_holes(panel: Panel) -> list[Mark]:
    """The holes at their true distances, each with the hole of the punch beside it."""
    marks = field(panel)
    for hole in panel.plan.holes:
        place = panel.plan.arch.place(hole.tooth)
        centre = panel.at(place.centre)
        label = panel.plan.practice.punch.label(hole.hole.punch_position)
        beside = panel.near_hole(place, -6.0)
        marks += [
            Disc(centre, hole.hole.diameter_mm, "hole"),
            lettered(
                PagePoint(beside[0], beside[1] - 1.1), label, 3.4, "punch", "middle", bold=True
            ),
        ]
    return marks


def look_at_holes(panel: Panel) -> list[Mark]:
    """The sheet stretched by hand, to look at each hole."""
    marks = field(panel)
    for place in panel.row:
        x, y = panel.at(place.centre)
        points = tuple(
            PagePoint(x + 3.4 * cos(2 * pi * i / 30), y + 1.5 * sin(2 * pi * i / 30))
            for i in range(30)
        )
        marks += [
            Polygon(points, 0.1, "hole", grey=WHITE, filled=True),
            Polygon(points, 0.35, "hole-edge"),
        ]
    x, y = panel.box.centre
    far = panel.box.width / 2 - 3.0
    for side in (-1, 1):
        at = PagePoint(x + side * (far - 7.0), y)
        tip = PagePoint(at.x + side * 1.9, y)
        marks += [*finger(at), *arrow(tip, PagePoint(x + side * far, y), "stretch")]
    return marks


def lubricate(panel: Panel) -> list[Mark]:
    """Each hole with lubricant round it."""
    marks = field(panel)
    for place in panel.row:
        centre = panel.at(place.centre)
        marks += [Disc(centre, 1.2, "hole"), Ring(centre, 3.2, 0.8, "lubricant")]
    return marks


def tie_floss(panel: Panel, *, winged: bool) -> list[Mark]:
    """The clamp with floss tied to it."""
    panel = panel.closer
    return [*clamp(panel, winged=winged), *floss(panel)]


def hook_wings(panel: Panel) -> list[Mark]:
    """The hole stretched over the wings; no tooth yet."""
    panel = panel.closer
    size = panel.anchor.size
    hole = opening(panel, 0.7 * size.mesiodistal_mm, size.labiolingual_mm / 2 + 1.2)
    return [*field(panel), *hole, *clamp(panel, winged=True), *floss(panel)]


def set_together(panel: Panel) -> list[Mark]:
    """Clamp and sheet on the anchor, the sheet still held up by the wings."""
    panel = panel.closer
    size = panel.anchor.size
    hole = opening(panel, 0.7 * size.mesiodistal_mm, size.labiolingual_mm / 2 + 1.2)
    rest = hidden(panel, panel.others)
    tooth = through(panel, [panel.anchor])
    return [*field(panel), *rest, *hole, *tooth, *clamp(panel, winged=True), *floss(panel)]


def slip_off_wings(panel: Panel) -> list[Mark]:
    """The sheet slipped off the wings, under them."""
    panel = panel.closer
    place, deep = panel.anchor, panel.anchor.size.labiolingual_mm / 2
    tip, end = (panel.near(place, 1.8, deep + off) for off in (0.8, WING_MM + 4.4))
    return [
        *field(panel),
        *hidden(panel, panel.others),
        *through(panel, [place]),
        *clamp(panel, winged=True),
        *instrument(tip, end),
    ]


def clamp_alone(panel: Panel) -> list[Mark]:
    """A wingless clamp on the bare tooth."""
    panel = panel.closer
    outlines = [crown(panel, place) for place in panel.row]
    crowns = [Polygon(points, 0.4, "crown") for points in outlines if panel.shows(points)]
    return [*crowns, *clamp(panel, winged=False), *floss(panel)]


def draw_over(panel: Panel) -> list[Mark]:
    """The hole, stretched wide, over the whole clamp."""
    panel = panel.closer
    size = panel.anchor.size
    along = size.mesiodistal_mm / 2 + BOW_MM / 2 + 1.2
    hole = opening(panel, along, size.labiolingual_mm / 2 + 2.4, BOW_MM / 2)
    start, end = (panel.near(panel.anchor, 0.0, size.labiolingual_mm / 2 + o) for o in (2.4, 6.0))
    return [
        *field(panel),
        *hidden(panel, panel.others),
        *hole,
        *through(panel, [panel.anchor]),
        *clamp(panel, winged=False),
        *arrow(start, end, "over"),
    ]


def _sealed(panel: Panel, *, winged: bool) -> list[Mark]:
    """All teeth of the row through the sheet, the clamp on."""
    return [*field(panel), *through(panel, panel.row), *clamp(panel, winged=winged)]


def slip_over_others(panel: Panel, *, winged: bool) -> list[Mark]:
    """The sheet slipped over one tooth after the other, from the back."""
    places = sorted(panel.row, key=lambda place: -place.tooth.position)
    path = [panel.near(place, 0.0, place.size.labiolingual_mm / 2 + 4.2) for place in places]
    steps = [mark for a, b in pairwise(path) for mark in arrow(a, b, "next")]
    return [*_sealed(panel, winged=winged), *steps]


def put_frame_on(panel: Panel) -> list[Mark]:
    """The frame behind the sheet, which is stretched to both sides."""
    x, y = panel.box.centre
    near, far = 0.41 * panel.square, 0.41 * panel.square + 6.5
    return [
        *small_sheet(panel, 0.82),
        *frame(panel),
        *arrow(PagePoint(x - near, y), PagePoint(x - far, y), "stretch"),
        *arrow(PagePoint(x + near, y), PagePoint(x + far, y), "stretch"),
    ]


def floss_contacts(panel: Panel, *, winged: bool) -> list[Mark]:
    """Floss at each contact of the row."""
    lines: list[Mark] = []
    for first, other in pairwise(panel.row):
        x, y = (first.contact[0] + other.contact[0]) / 2, (first.contact[1] + other.contact[1]) / 2
        fx, fy = first.facial[0] + other.facial[0], first.facial[1] + other.facial[1]
        length = (fx * fx + fy * fy) ** 0.5 / 8.5
        a, b = (
            MouthPoint(x - fx / length, y - fy / length),
            MouthPoint(x + fx / length, y + fy / length),
        )
        lines.append(Line(panel.at(a), panel.at(b), 0.4, "floss"))
    return [*_sealed(panel, winged=winged), *lines]


def hold_end(panel: Panel, *, winged: bool) -> list[Mark]:
    """A wedge or strip in the contact in front of the foremost tooth."""
    place = min(panel.row, key=lambda p: p.tooth.position)
    contact, reach = place.size.mesiodistal_mm / 2, place.size.labiolingual_mm / 2
    start, end = (panel.near(place, contact, share * reach) for share in (-0.7, 0.7))
    return [*_sealed(panel, winged=winged), Line(start, end, 1.6, "wedge")]


def turn_edges_in(panel: Panel, *, winged: bool) -> list[Mark]:
    """A second line close to each crown: the edge that goes under."""
    edges = [Polygon(crown(panel, place, 0.84), 0.25, "edge") for place in panel.others]
    place = panel.others[len(panel.others) // 2]
    reach = place.size.labiolingual_mm / 2
    tip, end = (panel.near(place, 0.0, reach + off) for off in (-0.8, 8.0))
    return [*_sealed(panel, winged=winged), *edges, *instrument(tip, end)]


def tie_ligature(panel: Panel, *, winged: bool) -> list[Mark]:
    """The ligature tied."""
    return [*_sealed(panel, winged=winged), *tied(panel)]


def last_look(panel: Panel) -> list[Mark]:
    """The sheet on its frame, its marks up, the nose above it."""
    x, y = panel.box.centre
    top = y + 0.41 * panel.square
    nose = (PagePoint(x, top + 4.0), PagePoint(x - 2.2, top + 0.6), PagePoint(x + 2.2, top + 0.6))
    return [*small_sheet(panel, 0.82), *frame(panel), Polygon(nose, 0.4, "nose")]


def ligatures_off(panel: Panel, *, winged: bool) -> list[Mark]:
    """The ligature taken off."""
    place = min(panel.row, key=lambda p: p.tooth.position)
    knot = place.size.labiolingual_mm / 2 + 0.7
    away = arrow(panel.near(place, -0.6, knot), panel.near(place, -6.0, knot + 4.0), "away")
    return [*_sealed(panel, winged=winged), *tied(panel), *away]


def cut_strips(panel: Panel, *, winged: bool) -> list[Mark]:
    """A thick line across each strip, from hole to hole, and one in front to cut along."""
    cuts: list[Mark] = []
    for first, other in pairwise(panel.row):
        a, b = panel.at(first.contact), panel.at(other.contact)
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
        *field(panel),
        *through(panel, panel.row),
        *clamp(panel, winged=winged, off=off),
        *arrow(a, PagePoint(a[0] + side * 9.0, a[1]), "lift"),
    ]


def frame_and_sheet_off(panel: Panel) -> list[Mark]:
    """Frame and sheet taken off together."""
    x, y = panel.box.centre
    out = 0.41 * panel.square
    lift = arrow(PagePoint(x + out, y), PagePoint(x + out + 6.0, y + 5.0), "away")
    return [*small_sheet(panel, 0.82), *frame(panel), *lift]


def spread_and_count(panel: Panel) -> list[Mark]:
    """Each hole numbered, cut through to the next."""
    marks = field(panel)
    centres = [panel.at(place.centre) for place in panel.row]
    marks += [Line(a, b, 0.5, "cut") for a, b in pairwise(centres)]
    for number, (place, centre) in enumerate(zip(panel.row, centres, strict=True), start=1):
        disc = tuple(
            PagePoint(
                centre[0] + 1.6 * cos(2 * pi * i / 24), centre[1] + 1.6 * sin(2 * pi * i / 24)
            )
            for i in range(24)
        )
        beside = panel.near_hole(place, 6.0)
        marks += [
            Polygon(disc, 0.1, "hole", grey=WHITE, filled=True),
            Ring(centre, 3.2, 0.35, "hole-edge"),
            lettered(PagePoint(beside[0], beside[1] - 1.1), str(number), 3.4, "count", "middle"),
        ]
    return marks


def piece_missing(panel: Panel) -> list[Mark]:
    """The bare row, with a place between two teeth to look at."""
    outlines: list[Mark] = [Polygon(crown(panel, place), 0.4, "crown") for place in panel.row]
    first, other = panel.row[0], panel.row[1]
    a, b = panel.at(first.contact), panel.at(other.contact)
    x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    side = panel.near(first, 0.0, first.size.labiolingual_mm / 2 + 5.0)
    return [
        *outlines,
        Ring(PagePoint(x, y), 5.0, 0.5, "look"),
        lettered(PagePoint(side[0], y - 1.8), "?", 5.4, "look", "middle", bold=True),
    ]


def look_at_gum(panel: Panel) -> list[Mark]:
    """The anchor without its clamp, the gum as a line round it, a glass over its edge."""
    outlines: list[Mark] = [Polygon(crown(panel, place), 0.3, "crown") for place in panel.others]
    place = panel.anchor
    reach = place.size.labiolingual_mm / 2
    glass, grip, end = (panel.near(place, 0.0, reach + off) for off in (1.0, 3.6, 9.0))
    return [
        *outlines,
        Polygon(crown(panel, place), 0.5, "crown"),
        Polygon(crown(panel, place, 1.3), 0.3, "gum", grey=FAINT),
        Ring(glass, 2 * dist(glass, grip), 0.5, "look"),
        Line(grip, end, 1.2, "look"),
    ]
