"""From a case to its plan, step by step.

The arch of this mouth, the teeth to isolate, a hole for each, the holes' places, the sheet's place,
the slits, the clamps, and the sheet's place on the paper. Each step lives in a module of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, isfinite

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, ArchModel, crowns, load_model
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.jaw import Arch, build_arch
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError
from sheetmark.base.frames import MouthPoint, PagePoint, SheetPoint, mouth_to_sheet
from sheetmark.base.sources import citation
from sheetmark.case.case import Case, ToothState
from sheetmark.plan.accuracy import worst_hole
from sheetmark.plan.clamps import choose_clamps, choose_retractors
from sheetmark.plan.dentition import dentition
from sheetmark.plan.face import face_limits
from sheetmark.plan.holes import Demand, Hole, PlannedHole, choose_holes
from sheetmark.plan.isolation import Isolation, isolate
from sheetmark.plan.mouth_arch import arch_of, predicted_places
from sheetmark.plan.placement import EASE_USUAL_MM, Seat, place_holes, place_sheet, standing
from sheetmark.plan.plan import Plan, PlannedState
from sheetmark.plan.recipe import case_line
from sheetmark.plan.remarks import remarks
from sheetmark.plan.strips import check_strips, slots
from sheetmark.practice.materials import materials
from sheetmark.practice.settings import (
    BAR_STRIP_MM,
    EASE_LIMIT_MM,
    PAGE_MARGIN_LIMITS_MM,
    PAPERS,
    Paper,
    Practice,
    check_stock,
    sheet_overflow_mm,
    sheet_room_mm,
)


def make_plan(
    case: Case,
    model: ArchModel | None = None,
    practice: Practice | None = None,
    *,
    arch_name: str = "",
    even_mm: MouthPoint | None = None,
) -> Plan:
    """Plan one case on an arch model with a clinic's settings; both have defaults.

    `even_mm` puts the sheet's middle there, mouth frame: the place of the most even pull, which
    `studies.membrane.placement` computes.
    `arch_name` is what the recipe calls the model when it came from a file.
    Raises InputError, one line that says what to change, for a case that cannot be done.
    """
    model = model or load_model(DEFAULT_MODEL)
    practice = practice or Practice()
    ease_findings = _check_ease(practice.ease_mm)
    teeth = dentition(case, model)
    mouth = arch_of(case, model, teeth)
    arch = mouth.arch
    usual = practice.origin.practice if practice.origin else Practice()
    isolation = isolate(
        case,
        arch.teeth,
        model.name,
        rule=practice.row,
        usual_rule=usual.row,
        hold=practice.hold,
        usual_hold=usual.hold,
    )
    seats = [_seat(case, arch, isolation, tooth) for tooth in isolation.row]
    chosen, hole_findings = choose_holes(
        [seat.demand for seat in seats], practice, sealed=case.procedure == "root-canal"
    )
    measured = arch.jaw == "upper" and case.measures
    upper = arch if measured else build_arch(model, "upper")
    centres = place_holes(seats, practice)
    face = face_limits(practice.rules, _age(case, model))
    # A full arch has no side, whichever tooth names it.
    treated = isolation.row if case.procedure == "full-arch" else isolation.treated
    placed = place_sheet(seats, centres, treated, upper.incisal_y_mm, face, practice, even_mm)
    holes = tuple(
        _planned_hole(seat, isolation, hole, centre)
        for seat, hole, centre in zip(seats, chosen, placed.holes_mm, strict=True)
    )
    cuts = slots(case, holes)
    clamps, clamp_findings = choose_clamps(case, _anchor_necks_mm(seats), practice.tray)
    lesions_mm = _lesion_necks_mm(seats, isolation)
    paper = PAPERS[practice.paper]
    return Plan(
        case=case,
        practice=practice,
        arch=arch,
        shift_mm=placed.shift_mm,
        even=even_mm is not None,
        range_mm=placed.range_mm,
        margins=placed.margins,
        worst_hole=worst_hole(model, isolation.row, mouth.measured),
        fold_line_mm=placed.fold_line_mm,
        isolation=isolation,
        holes=holes,
        slots=cuts,
        clamps=clamps,
        retractors=choose_retractors(lesions_mm, isolation.anchors, practice.tray),
        states=_planned_states(case, arch, placed.shift_mm),
        orientation_marks_mm=practice.marks.on(practice.sheet),
        side_dash_mm=practice.marks.dash_on(practice.sheet),
        paper=paper,
        sheet_centre_on_page_mm=_sheet_on_page(paper, practice),
        findings=(
            *isolation.findings,
            *mouth.findings,
            *predicted_places(case, arch, isolation.row),
            *remarks(case, isolation),
            *hole_findings,
            *placed.findings,
            *check_strips(case, holes, cuts),
            *clamp_findings,
            *ease_findings,
            *check_stock(practice),
        ),
        sources=_sources(model, practice),
        command=case_line(case, arch_name or model.name, practice, even=even_mm is not None),
    )


def _age(case: Case, model: ArchModel) -> float | None:
    """The patient's age in years: the case's, half a year on, else the middle of the model's."""
    if case.age is not None:
        return case.age + 0.5
    return None if model.ages is None else fsum(model.ages) / 2


def _seat(case: Case, arch: Arch, isolation: Isolation, tooth: Tooth) -> Seat:
    """The tooth where it really stands, and what it demands of its hole."""
    state = case.state(tooth)
    place = standing(arch, state)
    in_neck = case.procedure == "cervical" and tooth in isolation.treated
    demand = Demand(
        name=case.write([tooth]),
        size=place.size,
        anchor=tooth in isolation.clamped,
        lesion=in_neck or state.lesion,
    )
    return Seat(place, demand)


def _planned_hole(
    seat: Seat, isolation: Isolation, hole: Hole, centre_mm: SheetPoint
) -> PlannedHole:
    """The tooth's hole with its centre in the sheet frame, mm."""
    tooth = seat.place.tooth
    return PlannedHole(
        tooth=tooth,
        role=isolation.role(tooth),
        treated=tooth in isolation.treated,
        lesion=seat.demand.lesion,
        centre_mm=centre_mm,
        facial=seat.place.facial,
        tooth_width_mm=seat.place.size.mesiodistal_mm,
        hole=hole,
    )


def _anchor_necks_mm(seats: Sequence[Seat]) -> dict[Tooth, float]:
    """The mesiodistal width of each anchor's neck, mm, from the patient's right to the left."""
    return {
        seat.place.tooth: seat.place.size.neck_mesiodistal_mm
        for seat in seats
        if seat.demand.anchor
    }


def _lesion_necks_mm(seats: Sequence[Seat], isolation: Isolation) -> dict[Tooth, float]:
    """The mesiodistal width of each neck with a lesion to treat, mm, in arch order."""
    return {
        seat.place.tooth: seat.place.size.neck_mesiodistal_mm
        for seat in seats
        if seat.demand.lesion and seat.place.tooth in isolation.treated
    }


def _planned_states(case: Case, arch: Arch, shift_mm: MouthPoint) -> tuple[PlannedState, ...]:
    """The teeth of the arch's jaw that differ from the usual, placed in the sheet frame."""
    return tuple(
        _planned_state(state, arch, shift_mm)
        for state in case.special
        if state.tooth.jaw == arch.jaw
    )


def _planned_state(state: ToothState, arch: Arch, shift_mm: MouthPoint) -> PlannedState:
    """Where the tooth stands; between its neighbours when its gap is closed."""
    if state.tooth in arch.teeth:
        near = [standing(arch, state)]
    else:
        near = sorted(arch.places, key=lambda p: abs(p.tooth.along - state.tooth.along))[:2]
    middle = MouthPoint(
        fsum(place.centre.x for place in near) / len(near),
        fsum(place.centre.y for place in near) / len(near),
    )
    return PlannedState(
        state=state, centre_mm=mouth_to_sheet(middle, shift_mm), facial=near[0].facial
    )


def _check_ease(ease_mm: float) -> tuple[Finding, ...]:
    """A finding for an ease beyond the usual. Raises InputError for one outside the limits."""
    if not (isfinite(ease_mm) and 0 <= ease_mm <= EASE_LIMIT_MM):
        raise InputError(f"ease {ease_mm:g} mm: must be 0 to {EASE_LIMIT_MM:g} mm at each pitch")
    if ease_mm <= EASE_USUAL_MM:
        return ()
    return (
        Finding(
            Code.MUCH_EASE,
            "warning",
            f"Ease of {ease_mm:g} mm at each pitch is more than {EASE_USUAL_MM:g} mm.",
            "Too much sheet between teeth wrinkles.",
            field="ease",
            value=ease_mm,
            limit=EASE_USUAL_MM,
            actions=(Action(Choice.EASE, f"{EASE_USUAL_MM:g}"),),
        ),
    )


def _sheet_on_page(paper: Paper, practice: Practice) -> PagePoint:
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
    return PagePoint(paper.width_mm / 2, top - sheet.height_mm / 2)


def _sources(model: ArchModel, practice: Practice) -> tuple[str, ...]:
    """Where the plan's numbers and rules come from, a sentence each."""
    material, ours = materials()[practice.material], Practice()
    return (
        *(f"Arch: {text}" for text in model.sources.values()),
        *(f"Gum line: {text}" for text in gum_line_table().sources.values()),
        *(f"Necks and crowns: {text}" for text in crowns().sources.values()),
        f"Stretch at break of {material.name}: {material.source} ({material.flag}), measured on "
        f"{material.tested_on}",
        f"Share of the stretch at break, {practice.share_of_break:g}: assumption",
        f"Punch diameters: a list of ours inside the range of {citation('iso-16635-1')} "
        "(assumption)"
        if practice.punch == ours.punch
        else "Punch diameters: as the clinic stated",
        "Teeth isolated, anchor, middle towards the quadrant, "
        f"{practice.marks.kind.replace('-', ' ')}: common practice, no source",
        "Distances of placement: assumptions"
        if (practice.rules, practice.marks) == (ours.rules, ours.marks)
        else "Distances of placement: assumptions, changed by the clinic",
        "Kinds, versions and ranks of clamps: common practice, no source",
    )
