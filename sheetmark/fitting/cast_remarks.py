"""What is worth saying of a cast: points that do not belong, and what no arch model can hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import dist
from statistics import mean

from sheetmark.anatomy.chords import Chord
from sheetmark.anatomy.teeth import SIDES, Tooth, tooth_of_slot
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice
from sheetmark.fitting.cast import ENDS, TOUCH_MM, Cast, OddWidth, Rows, between, gaps_between
from sheetmark.fitting.fit import Draft, Seen

# A tooth laid further than this from its landmarks is worth a word (assumption).
PLACE_MM = 1.0


def say_strays(cast: Cast, off_mm: Sequence[float], limit: float, draft: Draft) -> set[Tooth]:
    """Name the points that lie off the curve; the teeth named."""
    write, named = draft.origin.write, set()
    for tooth in cast.teeth:
        off = {end: off_mm[cast.number(tooth, end)] for end in ENDS}
        off = {end: mm for end, mm in off.items() if abs(mm) > limit}
        if not off:
            continue
        named.add(tooth)
        figures = " and ".join(f"{end} point {_way(mm)}" for end, mm in off.items())
        advice = "Check the point."
        actions: tuple[Action, ...] = ()
        if len(off) == 2:
            at = mean(off.values())
            word = "facial" if at > 0 else "lingual"
            advice = (
                f"Check both points. If the tooth does stand there, say so in each case: "
                f"{abs(at):.1f} mm {word}."
            )
            actions = (Action(Choice.WITH, f"{write(tooth)} {word} {abs(at):.1f}"),)
        draft.warn(
            Code.STRAY_POINT,
            f"{write(tooth)} left out: {figures} of the arch, limit {limit:.1f}.",
            advice,
            max(abs(mm) for mm in off.values()),
            limit,
            actions,
        )
    return named


def say_odd(odd: Mapping[Tooth, OddWidth], draft: Draft) -> None:
    """Name the teeth whose two points cannot both be right."""
    for tooth, found in odd.items():
        draft.warn(
            Code.ODD_WIDTH,
            f"{draft.origin.write(tooth)}: its points lie {found.mm:.2f} mm apart, usual is "
            f"{found.usual_mm:.2f}. Left out: {' and '.join(found.ends)}.",
            "Check the point." if len(found.ends) == 1 else "Check both points.",
            found.mm,
            found.usual_mm,
        )


def _way(mm: float) -> str:
    return f"{abs(mm):.1f} mm {'facial' if mm > 0 else 'lingual'}"


def say_places(
    cast: Cast, seen: Sequence[Seen], rows: Rows, chords: Mapping[Tooth, Chord], draft: Draft
) -> None:
    """What of this mouth the model cannot hold: crowding, closed or wide gaps, teeth elsewhere."""
    write = draft.origin.write
    crowded = [
        " and ".join(write(tooth_of_slot(cast.jaw, side, slot)) for slot in slots) + f" {-mm:.1f}"
        for slots, gaps in gaps_between(cast, rows).items()
        for side, mm in gaps.items()
        if mm <= -TOUCH_MM
    ]
    if crowded:
        draft.warn(
            Code.CROWDING,
            f"Neighbours overlap, mm: {', '.join(crowded)}. The model lays them touching, which "
            f"takes more room.",
            "Describe displaced and turned teeth in each case.",
        )
    for side in SIDES:
        for first, other in pairwise(cast.of_side(side)):
            absent = [tooth_of_slot(cast.jaw, side, s) for s in between(first, other, rows[side])]
            found = dist(cast.at(first, "distal"), cast.at(other, "mesial"))
            laid = dist(chords[first].end, chords[other].start)
            if absent and abs(found - laid) > PLACE_MM:
                names = ", ".join(write(tooth) for tooth in absent)
                alone = len(absent) == 1
                draft.warn(
                    Code.GAP_DIFFERS,
                    f"{names} not among the landmarks: {found:.1f} mm from {write(first)} to "
                    f"{write(other)}, where the model has {laid:.1f}.",
                    f"If {'it is' if alone else 'they are'} missing, give the gap in each case.",
                    found,
                    laid,
                    (Action(Choice.WITH, f"{names} missing gap {found:.1f}"),) if alone else (),
                )
    away = [
        f"{write(tooth.tooth)} {tooth.off_place_mm:.1f}"
        for tooth in seen
        if all(tooth.kept) and tooth.off_place_mm > PLACE_MM
    ]
    if away:
        draft.warn(
            Code.OFF_PLACE,
            f"Laid more than {PLACE_MM:g} mm from the landmarks, mm: {', '.join(away)}.",
            "The cause is crowding, a gap or unlike sides. Describe displaced teeth in each case.",
        )
