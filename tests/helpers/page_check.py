"""One question: does a page, as it was read back, show what the plan's JSON says?

Works on `readback.Drawing` and on the plan as plain data; nothing of sheetmark is used. Marks are
told apart by where they stand and how they look, never by a name.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import dist, hypot
from typing import Any

from tests.helpers.readback import Circle, Drawing, Line, Outline, Point, Word

TOLERANCE_MM = 0.01
PlanData = dict[str, Any]


def check_page(page: Drawing, plan: PlanData) -> None:
    """Raises AssertionError when the first page shows anything else than its plan."""
    paper = plan["page"]
    assert _close((page.width, page.height), (paper["width_mm"], paper["height_mm"]))
    sheet = _Sheet(plan)
    check_outline(page, sheet)
    check_discs(page, sheet, plan)
    check_symbols(page, sheet, plan)
    check_arch(page, sheet, plan)
    check_slots(page, sheet, plan)
    check_cross(page, sheet)
    check_bars(page, sheet)
    check_sides(page, sheet, plan)
    check_numbers(page, sheet, plan)
    check_table(page, sheet, plan)


class _Sheet:
    """The planned sheet on its page: from its own frame to the page's, and what lies on it."""

    def __init__(self, plan: PlanData) -> None:
        self.centre: Point = tuple(plan["page"]["sheet_centre_mm"])
        self.width: float = plan["sheet"]["width_mm"]
        self.height: float = plan["sheet"]["height_mm"]

    def at(self, point: Sequence[float]) -> Point:
        return (self.centre[0] + point[0], self.centre[1] + point[1])

    def holds(self, point: Point) -> bool:
        return (
            abs(point[0] - self.centre[0]) < self.width / 2
            and abs(point[1] - self.centre[1]) < self.height / 2
        )

    @property
    def left(self) -> float:
        return self.centre[0] - self.width / 2

    @property
    def top(self) -> float:
        return self.centre[1] + self.height / 2

    @property
    def bottom(self) -> float:
        return self.centre[1] - self.height / 2

    @property
    def corners(self) -> tuple[Point, ...]:
        w, h = self.width / 2, self.height / 2
        return tuple(self.at(corner) for corner in ((-w, -h), (w, -h), (w, h), (-w, h)))


def _close(a: Point, b: Point) -> bool:
    """Whether both coordinates agree within the tolerance."""
    return abs(a[0] - b[0]) <= TOLERANCE_MM and abs(a[1] - b[1]) <= TOLERANCE_MM


def _middle(line: Line) -> Point:
    return ((line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2)


def _length(line: Line) -> float:
    return dist(line.start, line.end)


def _level(line: Line) -> bool:
    return abs(line.start[1] - line.end[1]) <= TOLERANCE_MM


def _upright(line: Line) -> bool:
    return abs(line.start[0] - line.end[0]) <= TOLERANCE_MM


def check_outline(page: Drawing, sheet: _Sheet) -> None:
    """The largest outline is the sheet, corner for corner."""
    largest = max(page.outlines, key=lambda outline: _area(outline.points))
    assert len(largest.points) == 4
    assert not largest.filled
    for corner in sheet.corners:
        nearest = min(largest.points, key=lambda point: dist(point, corner))
        assert _close(nearest, corner), f"sheet corner at {nearest}, planned {corner}"


def _area(points: Sequence[Point]) -> float:
    closed = pairwise((*points, points[0]))
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in closed)) / 2


def discs(page: Drawing) -> tuple[Circle, ...]:
    return tuple(circle for circle in page.circles if circle.filled)


def check_discs(page: Drawing, sheet: _Sheet, plan: PlanData) -> None:
    """On the sheet: each planned hole and the dots, true in place and size, and no more."""
    on_sheet = [disc for disc in discs(page) if sheet.holds(disc.centre)]
    assert all(disc.grey == 0 and disc.line == 0 for disc in on_sheet)
    holes = plan["holes"]
    assert len(holes) > 0
    dots = plan["orientation_marks_mm"]
    assert len(dots) in (1, 2)
    wanted = len(holes) + len(dots)
    assert len(on_sheet) == wanted, f"{len(on_sheet)} discs for {wanted} holes and dots"
    for hole in holes:
        planned = sheet.at((hole["x_mm"], hole["y_mm"]))
        disc = min(on_sheet, key=lambda disc: dist(disc.centre, planned))
        assert _close(disc.centre, planned), f"{hole['tooth']}: {disc.centre}, planned {planned}"
        assert abs(disc.diameter - hole["diameter_mm"]) <= TOLERANCE_MM, hole["tooth"]
        on_sheet.remove(disc)
    for dot in dots:
        planned = sheet.at(dot)
        assert any(_close(disc.centre, planned) for disc in on_sheet), f"no dot at {planned}"
    assert abs(on_sheet[0].diameter - on_sheet[-1].diameter) <= TOLERANCE_MM
    # The legend's discs, one a role, are the only ones elsewhere.
    elsewhere = [disc for disc in discs(page) if not sheet.holds(disc.centre)]
    assert len(elsewhere) <= 4
    assert all(disc.centre[1] < sheet.bottom for disc in elsewhere)


def check_symbols(page: Drawing, sheet: _Sheet, plan: PlanData) -> None:
    """A square round each anchor, a diamond round each tooth to treat, a ring round the others."""
    rings = [circle for circle in page.circles if not circle.filled]
    rings = [ring for ring in rings if sheet.holds(ring.centre)]
    quads = [
        outline for outline in page.outlines if len(outline.points) == 4 and outline.line > 0.4
    ]
    quads = [outline for outline in quads if sheet.holds(_mean(outline.points))]
    seen = 0
    for hole in plan["holes"]:
        at, half = sheet.at((hole["x_mm"], hole["y_mm"])), hole["diameter_mm"] / 2
        round_it = [ring for ring in rings if _close(ring.centre, at)]
        shapes = [outline for outline in quads if _close(_mean(outline.points), at)]
        squares = [outline for outline in shapes if _is_square(outline)]
        diamonds = [outline for outline in shapes if _is_diamond(outline)]
        anchor, treated = hole["role"] == "anchor", hole["tooth"] in plan["treated"]
        assert len(shapes) == len(squares) + len(diamonds)
        counts = (len(squares), len(diamonds), len(round_it))
        wanted = (int(anchor), int(treated), int(not (anchor or treated)))
        assert counts == wanted, f"{hole['tooth']}: square, diamond, ring {counts}, not {wanted}"
        for ring in round_it:
            assert ring.diameter / 2 - ring.line / 2 > half
        for quad in shapes:
            edges = pairwise((*quad.points, quad.points[0]))
            assert all(_off_line(at, a, b) - quad.line / 2 > half for a, b in edges)
        seen += len(round_it) + len(shapes)
    assert seen == len(rings) + len(quads), "no symbol without a hole"


def _mean(points: Sequence[Point]) -> Point:
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))


def _is_square(outline: Outline) -> bool:
    (x, y) = _mean(outline.points)
    reach = [(abs(px - x), abs(py - y)) for px, py in outline.points]
    return all(_close(point, (reach[0][0], reach[0][0])) for point in reach)


def _is_diamond(outline: Outline) -> bool:
    (x, y) = _mean(outline.points)
    reach = sorted((abs(px - x), abs(py - y)) for px, py in outline.points)
    far = reach[-1][0]
    return all(_close(point, (0, far)) for point in reach[:2]) and all(
        _close(point, (far, 0)) for point in reach[2:]
    )


def _off_line(point: Point, a: Point, b: Point) -> float:
    """Distance of a point from the line through a and b."""
    area = (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
    return abs(area) / dist(a, b)


def check_arch(page: Drawing, sheet: _Sheet, plan: PlanData) -> None:
    """Each faint outline stands round the crown of a tooth that has no hole."""
    faint = [outline for outline in page.outlines if outline.grey > 0]
    shift = plan["sheet"]["shift_mm"]
    crowns = {
        iso: sheet.at((x - shift[0], y - shift[1]))
        for iso, (x, y) in plan["arch"]["contacts_mm"].items()
    }
    moved = {wording.split()[0] for wording in plan["case"]["with"]}
    for outline in faint:
        assert not outline.filled
        assert all(sheet.holds(point) for point in outline.points)
        at = _mean(outline.points)
        iso = _nearest(at, crowns)
        assert iso not in plan["isolated"], f"an outline where {iso} has its hole"
        assert _close(crowns[iso], at) or iso in moved, f"{iso}: outline at {at}"


def check_slots(page: Drawing, sheet: _Sheet, plan: PlanData) -> None:
    """Each slot is drawn from hole to hole in its true width, and nothing else is so wide."""
    planned = [
        (sheet.at(a), sheet.at(b), slot["width_mm"])
        for slot in plan["slots"]
        for a, b in pairwise(slot["centres_mm"])
    ]
    holes = [sheet.at((hole["x_mm"], hole["y_mm"])) for hole in plan["holes"]]
    found = [
        line
        for line in page.lines
        if any(_close(line.start, hole) for hole in holes)
        and any(_close(line.end, hole) for hole in holes)
    ]
    assert len(found) == len(planned)
    for start, end, width in planned:
        assert any(
            _close(line.start, start)
            and _close(line.end, end)
            and abs(line.line - width) <= TOLERANCE_MM
            for line in found
        )


def check_cross(page: Drawing, sheet: _Sheet) -> None:
    """Two lines of one length whose middles are the sheet's centre."""
    through = [line for line in page.lines if _close(_middle(line), sheet.centre)]
    assert len(through) == 2
    assert {(_level(line), _upright(line)) for line in through} == {(True, False), (False, True)}
    assert abs(_length(through[0]) - _length(through[1])) <= TOLERANCE_MM


def check_bars(page: Drawing, sheet: _Sheet) -> None:
    """One bar above the sheet and one left of it: 100 mm from end tick to end tick, and said so."""
    above = [line for line in page.lines if min(line.start[1], line.end[1]) > sheet.top + 1]
    beside = [line for line in page.lines if max(line.start[0], line.end[0]) < sheet.left - 1]
    # Beside a sheet shorter than itself the bar hangs down from the sheet's upper edge.
    lowest = min(sheet.bottom, sheet.top - 101)
    beside = [line for line in beside if _middle(line)[1] > lowest]
    for lines, axis in ((above, 0), (beside, 1)):
        along, across = (_level, _upright) if axis == 0 else (_upright, _level)
        bars = [line for line in lines if along(line)]
        ticks = [line for line in lines if across(line)]
        assert (len(bars), len(ticks), len(lines)) == (1, 2, 3)
        ends = sorted(_middle(tick)[axis] for tick in ticks)
        assert abs(ends[1] - ends[0] - 100) <= TOLERANCE_MM, f"bar of {ends[1] - ends[0]:.3f} mm"
        assert abs(_length(bars[0]) - 100) <= TOLERANCE_MM
        for tick in ticks:
            assert any(_close(_middle(tick), end) for end in (bars[0].start, bars[0].end))
        wording = [word for word in page.texts if word.text == "this bar is 100 mm"]
        near = min(wording, key=lambda word: dist(word.middle, _middle(bars[0])))
        assert dist(near.middle, _middle(bars[0])) < 4
        assert abs(near.end[1 - axis] - near.start[1 - axis]) <= TOLERANCE_MM, "along its bar"


def _frame_text(page: Drawing, sheet: _Sheet) -> list[Word]:
    """R, L, nose, and hole at a lone one; a primary tooth can be R or L too, in smaller type."""
    on_sheet = [word for word in page.texts if sheet.holds(word.middle)]
    return [word for word in on_sheet if word.size > 6 or word.text in ("nose", "hole")]


def check_sides(page: Drawing, sheet: _Sheet, plan: PlanData) -> None:
    """R at the left, L at the right, and an arrow to the upper edge: as one faces the patient."""
    on_sheet = {word.text: word for word in _frame_text(page, sheet)}
    lone = plan["orientation_marks_mm"] if len(plan["orientation_marks_mm"]) == 1 else []
    assert on_sheet.keys() == {"R", "L", "nose", *("hole" for _ in lone)}
    for dot in lone:
        assert dist(on_sheet["hole"].middle, sheet.at(dot)) < 8
    right, left = on_sheet["R"], on_sheet["L"]
    assert right.middle[0] < sheet.centre[0] - 30
    assert left.middle[0] > sheet.centre[0] + 30
    for word in (right, left, on_sheet["nose"]):
        assert word.start[0] < word.end[0], "read from left to right"
        assert abs(word.start[1] - word.end[1]) <= TOLERANCE_MM
        assert word.middle[1] > sheet.top - 15
    heads = [
        outline
        for outline in page.outlines
        if len(outline.points) == 3 and sheet.holds(outline.points[0])
    ]
    assert len(heads) == 1
    tip, *_, low = sorted(heads[0].points, key=lambda point: -point[1])
    assert heads[0].filled
    assert abs(tip[0] - sheet.centre[0]) <= TOLERANCE_MM
    assert tip[1] > low[1] + 1, "the arrow points up the page"
    assert tip[1] > sheet.top - 10
    assert dist(on_sheet["nose"].middle, tip) < 12


def check_numbers(page: Drawing, sheet: _Sheet, plan: PlanData) -> None:
    """Each hole has its tooth's number outside the arch and its punch position inside it.

    A number belongs to the hole that it stands nearest to. Bold is the tooth, plain the punch.
    """
    notation = plan["case"]["notation"]
    wording = [word for word in page.texts if sheet.holds(word.middle)]
    wording = [word for word in wording if word not in _frame_text(page, sheet)]
    # The words beside a line to fold along are bold too.
    numbers = [word for word in wording if word.bold and word.text != "fold"]
    holes = {hole["tooth"]: hole for hole in plan["holes"]}
    labels = {hole["punch_label"] for hole in holes.values()}
    positions = [word for word in wording if not word.bold and word.text in labels]
    centres = {iso: sheet.at((hole["x_mm"], hole["y_mm"])) for iso, hole in holes.items()}
    assert len(numbers) == len(positions) == len(holes)
    named = {_nearest(word.middle, centres): word for word in numbers}
    placed = {_nearest(word.middle, centres): word for word in positions}
    assert named.keys() == placed.keys() == holes.keys(), "a number for each hole"
    for iso, hole in holes.items():
        assert named[iso].text == label_of(iso, notation), f"{named[iso].text} stands at {iso}"
        assert placed[iso].text == hole["punch_label"], f"{placed[iso].text} stands at {iso}"
        # A tooth that was moved can leave no room on the right side of its neighbour.
        if not plan["case"]["with"]:
            out = facial_of(iso, plan)
            assert _beyond(named[iso].middle, centres[iso], out) > 0.5, f"{iso}: number inside"
            assert _beyond(placed[iso].middle, centres[iso], out) < -0.5, f"{iso}: punch outside"
    if notation == "palmer":
        for iso, word in named.items():
            _check_bracket(page, word, iso)


def _beyond(point: Point, centre: Point, out: Point) -> float:
    """How far a point lies from a centre along a unit vector."""
    return (point[0] - centre[0]) * out[0] + (point[1] - centre[1]) * out[1]


def _nearest(point: Point, centres: dict[str, Point]) -> str:
    return min(centres, key=lambda iso: dist(centres[iso], point))


def _check_bracket(page: Drawing, word: Word, iso: str) -> None:
    """A number stands in a corner that opens away from the midline and the other jaw."""
    x, y = word.middle
    near = [line for line in page.lines if dist(_middle(line), (x, y)) < 3.2 and _length(line) < 5]
    uprights = [line for line in near if _upright(line)]
    levels = [line for line in near if _level(line)]
    assert len(uprights) == len(levels) == 1, iso
    right, upper = iso[0] in "1458", iso[0] in "1256"
    assert (uprights[0].start[0] > x) == right, f"{iso}: bracket on the wrong side"
    assert (levels[0].start[1] < y) == upper, f"{iso}: bracket at the wrong end"


def label_of(iso: str, notation: str) -> str:
    """A tooth's printed number from ISO 3950, by the formulas of the Universal system.

    Palmer prints the position, its quadrant shown by the bracket.
    """
    quadrant, p = int(iso[0]), int(iso[1])
    if notation == "iso":
        return iso
    if notation == "palmer":
        return str(p) if quadrant <= 4 else "ABCDE"[p - 1]
    if quadrant <= 4:
        return str({1: 9 - p, 2: 8 + p, 3: 25 - p, 4: 24 + p}[quadrant])
    return chr(ord("A") - 1 + {5: 6 - p, 6: 5 + p, 7: 16 - p, 8: 15 + p}[quadrant])


def facial_of(iso: str, plan: PlanData) -> Point:
    """Unit vector out of the arch at a tooth, from the centres of the jaw's teeth alone."""
    centres = plan["arch"]["centres_mm"]
    order = list(centres)
    i = order.index(iso)
    before, after = centres[order[max(i - 1, 0)]], centres[order[min(i + 1, len(order) - 1)]]
    across = (after[0] - before[0], after[1] - before[1])
    normal = (-across[1] / hypot(*across), across[0] / hypot(*across))
    inside = _mean([tuple(point) for point in centres.values()])
    return normal if _beyond(centres[iso], inside, normal) > 0 else (-normal[0], -normal[1])


def check_table(page: Drawing, sheet: _Sheet, plan: PlanData) -> None:
    """Below the sheet: tooth, punch hole and diameter, column by column in the row's order."""
    below = [word for word in page.texts if word.middle[1] < sheet.bottom]
    heads = {word.text: word for word in below}
    notation = plan["case"]["notation"]
    rows = {
        "Tooth": [label_of(hole["tooth"], notation) for hole in plan["holes"]],
        "Punch hole": [hole["punch_label"] for hole in plan["holes"]],
        "Diameter mm": [f"{hole['diameter_mm']:g}" for hole in plan["holes"]],
    }
    columns = []
    for head, wanted in rows.items():
        y, end = heads[head].middle[1], heads[head].end[0]
        row = [word for word in below if abs(word.middle[1] - y) < 1.2 and word.start[0] > end]
        if head == "Diameter mm":
            slits = [word for word in row if word.text == "slit"]
            assert len(slits) == sum(len(slot["teeth"]) - 1 for slot in plan["slots"])
            row = [word for word in row if word not in slits]
        row = sorted(row, key=lambda word: word.middle[0])[: len(wanted)]
        decimal = "," if head == "Diameter mm" else "."
        assert [word.text.replace(decimal, ".") for word in row] == wanted, head
        columns.append([word.middle[0] for word in row])
    for first, other in pairwise(columns):
        assert all(abs(a - b) < 1.0 for a, b in zip(first, other, strict=True))
