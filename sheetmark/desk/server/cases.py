"""The case: what the page may choose from, and the sheet as it changes."""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool

from sheetmark.anatomy.arch_model import load_model, model_names, own_list
from sheetmark.anatomy.jaw import Arch
from sheetmark.anatomy.teeth import NOTATIONS, Tooth, read_list, write
from sheetmark.base.extras import left_out
from sheetmark.base.findings import InputError, NoAnswerError
from sheetmark.base.frames import MouthPoint
from sheetmark.base.row_rules import HOLDS, ROW_RULES
from sheetmark.case.case import (
    ACCESSES,
    AGE_LIMITS,
    MORE_LIMIT,
    PROCEDURES,
    REFERENCE_LIMIT,
)
from sheetmark.case.exceptions import state_terms
from sheetmark.desk.server.case_query import CaseQuery
from sheetmark.desk.server.chart import Chart, chart, other_jaw
from sheetmark.desk.server.desk import Desk, DeskOf
from sheetmark.desk.server.findings import FindingShown, findings_shown, problems_shown
from sheetmark.documents.case.order import punching_order
from sheetmark.documents.case.preview import sheet_alone, sheet_on_arch
from sheetmark.documents.figures.callipers import Calliper, calliper_picture, callipers
from sheetmark.documents.parts import check_reference, title
from sheetmark.documents.shift_text import shift_text
from sheetmark.jobs.choices import is_slow
from sheetmark.jobs.printing import MOST_COPIES
from sheetmark.jobs.suggestions import smaller_sheet
from sheetmark.plan.make import make_plan
from sheetmark.plan.options import SHIFTS
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import MATERIALS, STANDARD_SHEETS
from sheetmark.practice.settings import Sheet as SheetSize
from sheetmark.render.svg import render_svg

router = APIRouter()

EVEN = (
    "There the computed pull is most even: lips, cheeks and friction are left out, so it compares "
    "placements and is no clinical force"
)

View = Literal["sheet", "arch"]


class Named(BaseModel):
    """A choice: its value, and what the page calls it."""

    value: str
    label: str


class CaseStart(BaseModel):
    """What can be chosen, and what holds where nothing is chosen."""

    practice: str
    """The clinic's name; may be empty."""
    procedures: list[str]
    accesses: list[str]
    shifts: list[str]
    archs: list[Named]
    sheets: list[Named]
    notations: list[str]
    materials: list[str]
    rows: list[str]
    holds: list[str]
    sheet_in_use: str
    """Its two sides, as text."""
    notation_in_use: str
    material_in_use: str
    shift_in_use: str
    row_in_use: str
    hold_in_use: str
    printer: str
    """Its name and correction; empty without one."""
    age_most: int
    """Completed years."""
    more_most: int
    """Teeth to add in front."""
    reference_most: int
    """Characters."""
    copies_most: int
    """Copies of one case."""


@router.get("/api/start")
def start(desk: DeskOf) -> CaseStart:
    """The choices of the page, with those of the practice file in force."""
    practice = desk.practice()
    sheets = dict.fromkeys([*(kept.sheet for kept in practice.stock), *STANDARD_SHEETS])
    used = practice.printer_in_use
    return CaseStart(
        practice=practice.name,
        procedures=list(PROCEDURES),
        accesses=list(ACCESSES),
        shifts=[shift for shift in SHIFTS if shift not in left_out()],
        archs=[
            *(Named(value=name, label=load_model(name).title) for name in model_names()),
            *(
                Named(
                    value=own.name,
                    label=f"{own.name}: your own{'' if own.model else ', broken'}",
                )
                for own in own_list()
            ),
        ],
        sheets=[
            Named(value=_size(sheet), label=practice.numerals(f"{sheet.name} mm"))
            for sheet in sheets
        ],
        notations=list(NOTATIONS),
        materials=list(MATERIALS),
        rows=list(ROW_RULES),
        holds=list(HOLDS),
        notation_in_use=practice.notation,
        sheet_in_use=practice.numerals(f"{practice.sheet.name} mm"),
        material_in_use=practice.material,
        shift_in_use="rule" if practice.shift else "none",
        row_in_use=practice.row,
        hold_in_use=practice.hold,
        printer=practice.numerals(used.summary) if used else "",
        age_most=AGE_LIMITS[1],
        more_most=MORE_LIMIT,
        reference_most=REFERENCE_LIMIT,
        copies_most=MOST_COPIES,
    )


class HoleRow(BaseModel):
    """A position of the punch, its diameter in mm as text, and the teeth whose holes it makes."""

    position: str
    diameter: str
    teeth: list[str]


class ClampRow(BaseModel):
    """An anchor and the clamp for it, with the reason and the next best; empty where none fits."""

    tooth: str
    clamp: str
    reason: str
    next_best: str


class CalliperField(BaseModel):
    """A length worth measuring: what stands before the mm in `measure`, teeth by ISO 3950; its
    name and how to take it; what it comes to on this arch, in mm as text. `across` may be taken at
    other points than the gum line."""

    measure: str
    what: str
    how: str
    found: str
    across: bool


class Callipers(BaseModel):
    """What helps this row, numbered as in the picture `svg`."""

    fields: list[CalliperField]
    svg: str


class Sheet(BaseModel):
    """All that the page shows of a plan."""

    title: str
    """The case in a line."""
    isolated: list[str]
    """ISO 3950, from the patient's right to the left."""
    roles: dict[str, str]
    """The role of each isolated tooth, by ISO 3950."""
    treated: list[str]
    """ISO 3950."""
    holes: list[HoleRow]
    """In the order of punching."""
    clamps: list[ClampRow]
    """Anchors from the patient's right to the left, then lesions at the gum line."""
    findings: list[FindingShown]
    """Warnings first."""
    middle: str
    """Where the sheet's middle is in the mouth, as text."""
    sheet: str
    """Size and material of the sheet."""
    svg: str
    """The picture."""
    callipers: Callipers
    """What is worth measuring for this row."""
    command: str
    """The command line that makes the plan again."""


class Different(BaseModel):
    """A tooth that differs from the usual: its ISO number, the practice's, and how."""

    tooth: str
    label: str
    states: list[str]


class Suggestion(BaseModel):
    """What may be better, and the choice that takes it over."""

    text: str
    name: str
    value: str


class Shown(BaseModel):
    """The mouth, and the sheet for it."""

    notation: str
    """How teeth are written."""
    chart: Chart
    """Both jaws, to draw and to hit."""
    different: list[Different]
    """The teeth that differ from the usual."""
    undrawn: list[Named]
    """Teeth to treat that this row of teeth does not have."""
    sheet: Sheet | None
    """None while nothing is treated, or where there are problems."""
    suggestions: list[Suggestion]
    """What may be better."""
    problems: list[str]
    """A line each."""


class CaseView(CaseQuery):
    """A case, and whether its sheet is shown alone or on the arch."""

    view: View = "sheet"


@router.get("/api/case", response_model=Shown)
async def case(desk: DeskOf, query: Annotated[CaseView, Query()]) -> Response:
    """The mouth and the sheet as the choices stand.

    Most take some milliseconds; to hand them to a thread and back may take as many more.
    """
    if is_slow(query.choices):
        return await run_in_threadpool(shown, desk, query)
    return shown(desk, query)


def shown(desk: Desk, query: CaseView) -> Response:
    """The mouth and the sheet as the choices stand, as JSON of `Shown`."""
    states, notation = query.states(), query.practice(desk).notation
    mouth = chart(states, query.choices["age"], query.model(), notation)
    drawn = {drawn.tooth for drawn in (*mouth.upper, *mouth.lower)}
    answer = Shown(
        notation=notation,
        chart=mouth,
        undrawn=[
            Named(value=tooth.iso, label=write(tooth, notation))
            for tooth in read_list(query.treat, "iso")
            if tooth.iso not in drawn
        ],
        different=[
            Different(
                tooth=state.tooth.iso,
                label=write(state.tooth, notation),
                states=state_terms(state),
            )
            for state in states
        ],
        sheet=None,
        suggestions=[],
        problems=[],
    )
    if query.treat:
        try:
            plan = query.plan(desk)
            answer.sheet = _sheet(plan, query)
            answer.suggestions = _suggestions(plan, query)
        except InputError as error:
            answer.problems = problems_shown(error)
        except NoAnswerError as error:
            answer.problems = [f"no answer: {error}"]
    # Written here: what was just made needs no second check.
    return Response(answer.model_dump_json(), media_type="application/json")


def _size(sheet: SheetSize) -> str:
    return f"{sheet.width_mm:g}x{sheet.height_mm:g}"


def _sheet(plan: Plan, query: CaseView) -> Sheet:
    check_reference(plan)
    practice, case = plan.practice, plan.case
    number = practice.numerals
    return Sheet(
        title=title(plan),
        isolated=[tooth.iso for tooth in plan.isolation.row],
        roles={hole.tooth.iso: hole.role for hole in plan.holes},
        treated=[tooth.iso for tooth in plan.isolation.treated],
        holes=[
            HoleRow(
                position=practice.punch.label(turn.position),
                diameter=number(f"{turn.diameter_mm:g}"),
                teeth=[write(tooth, case.notation) for tooth in turn.teeth],
            )
            for turn in punching_order(plan)
        ],
        clamps=[
            ClampRow(
                tooth=write(anchor.tooth, case.notation),
                clamp=anchor.first.label if anchor.first else "",
                reason=number(anchor.choices[0].reason) if anchor.choices else "",
                next_best=anchor.choices[1].clamp.label if len(anchor.choices) > 1 else "",
            )
            for anchor in plan.clamps
        ]
        + [
            ClampRow(
                tooth=write(retractor.tooth, case.notation),
                clamp=retractor.first.label if retractor.first else "ligature for the gum",
                reason=number(
                    retractor.choices[0].reason if retractor.choices else retractor.ligature
                ),
                next_best="",
            )
            for retractor in plan.retractors
        ],
        findings=findings_shown(plan.findings, practice),
        middle=number(shift_text(plan)) + (f". {EVEN}" if plan.even else ""),
        sheet=number(practice.stock_sheet.name),
        svg=_picture(plan, query),
        callipers=_callipers(plan, query),
        command=plan.command,
    )


def _suggestions(plan: Plan, query: CaseView) -> list[Suggestion]:
    sheet = smaller_sheet(plan, query.model())
    if sheet is None:
        return []
    text = plan.practice.numerals(f"A child: the smaller sheet, {sheet.name} mm, is in stock.")
    return [Suggestion(text=text, name="sheet", value=_size(sheet))]


def _callipers(plan: Plan, query: CaseView) -> Callipers:
    # An arch that was fitted to this mouth takes no further measure.
    fitted = query.model().jaw(plan.arch.jaw).placed
    found = () if fitted else callipers(plan)
    return Callipers(
        fields=[
            CalliperField(
                measure=field.measure,
                what=field.what,
                how=field.how,
                found=plan.practice.numerals(f"{field.mm:.1f}"),
                across=field.kind == "across",
            )
            for field in found
        ],
        svg=calliper_svg(plan.arch, plan.isolation.row, found),
    )


@lru_cache(maxsize=256)  # it is the same while other choices change; some 10 kB each
def calliper_svg(arch: Arch, row: tuple[Tooth, ...], found: tuple[Calliper, ...]) -> str:
    """Where the callipers go, as SVG."""
    return render_svg(calliper_picture(arch, row, found), inline=True).decode()


def _picture(plan: Plan, query: CaseView) -> str:
    if query.view == "sheet":
        return render_svg(sheet_alone(plan), inline=True).decode()
    model = query.model()
    against = other_jaw(query.states(), query.choices["age"], model, plan.case.treat[0])
    others = {"centred": MouthPoint(0.0, 0.0)} if plan.shift_mm != (0.0, 0.0) else {}
    if plan.even:
        others["rule"] = make_plan(plan.case, model, plan.practice).shift_mm
    return render_svg(sheet_on_arch(plan, against, others), inline=True).decode()
