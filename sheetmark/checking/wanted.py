"""What a sheet should look like: the holes and marks of a plan, or of a plan's JSON file."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from sheetmark.anatomy.teeth import Notation, Tooth, read, write
from sheetmark.base.frames import SheetPoint
from sheetmark.checking.json_input import number_in, read_json
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import FORMAT
from sheetmark.practice.settings import SHEET_LIMITS_MM, Sheet


class WantedHole(Struct, frozen=True, kw_only=True):
    """A tooth's hole as planned."""

    tooth: Tooth
    """The tooth that comes through it."""
    at: SheetPoint
    """Its centre, sheet frame."""
    diameter_mm: float
    """Its diameter as punched; 0 where a drawn cross stands for it."""


class Wanted(Struct, frozen=True, kw_only=True):
    """The holes of a case and the marks that show its way up, sheet frame, mm."""

    name: str
    """The treated teeth and the procedure, for people."""
    notation: Notation
    """How its teeth are written."""
    sheet: Sheet
    """The sheet that was punched."""
    holes: tuple[WantedHole, ...]
    """The holes, from the patient's right to the left."""
    dots: tuple[SheetPoint, ...]
    """Pen marks that show the way up; empty with a corner hole."""
    dash: SheetPoint | None
    """The middle of the pen dash; None with a corner hole."""
    corner_hole: SheetPoint | None
    """The hole that shows the way up, where there is one."""
    punch_mm: tuple[float, ...]
    """Diameters of the punch's holes, the smallest first."""
    slits: tuple[tuple[Tooth, ...], ...]
    """For each slit the teeth of the holes that are cut into it."""
    command: str
    """The command line that makes the plan again."""

    def written(self, tooth: Tooth) -> str:
        """The tooth in the case's notation."""
        return write(tooth, self.notation)


def wanted_of(plan: Plan) -> Wanted:
    """What the plan's sheet should look like."""
    marks = plan.orientation_marks_mm
    lone = plan.practice.marks.kind == "corner-hole"
    return Wanted(
        name=f"{plan.case.write(plan.case.treat)} {plan.case.procedure.replace('-', ' ')}",
        notation=plan.case.notation,
        sheet=plan.sheet,
        holes=tuple(
            WantedHole(tooth=hole.tooth, at=hole.centre_mm, diameter_mm=hole.hole.diameter_mm)
            for hole in plan.holes
        ),
        dots=() if lone else marks,
        dash=None if plan.side_dash_mm is None else _middle(*plan.side_dash_mm),
        corner_hole=marks[0] if lone else None,
        punch_mm=plan.practice.punch.ascending,
        slits=tuple(slot.teeth for slot in plan.slots),
        command=plan.command,
    )


def _middle(a: SheetPoint, b: SheetPoint) -> SheetPoint:
    return SheetPoint((a.x + b.x) / 2, (a.y + b.y) / 2)


def read_wanted(data: bytes, name: str) -> Wanted:
    """What a plan's JSON file says of its sheet. Raises InputError for another file."""
    return read_json(
        data,
        name,
        what="plan",
        file_format=FORMAT,
        advice="make it with sheetmark overlay -o case.json, one jaw at a time",
        make=_wanted,
    )


def _wanted(plan: dict[str, Any]) -> Wanted:
    notation = plan["case"]["notation"]
    if notation not in ("iso", "universal", "palmer"):
        raise ValueError(f"notation {notation!r}")
    marks = tuple(_point(*mark) for mark in plan["orientation_marks_mm"])
    lone, dash = len(marks) == 1, plan.get("side_dash_mm")
    holes = tuple(
        WantedHole(
            tooth=read(hole["tooth"], "iso"),
            at=_point(hole["x_mm"], hole["y_mm"]),
            diameter_mm=number_in(hole["diameter_mm"]),
        )
        for hole in plan["holes"]
    )
    if not 1 <= len(holes) <= 32:
        raise ValueError(f"{len(holes)} holes")
    slits = tuple(tuple(read(iso, "iso") for iso in slot["teeth"]) for slot in plan["slots"])
    if not {tooth for slit in slits for tooth in slit} <= {hole.tooth for hole in holes}:
        raise ValueError("a slit without its holes")
    treated = [read(iso, "iso") for iso in plan["treated"]]
    sides = [number_in(plan["sheet"][key], *SHEET_LIMITS_MM) for key in ("width_mm", "height_mm")]
    procedure = str(plan["case"]["procedure"]).replace("-", " ")
    return Wanted(
        name=f"{' '.join(write(tooth, notation) for tooth in treated)} {procedure}",
        notation=notation,
        sheet=Sheet(*sides),
        holes=holes,
        dots=() if lone else marks,
        dash=_middle(*(_point(*end) for end in dash)) if dash else None,
        corner_hole=marks[0] if lone else None,
        punch_mm=tuple(sorted({number_in(mm) for mm in plan["settings"]["punch_mm"]})),
        slits=slits,
        command=str(plan["command"]),
    )


def _point(x: Any, y: Any) -> SheetPoint:
    return SheetPoint(number_in(x), number_in(y))
