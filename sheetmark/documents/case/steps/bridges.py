"""The bridges that the row of a plan reaches: nothing passes between their teeth."""

from __future__ import annotations

from itertools import pairwise

from msgspec import Struct

from sheetmark.anatomy.teeth import Tooth, tooth_at
from sheetmark.plan.plan import Plan


class Bridge(Struct, frozen=True):
    """Teeth that are one piece, from the patient's right to the left."""

    teeth: tuple[Tooth, ...]
    """Abutments and pontics."""
    pontics: tuple[Tooth, ...]
    """The pontics beside or between the teeth of the row."""
    open_strip: bool
    """Whether a strip between two holes would have to pass it, which no slit has taken out."""

    def ends(self, plan: Plan) -> str:
        """Its two ends, such as `24-26`."""
        return f"{plan.case.write(self.teeth[:1])}-{plan.case.write(self.teeth[-1:])}"


def bridges(plan: Plan) -> tuple[Bridge, ...]:
    """Those with a tooth in the row, or with a pontic between two of its teeth."""
    row = plan.isolation.row
    low, high = row[0].along, row[-1].along
    joined = {pair for slot in plan.slots for pair in pairwise(slot.teeth)}
    found = []
    for teeth in _pieces(plan):
        if not any(low <= tooth.along <= high for tooth in teeth):
            continue
        pontics = tuple(
            tooth
            for tooth in teeth
            if plan.case.state(tooth).pontic and _next(low, -1) <= tooth.along <= _next(high, 1)
        )
        inside = [
            pair
            for pair in pairwise(row)
            if any(pair[0].along < tooth.along < pair[1].along for tooth in pontics)
        ]
        found.append(Bridge(teeth, pontics, any(pair not in joined for pair in inside)))
    return tuple(found)


def _pieces(plan: Plan) -> list[tuple[Tooth, ...]]:
    """Runs of abutments and pontics; pontics without any abutment, with the teeth beside them."""
    jaw = plan.arch.jaw
    places = [along for along in range(-8, 9) if along]
    states = [plan.case.state(tooth_at(jaw, along)) for along in places]
    runs: list[list[int]] = [[]]
    for at, state in enumerate(states):
        if state.pontic or state.abutment:
            runs[-1].append(at)
        elif runs[-1]:
            runs.append([])
    pieces = []
    for run in runs:
        if not any(states[at].pontic for at in run):
            continue
        first, last = run[0], run[-1]
        if not any(states[at].abutment for at in run):
            first, last = max(first - 1, 0), min(last + 1, len(places) - 1)
        pieces.append(tuple(states[at].tooth for at in range(first, last + 1)))
    return pieces


def _next(along: int, step: int) -> int:
    """The place beside this one; there is none at 0."""
    return along + step or step
