"""Where the callipers go for a row of teeth: what is worth measuring, and a picture of it. mm.

Widths run between the middles of two teeth at the gum line; the length of a row runs from contact
point to contact point.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import dist

from msgspec import Struct

from sheetmark.anatomy.jaw import Arch, Place
from sheetmark.anatomy.row_kind import kind_of_row
from sheetmark.anatomy.teeth import Tooth, write
from sheetmark.base.frames import MouthPoint, PagePoint, mouth_to_page
from sheetmark.documents.case.sheet import tooth_outline
from sheetmark.fitting.measures import Kind, Measure
from sheetmark.plan.plan import Plan
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered
from sheetmark.typesetting.marks import BLACK, FAINT, Document, Line, Mark, Page, Polygon

_ROOM_MM = 3.0
_TOOTH_LINE_MM = 0.35
_LINE_MM = 0.7
_TICK_MM = 3.0
_NUMBER_MM = 5.0
_CLEAR_MM = 5.5
WHITE = 1.0
_WIDE_PLACES = {3: "canines", 6: "first molars"}
_QUADRANT = (4, 7)
# Where on its line a number stands: widths cross the depth in the middle.
_SHARES: Mapping[Kind, float] = {"across": 0.3, "depth": 0.62, "row": 0.5}


class Calliper(Struct, frozen=True):
    """A length that is worth measuring: what it is, how to take it, and its ends, mouth frame."""

    kind: Kind
    measure: str
    """What stands before the mm where it is typed, teeth by ISO 3950."""
    what: str
    how: str
    start: MouthPoint
    end: MouthPoint

    @property
    def mm(self) -> float:
        """What it comes to on this arch."""
        return dist(self.start, self.end)


def callipers(plan: Plan) -> tuple[Calliper, ...]:
    """What helps the plan's row most, by kind of row (see the study of measuring)."""
    standing = {
        place.tooth.along: place
        for place in plan.arch.places
        if place.tooth in plan.isolation.mouth
    }
    row, kind = plan.isolation.row, kind_of_row(plan.isolation.row)
    if kind is None:
        return ()
    if kind == "one-sided":
        return (_row(plan, standing[row[0].along], standing[row[-1].along]),)
    found = [
        _width(plan, standing[-place], standing[place])
        for place in _WIDE_PLACES
        if place in standing and -place in standing
    ]
    if all(side * place in standing for side in (-1, 1) for place in (1, 6)):
        found.append(_depth(plan, standing))
    if kind == "full-arch":
        inner, outer = _QUADRANT
        found += [
            _row(plan, standing[side * inner], standing[side * outer])
            for side in (-1, 1)
            if side * inner in standing and side * outer in standing
        ]
    return tuple(found)


def calliper_picture(
    arch: Arch, row: Iterable[Tooth], found: Iterable[Calliper], recipe: str = ""
) -> Document:
    """The jaw from the biting side with a numbered line for each, at true size; the row is drawn
    black. The recipe is for a picture that is kept."""
    outlines = {p.tooth: tooth_outline(p) for p in arch.places}
    points = [point for outline in outlines.values() for point in outline]
    low_x, low_y = (min(point[i] for point in points) - _ROOM_MM for i in (0, 1))
    high_x, high_y = (max(point[i] for point in points) + _ROOM_MM for i in (0, 1))
    middle = PagePoint(-low_x, -low_y)

    def at(point: MouthPoint) -> PagePoint:
        return mouth_to_page(point, middle)

    black = set(row)
    marks: list[Mark] = [
        Polygon(
            tuple(map(at, outline)),
            _TOOTH_LINE_MM,
            f"tooth-{tooth.iso}",
            BLACK if tooth in black else FAINT,
        )
        for tooth, outline in outlines.items()
    ]
    for number, calliper in enumerate(found, start=1):
        marks += _line(at(calliper.start), at(calliper.end), str(number), _SHARES[calliper.kind])
    page = Page(high_x - low_x, high_y - low_y, tuple(marks))
    return Document("Where the callipers go", recipe, (page,))


def _row(plan: Plan, first: Place, other: Place) -> Calliper:
    inner, outer = sorted((first, other), key=lambda place: abs(place.tooth.along))
    names = f"{_name(plan, inner)} to {_name(plan, outer)}"
    text = Measure("row", (inner.tooth, outer.tooth), 0.0).name("iso")
    return Calliper(
        "row",
        text,
        f"Row {names}",
        f"straight, from the mesial side of {_name(plan, inner)} to the distal side of "
        f"{_name(plan, outer)}",
        _contact(inner, -1),
        _contact(outer, 1),
    )


def _width(plan: Plan, right: Place, left: Place) -> Calliper:
    names = f"{_name(plan, right)} to {_name(plan, left)}"
    text = Measure("across", (right.tooth, left.tooth), 0.0).name("iso")
    what = f"Across the {_WIDE_PLACES[abs(right.tooth.along)]}"
    return Calliper(
        "across", text, what, f"{names}, from middle to middle", right.centre, left.centre
    )


def _depth(plan: Plan, standing: Mapping[int, Place]) -> Calliper:
    front, back = (
        MouthPoint(0.0, (standing[-place].centre.y + standing[place].centre.y) / 2)
        for place in (1, 6)
    )
    names = [_name(plan, standing[along]) for along in (-1, 1, -6, 6)]
    text = f"{plan.arch.jaw} depth"
    how = (
        f"straight back from between {names[0]} and {names[1]} to the line from {names[2]} to "
        f"{names[3]}, at the gum line"
    )
    return Calliper("depth", text, "Depth", how, front, back)


def _contact(place: Place, towards: int) -> MouthPoint:
    """The tooth's distal contact point (1) or its mesial one (-1)."""
    side = towards * (1 if place.tooth.side == "left" else -1)
    half = side * place.size.mesiodistal_mm / 2
    return MouthPoint(
        place.contact.x + half * place.leftward.x, place.contact.y + half * place.leftward.y
    )


def _name(plan: Plan, place: Place) -> str:
    return write(place.tooth, plan.case.notation)


def _line(start: PagePoint, end: PagePoint, number: str, share: float) -> list[Mark]:
    """The line with a tick at each end, and its number at a share of it."""
    length = dist(start, end)
    across = PagePoint((end.y - start.y) / length, (start.x - end.x) / length)
    marks: list[Mark] = [Line(start, end, _LINE_MM, f"calliper-{number}")]
    for x, y in (start, end):
        dx, dy = across.x * _TICK_MM / 2, across.y * _TICK_MM / 2
        tick = PagePoint(x - dx, y - dy), PagePoint(x + dx, y + dy)
        marks.append(Line(*tick, _LINE_MM, f"calliper-{number}-end"))
    x, y = start.x + share * (end.x - start.x), start.y + share * (end.y - start.y)
    middle = PagePoint(x, y - CAP_HEIGHT * _NUMBER_MM / 2)
    half = _CLEAR_MM / 2
    corners = ((-half, -half), (half, -half), (half, half), (-half, half))
    clear = tuple(PagePoint(x + dx, y + dy) for dx, dy in corners)
    marks.append(Polygon(clear, 0.0, f"calliper-{number}-room", WHITE, filled=True))
    return [*marks, lettered(middle, number, _NUMBER_MM, f"number-{number}", "middle", True)]
