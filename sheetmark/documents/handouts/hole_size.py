"""Hole size: the punch's holes as discs of true size, and the stretch each asks of the sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import pi

from msgspec import Struct

from sheetmark.anatomy.jaw import ToothSize, build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, ToothClass, write
from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint, Size
from sheetmark.base.sources import citation, cite
from sheetmark.documents.handouts.lesson import TRUE_SCALE, Lesson, bars_along
from sheetmark.documents.parts import room
from sheetmark.plan.holes import (
    TWO_STRETCHES,
    Demand,
    choose_holes,
    crown_perimeter,
    stretch_limit,
)
from sheetmark.plan.rows import SECOND_MOLAR
from sheetmark.practice.materials import materials
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.labels import CLEARANCE_MM, Box, Taken
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import FAINT, Disc, Document, Line, Mark, Polygon, Ring
from sheetmark.typesetting.paragraphs import BODY_MM, Column, set_blocks

TITLE = "Hole size"
_ROW_LIMITS_MM = (7.0, 8.6)
_LABEL_MM = 40.0
_DISC_MM = 1.5
_RING_MM = 3.2
_AXIS_MM = 0.3
_STRIP_MM = 17.0
# Head and foot of the plot, and the words below it.
_TEXT_MM = 38.0
_RING_LINE_MM = 0.35
_LABEL_SIZE_MM = 2.8
_HAIR_MM = 0.05  # so that rounding never makes a free place a taken one
_CLASSES: tuple[ToothClass, ...] = ("incisor", "canine", "premolar", "molar")


class Row(Struct, frozen=True):
    """One tooth of a side of a jaw, which stands for both sides."""

    jaw: Jaw
    tooth: Tooth
    size: ToothSize

    def stretch(self, diameter_mm: float) -> float:
        """Round the crown over round the hole: the stretch while the crown passes."""
        return crown_perimeter(self.size) / (pi * diameter_mm)

    def chosen_mm(self, practice: Practice, *, anchor: bool) -> float:
        """The hole that the practice takes for the tooth, mm."""
        demand = Demand(name=self.tooth.iso, size=self.size, anchor=anchor, lesion=False)
        holes, _ = choose_holes([demand], practice)
        return holes[0].diameter_mm


def rows(lesson: Lesson) -> list[Row]:
    """Class by class from the front, upper before lower."""
    found = [
        Row(jaw, place.tooth, place.size)
        for jaw in JAWS
        for place in build_arch(lesson.model, jaw).places
        if place.tooth.side == "right" and place.tooth.position <= SECOND_MOLAR
    ]
    return sorted(
        found,
        key=lambda row: (
            _CLASSES.index(row.tooth.tooth_class),
            JAWS.index(row.jaw),
            row.tooth.position,
        ),
    )


def hole_size(lesson: Lesson) -> Document:
    """One page. Raises InputError where the paper is too small for it."""
    practice = lesson.practice
    material = materials()[practice.material]
    sources = (
        f"Stretch at break of {material.name}, {material.stretch_at_break:.2f}: "
        f"{material.source} ({material.flag}), measured on "
        f"{material.tested_on}",
        f"Share of the stretch at break, {practice.share_of_break:g}: assumption",
        f"Crown as an ellipse; its perimeter by {citation('ramanujan-1914')}",
        f"Larger hole for the clamped tooth: {cite('navedtra-14275')}",
        f"Punch range: {cite('iso-16635-1')}; diameters: assumption",
        *lesson.arch_sources[:1],
        *lesson.crown_sources,
    )
    marks, column = lesson.leaf(
        f"{TITLE} · {lesson.model.name}", TRUE_SCALE, [practice.numerals(s) for s in sources]
    )
    bars, _ = bars_along(room(practice).below(column.top))
    # The plot has no use for the bar down; its words stand beside the whole page.
    marks += bars
    column = Column(
        left=column.left + 10.0,
        top=column.top - 10.0,
        width=column.width - 10.0,
        bottom=column.bottom,
    )
    more, y = _strip(lesson, column)
    marks += more
    more, y = _plot(lesson, column.below(y - 2.0))
    marks += more
    limit = stretch_limit(practice)
    glove = ", measured on a glove" if material.tested_on == "glove" else ""
    two_sizes = (
        " Two sizes: every tooth takes the row's largest ring, every anchor its largest square."
        if practice.sizing == "two-size"
        else ""
    )
    paragraphs = [
        lesson.paragraph(
            f"Stretch: round the crown divided by round the hole. At {limit:.2f} the sheet has "
            f"used {100 * practice.share_of_break:.0f} % of its stretch at break{glove}: no hole "
            f"to the right of that line is used where the punch has a larger one. {TWO_STRETCHES}"
        ),
        lesson.paragraph(
            "Ring: the hole of this punch for the tooth, the smallest on the safe side. Square: "
            f"the same tooth as the anchor, one hole up, since it carries the clamp.{two_sizes}"
        ),
    ]
    more, _, over = set_blocks(paragraphs, column.below(y - 1.0))
    if over:
        raise InputError(
            "hole-size: too little room for its words on this paper; take A4, or a smaller margin"
        )
    return Document(TITLE, lesson.command, (lesson.page([*marks, *more]),))


def _strip(lesson: Lesson, column: Column) -> tuple[list[Mark], float]:
    """True-size discs with the hole's label above and its diameter below."""
    practice = lesson.practice
    diameters = practice.punch.ascending
    step = min(24.0, (column.width - _LABEL_MM) / len(diameters))
    y = column.top - _STRIP_MM / 2
    marks: list[Mark] = []
    for text, at in (("Punch hole", y + 4.0), ("true size", y), ("mm", y - 6.2)):
        marks.append(
            lettered(
                PagePoint(column.left, at - CAP_HEIGHT * BODY_MM / 2), text, BODY_MM, "strip-head"
            )
        )
    for number, diameter in enumerate(diameters):
        x = column.left + _LABEL_MM + (number + 0.5) * step
        label = practice.punch.label(practice.punch.position(diameter))
        marks += [
            Disc(PagePoint(x, y), diameter, f"disc-{diameter:g}"),
            lettered(PagePoint(x, y + 2.8), label, 4.4, "strip-label", "middle", bold=True),
            lettered(
                PagePoint(x, y - 7.4),
                practice.numerals(f"{diameter:g}"),
                BODY_MM,
                "strip-mm",
                "middle",
            ),
        ]
    return marks, column.top - _STRIP_MM


def _plot(lesson: Lesson, column: Column) -> tuple[list[Mark], float]:
    """A row a tooth: a numbered dot for each punch hole, at the stretch it asks for."""
    practice, limit = lesson.practice, stretch_limit(lesson.practice)
    broken = materials()[practice.material].stretch_at_break
    found = rows(lesson)
    left, wide = column.left + _LABEL_MM, column.width - _LABEL_MM - 3.0
    top = column.top - 9.0
    step = _row_mm(column, len(found))
    bottom = top - step * len(found)

    def x_of(stretch: float) -> float:
        return left + wide * (stretch - 1) / (broken - 1)

    marks: list[Mark] = []
    # Beyond the limit: a faint field, so that the safe side is seen at once.
    field = (
        PagePoint(x_of(limit), bottom),
        PagePoint(x_of(broken), bottom),
        PagePoint(x_of(broken), top),
        PagePoint(x_of(limit), top),
    )
    marks.append(Polygon(field, 0.1, "over-limit", grey=0.88, filled=True))
    for whole in range(1, int(broken) + 1):
        marks.append(
            Polygon(
                (PagePoint(x_of(whole), bottom), PagePoint(x_of(whole), top)),
                0.1,
                "grid",
                grey=FAINT,
            )
        )
        text = "no stretch" if whole == 1 else f"× {whole}"
        marks.append(lettered(PagePoint(x_of(whole), bottom - 4.0), text, 3.2, "axis", "middle"))
    for at, text in ((limit, f"limit {limit:.2f}"), (broken, f"breaks {broken:.2f}")):
        marks.append(
            Line(PagePoint(x_of(at), bottom), PagePoint(x_of(at), top + 1.5), 0.6, "limit")
        )
        align = "middle" if at == limit else "right"
        at_x = x_of(at) if at == limit else x_of(at) + 3.0
        shown = practice.numerals(text)
        marks.append(lettered((at_x, top + 2.6), shown, BODY_MM, "limit", align, bold=True))  # type: ignore[arg-type]
    lines = [x_of(limit), *(x_of(whole) for whole in range(1, int(broken) + 1))]
    before = ""
    for number, row in enumerate(found):
        y = top - (number + 0.5) * step
        kind = f"{row.jaw} {row.tooth.tooth_class}"
        if kind != before:
            marks.append(
                Line(
                    PagePoint(column.left, y + step / 2),
                    PagePoint(left + wide, y + step / 2),
                    0.15,
                    "class",
                )
            )
            base = y - CAP_HEIGHT * BODY_MM / 2
            marks.append(lettered(PagePoint(column.left, base), kind, BODY_MM, "class", bold=True))
        before = kind
        names = ", ".join(write(t, practice.notation) for t in (row.tooth, row.tooth.mirrored))
        marks.append(
            lettered(PagePoint(left - 1.5, y - CAP_HEIGHT * 3.0 / 2), names, 3.0, "tooth", "right")
        )
        band = Box(PagePoint(left + wide / 2, y), wide + 6.0, step)
        marks += _dots(row, band, x_of, lines, broken, practice)
    marks.append(
        Line(PagePoint(column.left, bottom), PagePoint(left + wide, bottom), _AXIS_MM, "axis")
    )
    marks.append(Line(PagePoint(left, bottom), PagePoint(left, top), _AXIS_MM, "axis"))
    return marks, bottom - 6.0


def _row_mm(column: Column, rows: int) -> float:
    """As high a row as leaves room for the words below. Raises InputError for none."""
    low, high = _ROW_LIMITS_MM
    step = (column.top - column.bottom - _TEXT_MM) / rows
    if step < low:
        raise InputError(
            f"hole-size: {rows} rows of teeth are {rows * (low - step):.1f} mm too high for the "
            f"paper; take A4, or a smaller margin"
        )
    return min(step, high)


def _dots(
    row: Row,
    band: Box,
    x_of: Callable[[float], float],
    lines: Sequence[float],
    broken: float,
    practice: Practice,
) -> list[Mark]:
    """The dots of one tooth on the middle of its band, each with its hole's label beside it.

    No label stands on a line at an x of `lines`, where there is room beside them.
    """
    y = band.centre.y
    marks: list[Mark] = []
    reach: dict[float, float] = {}
    for diameter in practice.punch.ascending:
        if 1 <= row.stretch(diameter) <= broken:
            reach[diameter] = _DISC_MM / 2
            at = PagePoint(x_of(row.stretch(diameter)), y)
            marks.append(Disc(at, _DISC_MM, f"stretch-{row.tooth.iso}-{diameter:g}"))
    for anchor in (False, True):
        chosen = row.chosen_mm(practice, anchor=anchor)
        if chosen not in reach:
            continue
        reach[chosen] = _RING_MM / 2 + _RING_LINE_MM
        name = f"{'anchor' if anchor else 'chosen'}-{row.tooth.iso}"
        marks.append(_shape(PagePoint(x_of(row.stretch(chosen)), y), name, square=anchor))
    taken = Taken(band)
    for diameter, radius in reach.items():
        taken.add_disc(PagePoint(x_of(row.stretch(diameter)), y), radius)
    for diameter in sorted(reach, reverse=True):  # from the left to the right
        label = practice.punch.label(practice.punch.position(diameter))
        size = Size(text_width(label, _LABEL_SIZE_MM), CAP_HEIGHT * _LABEL_SIZE_MM)
        at = PagePoint(x_of(row.stretch(diameter)), y)
        box = _beside(taken, at, reach[diameter], size, lines, first=diameter == max(reach))
        start = PagePoint(box.centre.x, box.centre.y - size[1] / 2)
        marks.append(lettered(start, label, _LABEL_SIZE_MM, "dot-label", "middle"))
    return marks


def _beside(
    taken: Taken, at: PagePoint, reach: float, size: Size, lines: Sequence[float], *, first: bool
) -> Box:
    """The room for a label, which is then taken: beside its dot, else above or below it."""
    off = reach + CLEARANCE_MM + _HAIR_MM
    across, up = off + size[0] / 2, off + size[1] / 2
    offs = [(-across, 0.0), (across, 0.0), (0.0, up), (0.0, -up)]
    if not first:
        offs[:2] = offs[1::-1]
    boxes = [Box(PagePoint(at.x + dx, at.y + dy), *size) for dx, dy in offs]
    free = [box for box in boxes if taken.clear(box)]
    off_lines = [box for box in free if all(abs(box.centre.x - x) > size[0] / 2 for x in lines)]
    box = next(iter((*off_lines, *free, boxes[2])))
    taken.boxes.append(box)
    return box


def _shape(at: PagePoint, name: str, *, square: bool) -> Mark:
    """The ring round a tooth's own hole, or the square round its hole as the anchor."""
    if not square:
        return Ring(at, _RING_MM, _RING_LINE_MM, name)
    a = _RING_MM / 2
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    corners = tuple(PagePoint(at.x + a * x, at.y + a * y) for x, y in signs)
    return Polygon(corners, _RING_LINE_MM, name)
