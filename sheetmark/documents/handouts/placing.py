"""The steps of placing and removing, with a drawing each: winged, wingless, and off again."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from math import ceil

from msgspec.structs import replace

from sheetmark.anatomy.jaw import build_arch
from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.base.sources import cite, cite_short
from sheetmark.case.case import Case
from sheetmark.documents.case.steps.place import place
from sheetmark.documents.case.steps.sheet import prepare_sheet
from sheetmark.documents.case.steps.step import Step, StepName
from sheetmark.documents.case.steps.take_off import take_off
from sheetmark.documents.handouts import drawings as draw
from sheetmark.documents.handouts.lesson import NO_SCALE, Lesson
from sheetmark.documents.handouts.pieces import Drawing, Panel
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.rows import SECOND_MOLAR
from sheetmark.practice.tray import DEFAULT_TRAY
from sheetmark.typesetting.labels import Box
from sheetmark.typesetting.marks import Document, Mark, Page
from sheetmark.typesetting.paragraphs import Column, set_blocks

TITLE = "Placing and taking off"
_COLUMNS = 4
_GAP_MM = 4.0
_CAPTION_MM = 22.5
_PICTURE_LIMIT_MM = 44.0
_STEP_MM = 3.3
SOURCES = (
    "Dull side to the operator, floss tied to the clamp first: seen in print",
    f"A ragged hole tears, look at each: {cite('davis-1917')}",
    f"Nostrils free: {cite('black-1908')}",
    f"Frame before the strips are worked between the teeth: {cite_short('sturdevant')}",
    f"Cut the strips, spread the sheet, look for pieces: {cite_short('sturdevant')}",
    f"A clamp on gum or bone injures: {cite('j-endod-2023')}",
    "All other steps: common practice, no source",
    "Drawings: made from the arch model; clamp and frame are diagrams (ours)",
)


def placing(lesson: Lesson) -> Document:
    """Three pages: on with a winged clamp, on with a wingless one, and off."""
    winged, wingless = (_plan(lesson, winged=winged) for winged in (True, False))
    pages = (
        _page(lesson, "Placing · winged clamp", winged, _all(winged)),
        _page(lesson, "Placing · wingless clamp", wingless, _all(wingless)),
        _page(lesson, "Taking off", winged, take_off(winged)),
    )
    return Document(TITLE, lesson.command, pages)


def _all(plan: Plan) -> tuple[Step, ...]:
    return (*prepare_sheet(plan), *place(plan))


def _plan(lesson: Lesson, *, winged: bool) -> Plan:
    """A usual row with one anchor, and clamps of one sort only."""
    tray = tuple(replace(clamp, winged=winged) for clamp in DEFAULT_TRAY)
    practice = replace(lesson.practice, tray=tray)
    molars = [
        tooth
        for tooth in build_arch(lesson.model, "upper").teeth
        if tooth.side == "right" and tooth.position <= SECOND_MOLAR
    ]
    plan = make_plan(Case(treat=(molars[1],), notation=practice.notation), lesson.model, practice)
    if len(plan.isolation.anchors) != 1 or len(plan.holes) < 3:
        raise InputError(f"steps: arch model {lesson.model.name} has no usual row of molars")
    return plan


def _drawings(*, winged: bool) -> dict[StepName, Drawing]:
    """A drawing for each step of a usual row."""
    return {
        "mark": draw.mark_sheet,
        "punch": draw.punch_holes,
        "look-at-holes": draw.look_at_holes,
        "lubricate": draw.lubricate,
        "tie-floss": partial(draw.tie_floss, winged=winged),
        "hook-wings": draw.hook_wings,
        "set-together": draw.set_together,
        "off-wings": draw.slip_off_wings,
        "clamp-alone": draw.clamp_alone,
        "draw-over": draw.draw_over,
        "frame": draw.put_frame_on,
        "slip-over": partial(draw.slip_over_others, winged=winged),
        "floss": partial(draw.floss_contacts, winged=winged),
        "hold-end": partial(draw.hold_end, winged=winged),
        "turn-in": partial(draw.turn_edges_in, winged=winged),
        "ligature": partial(draw.tie_ligature, winged=winged),
        "fold": draw.last_look,
        "last-look": draw.last_look,
        "ligatures-off": partial(draw.ligatures_off, winged=winged),
        "cut": partial(draw.cut_strips, winged=winged),
        "clamp-off": partial(draw.clamp_off, winged=winged),
        "frame-off": draw.frame_and_sheet_off,
        "spread": draw.spread_and_count,
        "piece-missing": draw.piece_missing,
        "look-at-gum": draw.look_at_gum,
    }


def _page(lesson: Lesson, title: str, plan: Plan, steps: Sequence[Step]) -> Page:
    """Panels from left to right, row by row, each drawing above its numbered words."""
    marks, column = lesson.leaf(title, NO_SCALE, SOURCES)
    width = (column.width - (_COLUMNS - 1) * _GAP_MM) / _COLUMNS
    lines = ceil(len(steps) / _COLUMNS)
    height = min((column.top - column.bottom) / lines, _PICTURE_LIMIT_MM + _CAPTION_MM)
    high = height - _CAPTION_MM
    winged = any(clamp.first and clamp.first.winged for clamp in plan.clamps)
    drawings = _drawings(winged=winged)
    for number, step in enumerate(steps):
        left = column.left + (number % _COLUMNS) * (width + _GAP_MM)
        top = column.top - (number // _COLUMNS) * height
        box = Box(PagePoint(left + width / 2, top - high / 2), width, high)
        marks += drawings[step.name](Panel(plan, box))
        below = Column(left=left, top=top - high - 1.0, width=width, bottom=top - height)
        marks += _caption(lesson, number + 1, step.text, below)
    return lesson.page(marks)


def _caption(lesson: Lesson, number: int, step: str, column: Column) -> list[Mark]:
    caption = lesson.paragraph(
        step, size=_STEP_MM, name="step", lead=str(number), indent_mm=5.2, after_mm=0.0
    )
    marks, _, left_over = set_blocks([caption], column)
    if left_over:
        raise InputError(
            "steps: too little room for the words below the drawings; take A4 paper, or a smaller "
            "page margin"
        )
    return marks
