"""The plan: one frozen record of all that was decided for a case, the same as its JSON.

Holes and marks are in the sheet frame, the arch in the mouth frame, both mm (see `anatomy.jaw`).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, ArchModel, crowns, load_model
from sheetmark.anatomy.chords import Point
from sheetmark.anatomy.jaw import Arch, Place, build_arch
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import Finding, InputError
from sheetmark.base.version import __version__
from sheetmark.case.case import Case, ToothState, write_expose, write_run
from sheetmark.case.exceptions import write_state
from sheetmark.plan.clamps import AnchorClamps, choose_clamps
from sheetmark.plan.dentition import dentition
from sheetmark.plan.holes import Demand, Hole, choose_holes
from sheetmark.plan.isolation import Isolation, Role, isolate
from sheetmark.plan.placement import EASE_USUAL_MM, Margins, Seat, place_holes, place_sheet
from sheetmark.plan.recipe import command_line
from sheetmark.plan.remarks import remarks
from sheetmark.plan.strips import Opening, Slot, check_strips, slots
from sheetmark.practice.settings import (
    BAR_STRIP_MM,
    EASE_LIMIT_MM,
    PAGE_MARGIN_LIMITS_MM,
    PAPERS,
    Paper,
    Practice,
    Sheet,
    check_stock,
    materials,
    sheet_overflow_mm,
    sheet_room_mm,
)

FORMAT = "sheetmark-plan/1"


@dataclass(frozen=True, slots=True)
class PlannedHole:
    """One hole: whose, its centre in the sheet frame (mm), and the punch hole chosen."""

    tooth: Tooth
    role: Role
    treated: bool
    lesion: bool
    centre_mm: Point
    facial: Point
    hole: Hole


@dataclass(frozen=True, slots=True)
class PlannedState:
    """A tooth that is different, and where it stands or would stand, sheet frame."""

    state: ToothState
    centre_mm: Point
    facial: Point


@dataclass(frozen=True, slots=True)
class Plan:
    case: Case
    practice: Practice
    arch: Arch
    model_title: str
    shift_mm: Point
    even: bool
    range_mm: tuple[Point, Point]
    margins: Margins
    isolation: Isolation
    holes: tuple[PlannedHole, ...]
    slots: tuple[Slot, ...]
    clamps: tuple[AnchorClamps, ...]
    states: tuple[PlannedState, ...]
    orientation_marks_mm: tuple[Point, ...]
    paper: Paper
    sheet_centre_on_page_mm: Point
    findings: tuple[Finding, ...]
    sources: tuple[str, ...]
    command: str

    @property
    def sheet(self) -> Sheet:
        return self.practice.sheet

    @property
    def other_teeth(self) -> tuple[Place, ...]:
        """The jaw's teeth that stand in this mouth and do not come through the sheet."""
        shown = set(self.isolation.mouth) - set(self.isolation.row)
        return tuple(
            self.standing(place.tooth) for place in self.arch.places if place.tooth in shown
        )

    def standing(self, tooth: Tooth) -> Place:
        """The tooth where it really stands, mouth frame."""
        state = self.case.state(tooth)
        return self.arch.place(tooth).moved(state.facial_mm, state.mesial_mm, state.rotated_deg)

    def to_sheet(self, point: Point) -> Point:
        """From the mouth frame to the sheet frame, mm."""
        return (point[0] - self.shift_mm[0], point[1] - self.shift_mm[1])

    def as_json(self) -> dict[str, Any]:
        """The plan as plain data; teeth in ISO 3950, lengths in mm to 1e-9."""
        case = self.case
        return {
            "format": FORMAT,
            "sheetmark": __version__,
            "command": self.command,
            "case": {
                "treat": _isos(case.treat),
                "procedure": case.procedure,
                "notation": case.notation,
                "expose": write_expose(case.expose, "iso"),
                "more": case.more,
                "missing": _isos(case.missing),
                "present": _isos(case.present),
                "with": [write_state(state, "iso") for state in case.states],
                "anchors": _isos(case.anchors),
                "slits": [write_run(slit, "iso") for slit in case.slits],
                "access": case.access,
                "age": case.age,
                "reference": case.reference,
            },
            "settings": {
                "punch_mm": list(self.practice.punch.diameters_mm),
                "material": self.practice.material,
                "sizing": self.practice.sizing,
                "share_of_break": self.practice.share_of_break,
                "ease_mm": self.practice.ease_mm,
                "shift": self.practice.shift or self.even,
                "even": self.even,
                "orientation_marks": self.practice.marks.kind,
            },
            "arch": {
                "model": self.arch.model,
                "jaw": self.arch.jaw,
                "centres_mm": {place.tooth.iso: _point(place.centre) for place in self.arch.places},
            },
            "sheet": {
                "width_mm": self.sheet.width_mm,
                "height_mm": self.sheet.height_mm,
                "shift_mm": _point(self.shift_mm),
                "margins_mm": {
                    "left": _tidy(self.margins.left_mm),
                    "right": _tidy(self.margins.right_mm),
                    "lower": _tidy(self.margins.lower_mm),
                    "upper": _tidy(self.margins.upper_mm),
                },
            },
            "isolated": _isos(self.isolation.row),
            "anchors": _isos(self.isolation.anchors),
            "treated": _isos(self.isolation.treated),
            "holes": [
                {
                    "tooth": planned.tooth.iso,
                    "role": planned.role,
                    "x_mm": _tidy(planned.centre_mm[0]),
                    "y_mm": _tidy(planned.centre_mm[1]),
                    "diameter_mm": planned.hole.diameter_mm,
                    "punch_position": planned.hole.punch_position,
                    "punch_label": self.practice.punch.label(planned.hole.punch_position),
                    "stretch_at_neck": _tidy(planned.hole.stretch_at_neck),
                    "stretch_passing": _tidy(planned.hole.stretch_passing),
                }
                for planned in self.holes
            ],
            "slots": [
                {
                    "teeth": _isos(slot.teeth),
                    "centres_mm": [_point(centre) for centre in slot.centres],
                    "width_mm": slot.width_mm,
                }
                for slot in self.slots
            ],
            "clamps": [_clamps_json(one) for one in self.clamps],
            "centre_mark_mm": [0.0, 0.0],
            "orientation_marks_mm": [_point(mark) for mark in self.orientation_marks_mm],
            "page": {
                "paper": self.paper.name,
                "width_mm": self.paper.width_mm,
                "height_mm": self.paper.height_mm,
                "margin_mm": self.practice.margin_mm,
                "sheet_centre_mm": _point(self.sheet_centre_on_page_mm),
            },
            "findings": [
                {
                    "code": finding.code,
                    "severity": finding.severity,
                    "message": finding.message,
                    "advice": finding.advice,
                    "field": finding.field,
                    "value": None if finding.value is None else _tidy(finding.value),
                    "limit": finding.limit,
                }
                for finding in self.findings
            ],
            "sources": list(self.sources),
        }


def make_plan(
    case: Case,
    model: ArchModel | None = None,
    practice: Practice | None = None,
    *,
    arch_name: str = "",
    even_mm: Point | None = None,
) -> Plan:
    """Plan one case on an arch model with a clinic's settings; both have defaults.

    `even_mm` puts the sheet's middle there, mouth frame: the place of the most even pull, which
    `studies.membrane.placement` computes.
    `arch_name` is what the recipe calls the model when it came from a file.
    Raises InputError, one line that says what to change, for a case that cannot be done.
    """
    model = model or load_model(DEFAULT_MODEL)
    practice = practice or Practice()
    ease = _check_ease(practice.ease_mm)
    teeth = dentition(case, model)
    arch = build_arch(model, teeth.jaw, teeth.right, teeth.left)
    isolation = isolate(case, arch.teeth, model.name)
    seats = [_seat(case, arch, isolation, tooth) for tooth in isolation.row]
    demands = [
        Demand(
            seat.place.tooth,
            case.write([seat.place.tooth]),
            seat.place.size,
            anchor=seat.place.tooth in isolation.anchors,
            lesion=seat.lesion,
        )
        for seat in seats
    ]
    holes, hole_findings = choose_holes(demands, practice)
    upper_incisal_y = build_arch(model, "upper").incisal_y_mm
    centres = place_holes(seats, practice)
    placed = place_sheet(seats, centres, teeth.jaw, upper_incisal_y, practice, even_mm)
    openings = [
        Opening(seat.place.tooth, centre, hole.diameter_mm, seat.place.size.mesiodistal_mm)
        for seat, centre, hole in zip(seats, placed.holes_mm, holes, strict=True)
    ]
    cuts = slots(case, openings)
    necks = {
        seat.place.tooth: seat.place.size.neck_mesiodistal_mm
        for seat in seats
        if seat.place.tooth in isolation.anchors
    }
    clamps, clamp_findings = choose_clamps(case, necks, practice.tray)
    planned = tuple(
        PlannedHole(
            seat.place.tooth,
            isolation.role(seat.place.tooth),
            seat.place.tooth in isolation.treated,
            seat.lesion,
            centre,
            seat.place.facial,
            hole,
        )
        for seat, centre, hole in zip(seats, placed.holes_mm, holes, strict=True)
    )
    paper = PAPERS[practice.paper]
    return Plan(
        case=case,
        practice=practice,
        arch=arch,
        model_title=model.title,
        shift_mm=placed.shift_mm,
        even=even_mm is not None,
        range_mm=placed.range_mm,
        margins=placed.margins,
        isolation=isolation,
        holes=planned,
        slots=cuts,
        clamps=clamps,
        states=tuple(
            _planned_state(state, arch, placed.shift_mm)
            for state in case.special
            if state.tooth.jaw == teeth.jaw
        ),
        orientation_marks_mm=practice.marks.on(practice.sheet),
        paper=paper,
        sheet_centre_on_page_mm=_sheet_on_page(paper, practice),
        findings=(
            *isolation.findings,
            *remarks(case, isolation),
            *hole_findings,
            *placed.findings,
            *check_strips(case, openings, cuts),
            *clamp_findings,
            *ease,
            *check_stock(practice),
        ),
        sources=_sources(model, practice),
        command=command_line(case, arch_name or model.name, practice, even=even_mm is not None),
    )


def _seat(case: Case, arch: Arch, isolation: Isolation, tooth: Tooth) -> Seat:
    """The tooth where it really stands, and whether its hole follows a gumline lesion."""
    state = case.state(tooth)
    lesion = state.lesion or (case.procedure == "cervical" and tooth in isolation.treated)
    place = arch.place(tooth).moved(state.facial_mm, state.mesial_mm, state.rotated_deg)
    return Seat(place, lesion)


def _planned_state(state: ToothState, arch: Arch, shift_mm: Point) -> PlannedState:
    """Where the tooth stands; between its neighbours when its gap is closed."""
    near = [place for place in arch.places if place.tooth == state.tooth]
    if not near:
        by_distance = sorted(arch.places, key=lambda p: abs(p.tooth.along - state.tooth.along))
        near = by_distance[:2]
    else:
        near = [near[0].moved(state.facial_mm, state.mesial_mm, state.rotated_deg)]
    x = sum(place.centre[0] for place in near) / len(near) - shift_mm[0]
    y = sum(place.centre[1] for place in near) / len(near) - shift_mm[1]
    return PlannedState(state, (x, y), near[0].facial)


def _check_ease(ease_mm: float) -> tuple[Finding, ...]:
    if not (isfinite(ease_mm) and 0 <= ease_mm <= EASE_LIMIT_MM):
        raise InputError(f"ease {ease_mm:g} mm: must be 0 to {EASE_LIMIT_MM:g} mm at each pitch")
    if ease_mm <= EASE_USUAL_MM:
        return ()
    return (
        Finding(
            "much-ease",
            "warning",
            f"Ease of {ease_mm:g} mm at each pitch is more than {EASE_USUAL_MM:g} mm.",
            "Too much material between teeth wrinkles.",
            field="ease",
            value=ease_mm,
            limit=EASE_USUAL_MM,
        ),
    )


def _sheet_on_page(paper: Paper, practice: Practice) -> Point:
    """The sheet's centre on the page, mm from its lower left corner; refuses what does not fit."""
    sheet, margin = practice.sheet, practice.margin_mm
    low, high = PAGE_MARGIN_LIMITS_MM
    if not low <= margin <= high:
        raise InputError(f"page margin {margin:g} mm: must be {low:g} to {high:g} mm")
    across, down = sheet_overflow_mm(paper, margin, sheet)
    if across or down:
        width, height = sheet_room_mm(paper, margin)
        wider = f" with margins of {margin:g} mm" if margin > low else ""
        raise InputError(
            f"sheet {sheet.name} mm on {paper.name}{wider}: too large at true scale by "
            f"{across:.1f} mm across and {down:.1f} mm down; "
            f"the most that fits is {width:.1f} x {height:.1f} mm"
        )
    top = paper.height_mm - margin - BAR_STRIP_MM
    return (paper.width_mm / 2, top - sheet.height_mm / 2)


def _sources(model: ArchModel, practice: Practice) -> tuple[str, ...]:
    material, ours = materials()[practice.material], Practice()
    return (
        *(f"Arch: {text}" for text in model.sources.values()),
        *(f"Necks and crowns: {text}" for text in crowns().sources.values()),
        f"Stretch at break of {material.name}: {material.source} ({material.flag})",
        f"Share of the stretch at break, {practice.share_of_break:g}: assumption",
        "Punch diameters: a list of ours inside the range of ISO 16635-1:2013 (assumption)"
        if practice.punch == ours.punch
        else "Punch diameters: as the clinic stated",
        "Teeth isolated, anchor, middle towards the quadrant, "
        f"{practice.marks.kind.replace('-', ' ')}: common practice, no source",
        "Distances of placement: assumptions"
        if (practice.rules, practice.marks) == (ours.rules, ours.marks)
        else "Distances of placement: assumptions, changed by the clinic",
        "Kinds, versions and ranks of clamps: common practice, no source",
    )


def _clamps_json(one: AnchorClamps) -> dict[str, Any]:
    return {
        "anchor": one.tooth.iso,
        "neck_mm": _tidy(one.neck_mm),
        "turn": one.turn,
        "choices": [
            {
                "rank": rank,
                "label": choice.clamp.label,
                "kind": choice.clamp.kind,
                "winged": choice.clamp.winged,
                "version": choice.clamp.version,
                "span_mm": None if choice.clamp.span_mm is None else list(choice.clamp.span_mm),
                "secondary": choice.clamp.secondary,
                "reason": choice.reason,
            }
            for rank, choice in enumerate(one.choices, start=1)
        ],
        "missing": one.missing,
    }


def _isos(teeth: tuple[Tooth, ...]) -> list[str]:
    return [tooth.iso for tooth in teeth]


def _tidy(number: float) -> float:
    return round(number, 9) + 0.0


def _point(point: Point) -> list[float]:
    return [_tidy(point[0]), _tidy(point[1])]
