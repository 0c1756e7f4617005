"""The drawer set: a page for each usual situation of an arch model, to print once and keep."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.base.frames import MouthPoint, PagePoint
from sheetmark.base.stopping import go_on
from sheetmark.case.case import Procedure
from sheetmark.documents.case.overlay import (
    facts,
    hole_table,
    how_to,
    legend,
    sheet_bars,
    sheet_bottom,
)
from sheetmark.documents.case.sheet import draw_sheet, tooth_outline
from sheetmark.documents.parts import (
    GAP_MM,
    foot,
    foot_of,
    heading,
    page,
    printable,
    room,
)
from sheetmark.documents.sets.situations import USUAL, DrawerSet, Situation, situations
from sheetmark.plan.plan import Plan
from sheetmark.plan.recipe import Written, document_line
from sheetmark.practice.settings import PAPERS, Practice
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import BLACK, FAINT, Document, Line, Mark, Page, Polygon
from sheetmark.typesetting.paragraphs import LEADING, Block, Column, Paragraph, flow, set_blocks

_SERVES_MM = 4.2
_PICTURE_MM = 27.0
_CELL_MM = (31.6, 42.0)
_CAPTION_MM = 2.9
_FACTS_MM = 3.0
_INDEX_TOOTH_MM = 0.15
_INDEX_ROW_MM = 0.35
_INDEX_ROLE_MM = 0.75
_SERVED = 0.72
_NOT_IN_THE_SET = (
    "Not in this set: gaps, third molars, bridges, moved teeth, gumline lesions. Make an overlay "
    "of the case itself."
)
_PICTURES = "Bold: the teeth that come through. Grey: any of them may be treated. Square: anchor."
_TRUE_SCALE = (
    "Print the next pages at 100 % and check both bars on each before you laminate it. The arch is "
    "a mean: where a mouth differs, make an overlay of the case itself."
)


def drawer(
    models: Sequence[ArchModel],
    practice: Practice,
    *,
    names: Sequence[str] = (),
    procedures: Sequence[Procedure] = USUAL,
    both_notations: bool = False,
) -> tuple[Document, DrawerSet]:
    """The index and a page for each situation. `names` is what the recipe calls the models.

    With `both_notations` each hole carries its tooth in ISO 3950 and in Universal.
    """
    if both_notations:
        practice = replace(practice, notation="iso")
    command = _command(models, practice, names, procedures, both_notations)
    found = situations(models, practice, procedures, command)
    index, cells = _index(found, practice, command)
    several = len({s.plan.arch.model for s in found.situations}) > 1
    pages: list[Page] = []
    for number, (situation, cell) in enumerate(zip(found.situations, cells, strict=True), start=1):
        go_on()
        at = len(index) + len(pages) + 1
        count = f"sheet {number} of {len(found.situations)} · page {at}"
        first, *more = _page(situation, count, both_notations=both_notations)
        pages += [replace(first, key=_key(number)), *more]
        caption = [f"sheet {number} · page {at}", *situation.title.split(" · ")]
        caption += [situation.plan.arch.model] * several
        index[cell.page] += _caption(caption, cell.room, link=_key(number))
    paper = PAPERS[practice.paper]
    front = [Page(paper.width_mm, paper.height_mm, tuple(marks)) for marks in index]
    return Document("Drawer set", command, (*front, *pages)), found


def _command(
    models: Sequence[ArchModel],
    practice: Practice,
    names: Sequence[str],
    procedures: Sequence[Procedure],
    both_notations: bool,
) -> str:
    options: Written = {
        "arch": list(names) or [model.name for model in models],
        "for": [] if tuple(procedures) == USUAL else list(procedures),
        "both-notations": both_notations,
    }
    return document_line(["drawer"], options, practice)


def _page(situation: Situation, number: str, *, both_notations: bool) -> list[Page]:
    """The sheet at true scale; its text continues on a second page only where it does not fit."""
    plan = situation.plan
    marks, bottom = foot(plan)
    column = printable(plan).below(sheet_bottom(plan) - 2.0).above(bottom)
    use, y, _ = set_blocks([Paragraph(how_to(plan.practice))], column)
    aside = Paragraph(f"{number} · 1:1", name="scale")
    head, y = heading(situation.title, column.below(y - 1.0), aside)
    table, below = hole_table(plan, column.below(y))
    left, right = column.below(below).halves(GAP_MM)
    if max(m.end[0] for m in table if isinstance(m, Line)) < right.left:
        right = right.below(y)
    y = below
    key, y = legend(plan, left)
    small = _facts(plan, both_notations=both_notations)
    blocks: list[Block] = [
        Paragraph("Serves", bold=True, size=_SERVES_MM, with_next=True),
        *(Paragraph(line, size=_SERVES_MM) for line in situation.serves),
        *situation.warnings,
    ]
    left_marks, left_y, left_over = set_blocks(small, left.below(y))
    right_marks, _, over = flow((*blocks, *left_over), (right, left.below(left_y)))
    marks += [*draw_sheet(plan, also="universal" if both_notations else None), *sheet_bars(plan)]
    pages = [page(plan, [*marks, *use, *head, *table, *key, *left_marks, *right_marks])]
    while over:
        more, bottom = foot(plan)
        column = printable(plan).above(bottom)
        head, y = heading(f"{situation.title} (continued)", column, Paragraph(number, name="aside"))
        continued, _, over = flow(over, column.below(y).halves(GAP_MM))
        pages.append(page(plan, [*more, *head, *continued]))
    return pages


def _facts(plan: Plan, *, both_notations: bool) -> list[Paragraph]:
    """In small type, so that a page of the set is one page on any paper."""
    numbers, *rest = (fact.text for fact in facts(plan))
    if both_notations:
        numbers = "Outside the arch: tooth, ISO 3950 and #Universal. Inside it: punch hole."
    lines = (numbers, ". ".join(fact.rstrip(".") for fact in rest) + ".")
    return [Paragraph(line, size=_FACTS_MM) for line in lines]


def _key(number: int) -> str:
    """The key of a sheet's first page, to which its picture leads."""
    return f"sheet-{number}"


class _Cell(Struct, frozen=True):
    """Where a situation stands in the index: its page there, from 0, and its room on that."""

    page: int
    room: Column


def _index(
    found: DrawerSet, practice: Practice, command: str
) -> tuple[list[list[Mark]], list[_Cell]]:
    """The marks of as many pages as the small pictures need, and the cell of each picture, still
    without a caption: its page number comes from how many pages these are."""
    pages: list[list[Mark]] = []
    cells: list[_Cell] = []
    notes: Sequence[Block] = [
        Paragraph(_TRUE_SCALE),
        Paragraph(_NOT_IN_THE_SET),
        Paragraph(_PICTURES),
        Paragraph(
            practice.numerals(
                f"Sheet {practice.stock_sheet.name}. Arch "
                f"{', '.join(dict.fromkeys(s.plan.arch.model for s in found.situations))}."
            )
        ),
        *(Paragraph(f"! Left out: {line}", bold=True) for line in found.left_out),
    ]
    while len(cells) < len(found.situations) or notes:
        marks, bottom = foot_of(practice, command, _sources(found) if not pages else ())
        column = room(practice).above(bottom)
        aside = Paragraph("not to scale: index only", name="scale")
        head, y = heading("Drawer set · index", column, aside)
        marks += head
        note_marks, y, notes = set_blocks(notes, column.below(y))
        marks += note_marks
        across = int(column.width / _CELL_MM[0])
        down = int((y - 2.0 - column.bottom) / _CELL_MM[1])
        here = found.situations[len(cells) : len(cells) + across * down]
        for place, situation in enumerate(here):
            left = column.left + (place % across) * column.width / across
            top = y - 2.0 - (place // across) * _CELL_MM[1]
            cell = Column(left=left, top=top, width=column.width / across, bottom=top - _CELL_MM[1])
            marks += _jaw(situation, PagePoint(left + cell.width / 2, top - _PICTURE_MM / 2))
            cells.append(_Cell(len(pages), cell))
        pages.append(marks)
    return pages, cells


def _sources(found: DrawerSet) -> tuple[str, ...]:
    return tuple(dict.fromkeys(source for s in found.situations for source in s.plan.sources))


def _jaw(situation: Situation, middle: PagePoint) -> list[Mark]:
    """The jaw's teeth: bold those of the row, grey those that the sheet serves, square anchors."""
    plan = situation.plan
    row = {tooth: plan.standing(tooth) for tooth in plan.isolation.row}
    teeth = [*plan.other_teeth, *row.values()]
    real = {place.tooth: tooth_outline(place) for place in teeth}
    xs, ys = zip(*(point for outline in real.values() for point in outline), strict=True)
    factor = _PICTURE_MM / max(max(xs) - min(xs), max(ys) - min(ys))
    centre = MouthPoint((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)

    def at(points: Iterable[MouthPoint]) -> tuple[PagePoint, ...]:
        (x0, y0), (cx, cy) = middle, centre
        return tuple([PagePoint(x0 + factor * (x - cx), y0 + factor * (y - cy)) for x, y in points])

    outlines = {tooth: at(points) for tooth, points in real.items()}
    served = set(situation.treated)
    marks: list[Mark] = [
        Polygon(outlines[tooth], 0.1, f"served-{tooth.iso}", _SERVED, filled=True)
        for tooth in row
        if tooth in served
    ]
    marks += [
        Polygon(
            outline,
            _INDEX_ROW_MM if tooth in row else _INDEX_TOOTH_MM,
            f"tooth-{tooth.iso}",
            grey=BLACK if tooth in row else FAINT,
        )
        for tooth, outline in outlines.items()
    ]
    anchors = at(row[tooth].contact for tooth in plan.isolation.anchors)
    return [*marks, *(_square(anchor, _INDEX_ROLE_MM) for anchor in anchors)]


def _square(centre: PagePoint, half: float) -> Mark:
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    corners = tuple(PagePoint(centre.x + x * half, centre.y + y * half) for x, y in signs)
    return Polygon(corners, 0.1, "anchor", filled=True)


def _caption(lines: Sequence[str], cell: Column, *, link: str) -> list[Mark]:
    """The lines below a picture, the first one bold."""
    marks: list[Mark] = []
    middle = cell.left + cell.width / 2
    y = cell.top - _PICTURE_MM - CAP_HEIGHT * _CAPTION_MM - 1.4
    for line, text in enumerate(lines):
        at = PagePoint(middle, y - line * _CAPTION_MM * LEADING)
        bold = line == 0
        # A long list of teeth in smaller type, rather than into the next picture.
        size = _CAPTION_MM * min(1.0, (cell.width - 1.0) / text_width(text, _CAPTION_MM, bold))
        marks.append(lettered(at, text, size, "caption", "middle", bold=bold, link=link))
    return marks
