"""What to fetch, in which order to punch, how to place the sheet and how to take it off again.

Short lines for a person with gloves on. The source of each stands beside it, in a comment; what
has none is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from sheetmark.anatomy.teeth import Tooth
from sheetmark.plan.clamps import AnchorClamps
from sheetmark.plan.plan import Plan
from sheetmark.practice.tray import Clamp


@dataclass(frozen=True, slots=True)
class PunchTurn:
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


def clamps_in_turn(plan: Plan) -> tuple[AnchorClamps, ...]:
    """The anchors' clamps in the order in which they go on."""
    return tuple(sorted(plan.clamps, key=lambda anchor: anchor.turn))


def fetch(plan: Plan) -> tuple[str, ...]:
    """What to lay out before the patient sits down, except the clamps."""
    return (
        "The overlay of this case, printed at 100 %",
        plan.practice.numerals(f"Sheet {plan.practice.stock_sheet.name}"),
        # What a set holds: common practice, no source.
        "Punch, marker, scissors",
        "Forceps, frame, flat instrument",
        "Floss",
        "Paper tissue",
    )


def place(plan: Plan) -> tuple[str, ...]:
    """The steps from the bare sheet to a sealed row of teeth."""
    first, *later = clamps_in_turn(plan)
    lines = [
        _mark(plan),
        _punch(plan),
        *_slits(plan),
        # A ragged hole tears: Davis 1917, seen in print. A new sheet: common practice, no source.
        "Stretch the sheet, look at each hole. Not clean all round? Take a new sheet.",
        *_first_clamp(first, plan),
        # Common practice, no source, as are the five below.
        *(["Slip the sheet over the other teeth, one by one."] if len(plan.holes) > 1 else []),
        *(_later_clamp(anchor, plan) for anchor in later),
        "Frame on, its curve along the chin. Stretch left to right, hardly up and down.",
        "Floss the sheet past each contact.",
        "Turn the edges inward round each tooth with the flat instrument.",
        "Where the sheet creeps up, tie a floss ligature.",
        # Nostrils free: Black 1908, seen in print. The marks: common practice, no source.
        f"Check: {_right_way_up(plan)}, nose free.",
    ]
    return tuple(lines)


def _mark(plan: Plan) -> str:
    """Dull side to the operator: seen in print. The rest: common practice, no source."""
    marks = "both dots" if plan.practice.marks.kind == "two-dots" else "the corner hole"
    if plan.practice.stock_sheet.see_through:
        return f"Lay the sheet on the overlay, dull side up. Mark the discs, the cross, {marks}."
    return f"Lay the overlay on the sheet's dull side. Press through discs, cross, {marks}."


def _punch(plan: Plan) -> str:
    """One position of the wheel at a time: common practice, no source."""
    if plan.practice.marks.kind == "two-dots":
        return "Punch the holes in the order of the table. Leave the cross and the dots."
    return "Punch the holes in the order of the table, then the corner hole. Leave the cross."


def _right_way_up(plan: Plan) -> str:
    marks = plan.practice.marks
    if marks.kind == "two-dots":
        return "both dots up and facing you"
    return f"corner hole up at the patient's {marks.corner.removeprefix('upper-')}"


def remove(plan: Plan) -> tuple[str, ...]:
    """The steps that take the sheet off, with what has to be counted."""
    strips = strip_count(plan)
    counted = [_many(len(plan.holes), "hole"), _many(strips, "cut")]
    if plan.slots:
        counted.insert(1, _many(len(plan.slots), "slit"))
    anchors = plan.case.write(anchor.tooth for anchor in plan.clamps)
    lines = [
        # Common practice, no source.
        "Paper tissue ready. Ligatures off.",
        # Cut the strips: Sturdevant, from memory. Stretched and counted: common practice.
        *([_cut(strips)] if strips else []),
        # Common practice, no source, as is the next.
        f"Clamp off {anchors}: open the forceps no wider than needed, lift straight.",
        "Frame and sheet off together. Wipe the lips.",
        # Spread the sheet, look for missing pieces: Sturdevant, from memory.
        f"Spread the sheet: {', '.join(counted)}, no piece missing.",
        # Common practice, no source.
        "If a piece is missing, look between the teeth.",
        # A clamp on gum or bone injures, look afterwards: J Endod 2023, seen in print.
        f"Look at the gum round {anchors}.",
    ]
    return tuple(lines)


def _slits(plan: Plan) -> list[str]:
    """Both end holes, then the cut between: common practice, no source."""
    return [
        f"Slit {plan.case.write([slot.teeth[0]])}-{plan.case.write([slot.teeth[-1]])}: "
        f"both end holes first, then cut from one to the other."
        for slot in plan.slots
    ]


def _first_clamp(anchor: AnchorClamps, plan: Plan) -> list[str]:
    """How sheet and clamp go in: common practice, no source, unless a source is named."""
    tooth, clamp = plan.case.write([anchor.tooth]), anchor.first
    if clamp is None:
        return [_no_clamp(tooth)]
    # Floss tied to the clamp before it goes in: seen in print.
    tie = "Tie floss to the clamp." if len(plan.clamps) == 1 else "Tie floss to each clamp."
    # A clamp on gum injures: J Endod 2023, seen in print.
    rest = "Jaws on the tooth, not on the gum. It must not rock."
    if clamp.winged:
        return [
            tie,
            f"Hook the clamp for {tooth} by its wings into its hole{_bow(clamp)}.",
            f"Set sheet and clamp on {tooth} together. {rest}",
            "Slip the sheet off the wings with the flat instrument.",
        ]
    return [
        tie,
        f"Set the clamp on {tooth}{_bow(clamp)}. {rest}",
        f"Draw hole {tooth} over the {_bows(clamp)}, then over each jaw. "
        f"(Or {_bows(clamp)} through the hole first, then both on the tooth.)",
    ]


def _later_clamp(anchor: AnchorClamps, plan: Plan) -> str:
    """A further clamp goes over the sheet: common practice, no source."""
    tooth, clamp = plan.case.write([anchor.tooth]), anchor.first
    if clamp is None:
        return _no_clamp(tooth)
    return f"Clamp for {tooth} over the sheet{_bow(clamp)}."


def _no_clamp(tooth: str) -> str:
    return f"{tooth}: no clamp of the tray fits. Decide how to hold the sheet here."


def _bow(clamp: Clamp) -> str:
    """The bow points to the back: common practice, no source. A double bow has no such side."""
    return "" if clamp.kind == "front" else ", bow to the back"


def _bows(clamp: Clamp) -> str:
    return "bows" if clamp.kind == "front" else "bow"


def _cut(strips: int) -> str:
    """Common practice, no source, but for the cutting itself."""
    which = "the one strip" if strips == 1 else f"all {strips} strips"
    return f"Stretch the sheet outwards, a finger behind it: cut {which}. Count the cuts."


def _many(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
