"""In which order holes are punched and clamps go on, and what is counted."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from sheetmark.anatomy.teeth import Tooth
from sheetmark.plan.clamps import AnchorClamps, Retractor
from sheetmark.plan.plan import Plan


class PunchTurn(Struct, frozen=True):
    """All holes of one position of the punch, so that its wheel is set to it once."""

    position: int
    diameter_mm: float
    teeth: tuple[Tooth, ...]


def punching_order(plan: Plan) -> tuple[PunchTurn, ...]:
    """The positions in use, upwards round the wheel, starting after the widest gap between two.

    That turns the wheel least. Where gaps are equal, the lowest position comes first.
    """
    used = sorted({planned.hole.punch_position for planned in plan.holes})
    positions = len(plan.practice.punch.diameters_mm)
    gaps = [after - before for before, after in pairwise([used[-1] - positions, *used])]
    start = gaps.index(max(gaps))
    return tuple(
        PunchTurn(
            position,
            plan.practice.punch.diameters_mm[position - 1],
            tuple(p.tooth for p in plan.holes if p.hole.punch_position == position),
        )
        for position in used[start:] + used[:start]
    )


def strip_count(plan: Plan) -> int:
    """Strips of sheet between neighbouring holes; a slit has none inside it."""
    joined = {pair for slot in plan.slots for pair in pairwise(slot.teeth)}
    row = [planned.tooth for planned in plan.holes]
    return sum(pair not in joined for pair in pairwise(row))


def slits(plan: Plan) -> tuple[str, ...]:
    """The two ends of each slit, such as `17-16`."""
    return tuple(
        f"{plan.case.write([slot.teeth[0]])}-{plan.case.write([slot.teeth[-1]])}"
        for slot in plan.slots
    )


def clamps_in_turn(plan: Plan) -> tuple[AnchorClamps, ...]:
    """The anchors' clamps in the order in which they go on."""
    return tuple(sorted(plan.clamps, key=lambda anchor: anchor.turn))


def clamped(plan: Plan) -> tuple[AnchorClamps, ...]:
    """The anchors for which the tray has a clamp, in the order in which they go on."""
    return tuple(anchor for anchor in clamps_in_turn(plan) if anchor.first)


def open_ends(plan: Plan) -> tuple[Tooth, ...]:
    """The ends of a row of several teeth that no clamp was meant for, from right to left."""
    row, meant = plan.isolation.row, {anchor.tooth for anchor in plan.clamps}
    return tuple(tooth for tooth in (row[0], row[-1]) if len(row) > 1 and tooth not in meant)


def wedged_ends(plan: Plan) -> tuple[Tooth, ...]:
    """The open ends that a wedge or strip holds, from right to left: all but ligated anchors."""
    ligated = plan.isolation.unclamped if plan.isolation.hold == "ligature" else ()
    return tuple(tooth for tooth in open_ends(plan) if tooth not in ligated)


def gum_line(lesions: Sequence[Retractor], plan: Plan) -> str:
    """What draws the gum back from lesions that share it, by the clinic's own label."""
    first = lesions[0].first
    label = first.label if first else "floss ligature"
    return f"Gum of {plan.case.write(lesion.tooth for lesion in lesions)}: {label}"
