"""A plan as plain data, for programs: teeth in ISO 3950, lengths in mm.

Frames: `arch.centres_mm`, `arch.contacts_mm` and `sheet.shift_mm` are in the mouth frame, holes,
slots and marks in the sheet frame, `page.sheet_centre_mm` in the page frame (see `base.frames`).
Centres are gum-line centres, where holes go; contacts are contact middles, where crowns stand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, cast

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.json_files import schema_name
from sheetmark.base.version import __version__
from sheetmark.case.case import write_expose, write_run
from sheetmark.case.exceptions import write_state
from sheetmark.plan.clamps import AnchorClamps, Choice, Retractor
from sheetmark.plan.plan import Plan

if TYPE_CHECKING:
    from sheetmark.plan.plan_file import AnchorRow, ClampRow, PlanFile, RetractorRow

FORMAT: Literal["sheetmark-plan/1"] = "sheetmark-plan/1"


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan as numbers, text, lists and dicts; lengths are rounded to 1e-9 mm."""
    return cast(dict[str, Any], _plan_file(plan))


def _plan_file(plan: Plan) -> PlanFile:
    case = plan.case
    return {
        "$schema": schema_name(FORMAT),
        "format": FORMAT,
        "sheetmark": __version__,
        "command": plan.command,
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
            "punch_mm": list(plan.practice.punch.diameters_mm),
            "material": plan.practice.material,
            "row": plan.practice.row,
            "hold": plan.practice.hold,
            "sizing": plan.practice.sizing,
            "share_of_break": plan.practice.share_of_break,
            "ease_mm": plan.practice.ease_mm,
            "shift": plan.practice.shift or plan.even,
            "even": plan.even,
            "orientation_marks": plan.practice.marks.kind,
            "frame": plan.practice.frame,
        },
        "arch": {
            "model": plan.arch_text,
            "measured": [measure.text("iso") for measure in plan.measured],
            "jaw": plan.arch.jaw,
            "centres_mm": {place.tooth.iso: _point(place.centre) for place in plan.arch.places},
            "contacts_mm": {place.tooth.iso: _point(place.contact) for place in plan.arch.places},
        },
        "sheet": {
            "width_mm": plan.sheet.width_mm,
            "height_mm": plan.sheet.height_mm,
            "shift_mm": _point(plan.shift_mm),
            "fold_line_mm": None if plan.fold_line_mm is None else _tidy(plan.fold_line_mm),
            "margins_mm": {
                "left": _tidy(plan.margins.left_mm),
                "right": _tidy(plan.margins.right_mm),
                "lower": _tidy(plan.margins.lower_mm),
                "upper": _tidy(plan.margins.upper_mm),
            },
        },
        "isolated": _isos(plan.isolation.row),
        "row_rule": plan.isolation.rule,
        "anchors": _isos(plan.isolation.anchors),
        "hold": {
            tooth.iso: "clamp" if tooth in plan.isolation.clamped else plan.isolation.hold
            for tooth in plan.isolation.anchors
        },
        "treated": _isos(plan.isolation.treated),
        "holes": [
            {
                "tooth": planned.tooth.iso,
                "role": planned.role,
                "x_mm": _tidy(planned.centre_mm[0]),
                "y_mm": _tidy(planned.centre_mm[1]),
                "diameter_mm": planned.hole.diameter_mm,
                "punch_position": planned.hole.punch_position,
                "punch_label": plan.practice.punch.label(planned.hole.punch_position),
                "stretch_at_neck": _tidy(planned.hole.stretch_at_neck),
                "stretch_passing": _tidy(planned.hole.stretch_passing),
            }
            for planned in plan.holes
        ],
        "slots": [
            {
                "teeth": _isos(slot.teeth),
                "centres_mm": [_point(centre) for centre in slot.centres],
                "width_mm": slot.width_mm,
            }
            for slot in plan.slots
        ],
        "clamps": [_clamps_json(clamps) for clamps in plan.clamps],
        "retractors": [_retractor_json(retractor) for retractor in plan.retractors],
        "centre_mark_mm": [0.0, 0.0],
        "orientation_marks_mm": [_point(mark) for mark in plan.orientation_marks_mm],
        "side_dash_mm": None
        if plan.side_dash_mm is None
        else [_point(end) for end in plan.side_dash_mm],
        "page": {
            "paper": plan.paper.name,
            "width_mm": plan.paper.width_mm,
            "height_mm": plan.paper.height_mm,
            "margin_mm": plan.practice.margin_mm,
            "sheet_centre_mm": _point(plan.sheet_centre_on_page_mm),
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
                "actions": [
                    {"choice": action.choice, "value": action.value, "drop": action.drop}
                    for action in finding.actions
                ],
            }
            for finding in plan.findings
        ],
        "sources": list(plan.sources),
    }


def _clamps_json(clamps: AnchorClamps) -> AnchorRow:
    return {
        "anchor": clamps.tooth.iso,
        "neck_mm": _tidy(clamps.neck_mm),
        "turn": clamps.turn,
        "choices": _choices_json(clamps.choices),
        "missing": clamps.missing,
    }


def _retractor_json(retractor: Retractor) -> RetractorRow:
    return {
        "tooth": retractor.tooth.iso,
        "neck_mm": _tidy(retractor.neck_mm),
        "choices": _choices_json(retractor.choices),
        "ligature": retractor.ligature,
    }


def _choices_json(choices: tuple[Choice, ...]) -> list[ClampRow]:
    return [
        {
            "rank": rank,
            "label": choice.clamp.label,
            "kind": choice.clamp.kind,
            "winged": choice.clamp.winged,
            "version": choice.clamp.version,
            "span_mm": None if choice.clamp.span_mm is None else list(choice.clamp.span_mm),
            "secondary": choice.clamp.secondary,
            "cervical": choice.clamp.cervical,
            "jaws_towards_gum": choice.clamp.jaws_towards_gum,
            "reason": choice.reason,
        }
        for rank, choice in enumerate(choices, start=1)
    ]


def _isos(teeth: tuple[Tooth, ...]) -> list[str]:
    return [tooth.iso for tooth in teeth]


def _tidy(number: float) -> float:
    return round(number, 9) + 0.0


def _point(point: tuple[float, float]) -> list[float]:
    return [_tidy(point[0]), _tidy(point[1])]
