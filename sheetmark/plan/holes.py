"""A punch hole for each isolated tooth, and how far the sheet stretches at it.

Crown and neck are taken as ellipses. For a hole of diameter d the stretch is the perimeter it
has to take divided by pi d: at rest round the neck, and while it passes the crown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt

from sheetmark.anatomy.jaw import ToothSize
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError
from sheetmark.base.frames import Direction, SheetPoint
from sheetmark.plan.isolation import Role
from sheetmark.practice.materials import Material, materials
from sheetmark.practice.settings import Practice, Punch


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A hole of the punch, and how far the sheet stretches at it."""

    diameter_mm: float
    """The punched diameter."""
    punch_position: int
    """Its place on the punch, counted from 1."""
    stretch_at_neck: float
    """Perimeter of the neck over that of the hole, at rest."""
    stretch_passing: float
    """Perimeter of the crown over that of the hole, while the crown passes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedHole:
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
    demands: Sequence[Demand], practice: Practice
) -> tuple[tuple[Hole, ...], tuple[Finding, ...]]:
    """One hole for each demand, in order, with findings where the punch falls short."""
    if practice.sizing == "two-size":
        holes = _two_size(demands, practice.punch)
    else:
        holes = tuple(_by_crown(demand, practice) for demand in demands)
    return holes, (
        *_over_limit(demands, holes, practice),
        *_no_hole_up(demands, practice),
    )


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


def _by_crown(demand: Demand, practice: Practice) -> Hole:
    diameters = practice.punch.ascending
    index = _smallest_that_passes(demand.size, practice) + demand.steps_up
    return _hole(demand, diameters[min(index, len(diameters) - 1)], practice.punch)


def _two_size(demands: Sequence[Demand], punch: Punch) -> tuple[Hole, ...]:
    """The middle hole for anchors, the second smallest for the rest (common practice, no source).

    Of an even number of holes the larger of the two middle ones is meant.
    """
    diameters = punch.ascending
    if len(diameters) < 2:
        raise InputError(
            f"punch with {len(diameters)} hole size: two-size needs at least 2; size the "
            "holes by the crown",
            actions=(Action(Choice.SIZING, "crown"),),
        )
    middle, second = diameters[len(diameters) // 2], diameters[1]
    return tuple(_hole(d, middle if d.anchor else second, punch) for d in demands)


def _over_limit(
    demands: Sequence[Demand], holes: Sequence[Hole], practice: Practice
) -> tuple[Finding, ...]:
    limit = stretch_limit(practice)
    over = [
        (demand.name, hole.stretch_passing)
        for demand, hole in zip(demands, holes, strict=True)
        if hole.stretch_passing > limit
    ]
    if not over:
        return ()
    named = ", ".join(f"{name} by {stretch - limit:.2f}" for name, stretch in over)
    largest = max(practice.punch.diameters_mm)
    actions: tuple[Action, ...] = ()
    if practice.sizing == "two-size":
        advice = "Take a larger hole there, or size the holes by the crown."
        actions = (Action(Choice.SIZING, "crown"),)
    else:
        advice = (
            f"{largest:g} mm is the largest hole of this punch: overlap two holes, or cut a slit."
        )
    return (
        Finding(
            Code.STRETCH_OVER_LIMIT,
            "warning",
            f"Stretch while the crown passes is over the limit of {limit:.2f} "
            f"for {practice.material}: {named}.",
            advice,
            field="punch",
            value=max(stretch for _, stretch in over),
            limit=limit,
            actions=actions,
        ),
    )


def _no_hole_up(demands: Sequence[Demand], practice: Practice) -> tuple[Finding, ...]:
    if practice.sizing == "two-size":
        return ()
    last = len(practice.punch.ascending) - 1
    short = [
        demand.name
        for demand in demands
        if _smallest_that_passes(demand.size, practice) + demand.steps_up > last
    ]
    if not short:
        return ()
    largest = practice.punch.ascending[-1]
    return (
        Finding(
            Code.NO_LARGER_HOLE,
            "warning",
            f"A hole over {largest:g} mm, the largest of this punch, would suit "
            f"{', '.join(short)} better.",
            "Watch the rim there for tears.",
            field="punch",
            value=largest,
        ),
    )
