"""`sheetmark practice`: write, show and check the clinic's settings file."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer
from msgspec.structs import replace

from sheetmark.base.files import outputs, write_all
from sheetmark.base.findings import InputError
from sheetmark.base.one_at_a_time import one_at_a_time
from sheetmark.base.toml import load_toml, parse_toml
from sheetmark.base.user_folder import default_path, is_there, make_folder, practice_path
from sheetmark.cli import practice_tray
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.options import PRACTICE, SETTINGS, takes
from sheetmark.cli.practice_questions import QUESTIONS, USUAL_STOCK, Question
from sheetmark.cli.talk import note
from sheetmark.plan.choices import settings_with
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import SETTING_OPTIONS, SHEET_IN_USE, options
from sheetmark.practice.settings import (
    CORNERS,
    MARKS_KINDS,
    NUMBERS,
    Practice,
)

app = typer.Typer(help="The clinic's own settings, in one file.")
app.command("tray")(practice_tray.command)
_NEXT = (
    "next: print the page of sheetmark printer page -o test.pdf at 100 %, measure both bars, and "
    "store them with sheetmark printer set; spans of clamps with sheetmark practice tray"
)


@app.command("init")
@takes(*options("notation", "paper", "punch", "sizing", "ease", "shifted"))
def init(
    output: Annotated[
        str | None,
        typer.Option(
            "-o", "--output", metavar="FILE.toml", help="File to write; else your own settings."
        ),
    ] = None,
    name: Annotated[
        str | None, typer.Option(metavar="TEXT", help="The clinic's name, shown on pages.")
    ] = None,
    numbers: Annotated[
        str | None,
        typer.Option(
            metavar="SIGN", help="point (default) or comma.", autocompletion=lambda: list(NUMBERS)
        ),
    ] = None,
    margin: Annotated[
        float | None,
        typer.Option(
            parser=typed_number, metavar="MM", help="White edge of pages in mm (default 10)."
        ),
    ] = None,
    sheet: Annotated[
        list[str],
        typer.Option(
            metavar="TEXT",
            help='A sheet in stock: size and any of material, thickness, opaque, as in "152 latex '
            'medium". Repeatable; the first is the default.',
        ),
    ] = [],  # noqa: B006  typer wants a list and never changes it
    labels: Annotated[
        str | None,
        typer.Option(
            metavar="A,B,…", help="What stands on the punch by position (default 1,2,3 …)."
        ),
    ] = None,
    marks: Annotated[
        str | None,
        typer.Option(
            metavar="MARKS",
            help="two-dots (default) or corner-hole.",
            autocompletion=lambda: list(MARKS_KINDS),
        ),
    ] = None,
    corner: Annotated[
        str | None,
        typer.Option(
            metavar="CORNER",
            help="The patient's upper-left (default) or upper-right.",
            autocompletion=lambda: list(CORNERS),
        ),
    ] = None,
    clamps: Annotated[
        str | None,
        typer.Option(metavar="TEXT", help='The clamps, as in "4 molar winged; 2 front winged".'),
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Ask nothing; take the defaults.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    *,
    choices: Choices,
) -> None:
    """Write a practice file with a comment on every key; on a terminal, ask for the rest."""
    path = _new_path(output, force)
    answers = {
        "name": name,
        "notation": choices["notation"],
        "numbers": numbers,
        "paper": choices["paper"],
        "sheets": "; ".join(sheet) if sheet else None,
        "punch": choices["punch"],
        "labels": labels,
        "marks": marks,
        "corner": corner,
        "clamps": clamps,
    }
    practice = replace(Practice(), stock=USUAL_STOCK)
    rules = {name: choices[name] for name in ("sizing", "ease", "shifted")}
    practice = settings_with(practice, rules)
    if margin is not None:
        practice = replace(practice, margin_mm=margin)
    ask = _interactive() and not yes
    for question in QUESTIONS:
        answer = answers[question.key]
        if answer is not None:
            practice = question.answer(practice, answer)
        elif ask and question.put(practice):
            practice = _ask(question, practice)
    content = _checked_text(practice, path.name).encode()
    make_folder(path)
    with one_at_a_time(path):
        _check_new(path, force)
        lost = _lost(path, content)
        write_all({path: content}, force=force)
    if lost:
        print(f"warning: the file before also had {', '.join(lost)}: set again", file=sys.stderr)
    note(f"wrote {path}")
    note(_NEXT)


def _new_path(output: str | None, force: bool) -> Path:
    path = default_path()
    if output is not None:
        (path,) = outputs([output], (".toml",), force=True)  # the rule below is stricter
    _check_new(path, force)
    return path


def _check_new(path: Path, force: bool) -> None:
    if not force and is_there(path):
        raise InputError(f"{path}: exists already; --force replaces it, -o names another file")


def _lost(path: Path, content: bytes) -> list[str]:
    """The tables of the file that is replaced which the new one lacks, such as printers."""
    try:
        before = load_toml(path, path.name)
    except InputError:
        return []
    return sorted(before.keys() - parse_toml(content.decode(), path.name).keys())


def _interactive() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()


def _ask(question: Question, practice: Practice) -> Practice:
    """The settings changed by the answer; the question comes again after an unusable answer."""
    while True:
        answer = typer.prompt(question.text, default=question.default(practice), err=True)
        try:
            changed = question.answer(practice, answer.strip())
            _checked_text(changed, "answer")
        except InputError as error:
            for problem in error.problems:
                print(problem, file=sys.stderr)
        else:
            return changed


def _checked_text(practice: Practice, name: str) -> str:
    """A practice file with these settings. Raises InputError for settings with a problem."""
    from sheetmark.practice.file.check import check_text
    from sheetmark.practice.file.new_file import new_file
    from sheetmark.typesetting.lettering import unwritable

    text = new_file(practice)
    check_text(text, name, unwritable)
    return text


@app.command("show")
@takes(*SETTINGS)
def show(
    *,
    choices: Choices,
) -> None:
    """Show the settings in force, and where each comes from: default, file or flag."""
    path, practice, stated = practice_path(choices["practice"]), Practice(), frozenset[str]()
    if path is not None:
        from sheetmark.practice.file.check import read_practice

        checked = read_practice(path)
        practice, stated = checked.practice, checked.stated
    origins = dict.fromkeys(stated, "file")
    if practice.stock:
        origins[SHEET_IN_USE] = "file"
    for option in SETTING_OPTIONS:
        if choices[option.name] is not None:
            origins |= dict.fromkeys(option.keys, "flag")
    practice = settings_with(practice, choices)
    print(f"practice file: {path or 'none'}")
    rows = list(_settings(practice))
    width = max(len(key) for key, _ in rows)
    for key, value in rows:
        origin = origins.get(key.partition("[")[0], "default")
        print(f"{key:<{width}}  {origin:<7}  {value}")


def _settings(practice: Practice) -> Iterator[tuple[str, str]]:
    """Every key of the practice file with its value in force, and the sheet in use."""
    from msgspec import to_builtins

    from sheetmark.base.toml import toml_value
    from sheetmark.practice.file.convert import from_practice

    yield SHEET_IN_USE, practice.stock_sheet.name
    for key, value in to_builtins(from_practice(practice)).items():
        if isinstance(value, dict):
            for inner, item in value.items():
                yield f"{key}.{inner}", toml_value(item)
        elif isinstance(value, list | tuple):
            for number, row in enumerate(value, start=1):
                yield f"{key}[{number}]", toml_value(row)
        else:
            yield key, toml_value(value)


@app.command("check")
@takes(*PRACTICE)
def check(*, choices: Choices) -> None:
    """List every problem of the practice file, one a line."""
    from sheetmark.practice.file.check import read_practice
    from sheetmark.typesetting.lettering import unwritable

    path = practice_path(choices["practice"])
    if path is None:
        raise InputError(
            f"practice file {default_path()}: not found; make it with sheetmark practice init"
        )
    read_practice(path, unwritable)
    print(f"{path}: no problems")


@app.command("schema")
def schema() -> None:
    """Print the practice file's JSON schema."""
    from sheetmark.practice.file.keys import schema as file_schema

    print(json.dumps(file_schema(), indent=1, ensure_ascii=False))
