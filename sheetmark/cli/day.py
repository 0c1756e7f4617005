"""`sheetmark day`: the day's list in, the tray plan and an overlay for each case out."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from sheetmark.base.files import pdf_path, read_file, write_each
from sheetmark.base.remark_lines import remarks_counted
from sheetmark.cli.options import SETTINGS, Force, takes
from sheetmark.cli.talk import note, table
from sheetmark.day.list import MOST_BYTES, read_day
from sheetmark.day.records import DayList, Row
from sheetmark.day.rows import clock
from sheetmark.day.tray import DayPlan
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.jobs.day import DayBook, form_of
from sheetmark.plan.option_records import Choices
from sheetmark.plan.recipe import day_line

ROWS_FAILED = 2
# From here on a person at a terminal wonders whether anything happens (assumption).
LONG_LIST = 50


@takes(*SETTINGS)
def command(
    list_file: Annotated[
        str, typer.Argument(metavar="LIST", help="The day's list, .csv or .toml, a row a case.")
    ],
    output: Annotated[
        str | None,
        typer.Option("-o", "--output", metavar="FILE.pdf", help="File to write, a .pdf."),
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="Write nothing when any row cannot be done.")
    ] = False,
    cards: Annotated[
        bool, typer.Option("--cards", help="The case card behind each overlay.")
    ] = False,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Plan the day's list: its tray on page one, then a page for each case in the list's order.

    Columns: time, reference, teeth, procedure, notation, age, arch, exceptions, access, sheet,
    measure, in any order; only teeth must be there.
    """
    path = None if output is None else pdf_path(output)
    practice = practice_chosen(choices)
    made = day_line(Path(list_file).name, choices, cards=cards)
    rows = _read(list_file)
    book = DayBook(list_file, rows, practice, made, strict, cards, watch=_progress)
    if path is None:
        book.plan()
        book.check()
    else:
        read = (Path(list_file), *files_read(choices))
        write_each({path: book.write}, read=read, force=force)
    _report(book.day)
    for problem in book.day.left_out:
        print(f"left out: {list_file}, {problem.plain}", file=sys.stderr)
    if counted := remarks_counted(rows.remark_lines):
        note(f"{list_file}: {counted}")
    note(f"wrote {path}" if path else "no file written; add -o day.pdf")
    if book.day.left_out:
        raise typer.Exit(ROWS_FAILED)


def _read(name: str) -> DayList:
    form = form_of(name)
    return read_day(read_file(Path(name), name, MOST_BYTES), name, form)


@contextmanager
def _progress(rows: Sequence[Row]) -> Iterator[Iterable[Row]]:
    """The rows, with a bar on stderr where they are many and a person looks on."""
    if len(rows) < LONG_LIST or not sys.stderr.isatty():
        yield rows
        return
    with typer.progressbar(rows, label="cases", file=sys.stderr) as bar:
        yield bar


def _report(day: DayPlan) -> None:
    """The tray plan to stdout, remarks to stderr."""
    number = day.practice.numerals
    for sheet, count in day.sheets:
        table(f"sheets  {count:>4}  {number(sheet)}")
    for use in day.clamps:
        table(f"clamps  {use.wanted:>4}  {use.label} (in tray: {use.count})")
    for clash in day.clashes:
        free = f"free: {clash.instead}" if clash.instead else "no other fits and is free"
        table(
            f"clash at {clock(clash.minute)}, row {clash.row}, tooth {clash.anchor}: "
            f"{clash.label} (in tray: {clash.count}) not ready before {clock(clash.back)}; {free}"
        )
    for remark in day.remarks:
        print(f"warning: {remark.plain}", file=sys.stderr)
