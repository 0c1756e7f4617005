"""Faults planted into a plan, for a class to find: each with the words that name it in the key."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import dist
from random import Random

from msgspec.structs import replace

from sheetmark.base.frames import Direction, MouthPoint, SheetPoint
from sheetmark.plan.holes import PlannedHole
from sheetmark.plan.isolation import Role
from sheetmark.plan.plan import Plan

# From a hole's centre to the sheet's edge, where a planted fault may put it (ours).
_EDGE_MM = 12.0
# From a hole too close to its neighbour's middle, and at most this share of what is right (ours).
_CLOSE_MM = 3.5
_CLOSE = 0.6

Planted = tuple[Plan, str]
Planter = Callable[[Plan, Random], Planted | None]


def plant(plan: Plan, draw: Random, count: int) -> tuple[Plan, tuple[str, ...]]:
    """The plan with up to `count` faults of different kinds, and a sentence for each."""
    found: list[str] = []
    whole_row = False
    for planter in draw.sample(_PLANTERS, len(_PLANTERS)):
        if len(found) == count:
            break
        # Two that move the whole row would hide each other.
        if planter in _WHOLE_ROW and whole_row:
            continue
        planted = planter(plan, draw)
        if planted is not None:
            plan, sentence = planted
            found.append(sentence)
            whole_row = whole_row or planter in _WHOLE_ROW
    return plan, tuple(found)


def _mirrored(plan: Plan, draw: Random) -> Planted | None:  # noqa: ARG001  one kind only
    row = plan.isolation.row
    if row[0].side != row[-1].side:
        return None
    holes = tuple(
        replace(
            hole,
            centre_mm=SheetPoint(-hole.centre_mm.x, hole.centre_mm.y),
            facial=Direction(-hole.facial[0], hole.facial[1]),
        )
        for hole in plan.holes
    )
    side = row[0].side
    other = "left" if side == "right" else "right"
    sentence = (
        f"The holes are on the wrong side: {_row(plan)} are on the patient's {side}, and the "
    )
    return _with(plan, holes, f"{sentence}holes are marked on the {other}.")


def _wrong_way(plan: Plan, draw: Random) -> Planted | None:  # noqa: ARG001  one kind only
    x, y = plan.shift_mm
    if abs(x) < _EDGE_MM / 2:
        return None
    holes = tuple(
        replace(hole, centre_mm=SheetPoint(hole.centre_mm.x + 2 * x, hole.centre_mm.y))
        for hole in plan.holes
    )
    if not _inside(plan, holes):
        return None
    shifted = replace(plan, shift_mm=MouthPoint(-x, y))
    return _with(
        shifted,
        holes,
        "The sheet's middle was moved away from the teeth that are worked on, not towards them.",
    )


def _too_small(plan: Plan, draw: Random) -> Planted | None:
    punch = plan.practice.punch
    least = punch.ascending[0]
    large = [hole for hole in plan.holes if hole.hole.diameter_mm > 2 * least]
    if not large:
        return None
    hole = draw.choice(large)
    position = punch.position(least)
    small = replace(hole.hole, diameter_mm=least, punch_position=position)
    right, wrong = punch.label(hole.hole.punch_position), punch.label(position)
    sentence = f"Hole {_name(plan, hole)} is too small: punch hole {wrong} in place of {right}."
    return _with(plan, _changed(plan, hole, replace(hole, hole=small)), sentence)


def _left_out(plan: Plan, draw: Random) -> Planted | None:
    inner = [h for h in plan.holes[1:-1] if h.role != "anchor" and not h.treated]
    if not inner or plan.slots:
        return None
    hole = draw.choice(inner)
    holes = tuple(other for other in plan.holes if other is not hole)
    return _with(plan, holes, f"The hole for {_name(plan, hole)} is missing.")


def _too_close(plan: Plan, draw: Random) -> Planted | None:
    if len(plan.holes) < 3 or plan.slots:
        return None
    at = draw.randrange(1, len(plan.holes) - 1)
    hole, beside = plan.holes[at], plan.holes[at - 1]
    (x, y), (bx, by) = hole.centre_mm, beside.centre_mm
    share = _CLOSE_MM / dist(hole.centre_mm, beside.centre_mm)
    if share > _CLOSE:
        return None
    moved = SheetPoint(bx + share * (x - bx), by + share * (y - by))
    was, is_now = dist(hole.centre_mm, beside.centre_mm), dist(moved, beside.centre_mm)
    sentence = plan.practice.numerals(
        f"Hole {_name(plan, hole)} is too close to {_name(plan, beside)}: {is_now:.1f} mm in place "
        f"of {was:.1f} mm."
    )
    return _with(plan, _changed(plan, hole, replace(hole, centre_mm=moved)), sentence)


def _upside_down(plan: Plan, draw: Random) -> Planted | None:  # noqa: ARG001  one kind only
    if plan.practice.marks.kind != "two-dots":
        return None
    dots = tuple(SheetPoint(x, -y) for x, y in plan.orientation_marks_mm)
    turned = replace(plan, orientation_marks_mm=dots, side_dash_mm=None)
    return turned, "The two dots are at the lower edge: they belong at the upper one."


def _wrong_anchor(plan: Plan, draw: Random) -> Planted | None:  # noqa: ARG001  one kind only
    anchors = [hole for hole in plan.holes if hole.role == "anchor"]
    ends = [hole for hole in (plan.holes[0], plan.holes[-1]) if hole.role != "anchor"]
    if len(anchors) != 1 or not ends:
        return None
    (right,), wrong = anchors, ends[0]
    role: Role = "treated" if right.treated else "exposed"
    holes = _changed(plan, right, replace(right, role=role))
    sentence = f"The anchor is {_name(plan, right)}, not {_name(plan, wrong)}."
    return _with(plan, _changed(replace(plan, holes=holes), wrong, _as_anchor(wrong)), sentence)


def _as_anchor(hole: PlannedHole) -> PlannedHole:
    return replace(hole, role="anchor")


def _with(plan: Plan, holes: tuple[PlannedHole, ...], sentence: str) -> Planted:
    return replace(plan, holes=holes), sentence


def _changed(plan: Plan, old: PlannedHole, new: PlannedHole) -> tuple[PlannedHole, ...]:
    return tuple(new if kept.tooth == old.tooth else kept for kept in plan.holes)


def _name(plan: Plan, hole: PlannedHole) -> str:
    return plan.case.write([hole.tooth])


def _row(plan: Plan) -> str:
    return plan.case.write(hole.tooth for hole in plan.holes)


def _inside(plan: Plan, holes: Sequence[PlannedHole]) -> bool:
    limit = plan.sheet.width_mm / 2 - _EDGE_MM
    return all(abs(hole.centre_mm.x) < limit for hole in holes)


_WHOLE_ROW = (_mirrored, _wrong_way)
_PLANTERS: tuple[Planter, ...] = (
    _mirrored,
    _wrong_way,
    _too_small,
    _left_out,
    _too_close,
    _upside_down,
    _wrong_anchor,
)
