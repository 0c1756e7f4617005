"""`sheetmark day`: the day's list in, the tray plan and an overlay for each case out."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, BinaryIO

import typer

from sheetmark.choices import Options, load_practice, with_options
from sheetmark.cli.settings import (
    EaseOption,
    MaterialOption,
    NotationOption,
    PaperOption,
    PracticeOption,
    PrinterOption,
    PunchOption,
    SheetOption,
    ShiftOption,
    SizingOption,
)
from sheetmark.daylist import (
    MOST_BYTES,
    DayCase,
    DayList,
    Form,
    Problem,
    Row,
    RowError,
    blamed,
    clock,
    plan_row,
    read_day,
    repeated_references,
)
from sheetmark.dayplan import DayPlan, Visit, plan_day, visit_of
from sheetmark.files import write_each
from sheetmark.findings import InputError
from sheetmark.practice.settings import PAPERS, Practice

ROWS_FAILED = 2
# From here on a person at a terminal wonders whether anything happens (assumption).
LONG_LIST = 50
_ENDINGS: dict[str, Form] = {".csv": "csv", ".tsv": "csv", ".txt": "csv", ".toml": "toml"}


def command(
    list_file: Annotated[
        str, typer.Argument(metavar="LIST", help="The day's list, .csv or .toml, a row a case.")
    ],
    output: Annotated[
        str | None, typer.Option("-o", "--output", help="File to write, a .pdf.")
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="Write nothing when any row cannot be done.")
    ] = False,
    cards: Annotated[
        bool, typer.Option("--cards", help="The case card behind each overlay.")
    ] = False,
    notation: NotationOption = None,
    sheet: SheetOption = None,
    paper: PaperOption = None,
    punch: PunchOption = None,
    material: MaterialOption = None,
    sizing: SizingOption = None,
    ease: EaseOption = None,
    shift: ShiftOption = None,
    practice_file: PracticeOption = None,
    printer: PrinterOption = None,
) -> None:
    """Plan the day's list: its tray on page one, then a page for each case in the list's order.

    Columns: time, reference, teeth, procedure, notation, age, arch, exceptions, access, sheet,
    in any order; only teeth must be there.
    """
    path = _output(output)
    practice = with_options(
        load_practice(practice_file),
        Options(notation, sheet, paper, punch, material, sizing, ease, shift, printer),
    )
    said: dict[str, object] = {
        "--cards": cards,
        "--notation": notation,
        "--sheet": sheet,
        "--paper": paper,
        "--punch": punch,
        "--material": material,
        "--sizing": sizing,
        "--ease": ease,
        "--practice": practice_file and Path(practice_file).name,
    }
    recipe = _recipe(Path(list_file).name, said, shift)
    work = _Work(list_file, _read(list_file), practice, recipe, strict, cards)
    if path is None:
        work.plan_only()
    else:
        write_each({path: work.write})
    _report(work.day)
    for problem in work.day.left_out:
        print(f"left out: {list_file}, {_line(problem)}", file=sys.stderr)
    print(f"wrote {path}" if path else "no file asked for; add -o day.pdf", file=sys.stderr)
    if work.day.left_out:
        raise typer.Exit(ROWS_FAILED)


def _output(name: str | None) -> Path | None:
    if name is not None and Path(name).suffix.lower() != ".pdf":
        raise InputError(f"output {name!r}: the day's list is a .pdf, which prints true")
    return None if name is None else Path(name)


def _read(name: str) -> DayList:
    form = _ENDINGS.get(Path(name).suffix.lower())
    if form is None:
        raise InputError(f"list {name!r}: the ending must be one of {', '.join(_ENDINGS)}")
    try:
        with Path(name).open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise InputError(f"{name}: cannot be read ({error.strerror}); check the path") from error
    except ValueError as error:
        raise InputError(f"list {name!r}: not a file name; check the path") from error
    return read_day(content, name, form)


def _recipe(name: str, said: dict[str, object], shift: bool | None) -> str:
    words = ["sheetmark", "day", name]
    for option, value in said.items():
        if value is True:
            words.append(option)
        elif value is not None and value is not False:
            words += [option, f"{value:g}" if isinstance(value, float) else str(value)]
    if shift is not None:
        words.append("--shift" if shift else "--no-shift")
    return shlex.join(words)


@dataclass(slots=True)
class _Work:
    """One run over the list: row by row, no plan or page of which is kept."""

    shown: str
    rows: DayList
    practice: Practice
    recipe: str
    strict: bool
    cards: bool
    visits: list[Visit] = field(default_factory=list)
    failed: list[Problem] = field(default_factory=list)

    @property
    def day(self) -> DayPlan:
        done = {visit.row for visit in self.visits}
        return plan_day(
            self.visits,
            self.practice,
            self.recipe,
            (*self.rows.problems, *self.failed),
            repeated_references(row for row in self.rows.rows if row.number in done),
        )

    def plan_only(self) -> None:
        for _, case in self._cases():
            self.visits.append(visit_of(case))
        self._check()

    def write(self, file: BinaryIO) -> None:
        """The whole PDF. Raises InputError where nothing shall be written."""
        # Loaded here so that a list that cannot be read needs no drawing library.
        from sheetmark.documents.correction import corrected_page
        from sheetmark.documents.day import TITLE, case_pages, tray_pages
        from sheetmark.render.long_pdf import LongPdf

        paper, printer = PAPERS[self.practice.paper], self.practice.printer_in_use
        size = (paper.width_mm, paper.height_mm)
        correction = printer.correction if printer else (1.0, 1.0)
        pdf = LongPdf(file, size, TITLE, self.recipe, correction)
        first_pages, count = [], 0
        for row, case in self._cases():
            try:
                pages = case_pages(case.plan, card=self.cards)
            except InputError as error:
                self.failed.append(blamed(row, error))
                continue
            for page in pages:
                pdf.add(corrected_page(page, self.practice))
            first_pages.append(count)
            count += len(pages)
            self.visits.append(visit_of(case))
        self._check()
        front = 0
        for page in tray_pages(self.day, first_pages):
            pdf.add(corrected_page(page, self.practice))
            front += 1
        pdf.finish(in_front=front)

    def _cases(self) -> Iterator[tuple[Row, DayCase]]:
        """The rows that can be planned, with their plans; the others go to `failed`."""
        with _progress(self.rows.rows) as rows:
            for row in rows:
                try:
                    yield row, plan_row(row, self.practice)
                except RowError as error:
                    self.failed.append(error.problem)

    def _check(self) -> None:
        """Raises InputError, with every problem, for a day that shall not be written."""
        problems = sorted((*self.rows.problems, *self.failed), key=lambda problem: problem.row)
        if not problems or (self.visits and not self.strict):
            return
        why = "--strict and some rows cannot be done" if self.visits else "no row can be done"
        lines = [f"{self.shown}, {_line(problem)}" for problem in problems]
        raise InputError(*lines, f"{self.shown}: {why}; nothing written")


@contextmanager
def _progress(rows: Sequence[Row]) -> Iterator[Iterable[Row]]:
    """The rows, with a bar on stderr where they are many and a person looks on."""
    if len(rows) < LONG_LIST or not sys.stderr.isatty():
        yield rows
        return
    with typer.progressbar(rows, label="cases", file=sys.stderr) as bar:
        yield bar


def _line(problem: Problem) -> str:
    """One line without what would move the cursor."""
    line = " ".join(problem.line.split())
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in line)


def _report(day: DayPlan) -> None:
    """The tray plan to stdout, remarks to stderr."""
    number = day.practice.numerals
    for sheet, count in day.sheets:
        print(f"sheets  {count:>4}  {number(sheet)}")
    for use in day.clamps:
        print(f"clamps  {use.wanted:>4}  {use.label} (in tray: {use.count})")
    for clash in day.clashes:
        free = f"free: {clash.instead}" if clash.instead else "no other fits and is free"
        print(
            f"clash at {clock(clash.minute)}, row {clash.row}, anchor {clash.anchor}: "
            f"{clash.label} (in tray: {clash.count}) not ready before {clock(clash.back)}; {free}"
        )
    for remark in day.remarks:
        print(f"warning: {_line(remark)}", file=sys.stderr)
