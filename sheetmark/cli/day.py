"""`sheetmark day`: the day's list in, the tray plan and an overlay for each case out."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from sheetmark.base.files import listed, outputs, read_file, write_each
from sheetmark.base.findings import InputError
from sheetmark.base.remark_lines import remarks_counted
from sheetmark.cli import day_map, day_template
from sheetmark.cli.options import SETTINGS, Force, no_effect, takes
from sheetmark.cli.progress import counted
from sheetmark.cli.talk import is_verbose, note, table
from sheetmark.cli.unnamed import Unnamed
from sheetmark.day.dates import read_date
from sheetmark.day.headings import HeadingError
from sheetmark.day.list import MOST_BYTES, read_day
from sheetmark.day.reading import Reading
from sheetmark.day.records import Row
from sheetmark.day.rows import clock
from sheetmark.day.tray import DayPlan
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.jobs.day import ENDINGS, DayBook, form_of
from sheetmark.plan.option_records import Choices
from sheetmark.plan.recipe import day_line

ROWS_FAILED = 2
# From here on a person at a terminal wonders whether anything happens (assumption).
LONG_LIST = 50
# More lines of a sort than these are counted: a person reads them on the tray plan.
_LINES_SHOWN = 10


class _PlanUnlessNamed(Unnamed):
    """`day LIST` is `day plan LIST`, whose options its own help shows."""

    unnamed = "plan"

    def collect_usage_pieces(self, _ctx: Any) -> list[str]:
        return ["[OPTIONS] LIST | COMMAND [ARGS]..."]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        self.commands["plan"].format_options(ctx, formatter)
        self.format_commands(ctx, formatter)


app = typer.Typer(
    cls=_PlanUnlessNamed,
    help="""Plan the day's list: its tray, then a page for each case.

    The list is a CSV, a spreadsheet, a calendar or a TOML file. Columns: time, reference, teeth,
    procedure, notation, age, arch, exceptions, access, sheet, measure, in any order; only teeth
    must be there. Names for them in German, French and Spanish are known, others are taught by
    `day map`; what is no column is not read.
    """,
)


@app.command("plan", hidden=True)
@takes(*SETTINGS)
def plan(
    list_file: Annotated[
        str,
        typer.Argument(
            metavar="LIST", help="The day's list, a row for each case: .csv, .xlsx, .ics or .toml."
        ),
    ],
    output: Annotated[
        list[str],
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help=f"File to write: {listed(ENDINGS)}, the tray plan for programs; repeatable.",
        ),
    ] = [],  # noqa: B006  typer wants a list and never changes it
    date: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="The day, such as 2026-11-26; picks its rows."),
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
    """Plan the day's list."""
    read = (Path(list_file), *files_read(choices))
    files = outputs(output, ENDINGS, kind="day-plan", read=read, force=force)
    if cards and ".pdf" not in files.values():
        raise no_effect("--cards", "without a PDF", "-o day.pdf")
    practice = practice_chosen(choices)
    form, content = form_of(list_file), read_file(Path(list_file), list_file, MOST_BYTES)
    how = Reading(practice=practice, on=_day(date), today=_today())
    try:
        rows = read_day(content, list_file, form, how=how)
    except HeadingError as error:
        raise InputError(f'{error}: sheetmark day map --heading "HEADING=COLUMN"') from error
    picked = str(rows.day) if rows.day else ""
    made = day_line(Path(list_file).name, choices, cards=cards, date=picked)
    book = DayBook(list_file, rows, practice, made, strict, cards, watch=_progress)
    if files:
        write_each(book.writers(files), read=read, force=force)
    else:
        book.plan()
        book.check()
    day = book.day
    _report(day)
    for doubt in rows.doubts:
        _warn(f"warning: {list_file}, {doubt}")
    _some([f"left out: {list_file}, {problem.plain}" for problem in day.left_out], _warn)
    for line in (*filter(None, [remarks_counted(rows.remark_lines)]), *rows.notes):
        note(f"{list_file}: {line}")
    for path in files:
        note(f"wrote {path}")
    if not files:
        _warn("no file written; add -o day.pdf")
    if day.left_out:
        raise typer.Exit(ROWS_FAILED)


app.command("map")(day_map.command)
app.command("template")(day_template.command)


def _day(text: str | None) -> date | None:
    try:
        return None if text is None else read_date(text, "day first")
    except InputError as error:
        raise InputError(f"date {text!r}: {error}") from error


def _today() -> date:
    return date.today()


def _progress(rows: Sequence[Row]) -> AbstractContextManager[Any]:
    return counted(rows, "cases", least=LONG_LIST)


def _report(day: DayPlan) -> None:
    """The tray plan to stdout, remarks to stderr."""
    number = day.practice.numerals
    for sheet, count in day.sheets:
        table(f"sheets  {count:>4}  {number(sheet)}")
    for use in day.clamps:
        table(f"clamps  {use.wanted:>4}  {use.label} (in tray: {use.count})")
    clashes = []
    for clash in day.clashes:
        free = f"free: {clash.instead}" if clash.instead else "no other fits and is free"
        clashes.append(
            f"clash at {clock(clash.minute)}, row {clash.row}, tooth {clash.anchor}: "
            f"{clash.label} (in tray: {clash.count}) not ready before {clock(clash.back)}; {free}"
        )
    _some(clashes, table)
    _some([f"warning: {remark.plain}" for remark in day.remarks], _warn)


def _some(lines: Sequence[str], write: Callable[[str], None]) -> None:
    """The lines of one sort, or the first of them and how many more there are."""
    all_of_them = is_verbose() or len(lines) <= _LINES_SHOWN + 1
    for line in lines if all_of_them else lines[:_LINES_SHOWN]:
        write(line)
    if not all_of_them:
        write(f"… {len(lines) - _LINES_SHOWN} more, which the tray plan lists; -v lists them here")


def _warn(line: str) -> None:
    print(line, file=sys.stderr)
