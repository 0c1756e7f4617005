"""The strips of sheet between neighbouring holes, and slits that join holes. mm, any frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist

from sheetmark.anatomy.chords import Point
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import Finding, InputError
from sheetmark.case.case import Case, Run

NARROW_MM = 2.0  # Davis 1917, seen in print: 2 to 4 between holes
WIDE_MM = 4.0
# "Slightly more than the full tooth width apart": Black 1908, seen in print; the figure for
# slightly is an assumption. Wider strips are flagged only beyond this, as at an open gap.
MORE_THAN_TEETH_MM = 2.0


@dataclass(frozen=True, slots=True)
class Opening:
    """A punched hole: tooth, centre and diameter, and the tooth's mesiodistal width, all mm."""

    tooth: Tooth
    centre: Point
    diameter_mm: float
    tooth_width_mm: float


@dataclass(frozen=True, slots=True)
class Slot:
    """Neighbouring holes cut into one: the holes' centres in row order, and the slot's width."""

    teeth: tuple[Tooth, ...]
    centres: tuple[Point, ...]
    width_mm: float


def slots(case: Case, openings: Sequence[Opening]) -> tuple[Slot, ...]:
    """The slots that the case asks for. Raises InputError for a slit without holes at its ends."""
    return tuple(_slot(case, slit, openings) for slit in case.slits)


def _slot(case: Case, slit: Run, openings: Sequence[Opening]) -> Slot:
    row = [opening.tooth for opening in openings]
    for end in (slit.start, slit.end):
        if end not in row:
            raise InputError(
                f"slit {case.write([slit.start])}-{case.write([slit.end])}: no hole for "
                f"{case.write([end])} in this case; expose it or leave out the slit"
            )
    first, last = sorted((row.index(slit.start), row.index(slit.end)))
    joined = openings[first : last + 1]
    return Slot(
        tuple(opening.tooth for opening in joined),
        tuple(opening.centre for opening in joined),
        min(opening.diameter_mm for opening in joined),
    )


def check_strips(
    case: Case, openings: Sequence[Opening], cuts: Sequence[Slot]
) -> tuple[Finding, ...]:
    """Findings about strips that are too narrow or too wide.

    Raises InputError where holes run into each other and no slit is meant to join them.
    """
    joined = {pair for cut in cuts for pair in pairwise(cut.teeth)}
    narrow, wide = [], []
    for one, other in pairwise(openings):
        if (one.tooth, other.tooth) in joined:
            continue
        pitch = dist(one.centre, other.centre)
        strip = pitch - (one.diameter_mm + other.diameter_mm) / 2
        names = f"{case.write([one.tooth])}-{case.write([other.tooth])}"
        if strip <= 0:
            raise InputError(
                f"holes {names}: they would run into each other by {-strip:.1f} mm; "
                f"take smaller holes, add ease, or join them with --slit {names}"
            )
        if strip < NARROW_MM:
            narrow.append((names, strip))
        beyond = pitch - (one.tooth_width_mm + other.tooth_width_mm) / 2
        if strip > WIDE_MM and beyond > MORE_THAN_TEETH_MM:
            wide.append((names, strip))
    return (*_finding("narrow-strip", narrow), *_finding("wide-strip", wide))


def _finding(code: str, strips: Sequence[tuple[str, float]]) -> tuple[Finding, ...]:
    if not strips:
        return ()
    named = ", ".join(f"{names} {strip:.1f} mm" for names, strip in strips)
    if code == "narrow-strip":
        return (
            Finding(
                code,
                "warning",
                f"Narrow strip of sheet: {named} (under {NARROW_MM:g}).",
                "It may tear or leak: add ease, take smaller holes, or a slit.",
                field="ease",
                value=min(strip for _, strip in strips),
                limit=NARROW_MM,
            ),
        )
    return (
        Finding(
            code,
            "info",
            f"Wide strip of sheet: {named}.",
            "Spread it so that it does not bunch up.",
            field="with",
            value=max(strip for _, strip in strips),
            limit=WIDE_MM,
        ),
    )
