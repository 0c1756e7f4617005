"""The drawer set: a page for each usual situation of an arch model, to print once and keep.

Which situations there are comes from the isolation rules: each tooth is planned for each
procedure, and cases whose sheets are punched alike share a page. Left and right are two pages.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, in_arch_order, write
from sheetmark.base.findings import InputError
from sheetmark.base.frames import MouthPoint, PagePoint
from sheetmark.case.case import Case, Procedure
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
    findings,
    foot,
    foot_of,
    heading,
    page,
    printable,
    room,
)
from sheetmark.documents.symbols import role_symbol
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.recipe import Written, document_line
from sheetmark.plan.rows import SECOND_MOLAR
from sheetmark.practice.settings import PAPERS, Practice
from sheetmark.typesetting.lettering import CAP_HEIGHT, lettered, text_width
from sheetmark.typesetting.marks import BLACK, FAINT, Document, Line, Mark, Page, Polygon
from sheetmark.typesetting.paragraphs import LEADING, Block, Column, Paragraph, flow, set_blocks

# A gumline lesion moves its hole, so that its sheet serves one tooth only.
USUAL: tuple[Procedure, ...] = ("restoration", "crown", "root-canal", "full-arch")
_SERVES_MM = 4.2
_PICTURE_MM = 27.0
_CELL_MM = (31.6, 42.0)
_CAPTION_MM = 2.9
_FACTS_MM = 3.0
_INDEX_TOOTH_MM = 0.15
_INDEX_ROW_MM = 0.35
_INDEX_ROLE_MM = 0.6
_NOT_IN_THE_SET = (
    "Not in this set: gaps, third molars, bridges, moved teeth, gumline lesions. Make an overlay "
    "of the case itself."
)
_TRUE_SCALE = (
    "Print the next pages at 100 % and check both bars on each before you laminate it. The arch is "
    "a mean: where a mouth differs, make an overlay of the case itself."
)


@dataclass(frozen=True, slots=True)
class Situation:
    """One page: a plan in which no tooth is the treated one, and the cases that it serves."""

    plan: Plan
    cases: tuple[tuple[Procedure, Tooth], ...]
    warnings: tuple[Paragraph, ...]

    @property
    def jaw(self) -> Jaw:
        """The jaw that the sheet is for."""
        return self.plan.arch.jaw

    def write(self, teeth: Iterable[Tooth]) -> str:
        """Teeth in the notation of the set."""
        return self.plan.case.write(teeth)

    @property
    def treated(self) -> tuple[Tooth, ...]:
        """The teeth that may be treated with this sheet, from the patient's right to the left."""
        return in_arch_order({tooth for _, tooth in self.cases})

    @property
    def title(self) -> str:
        """Such as `Upper right · molar 16`."""
        row, jaw = self.plan.isolation.row, self.jaw.capitalize()
        if len(row) == 1:
            (tooth,) = row
            return f"{jaw} {tooth.side} · {tooth.tooth_class} {self.write(row)} alone"
        if row[0].side == row[-1].side:
            classes = dict.fromkeys(tooth.tooth_class for tooth in self.treated)
            return f"{jaw} {row[0].side} · {', '.join(classes)} {self.write(self.treated)}"
        if any(procedure == "full-arch" for procedure, _ in self.cases):
            return f"{jaw} jaw · full arch"
        return f"{jaw} front"

    @property
    def serves(self) -> tuple[str, ...]:
        """A line for each set of teeth, with the procedures that share it."""
        teeth = {
            procedure: in_arch_order(tooth for p, tooth in self.cases if p == procedure)
            for procedure, _ in self.cases
        }
        lines: dict[tuple[Tooth, ...], list[Procedure]] = {}
        for procedure, treated in teeth.items():
            lines.setdefault(treated, []).append(procedure)
        return tuple(
            f"{', '.join(p.replace('-', ' ') for p in procedures)}: {self._any(treated)}"
            for treated, procedures in lines.items()
        )

    def _any(self, treated: tuple[Tooth, ...]) -> str:
        row = self.plan.isolation.row
        return "any of its teeth" if treated == row and len(row) > 1 else self.write(treated)


@dataclass(frozen=True, slots=True)
class DrawerSet:
    """The situations in the order of the pages.

    `left_out` has a line for each reason that rules cases out.
    """

    situations: tuple[Situation, ...]
    left_out: tuple[str, ...]


def situations(
    models: Sequence[ArchModel],
    practice: Practice,
    procedures: Sequence[Procedure] = USUAL,
    command: str = "",
) -> DrawerSet:
    """Every tooth and procedure of the models, those that are punched alike put together.

    Raises InputError where none of them can be done.
    """
    found: list[Situation] = []
    left_out: dict[str, None] = {}
    for model in models:
        for jaw in JAWS:
            merged, refused = _of_jaw(model, jaw, practice, procedures, command)
            found += sorted(merged, key=_order)
            left_out |= dict.fromkeys(refused)
    if not found:
        raise InputError(f"drawer: no situation can be done; {next(iter(left_out))}")
    return DrawerSet(tuple(found), tuple(left_out))


def _of_jaw(
    model: ArchModel, jaw: Jaw, practice: Practice, procedures: Sequence[Procedure], command: str
) -> tuple[list[Situation], list[str]]:
    groups: dict[object, list[Plan]] = {}
    refused: dict[tuple[Procedure, str], list[Tooth]] = {}
    teeth = [t for t in build_arch(model, jaw).teeth if t.position <= SECOND_MOLAR]
    for procedure in procedures:
        for tooth in teeth:
            case = Case(treat=(tooth,), notation=practice.notation, procedure=procedure)
            try:
                plan = make_plan(case, model, practice)
            except InputError as error:
                refused.setdefault((procedure, error.problems[0]), []).append(tooth)
                continue
            groups.setdefault(punched_alike(plan), []).append(plan)
    lines = [
        f"{model.name}, {procedure.replace('-', ' ')} of "
        f"{', '.join(write(tooth, practice.notation) for tooth in refused_teeth)}: {reason}"
        for (procedure, reason), refused_teeth in refused.items()
    ]
    return [_situation(plans, command) for plans in groups.values()], lines


def punched_alike(plan: Plan) -> object:
    """What two plans must have in common to share a page: row, anchors, holes, shift."""
    holes = tuple(
        (hole.tooth, hole.hole.diameter_mm, *(round(c, 6) for c in hole.centre_mm))
        for hole in plan.holes
    )
    shift = tuple(round(c, 6) for c in plan.shift_mm)
    return (plan.isolation.row, plan.isolation.anchors, holes, shift)


def _situation(plans: Sequence[Plan], command: str) -> Situation:
    first = plans[0]
    cases = tuple((plan.case.procedure, plan.case.treat[0]) for plan in plans)
    warnings = dict.fromkeys(block for plan in plans for block in findings(plan))
    # Which tooth is treated differs from case to case, so that no hole shows it.
    shared = replace(
        first,
        holes=tuple(
            replace(h, treated=False, role="anchor" if h.role == "anchor" else "exposed")
            for h in first.holes
        ),
        isolation=replace(first.isolation, treated=()),
        command=command or first.command,
    )
    return Situation(shared, cases, tuple(warnings))


def _order(situation: Situation) -> tuple[int, int]:
    """Full arch, front, molars and premolars from the right to the left, single teeth."""
    row = situation.plan.isolation.row
    if len(row) == 1:
        return (3, row[0].along)
    if row[0].side == row[-1].side:
        return (2, situation.treated[0].along)
    return (0 if "full arch" in situation.title else 1, 0)


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
    pages = _index(found, practice, command)
    for number, situation in enumerate(found.situations, start=1):
        count = f"sheet {number} of {len(found.situations)}"
        pages += _page(situation, count, both_notations=both_notations)
    return Document("Drawer set", command, tuple(pages)), found


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
    key, y = legend(left, treated=False)
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


def _index(found: DrawerSet, practice: Practice, command: str) -> list[Page]:
    """Small pictures with the number of each, as many pages as they need."""
    paper = PAPERS[practice.paper]
    pages: list[Page] = []
    rest = list(enumerate(found.situations, start=1))
    notes: Sequence[Block] = [
        Paragraph(_TRUE_SCALE),
        Paragraph(_NOT_IN_THE_SET),
        Paragraph(
            practice.numerals(
                f"Sheet {practice.stock_sheet.name}. Arch "
                f"{', '.join(dict.fromkeys(s.plan.arch.model for s in found.situations))}."
            )
        ),
        *(Paragraph(f"! Left out: {line}", bold=True) for line in found.left_out),
    ]
    several = len({s.plan.arch.model for s in found.situations}) > 1
    while rest or notes:
        marks, bottom = foot_of(practice, command, _sources(found) if not pages else ())
        column = room(practice).above(bottom)
        aside = Paragraph("not to scale: index only", name="scale")
        head, y = heading("Drawer set · index", column, aside)
        marks += head
        note_marks, y, notes = set_blocks(notes, column.below(y))
        marks += note_marks
        across = int(column.width / _CELL_MM[0])
        down = int((y - 2.0 - column.bottom) / _CELL_MM[1])
        for place in range(min(across * down, len(rest))):
            number, situation = rest[place]
            left = column.left + (place % across) * column.width / across
            top = y - 2.0 - (place // across) * _CELL_MM[1]
            cell = Column(left=left, top=top, width=column.width / across, bottom=top - _CELL_MM[1])
            marks += _small(situation, number, cell, named=several)
        rest = rest[across * down :]
        pages.append(Page(paper.width_mm, paper.height_mm, tuple(marks)))
    return pages


def _sources(found: DrawerSet) -> tuple[str, ...]:
    return tuple(dict.fromkeys(source for s in found.situations for source in s.plan.sources))


def _jaw(plan: Plan, middle: PagePoint) -> list[Mark]:
    """The jaw's teeth, those of the row in bold lines, each with the shape of its role."""
    row = {tooth: plan.standing(tooth) for tooth in plan.isolation.row}
    teeth = [*plan.other_teeth, *row.values()]
    outlines = {place.tooth: tooth_outline(place) for place in teeth}
    xs, ys = zip(*(point for outline in outlines.values() for point in outline), strict=True)
    factor = _PICTURE_MM / max(max(xs) - min(xs), max(ys) - min(ys))
    centre = MouthPoint((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)

    def at(point: MouthPoint) -> PagePoint:
        return PagePoint(
            middle.x + factor * (point.x - centre.x), middle.y + factor * (point.y - centre.y)
        )

    marks: list[Mark] = [
        Polygon(
            tuple(map(at, outline)),
            _INDEX_ROW_MM if tooth in row else _INDEX_TOOTH_MM,
            f"tooth-{tooth.iso}",
            grey=BLACK if tooth in row else FAINT,
        )
        for tooth, outline in outlines.items()
    ]
    for tooth, place in row.items():
        anchor = tooth in plan.isolation.anchors
        marks += role_symbol(
            at(place.centre), _INDEX_ROLE_MM, anchor=anchor, treated=False, name=tooth.iso
        )
    return marks


def _small(situation: Situation, number: int, cell: Column, *, named: bool) -> list[Mark]:
    """The jaw with its row and roles; below it number, name and, where `named`, the model."""
    plan = situation.plan
    middle = cell.left + cell.width / 2
    marks = _jaw(plan, PagePoint(middle, cell.top - _PICTURE_MM / 2))
    y = cell.top - _PICTURE_MM - CAP_HEIGHT * _CAPTION_MM - 1.4
    caption = [
        f"sheet {number}",
        *situation.title.split(" · "),
        *([plan.arch.model] if named else []),
    ]
    for line, text in enumerate(caption):
        at = PagePoint(middle, y - line * _CAPTION_MM * LEADING)
        bold = line == 0
        # A long list of teeth in smaller type, rather than into the next picture.
        size = _CAPTION_MM * min(1.0, (cell.width - 1.0) / text_width(text, _CAPTION_MM, bold))
        marks.append(lettered(at, text, size, "caption", "middle", bold=bold))
    return marks
