"""What a teacher brings and takes away: own cases for an exercise, and handouts in each format."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel, usual_model
from sheetmark.base.files import read_file
from sheetmark.base.findings import InputError
from sheetmark.case.file import read_case
from sheetmark.day.list import MOST_BYTES, read_day
from sheetmark.day.reading import Reading
from sheetmark.day.records import RowError
from sheetmark.day.rows import plan_row
from sheetmark.documents.correction import corrected
from sheetmark.jobs.day import form_of
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.recipe import Written
from sheetmark.practice.settings import Practice
from sheetmark.practice.tolerance import DEFAULT_TOLERANCE_MM
from sheetmark.render.pdf import render_pdf
from sheetmark.typesetting.marks import Document


def set_by_practice(name: str, practice: Practice) -> Written:
    """What the recipe of a handout repeats of the practice beside the settings of a plan."""
    if name != "exercise" or practice.tolerance_mm == DEFAULT_TOLERANCE_MM:
        return {}
    return {"tolerance": f"{practice.tolerance_mm:g}"}


def own_plans(
    cases: Sequence[str], list_file: str | None, model: ArchModel | None, practice: Practice
) -> tuple[Plan, ...]:
    """The plans of case files and of a day's list, in their order; all teeth as the practice
    writes them, no reference.

    `model` is the arch that a teacher chose, else each case's age decides. Raises InputError with
    a line for each case or row that cannot be done, and where sheets differ.
    """
    found, problems = [], []
    for name in cases:
        case = replace(read_case(Path(name)), notation=practice.notation, reference="")
        try:
            found.append(make_plan(case, model or usual_model(case.age), practice))
        except InputError as error:
            problems += [f"{name}: {problem}" for problem in error.problems]
    if list_file is not None:
        rows, faults = _of_list(list_file, practice)
        found += rows
        problems += faults
    if problems:
        raise InputError(*problems)
    if len({plan.sheet for plan in found}) > 1:
        raise InputError(f"list {list_file}: rows with other sheets; one exercise has one sheet")
    return tuple(found)


def _of_list(list_file: str, practice: Practice) -> tuple[list[Plan], list[str]]:
    content = read_file(Path(list_file), list_file, MOST_BYTES)
    day = read_day(content, list_file, form_of(list_file), how=Reading(practice=practice))
    plans, problems = [], [f"{list_file}, {problem.line}" for problem in day.problems]
    for row in day.rows:
        try:
            plans.append(_plain(plan_row(row, practice).plan))
        except RowError as error:
            problems += [f"{list_file}, {problem.line}" for problem in error.problems]
    return plans, problems


def _plain(plan: Plan) -> Plan:
    """A list's references stay off papers for a class."""
    return replace(plan, case=replace(plan.case, reference=""))


def render_handout(
    document: Document, path: Path, ending: str, practice: Practice
) -> dict[Path, bytes]:
    """The files of a handout: one PDF, or a picture of each page, numbered where there are more.

    The printer's correction is in the PDF alone.
    """
    if ending == ".pdf":
        return {path: render_pdf(corrected(document, practice))}
    if ending == ".png":
        from sheetmark.render.png import render_pngs

        return _numbered(path, render_pngs(render_pdf(document)))
    from sheetmark.render.svg import render_svg

    return _numbered(
        path, [render_svg(replace(document, pages=(page,))) for page in document.pages]
    )


def _numbered(path: Path, pictures: Sequence[bytes]) -> dict[Path, bytes]:
    if len(pictures) == 1:
        return {path: pictures[0]}
    return dict(zip(_names(path, len(pictures)), pictures, strict=True))


def _names(path: Path, count: int) -> Iterable[Path]:
    digits = len(str(count))
    for number in range(1, count + 1):
        yield path.with_name(f"{path.stem}-{number:0{digits}}{path.suffix}")
