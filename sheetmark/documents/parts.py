"""What the pages of a case share: title, heading, findings, the foot with its cautions, cells."""

from __future__ import annotations

from collections.abc import Sequence

from sheetmark.anatomy.teeth import Notation, Tooth, name_of
from sheetmark.base.findings import InputError, warnings_first
from sheetmark.base.frames import PagePoint
from sheetmark.base.version import __version__
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.documents.correction import FOOT_LINE_MM, practice_name
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import PAPERS, Paper, Practice
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, unwritable
from sheetmark.typesetting.marks import Mark, Page
from sheetmark.typesetting.paragraphs import (
    FIRST_BASELINE,
    SMALL_MM,
    Block,
    Column,
    Paragraph,
    height_of,
    set_blocks,
)

TITLE_MM = 5.6
# Names of more teeth would fill lines.
_NAMED = 2
# 11 or 31 is a tooth in two of the systems, so each page says which one is meant.
_SHORT: dict[Notation, str] = {"iso": "ISO", "universal": "Universal", "palmer": "Palmer"}
GAP_MM = 6.0  # between two columns
MORE = Paragraph("! More on the next page.", bold=True)


def check_reference(plan: Plan) -> None:
    """Raises InputError for a reference that the pages' font cannot write."""
    why = unwritable(plan.case.reference)
    if why:
        raise InputError(f"reference {plan.case.reference!r}: {why}; write it with other letters")


def title(plan: Plan) -> str:
    """The teeth in the case's notation and in words, the procedure and the reference."""
    case, treated = plan.case, plan.isolation.treated
    parts = [
        f"{case.write(treated)} ({_SHORT[case.notation]})",
        _names(treated),
        case.procedure.replace("-", " "),
        *([case.reference] if case.reference else []),
    ]
    return " · ".join(parts)


def _names(teeth: Sequence[Tooth]) -> str:
    """The teeth in words; of more than two only the jaw, and the side where they share it."""
    first, *others = (name_of(tooth) for tooth in teeth)
    corner = f"{teeth[0].jaw} {teeth[0].side} "
    if len(teeth) <= _NAMED:
        return " and ".join([first, *(name.removeprefix(corner) for name in others)])
    sides = {tooth.side for tooth in teeth}
    return " ".join([teeth[0].jaw, *(sides if len(sides) == 1 else ()), "teeth"])


def page(plan: Plan, marks: Sequence[Mark]) -> Page:
    """A page of the plan's paper with these marks, page frame."""
    return Page(plan.paper.width_mm, plan.paper.height_mm, tuple(marks))


def printable(plan: Plan) -> Column:
    """The page inside its margins."""
    return room(plan.practice, plan.paper)


def room(practice: Practice, paper: Paper | None = None) -> Column:
    """The paper, the practice's own unless another is named, inside its margins."""
    paper, margin = paper or PAPERS[practice.paper], practice.margin_mm
    return Column(
        left=margin, top=paper.height_mm - margin, width=paper.width_mm - 2 * margin, bottom=margin
    )


def heading(text: str, column: Column, aside: Paragraph) -> tuple[list[Mark], float]:
    """The title at the left, `aside` at the right; the y below them."""
    at = PagePoint(column.left + column.width, column.top - FIRST_BASELINE * TITLE_MM)
    right = lettered(at, aside.text, TITLE_MM, aside.name, "right", bold=True)
    free = Column(
        left=column.left,
        top=column.top,
        width=column.width - right.width - 4.0,
        bottom=column.bottom,
    )
    marks, y, _ = set_blocks([Paragraph(text, bold=True, size=TITLE_MM, name="title")], free)
    return [right, *marks], y - 0.6


def findings(plan: Plan) -> list[Paragraph]:
    """Warnings first, bold and marked, then the rest."""
    return [
        Paragraph(
            plan.practice.numerals(f"! {f.line}" if f.severity == "warning" else f.line),
            bold=f.severity == "warning",
        )
        for f in warnings_first(plan.findings)
    ]


def notes(
    blocks: Sequence[Block], column: Column, *, more_follows: bool = False
) -> tuple[list[Mark], float, tuple[Block, ...]]:
    """As many blocks as fit, with a pointer to the next page where there is one.

    Returns the marks, the y in mm below them (page frame), and the blocks left over.
    """
    marks, y, left_over = set_blocks(blocks, column)
    if left_over or more_follows:
        shorter = column.above(column.bottom + MORE.height(column.width))
        marks, y, left_over = set_blocks(blocks, shorter)
        more, y, _ = set_blocks([MORE], column.below(y))
        marks += more
    return marks, y, left_over


def foot(plan: Plan) -> tuple[list[Mark], float]:
    """The cautions in two columns, the version and the recipe, the practice's name at the bottom,
    and the y above all."""
    return foot_of(plan.practice, plan.command, paper=plan.paper)


def foot_of(
    practice: Practice, command: str, sources: Sequence[str] = (), paper: Paper | None = None
) -> tuple[list[Mark], float]:
    """The foot of a page that belongs to no case; its sources stand between recipe and cautions."""
    column = room(practice, paper).above(practice.margin_mm + FOOT_LINE_MM)
    recipe = Paragraph(f"sheetmark {__version__} · {command}", size=SMALL_MM, name="recipe")
    top = column.bottom + recipe.height(column.width) - recipe.after_mm
    marks = recipe.marks(
        Column(left=column.left, top=top, width=column.width, bottom=column.bottom)
    )
    if sources:
        more, top = _sources(sources, column, top + 1.0)
        marks += more
    cautions = [
        Paragraph("Take care", bold=True),
        *(Paragraph(f"– {caution}", after_mm=0.3) for caution in CAUTIONS),
        Paragraph(RESPONSIBILITY, bold=True),
    ]
    split = (len(cautions) + 1) // 2
    halves = column.halves(GAP_MM)
    parts = (cautions[:split], cautions[split:])
    top += 1.0 + max(height_of(part, halves[0].width) for part in parts)
    for half, part in zip(halves, parts, strict=True):
        marks += set_blocks(part, Column(left=half.left, top=top, width=half.width, bottom=0.0))[0]
    return [*marks, *practice_name(practice)], top + 1.0


def _sources(sources: Sequence[str], column: Column, bottom: float) -> tuple[list[Mark], float]:
    """Small type in two columns of about one height; the marks, and the y above them."""
    lines = [Paragraph(text, size=SMALL_MM, after_mm=0.2, name="source") for text in sources]
    lines.insert(0, Paragraph("Sources", bold=True, size=SMALL_MM, after_mm=0.2, name="source"))
    halves = column.halves(GAP_MM)

    def height(split: int) -> float:
        return max(height_of(part, halves[0].width) for part in (lines[:split], lines[split:]))

    # The heading is no line alone.
    split = min(range(len(lines), 1, -1), key=height)
    top = bottom + height(split)
    marks: list[Mark] = []
    for half, part in zip(halves, (lines[:split], lines[split:]), strict=True):
        marks += set_blocks(
            part, Column(left=half.left, top=top, width=half.width, bottom=bottom - 1.0)
        )[0]
    return marks, top


def cell(word: str, centre: PagePoint, size: float, bold: bool = False) -> Mark:
    """A word of a table, centred on a point."""
    at = PagePoint(centre[0], centre[1] - CAP_HEIGHT * size / 2)
    return lettered(at, word, size, "table-cell", "middle", bold)
