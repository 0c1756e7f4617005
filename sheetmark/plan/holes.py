"""A punch hole for each isolated tooth, and how far the sheet stretches at it.

Crown and neck are taken as ellipses. For a hole of diameter d the stretch is the perimeter it
has to take divided by pi d: at rest round the neck, and while it passes the crown. A rim that is
worked over the crown cusp by cusp stretches less than that; round the neck nothing spares it.

These are means along a whole rim. The membrane of `studies.membrane` gives the largest stretch at
any one point, with the sheet on its frame and the crowns through. Inside a row both nearly agree:
of 84 rims in 48 rows (latex and nitrile, adult-mean) 66 came out 1.00 to 1.10 times the mean round
the neck, the worst 1.68. At the ends of a row the frame pulls at one side of the rim: 1.01 to 3.62
times, the median 1.99. `END_RIM` stands for that here, so that a plain overlay warns
without solving a membrane.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import pi, sqrt

from msgspec import Struct

from sheetmark.anatomy.jaw import ToothSize
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError
from sheetmark.base.frames import Direction, SheetPoint
from sheetmark.plan.isolation import Role
from sheetmark.practice.materials import Material, materials
from sheetmark.practice.settings import Practice, Punch

# How far the rim at an end of the row is stretched at its worst point, over its mean round the
# neck (assumption). With it overlay and membrane agreed on a torn end in 16 of 24 rows in nitrile
# and 23 of 24 in latex; no other figure, nor one for each jaw, did better. Rubber stiffens when
# stretched far, which the membrane leaves out: it has latex tear in 14 of 24 rows, 13 times away
# from the ends, where no overlay warns.
END_RIM = 2.0
TWO_STRETCHES = (
    "The stretch of a hole is the mean along its rim while the crown passes; the largest stretch "
    "of the computed sheet is that of one point, on the frame and with the crowns through."
)


class Demand(Struct, frozen=True, kw_only=True):
    """What one tooth demands of its hole."""

    name: str
    """The tooth as the case's notation writes it, for findings."""
    size: ToothSize
    """Its crown and neck, mm."""
    anchor: bool
    """Whether it holds the sheet: its hole is one size up."""
    lesion: bool
    """Whether its hole follows a lesion at the gum line: one size up again."""

    @property
    def steps_up(self) -> int:
        """How many sizes above the smallest hole that serves."""
        return self.anchor + self.lesion


class Hole(Struct, frozen=True, kw_only=True):
    """A hole of the punch, and how far the sheet stretches at it."""

    diameter_mm: float
    """The punched diameter."""
    punch_position: int
    """Its place on the punch, counted from 1."""
    stretch_at_neck: float
    """Perimeter of the neck over that of the hole, at rest."""
    stretch_passing: float
    """Perimeter of the crown over that of the hole, while the crown passes."""


class PlannedHole(Struct, frozen=True, kw_only=True):
    """The hole of one tooth, with its place on the sheet."""

    tooth: Tooth
    """The tooth that comes through."""
    role: Role
    """An anchor that is treated is an anchor."""
    treated: bool
    """Whether the tooth is treated, whatever its role."""
    lesion: bool
    """Whether the hole follows a lesion at the gum line."""
    centre_mm: SheetPoint
    """The hole's centre, sheet frame."""
    facial: Direction
    """Out of the mouth's middle."""
    tooth_width_mm: float
    """The tooth's mesiodistal width."""
    hole: Hole
    """The hole of the punch that was chosen."""


def ellipse_perimeter(axis_mm: float, other_axis_mm: float) -> float:
    """Perimeter from the two full axes, mm, by Ramanujan's second approximation (1914)."""
    a, b = axis_mm / 2, other_axis_mm / 2
    h = ((a - b) / (a + b)) ** 2
    return pi * (a + b) * (1 + 3 * h / (10 + sqrt(4 - 3 * h)))


def crown_perimeter(size: ToothSize) -> float:
    """Perimeter of the crown, mm."""
    return ellipse_perimeter(size.mesiodistal_mm, size.labiolingual_mm)


def neck_perimeter(size: ToothSize) -> float:
    """Perimeter of the neck, mm."""
    return ellipse_perimeter(size.neck_mesiodistal_mm, size.neck_labiolingual_mm)


def stretch_limit(practice: Practice) -> float:
    """The largest stretch a hole may see while the crown passes: a share of that at break."""
    return practice.share_of_break * _material(practice).stretch_at_break


def choose_holes(
    demands: Sequence[Demand], practice: Practice, *, sealed: bool = False
) -> tuple[tuple[Hole, ...], tuple[Finding, ...]]:
    """One hole for each demand, in arch order, with findings where the punch falls short.

    `sealed` says that nothing may leak past the sheet, as in a root canal treatment.
    Raises InputError for two sizes from a punch with one.
    """
    indexes = [_wished(demand, practice) for demand in demands]
    if practice.sizing == "two-size":
        indexes = _two_sizes(demands, indexes, practice.punch)
    diameters = practice.punch.ascending
    holes = tuple(
        _hole(demand, diameters[min(index, len(diameters) - 1)], practice.punch)
        for demand, index in zip(demands, indexes, strict=True)
    )
    over = _over_limit(demands, holes, practice, sealed)
    stated = over or _no_hole_up(demands, practice)
    # Nobody needs to hear of one rim twice.
    torn = any(finding.severity == "warning" for finding in over)
    return holes, (*stated, *(() if torn else _torn_end(demands, holes, practice)))


def _material(practice: Practice) -> Material:
    return materials()[practice.material]


def _hole(demand: Demand, diameter_mm: float, punch: Punch) -> Hole:
    rim = pi * diameter_mm
    return Hole(
        diameter_mm=diameter_mm,
        punch_position=punch.position(diameter_mm),
        stretch_at_neck=neck_perimeter(demand.size) / rim,
        stretch_passing=crown_perimeter(demand.size) / rim,
    )


def _smallest_that_passes(size: ToothSize, practice: Practice) -> int:
    """Index among the punch's ascending diameters; the last one when none is large enough."""
    needed = crown_perimeter(size) / (pi * stretch_limit(practice))
    diameters = practice.punch.ascending
    return next((i for i, d in enumerate(diameters) if d >= needed), len(diameters) - 1)


def _wished(demand: Demand, practice: Practice) -> int:
    """Index of the hole that suits the tooth; beyond the last where the punch has none such."""
    return _smallest_that_passes(demand.size, practice) + demand.steps_up


def _two_sizes(demands: Sequence[Demand], wished: Sequence[int], punch: Punch) -> list[int]:
    """One size for the anchors, one for all others: the smallest that serves every tooth of each.

    Two sizes for a row are common practice, no source. A choice by place on the punch, such as the
    middle and the second smallest, depends on the list of diameters, which is an assumption: the
    second smallest of ours is 1.0 mm. Round the neck of an upper first molar, where no cusp has to
    pass, that is 9.0 times at rest, and latex breaks at 9.58: the list misleads there, not the
    perimeters. So the teeth decide.
    """
    if len(punch.ascending) < 2:
        raise InputError(
            f"punch with {len(punch.ascending)} hole size: two-size needs at least 2; size the "
            "holes by the crown",
            actions=(Action(Choice.SIZING, "crown"),),
        )
    largest = {
        anchor: max(
            (i for d, i in zip(demands, wished, strict=True) if d.anchor == anchor), default=0
        )
        for anchor in (True, False)
    }
    return [largest[demand.anchor] for demand in demands]


def _over_limit(
    demands: Sequence[Demand], holes: Sequence[Hole], practice: Practice, sealed: bool
) -> tuple[Finding, ...]:
    """A warning where a rim may break while the crown passes, else a remark over the limit."""
    limit, material = stretch_limit(practice), _material(practice)
    over = [
        (demand.name, hole.stretch_passing)
        for demand, hole in zip(demands, holes, strict=True)
        if hole.stretch_passing > limit
    ]
    if not over:
        return ()
    breaks = max(stretch for _, stretch in over) > material.stretch_at_break
    named = ", ".join(f"{stretch:.2f} at {name}" for name, stretch in over)
    largest = f"{practice.punch.ascending[-1]:g} mm is the largest hole of this punch"
    if not breaks:
        # Common practice, no source.
        advice = f"{largest}: use lubricant, and pass the rim over one edge of the crown at a time."
    elif sealed:
        # Caulk: common practice, no source.
        advice = (
            f"{largest}. Joined holes and slits leak: seal one with caulk or sealing paste, and "
            "test the seal."
        )
    else:
        advice = f"{largest}: overlap two holes, or cut a slit."
    return (
        Finding(
            Code.STRETCH_OVER_LIMIT,
            "warning" if breaks else "info",
            f"Stretch while the crown passes is over the preferred {limit:.2f} "
            f"({_breaks_at(material)}): {named}.",
            advice,
            field="punch",
            value=max(stretch for _, stretch in over),
            limit=material.stretch_at_break if breaks else limit,
        ),
    )


def _torn_end(
    demands: Sequence[Demand], holes: Sequence[Hole], practice: Practice
) -> tuple[Finding, ...]:
    """A warning for an end of the row whose rim the frame may stretch beyond the break."""
    material = _material(practice)
    ends = dict.fromkeys((0, len(holes) - 1))
    torn = {
        demands[i].name: END_RIM * holes[i].stretch_at_neck
        for i in ends
        if END_RIM * holes[i].stretch_at_neck > material.stretch_at_break
    }
    if not torn:
        return ()
    return (
        Finding(
            Code.END_RIM_OVER_BREAK,
            "warning",
            f"On the frame, one side of the rim of {', '.join(torn)} may stretch "
            f"{max(torn.values()):.1f} times ({_breaks_at(material)}).",
            "Hang the sheet loosely there, and watch that rim for tears.",
            field="material",
            value=max(torn.values()),
            limit=material.stretch_at_break,
        ),
    )


def _breaks_at(material: Material) -> str:
    """At which stretch the material breaks, and what that was measured on if not on dam."""
    glove = ", measured on a glove" if material.tested_on == "glove" else ""
    return f"{material.name} breaks at {material.stretch_at_break:.2f}{glove}"


def _no_hole_up(demands: Sequence[Demand], practice: Practice) -> tuple[Finding, ...]:
    """A remark where crowns pass, but a hole that should be a size larger cannot be."""
    largest = practice.punch.ascending[-1]
    short = [d.name for d in demands if _wished(d, practice) >= len(practice.punch.ascending)]
    if not short:
        return ()
    return (
        Finding(
            Code.NO_LARGER_HOLE,
            "info",
            f"A hole over {largest:g} mm, the largest of this punch, would suit "
            f"{', '.join(short)} better.",
            "Watch the rim there for tears.",
            field="punch",
            value=largest,
        ),
    )
