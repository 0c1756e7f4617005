"""Both jaws at true scale: every tooth numbered, the pitch between neighbours written."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import dist, fsum, hypot

from sheetmark.anatomy.jaw import Arch, Place, build_arch
from sheetmark.anatomy.teeth import JAWS
from sheetmark.base.findings import InputError
from sheetmark.base.frames import MouthPoint, PagePoint
from sheetmark.documents.case.sheet import tooth_outline
from sheetmark.documents.handouts.lesson import TRUE_SCALE, Lesson, bars_along
from sheetmark.documents.symbols import tooth_label, tooth_label_size
from sheetmark.practice.settings import BAR_STRIP_MM
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered
from sheetmark.typesetting.marks import Document, Line, Mark, Polygon
from sheetmark.typesetting.paragraphs import Column, Paragraph, set_blocks

TITLE = "Arch map"
_NUMBER_MM = 3.9
_PITCH_MM = 3.0
_WIDTH_MM = 3.2
# From the crown's facial edge outwards: a tick at the contact, then its pitch.
_TICK_MM = 2.0
_ROOM_MM = 8.0
_CROWN_LINE_MM = 0.35

_HOW = (
    "The jaws of the model {model}, {title}, as seen by the operator, who faces the patient; R "
    "and L are the patient's. The two jaws are moved apart to leave room for the figures."
)
_PITCHES = (
    "Figures outside the arch, mm: the pitch, from one tooth's gum-line centre to the next. The "
    "holes in the sheet are as far apart. Lines inside: width between the gum-line centres of "
    "right and left. Outlines: crowns; at the front they stand outside the gum line."
)


def arch_map(lesson: Lesson) -> Document:
    """One page with both jaws. Raises InputError where the paper has too little room."""
    model = lesson.model
    marks, column = lesson.leaf(
        f"{TITLE} · {model.name}",
        TRUE_SCALE,
        (*lesson.arch_sources, *lesson.gum_line_sources, *lesson.crown_sources),
    )
    bars, column = bars_along(column)
    marks += bars
    paragraphs: list[Paragraph] = [
        lesson.paragraph(_HOW.format(model=model.name, title=model.title)),
        lesson.paragraph(_PITCHES),
    ]
    arches = {jaw: build_arch(model, jaw) for jaw in JAWS}
    heights = {jaw: _reach(arch) for jaw, arch in arches.items()}
    needed = fsum(high - low + 2 * _ROOM_MM for low, high in heights.values())
    below = fsum(first.height(column.width) for first in paragraphs)
    over = needed + below - (column.top - column.bottom)
    if over > 0:
        raise InputError(
            f"arch map of {model.name}: {over:.1f} mm too high for the paper at true scale; "
            f"take A4 paper or a smaller page margin"
        )
    middle = column.left + (column.width - BAR_STRIP_MM) / 2
    top = column.top
    for jaw, arch in arches.items():
        low, high = heights[jaw]
        origin = PagePoint(middle, top - _ROOM_MM - high)
        marks += _jaw(arch, origin, lesson)
        top -= high - low + 2 * _ROOM_MM
        marks += _sides(column, origin[1] + (low + high) / 2, jaw)
    more, _, left_over = set_blocks(
        paragraphs, Column(left=column.left, top=top, width=column.width, bottom=column.bottom)
    )
    assert not left_over, "the room was computed"
    title = f"{TITLE} · {model.name}"
    return Document(title, lesson.command, (lesson.page([*marks, *more]),))


def _reach(arch: Arch) -> PagePoint:
    ys = [y for place in arch.places for _, y in tooth_outline(place)]
    return PagePoint(min(ys), max(ys))


def _jaw(arch: Arch, origin: PagePoint, lesson: Lesson) -> list[Mark]:
    def at(point: MouthPoint) -> PagePoint:
        return PagePoint(origin[0] + point[0], origin[1] + point[1])

    marks: list[Mark] = []
    notation = lesson.practice.notation
    for place in arch.places:
        points = tuple(at(point) for point in tooth_outline(place))
        iso = place.tooth.iso
        marks.append(Polygon(points, _CROWN_LINE_MM, f"crown-{iso}"))
        width, _ = tooth_label_size(place.tooth, notation, _NUMBER_MM)
        # A narrow incisor holds its number in smaller type.
        size = _NUMBER_MM * min(1.0, 0.80 * place.size.mesiodistal_mm / width)
        marks += tooth_label(place.tooth, notation, at(place.contact), size, f"number-{iso}")
    for first, other in pairwise(arch.places):
        marks += _pitch(first, other, at, lesson)
    return [*marks, *_widths(arch, at, lesson)]


def _pitch(
    first: Place, other: Place, at: Callable[[MouthPoint], PagePoint], lesson: Lesson
) -> list[Mark]:
    """A tick outwards from between two crowns, and the distance of their gum-line centres."""
    name = f"pitch-{first.tooth.iso}-{other.tooth.iso}"
    x, y = (first.contact[0] + other.contact[0]) / 2, (first.contact[1] + other.contact[1]) / 2
    fx, fy = first.facial[0] + other.facial[0], first.facial[1] + other.facial[1]
    length = hypot(fx, fy)
    fx, fy = fx / length, fy / length
    edge = max(first.size.labiolingual_mm, other.size.labiolingual_mm) / 2 - 0.8
    start, end = (
        MouthPoint(x + edge * fx, y + edge * fy),
        MouthPoint(x + (edge + _TICK_MM) * fx, y + (edge + _TICK_MM) * fy),
    )
    text = lesson.practice.numerals(f"{dist(first.centre, other.centre):.1f}")
    # The figure's own half size along the tick keeps it off the crown.
    reach = edge + _TICK_MM + 0.7 + 2.0 * abs(fx) + 1.0 * abs(fy)
    label = at(MouthPoint(x + reach * fx, y + reach * fy))
    return [
        Line(at(start), at(end), 0.2, name),
        lettered(
            PagePoint(label[0], label[1] - CAP_HEIGHT * _PITCH_MM / 2),
            text,
            _PITCH_MM,
            name,
            "middle",
        ),
    ]


def _widths(arch: Arch, at: Callable[[MouthPoint], PagePoint], lesson: Lesson) -> list[Mark]:
    """Between the gum-line centres of the canines and of the first molars, or of the teeth in
    their place."""
    marks: list[Mark] = []
    for position in (3, 6):
        pair = [p for p in arch.places if p.tooth.position == position]
        if len(pair) != 2:
            continue
        right, left = pair
        name = f"width-{right.tooth.iso}-{left.tooth.iso}"
        inset = right.size.mesiodistal_mm / 2 + 2.0
        a = MouthPoint(right.centre[0] + inset, right.centre[1])
        b = MouthPoint(left.centre[0] - inset, left.centre[1])
        text = lesson.practice.numerals(f"{dist(right.centre, left.centre):.1f}")
        label = at(MouthPoint(0.0, right.centre[1]))
        marks += [
            Line(at(a), at(MouthPoint(-4.5, a[1])), 0.2, name),
            Line(at(MouthPoint(4.5, b[1])), at(b), 0.2, name),
            lettered(
                PagePoint(label[0], label[1] - CAP_HEIGHT * _WIDTH_MM / 2),
                text,
                _WIDTH_MM,
                name,
                "middle",
            ),
        ]
    return marks


def _sides(column: Column, y: float, jaw: str) -> list[Mark]:
    size = 7.0
    paragraphs = [
        lettered(
            PagePoint(column.left + 22.0, y + 8.0), f"{jaw} jaw", 4.4, "jaw", "middle", bold=True
        )
    ]
    for x, letter in ((column.left + 22.0, "R"), (column.left + column.width - 34.0, "L")):
        paragraphs.append(
            lettered(PagePoint(x, y - 3.0), letter, size, f"side-{letter}", "middle", bold=True)
        )
    return list(paragraphs)
