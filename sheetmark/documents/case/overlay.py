"""The overlay: the sheet at true scale, the bars that prove it, and the text that goes with it."""

from __future__ import annotations

from sheetmark.anatomy.arch_model import load_model, model_names
from sheetmark.anatomy.row_kind import kind_of_row
from sheetmark.anatomy.teeth import Notation
from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.documents.case.card import card_below, card_pages
from sheetmark.documents.case.order import clamps_in_turn, gum_line, slits
from sheetmark.documents.case.sheet import draw_sheet
from sheetmark.documents.parts import (
    GAP_MM,
    cell,
    findings,
    foot,
    heading,
    notes,
    page,
    printable,
    title,
)
from sheetmark.documents.symbols import role_symbol, tooth_label, unit_in_text
from sheetmark.plan.clamps import together
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import BAR_STRIP_MM, Practice
from sheetmark.typesetting.bars import END_MM, bar
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import Disc, Document, Line, Mark
from sheetmark.typesetting.paragraphs import BODY_MM, Column, Paragraph, set_blocks

BAR_MM = 100.0
_TABLE_HEAD_MM = 27.0
_TABLE_COLUMN_MM = 14.0
_TABLE_ROWS = (("Tooth", 6.4), ("Role", 6.4), ("Punch hole", 5.6), ("Diameter mm", 5.0))
_SLIT_WORD = "slit"
_SLIT_WORD_MM = 2.8
_SLIT_LINE_MM = 0.5
_SLIT_GAP_MM = 0.4
_SLIT_SHARE = 0.29  # of a column, from the middle between two; the figures stand beyond it
# Below the table: the legend, or the line that points to the next page.
_LEAST_MM = 6.0

# Anchor and treated, in the order of the legend.
_ROLES = {
    (True, False): "anchor",
    (True, True): "treat, and anchor",
    (False, True): "treat",
    (False, False): "exposed",
}
_LEGEND_SYMBOL_MM = 3.1
_LEGEND_LABEL_MM = 6.8
_LEGEND_GAP_MM = 5.0
_LEGEND_LINE_MM = 6.4
# An arch with this last age is that of all adults.
_OLDEST = 120

_LAY = {
    True: "Sheet on top, dull side up, edges on the outline. Mark",
    False: "Sheet is not see-through: page on top of its dull side, edges on the outline. Press "
    "through",
}
_MARKS = {"two-dots": "both dots, dash", "corner-hole": "corner hole"}

# 11-18, 21-28, 31 and 32 are teeth in two of the systems, so the page says which one is meant.
_NOTATIONS: dict[Notation, str] = {"iso": "ISO 3950", "universal": "Universal", "palmer": "Palmer"}
CHECK_EACH_HOLE = "Average arch: check each hole against the teeth before punching, or measure."
CHECK_MEASURED = "Measured arch: check each hole against the teeth before punching."


def overlay(plan: Plan, *, card: bool = True) -> Document:
    """The pages of one case: the overlay, and the case card on it if it fits, else behind it.

    Without `card`, the card is added only where the overlay's text does not fit on its page.

    Raises InputError where not even the hole table fits below the sheet.
    """
    marks, bottom = foot(plan)
    lowest = min(sheet_bottom(plan), bar_y_middle(plan) - (BAR_MM + END_MM) / 2)
    column = printable(plan).below(lowest - 2.0).above(bottom)
    use, y, _ = set_blocks([Paragraph(how_to(plan.practice))], column)
    head, table_top = heading(title(plan), column.below(y - 1.0), Paragraph("1:1", name="scale"))
    table, y = hole_table(plan, column.below(table_top))
    over = column.bottom + _LEAST_MM - y
    if over > 0:
        raise InputError(
            f"page: the text needs {over:.1f} mm more than {plan.paper.name} has below a sheet of "
            f"{plan.sheet.name} mm; shorten the reference, or take a smaller sheet or margin"
        )
    left, right = column.below(y).halves(GAP_MM)
    if _table_width(plan, column) <= left.width:
        right = right.below(table_top)
    key, y = legend(plan, left)
    fact_marks, left_y, facts_over = set_blocks(facts(plan), left.below(y))
    found = findings(plan)
    noted, right_y, left_over = notes((*found, *facts_over), right)
    marks += [*draw_sheet(plan), *sheet_bars(plan), *use, *head, *table, *key, *fact_marks, *noted]
    below = None
    if card and not left_over:
        below = card_below(plan, column.below(min(left_y, right_y) - GAP_MM))
    pages = [page(plan, marks + (below or []))]
    if left_over or (card and below is None):
        # The card holds all findings, so only the facts are left to continue there.
        pages += card_pages(plan, [block for block in left_over if block not in found])
    return Document(title(plan), plan.command, tuple(pages))


def how_to(practice: Practice) -> str:
    """How to print the page, lay it and mark the sheet: one line of text."""
    lay, marks = _LAY[practice.stock_sheet.see_through], _MARKS[practice.marks.kind]
    return f"Print at 100 %, check both bars. {lay} discs, cross, {marks}."


def sheet_bars(plan: Plan) -> list[Mark]:
    """A 100 mm bar across and one down, each with its length in words."""
    half, text = BAR_MM / 2, f"this bar is {BAR_MM:g} mm"
    x = plan.sheet_centre_on_page_mm[0]
    y = plan.paper.height_mm - plan.practice.margin_mm - BAR_STRIP_MM / 2
    marks = bar(PagePoint(x - half, y), PagePoint(x + half, y), "bar-x")
    marks.append(lettered(PagePoint(x, y + 1.2), text, BODY_MM, "bar-x-words", "middle"))
    x -= plan.sheet.width_mm / 2 + BAR_STRIP_MM / 2
    y = bar_y_middle(plan)
    marks += bar(PagePoint(x, y - half), PagePoint(x, y + half), "bar-y")
    marks.append(
        lettered(PagePoint(x - 1.2, y), text, BODY_MM, "bar-y-words", "middle", angle=90.0)
    )
    return marks


def bar_y_middle(plan: Plan) -> float:
    """The middle of the upright bar, y in mm, page frame.

    It is that of the sheet; beside a sheet shorter than the bar, the bar hangs from the sheet's
    upper edge.
    """
    return min(
        plan.sheet_centre_on_page_mm[1], sheet_bottom(plan) + plan.sheet.height_mm - BAR_MM / 2
    )


def sheet_bottom(plan: Plan) -> float:
    """The sheet's lower edge, y in mm, page frame."""
    return plan.sheet_centre_on_page_mm[1] - plan.sheet.height_mm / 2


def hole_table(plan: Plan, column: Column) -> tuple[list[Mark], float]:
    """Tooth, role, punch position and diameter: a column for each hole, in the picture's order.
    Between the diameters of holes that are cut into one stands the word slit.

    Returns the marks, and the y in mm below them, page frame.
    """
    left, top = column.left, column.top
    end = left + _table_width(plan, column)
    step = (end - left - _TABLE_HEAD_MM) / len(plan.holes)
    marks: list[Mark] = [Line(PagePoint(left, top), PagePoint(end, top), 0.25, "table")]
    y = top
    for head, height in _TABLE_ROWS:
        middle = y - height / 2
        marks.append(
            lettered(
                PagePoint(left, middle - CAP_HEIGHT * BODY_MM / 2), head, BODY_MM, "table-head"
            )
        )
        for number, planned in enumerate(plan.holes):
            centre = PagePoint(left + _TABLE_HEAD_MM + (number + 0.5) * step, middle)
            match head:
                case "Tooth":
                    marks += tooth_label(
                        planned.tooth, plan.case.notation, centre, 4.8, "table-tooth"
                    )
                case "Role":
                    anchor, treated = planned.role == "anchor", planned.treated
                    unit = unit_in_text(2.0, anchor=anchor, treated=treated)
                    marks += role_symbol(centre, unit, anchor=anchor, treated=treated, name="table")
                case "Punch hole":
                    label = plan.practice.punch.label(planned.hole.punch_position)
                    size = min(4.6, 4.6 * (step - 1.0) / text_width(label, 4.6, True))
                    marks.append(cell(label, centre, size, bold=True))
                case _:
                    diameter = plan.practice.numerals(f"{planned.hole.diameter_mm:g}")
                    marks.append(cell(diameter, centre, BODY_MM))
        y -= height
        marks.append(Line(PagePoint(left, y), PagePoint(end, y), 0.25, "table"))
    marks += _slits(plan, PagePoint(left + _TABLE_HEAD_MM, y + _TABLE_ROWS[-1][1] / 2), step)
    return marks, y - 3.0


def _slits(plan: Plan, start: PagePoint, step: float) -> list[Mark]:
    """The word slit, with a line at each side, between the figures of holes that are cut into
    one; `start` is the left end of the row's middle."""
    row = [planned.tooth for planned in plan.holes]
    room = text_width(_SLIT_WORD, _SLIT_WORD_MM) / 2 + _SLIT_GAP_MM
    marks: list[Mark] = []
    for first in (tooth for slot in plan.slots for tooth in slot.teeth[:-1]):
        middle = PagePoint(start.x + (row.index(first) + 1) * step, start.y)
        marks.append(cell(_SLIT_WORD, middle, _SLIT_WORD_MM))
        for side in (-1, 1):
            near, far = (
                PagePoint(middle.x + side * off, middle.y) for off in (room, _SLIT_SHARE * step)
            )
            marks.append(Line(near, far, _SLIT_LINE_MM, "table-slit"))
    return marks


def _table_width(plan: Plan, column: Column) -> float:
    return min(_TABLE_HEAD_MM + _TABLE_COLUMN_MM * len(plan.holes), column.width)


def facts(plan: Plan) -> list[Paragraph]:
    """How the picture is read, and what sheet, punch and arch it was made for."""
    case, practice = plan.case, plan.practice
    return [
        *_to_do(plan),
        *_check_each_hole(plan),
        Paragraph(f"Outside the arch: tooth ({_NOTATIONS[case.notation]}). Inside it: punch hole."),
        Paragraph("R, L: the patient's right and left.", after_mm=2.0),
        *([Paragraph(f"Missing {case.write(case.missing)}")] if case.missing else []),
        Paragraph(practice.numerals(f"Sheet {practice.stock_sheet.name}")),
        Paragraph(practice.numerals(f"Punch {_diameters(practice)} mm")),
        Paragraph(f"Arch {plan.arch_text}{_ages(plan)}, {plan.arch.jaw} jaw"),
        *_accuracy(plan),
        Paragraph(practice.numerals(_spacing(practice.ease_mm))),
        *_middle(plan),
    ]


def _to_do(plan: Plan) -> list[Paragraph]:
    """Each clamp by the clinic's own label, and each slit: this page alone can be used."""
    lines = [
        f"Clamp for {plan.case.write([anchor.tooth])}: "
        f"{anchor.first.label if anchor.first else 'none of the tray fits'}"
        for anchor in clamps_in_turn(plan)
    ]
    lines += [gum_line(lesions, plan) for lesions in together(plan.retractors)]
    lines += [f"Slit {slit}: punch its holes, then cut from end to end." for slit in slits(plan)]
    return [Paragraph(line, bold=True) for line in lines]


def _check_each_hole(plan: Plan) -> list[Paragraph]:
    """For rows that an arch may miss by much unless the teeth were seen; early, so that page one
    has it."""
    if kind_of_row(plan.isolation.row) in (None, "one-sided") or plan.arch.seen:
        return []
    if plan.measured:
        return [Paragraph(CHECK_MEASURED, bold=True)]
    return [Paragraph(CHECK_EACH_HOLE, bold=True)] if plan.arch.model in model_names() else []


def _accuracy(plan: Plan) -> list[Paragraph]:
    """How far the page may be off from the teeth."""
    if kind_of_row(plan.isolation.row) is None:
        return []
    off = plan.worst_hole
    if off is None:
        return [Paragraph("How far holes are off on this arch is not known: check each.")]
    text = (
        f"Worst hole: within {off.half_mm:.1f} mm in half of mouths, {off.most_mm:.1f} mm in 95 %."
    )
    return [Paragraph(plan.practice.numerals(text))]


def _ages(plan: Plan) -> str:
    """The ages that the arch stands for, where it was taken for a child's age."""
    name = plan.arch.model
    ages = load_model(name).ages if plan.case.age is not None and name in model_names() else None
    if ages is None or ages[1] >= _OLDEST:
        return ""
    return f" (for ages {ages[0]} to {ages[1]})"


def _diameters(practice: Practice) -> str:
    """The punch's holes, with their labels where these are not just 1, 2, 3 and so on."""
    punch = practice.punch
    labels = [f"{label}: " for label in punch.labels] or [""] * len(punch.diameters_mm)
    holes = zip(labels, punch.diameters_mm, strict=True)
    # A comma inside the numbers cannot also stand between them.
    between = "; " if practice.numbers == "comma" else ", "
    return between.join(f"{label}{d:g}" for label, d in holes)


def _middle(plan: Plan) -> list[Paragraph]:
    if plan.even:
        return [
            Paragraph(
                "Middle of the sheet: where the computed pull is most even, without lips, cheeks "
                "and friction"
            )
        ]
    return [] if plan.practice.shift else [Paragraph("Middle of the sheet: not moved")]


def _spacing(ease_mm: float) -> str:
    if ease_mm:
        return f"Spacing: as the teeth stand, each distance {ease_mm:g} mm longer"
    return "Spacing: as the teeth stand"


def _held_by(plan: Plan) -> str:
    """What holds the sheet at the anchors of this row."""
    held = plan.isolation
    holds = (*(["clamp"] if held.clamped else []), *([held.hold] if held.unclamped else []))
    return " or ".join(holds)


def legend(plan: Plan, column: Column) -> tuple[list[Mark], float]:
    """What the shapes round the plan's holes mean, and what holds the sheet at its anchors.

    Returns the marks, and the y in mm below them, page frame.
    """
    marks: list[Mark] = []
    x, y = column.left, column.top - 2.5
    shown = {(planned.role == "anchor", planned.treated) for planned in plan.holes}
    for (anchor, treated), label in _ROLES.items():
        if (anchor, treated) not in shown:
            continue
        text = f"{label}: {_held_by(plan)}" if anchor else label
        width = _LEGEND_LABEL_MM + text_width(text, BODY_MM)
        if x > column.left and x + width > column.left + column.width:
            x, y = column.left, y - _LEGEND_LINE_MM
        at = PagePoint(x + _LEGEND_SYMBOL_MM, y)
        unit = unit_in_text(1.9, anchor=anchor, treated=treated)
        marks += role_symbol(at, unit, anchor=anchor, treated=treated, name="legend")
        marks.append(Disc(at, 1.0, "legend"))
        start = PagePoint(x + _LEGEND_LABEL_MM, y - CAP_HEIGHT * BODY_MM / 2)
        marks.append(lettered(start, text, BODY_MM, "legend"))
        x += width + _LEGEND_GAP_MM
    return marks, y - 3.2
