"""The overlay: the sheet at true scale, the bars that prove it, and the words that go with it."""

from __future__ import annotations

from sheetmark import __version__
from sheetmark.documents.bars import bar
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.documents.correction import FOOT_LINE_MM, practice_name
from sheetmark.documents.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.documents.marks import Disc, Document, Line, Mark, Page, Point
from sheetmark.documents.sheet import draw_sheet
from sheetmark.documents.symbols import role_symbol, tooth_label
from sheetmark.documents.words import (
    BODY_MM,
    LEADING,
    SMALL_MM,
    Column,
    Words,
    height_of,
    set_words,
)
from sheetmark.findings import InputError
from sheetmark.plan import Plan
from sheetmark.practice.settings import BAR_STRIP_MM, Practice

BAR_MM = 100.0
_TITLE_MM = 5.6
_TABLE_HEAD_MM = 27.0
_TABLE_COLUMN_MM = 14.0
_GAP_MM = 6.0
# Below the table: the legend, or the line that points to the next page.
_LEAST_MM = 6.0

_LAY = {
    True: "Sheet on top, dull side up, edges on the outline. Mark",
    False: "Sheet is not see-through: page on top of its dull side, edges on the outline. Press "
    "through",
}
_MARKS = {"two-dots": "both dots", "corner-hole": "corner hole"}


def overlay(plan: Plan) -> Document:
    """The pages of one case: the overlay, and more only when the findings do not fit on it."""
    foot, foot_top = _foot(plan)
    page = Column(
        plan.practice.margin_mm,
        plan.sheet_centre_on_page_mm[1] - plan.sheet.height_mm / 2 - 2.0,
        plan.paper.width_mm - 2 * plan.practice.margin_mm,
        foot_top,
    )
    marks = [*draw_sheet(plan), *_bars(plan), *foot]
    how_to, y, _ = set_words([Words(_how_to(plan.practice))], page)
    heading, y = _heading(f"{_title(plan)}", page.below(y - 1.0), scale="1:1")
    table_top = y
    table, y = _table(plan, page.below(table_top))
    half = (page.width - _GAP_MM) / 2
    left = Column(page.left, y, half, page.bottom)
    right = Column(page.left + half + _GAP_MM, y, half, page.bottom)
    if _table_width(plan, page) <= half:
        right = right.below(table_top)
    over = page.bottom + _LEAST_MM - y
    if over > 0:
        raise InputError(
            f"page: the words need {over:.1f} mm more than {plan.paper.name} has below a sheet of "
            f"{plan.sheet.name} mm; shorten the reference, or take a smaller sheet or margin"
        )
    facts, facts_over = _facts(plan, left)
    notes, notes_over = _notes(_findings(plan), right, more_follows=bool(facts_over))
    marks += [*how_to, *heading, *table, *facts, *notes]
    left_over = [*notes_over, *facts_over]
    pages = [Page(plan.paper.width_mm, plan.paper.height_mm, tuple(marks))]
    while left_over:
        more, left_over = _continuation(plan, left_over)
        pages.append(more)
    return Document(_title(plan), plan.command, tuple(pages))


def _how_to(practice: Practice) -> str:
    lay, marks = _LAY[practice.stock_sheet.see_through], _MARKS[practice.marks.kind]
    return f"Print at 100 %, check both bars. {lay} discs, cross, {marks}."


def _title(plan: Plan) -> str:
    case = plan.case
    words = f"{case.write(plan.isolation.treated)} · {case.procedure.replace('-', ' ')}"
    return f"{words} · {case.reference}" if case.reference else words


def _bars(plan: Plan) -> list[Mark]:
    """A 100 mm bar across and one down, each with its words."""
    half, words = BAR_MM / 2, f"this bar is {BAR_MM:g} mm"
    x, sheet_y = plan.sheet_centre_on_page_mm
    y = plan.paper.height_mm - plan.practice.margin_mm - BAR_STRIP_MM / 2
    marks = bar((x - half, y), (x + half, y), "bar-x")
    marks.append(lettered((x, y + 1.2), words, BODY_MM, "bar-x-words", "middle"))
    x -= plan.sheet.width_mm / 2 + BAR_STRIP_MM / 2
    marks += bar((x, sheet_y - half), (x, sheet_y + half), "bar-y")
    marks.append(lettered((x - 1.2, sheet_y), words, BODY_MM, "bar-y-words", "middle", angle=90.0))
    return marks


def _heading(title: str, column: Column, scale: str = "") -> tuple[list[Mark], float]:
    marks: list[Mark] = []
    room = column.width
    if scale:
        at = (column.left + column.width, column.top - CAP_HEIGHT * _TITLE_MM - 0.9)
        mark = lettered(at, scale, _TITLE_MM, "scale", "right", bold=True)
        marks.append(mark)
        room -= mark.width + 4.0
    words = [Words(title, bold=True, size=_TITLE_MM, name="title")]
    more, y, _ = set_words(words, Column(column.left, column.top, room, column.bottom))
    return marks + more, y - 0.6


def _table(plan: Plan, column: Column) -> tuple[list[Mark], float]:
    """Tooth, role, punch position and diameter, a column a hole, in the order of the picture."""
    left, top = column.left, column.top
    end = left + _table_width(plan, column)
    step = (end - left - _TABLE_HEAD_MM) / len(plan.holes)
    marks: list[Mark] = [Line((left, top), (end, top), 0.25, "table")]
    y = top
    for head, height in (("Tooth", 6.4), ("Role", 6.4), ("Punch hole", 5.6), ("Diameter mm", 5.0)):
        middle = y - height / 2
        marks.append(
            lettered((left, middle - CAP_HEIGHT * BODY_MM / 2), head, BODY_MM, "table-head")
        )
        for number, planned in enumerate(plan.holes):
            centre = (left + _TABLE_HEAD_MM + (number + 0.5) * step, middle)
            match head:
                case "Tooth":
                    marks += tooth_label(
                        planned.tooth, plan.case.notation, centre, 4.8, "table-tooth"
                    )
                case "Role":
                    anchor = planned.role == "anchor"
                    marks += role_symbol(
                        centre, 2.0, anchor=anchor, treated=planned.treated, name="table"
                    )
                case "Punch hole":
                    label = plan.practice.punch.label(planned.hole.punch_position)
                    size = min(4.6, 4.6 * (step - 1.0) / text_width(label, 4.6, True))
                    marks.append(_cell(label, centre, size, bold=True))
                case _:
                    diameter = plan.practice.numerals(f"{planned.hole.diameter_mm:g}")
                    marks.append(_cell(diameter, centre, BODY_MM))
        y -= height
        marks.append(Line((left, y), (end, y), 0.25, "table"))
    return marks, y - 3.0


def _table_width(plan: Plan, column: Column) -> float:
    return min(_TABLE_HEAD_MM + _TABLE_COLUMN_MM * len(plan.holes), column.width)


def _cell(word: str, centre: Point, size: float, bold: bool = False) -> Mark:
    at = (centre[0], centre[1] - CAP_HEIGHT * size / 2)
    return lettered(at, word, size, "table-cell", "middle", bold)


def _facts(plan: Plan, column: Column) -> tuple[list[Mark], list[Words]]:
    """The legend, and what sheet, punch and arch the page was made for, as far as they fit."""
    marks, y = _legend(column)
    case, practice = plan.case, plan.practice
    facts = [
        Words("Outside the arch: tooth. Inside it: punch hole."),
        Words("R, L: the patient's right and left.", after_mm=2.0),
        *([Words(f"Missing {case.write(case.missing)}")] if case.missing else []),
        Words(practice.numerals(f"Sheet {practice.stock_sheet.name}")),
        Words(practice.numerals(f"Punch {_diameters(practice)} mm")),
        Words(f"Arch {plan.arch.model}, {plan.arch.jaw} jaw"),
        Words(practice.numerals(_spacing(practice.ease_mm))),
        *([] if practice.shift else [Words("Middle of the sheet not moved: no shift")]),
    ]
    more, _, left_over = set_words(facts, column.below(y))
    return marks + more, left_over


def _diameters(practice: Practice) -> str:
    """The punch's holes, with their labels where these are not just 1, 2, 3 and so on."""
    punch = practice.punch
    labels = [f"{label}: " for label in punch.labels] or [""] * len(punch.diameters_mm)
    holes = zip(labels, punch.diameters_mm, strict=True)
    return (", " if punch.labels else " ").join(f"{label}{d:g}" for label, d in holes)


def _spacing(ease_mm: float) -> str:
    if ease_mm:
        return f"Spacing: as the teeth stand, plus {ease_mm:g} mm ease"
    return "Spacing: as the teeth stand (ease 0 mm)"


def _legend(column: Column) -> tuple[list[Mark], float]:
    marks: list[Mark] = []
    x, y = column.left, column.top - 2.5
    for words, anchor, treated in (
        ("anchor: clamp", True, False),
        ("treat", False, True),
        ("exposed", False, False),
    ):
        marks += role_symbol((x + 2.5, y), 1.9, anchor=anchor, treated=treated, name="legend")
        marks.append(Disc((x + 2.5, y), 1.0, "legend"))
        text = lettered((x + 6.2, y - CAP_HEIGHT * BODY_MM / 2), words, BODY_MM, "legend")
        marks.append(text)
        x += 6.2 + text.width + 5.0
    return marks, y - 3.2


def _findings(plan: Plan) -> list[Words]:
    """Warnings first, bold and marked, then the rest."""
    ordered = sorted(plan.findings, key=lambda finding: finding.severity != "warning")
    return [
        Words(
            plan.practice.numerals(f"! {f.line}" if f.severity == "warning" else f.line),
            bold=f.severity == "warning",
        )
        for f in ordered
    ]


def _notes(
    findings: list[Words], column: Column, *, more_follows: bool = False
) -> tuple[list[Mark], list[Words]]:
    """The findings, as many as fit, with a pointer to the next page where there is one."""
    marks, _, left_over = set_words(findings, column)
    if left_over or more_follows:
        pointer = Words("! More on the next page.", bold=True)
        room = column.above(column.bottom + pointer.height(column.width))
        marks, y, left_over = set_words(findings, room)
        more, _, _ = set_words([pointer], column.below(y))
        marks += more
    return marks, left_over


def _continuation(plan: Plan, findings: list[Words]) -> tuple[Page, list[Words]]:
    """A further page of what was left over, with the title and the foot."""
    foot, foot_top = _foot(plan)
    margin = plan.practice.margin_mm
    width, top = plan.paper.width_mm - 2 * margin, plan.paper.height_mm - margin
    column = Column(margin, top, width, foot_top)
    heading, y = _heading(f"{_title(plan)} (continued)", column)
    notes, left_over = _notes(findings, column.below(y))
    marks = (*heading, *notes, *foot)
    return Page(plan.paper.width_mm, plan.paper.height_mm, marks), left_over


def _foot(plan: Plan) -> tuple[list[Mark], float]:
    """The cautions in two columns, the version and the recipe, the practice's name at the bottom,
    and the y above all."""
    margin = plan.practice.margin_mm
    width, bottom = plan.paper.width_mm - 2 * margin, margin + FOOT_LINE_MM
    half = (width - _GAP_MM) / 2
    recipe = [Words(f"sheetmark {__version__} · {plan.command}", size=SMALL_MM, name="recipe")]
    top = bottom + len(recipe[0].lines(width)) * SMALL_MM * LEADING
    marks, _, _ = set_words(recipe, Column(margin, top, width, 0.0))
    cautions = [
        Words("Take care", bold=True),
        *(Words(f"– {caution}", after_mm=0.3) for caution in CAUTIONS),
        Words(RESPONSIBILITY, bold=True),
    ]
    split = (len(cautions) + 1) // 2
    columns = (cautions[:split], cautions[split:])
    top += 1.0 + max(height_of(words, half) for words in columns)
    for left, words in zip((0.0, half + _GAP_MM), columns, strict=True):
        more, _, _ = set_words(words, Column(margin + left, top, half, 0.0))
        marks += more
    return [*marks, *practice_name(plan.practice)], top + 1.0
