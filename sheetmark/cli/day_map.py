"""`sheetmark day map`: how a list is read, and teaching its headings and words once for all."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer
from msgspec.structs import asdict

from sheetmark.base.choice import pick
from sheetmark.base.files import read_file
from sheetmark.base.findings import InputError
from sheetmark.case.terms import plain
from sheetmark.cli.options import PRACTICE, takes
from sheetmark.cli.practice_change import change_practice
from sheetmark.cli.talk import note
from sheetmark.day.headings import column_of
from sheetmark.day.list import MOST_BYTES, read_file_table
from sheetmark.day.own_terms import taught, unknown_terms
from sheetmark.day.reading import Reading
from sheetmark.day.tables import Table
from sheetmark.jobs.choices import practice_chosen
from sheetmark.jobs.day import form_of
from sheetmark.plan.option_records import Choices
from sheetmark.practice.list_terms import (
    IGNORED,
    LIST_COLUMNS,
    LIST_MEANINGS,
    ListHeading,
    ListWord,
)
from sheetmark.practice.settings import Practice


@takes(*PRACTICE)
def command(
    list_file: Annotated[
        str | None, typer.Argument(metavar="LIST", help="A list whose headings are to be shown.")
    ] = None,
    heading: Annotated[
        list[str],
        typer.Option(
            metavar='"HEADING=COLUMN"',
            help=f"Read this heading as that column: {', '.join(LIST_COLUMNS)}. Repeatable.",
        ),
    ] = [],  # noqa: B006  typer wants a list and never changes it
    word: Annotated[
        list[str],
        typer.Option(
            metavar='"WORD=PROCEDURE"',
            help=f"Take this word as that: {', '.join(LIST_MEANINGS)}. Repeatable.",
        ),
    ] = [],  # noqa: B006
    *,
    choices: Choices,
) -> None:
    """Show how each column of a list is read, and keep what you teach in the practice file.

    At a terminal it asks about what it does not know. Names of patients need no column: what is
    ignored is never read.
    """
    practice = practice_chosen(choices)
    headings = [
        ListHeading(name, pick("column", column, LIST_COLUMNS))
        for name, column in map(_pair, heading)
    ]
    terms = [
        ListWord(name, pick("meaning", means, LIST_MEANINGS)) for name, means in map(_pair, word)
    ]
    practice = taught(practice, headings, terms)
    if list_file is not None:
        how = Reading(practice=practice)
        content = read_file(Path(list_file), list_file, MOST_BYTES)
        form = form_of(list_file)
        if form == "toml":
            raise InputError(f"{list_file}: a TOML list has our own keys; there is nothing to map")
        found, _ = read_file_table(content, list_file, form, how)
        if sys.stdin.isatty() and sys.stderr.isatty():
            headings += _ask_headings(found, practice)
            practice = taught(practice, headings, terms)
            terms += _ask_terms(found, practice)
            practice = taught(practice, headings, terms)
        _show(found, practice)
    if headings or terms:
        _store(practice, choices["practice"])
    elif list_file is None:
        raise InputError('nothing to map: name a LIST, or add --heading "HEADING=COLUMN"')


def _pair(text: str) -> tuple[str, str]:
    name, equals, value = text.rpartition("=")
    if not (equals and name.strip() and value.strip()):
        raise InputError(
            f'{text!r}: must be a name, = and what it is, such as "Beh.-Art=procedure"'
        )
    return name.strip(), value.strip().lower()


def _show(found: Table, practice: Practice) -> None:
    own = {plain(known.heading) for known in practice.list_headings}
    width = max(len(heading) for heading in found.headings)
    for heading in filter(None, found.headings):
        column = column_of(heading, practice.list_headings)
        where = " (your own)" if plain(heading) in own else ""
        print(f"{heading:<{width}}  {column or IGNORED}{where}")
    for text, count in unknown_terms(found, practice).items():
        print(f"procedure {text!r}, in {count} rows, is not known; teach it with --word")


def _ask_headings(found: Table, practice: Practice) -> list[ListHeading]:
    """Asks which heading holds the teeth, where none is known to."""
    columns = [column_of(heading, practice.list_headings) for heading in found.headings]
    if "teeth" in columns or "summary" in columns:
        return []
    names = [heading for heading in found.headings if heading]
    print(f"headings: {', '.join(names)}", file=sys.stderr)
    answer = typer.prompt("Which heading holds the teeth (empty: none)", default="", err=True)
    known = next((name for name in names if plain(name) == plain(answer)), None)
    return [] if known is None else [ListHeading(known, "teeth")]


def _ask_terms(found: Table, practice: Practice) -> list[ListWord]:
    taught = []
    for text in unknown_terms(found, practice):
        means = typer.prompt(
            f"What is {text!r}: {', '.join(LIST_MEANINGS)} (empty: leave it)", default="", err=True
        )
        if means.strip():
            taught.append(ListWord(text, pick("meaning", means.strip(), LIST_MEANINGS)))
    return taught


def _store(practice: Practice, named: str | None) -> None:
    values = {
        "list_headings": [asdict(known) for known in practice.list_headings],
        "list_words": [asdict(known) for known in practice.list_words],
    }
    note(f"wrote {change_practice(named, values)}")
