"""The strips of sheet between neighbouring holes, and slits that join holes. Sheet frame, mm."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import dist

from msgspec import Struct

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError
from sheetmark.base.frames import SheetPoint
from sheetmark.case.case import Case, Run
from sheetmark.plan.holes import PlannedHole

NARROW_MM = 2.0  # Davis 1917, seen in print: 2 to 4 between holes
WIDE_MM = 4.0
# "Slightly more than the full tooth width apart": Black 1908, seen in print; the figure for
# slightly is an assumption. Wider strips are flagged only beyond this, as at an open gap.
MORE_THAN_TEETH_MM = 2.0


class Slot(Struct, frozen=True):
    """Neighbouring holes cut into one."""

    teeth: tuple[Tooth, ...]
    """The teeth that come through it, from the patient's right to the left."""
    centres: tuple[SheetPoint, ...]
    """The centres of the joined holes in the same order, sheet frame, mm."""
    width_mm: float
    """The slot's width: the smallest diameter of its holes."""


def slots(case: Case, holes: Sequence[PlannedHole]) -> tuple[Slot, ...]:
    """The slots that the case asks for. Raises InputError for a slit without holes at its ends."""
    return tuple(_slot(case, slit, holes) for slit in case.slits)


def _slot(case: Case, slit: Run, holes: Sequence[PlannedHole]) -> Slot:
    row = [planned.tooth for planned in holes]
    for end in (slit.start, slit.end):
        if end not in row:
            raise InputError(
                f"slit {case.write([slit.start])}-{case.write([slit.end])}: no hole for "
                f"{case.write([end])} in this case; expose it or leave out the slit"
            )
    first, last = sorted((row.index(slit.start), row.index(slit.end)))
    joined = holes[first : last + 1]
    return Slot(
        tuple(planned.tooth for planned in joined),
        tuple(planned.centre_mm for planned in joined),
        min(planned.hole.diameter_mm for planned in joined),
    )


def check_strips(
    case: Case, holes: Sequence[PlannedHole], cuts: Sequence[Slot]
) -> tuple[Finding, ...]:
    """Findings about strips that are too narrow or too wide.

    Raises InputError where holes run into each other and no slit is meant to join them.
    """
    joined = {pair for cut in cuts for pair in pairwise(cut.teeth)}
    narrow, wide = [], []
    for near, far in pairwise(holes):
        if (near.tooth, far.tooth) in joined:
            continue
        pitch = dist(near.centre_mm, far.centre_mm)
        strip = pitch - (near.hole.diameter_mm + far.hole.diameter_mm) / 2
        names = f"{case.write([near.tooth])}-{case.write([far.tooth])}"
        if strip <= 0:
            raise InputError(
                f"holes {names}: they would run into each other by {-strip:.1f} mm; "
                f"take smaller holes, add ease, or join them with a slit",
                actions=(Action(Choice.EASE), Action(Choice.SLIT, names)),
            )
        if strip < NARROW_MM:
            narrow.append((names, strip))
        beyond = pitch - (near.tooth_width_mm + far.tooth_width_mm) / 2
        if strip > WIDE_MM and beyond > MORE_THAN_TEETH_MM and not _pontic_between(case, near, far):
            wide.append((names, strip))
    return (*_narrow(narrow), *_wide(wide))


def _pontic_between(case: Case, near: PlannedHole, far: PlannedHole) -> bool:
    """A strip over a pontic cannot be spread; the remark on the pontic says what to do there."""
    return any(
        state.pontic
        and state.tooth.jaw == near.tooth.jaw
        and near.tooth.along < state.tooth.along < far.tooth.along
        for state in case.special
    )


def _narrow(strips: Sequence[tuple[str, float]]) -> tuple[Finding, ...]:
    if not strips:
        return ()
    return (
        Finding(
            Code.NARROW_STRIP,
            "warning",
            f"Narrow strip of sheet: {_listed(strips)} (under {NARROW_MM:g}).",
            "It may tear or leak. Add ease, take smaller holes, or join the holes with a slit.",
            field="ease",
            value=min(strip for _, strip in strips),
            limit=NARROW_MM,
            actions=(
                Action(Choice.EASE),
                Action(Choice.SLIT, ",".join(names for names, _ in strips)),
            ),
        ),
    )


def _wide(strips: Sequence[tuple[str, float]]) -> tuple[Finding, ...]:
    if not strips:
        return ()
    return (
        Finding(
            Code.WIDE_STRIP,
            "info",
            f"Wide strip of sheet: {_listed(strips)}.",
            "Spread it so that it does not bunch up.",
            field="with",
            value=max(strip for _, strip in strips),
            limit=WIDE_MM,
        ),
    )


def _listed(strips: Sequence[tuple[str, float]]) -> str:
    return ", ".join(f"{names} {strip:.1f} mm" for names, strip in strips)
