"""`sheetmark printer`: the test page, and the correction measured from it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from sheetmark.base.files import pdf_path, write_all
from sheetmark.base.findings import InputError
from sheetmark.base.one_at_a_time import one_at_a_time
from sheetmark.base.user_folder import default_path, practice_path
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.options import PRACTICE, Force, PdfOutput, takes
from sheetmark.cli.talk import note
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options
from sheetmark.practice.file.check import check_text, read_text
from sheetmark.practice.file.edit import remove_printer, store_printer
from sheetmark.practice.printer import Printer, check_bars, fitted_question
from sheetmark.practice.settings import PAPERS
from sheetmark.typesetting.lettering import unwritable

_FIRST = "main"

app = typer.Typer(help="The printer's test page and its correction.")


@app.command("page")
@takes(*options("paper", "practice"))
def page(
    output: PdfOutput,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Write the test page: two bars and a square to measure. It is never corrected."""
    path = pdf_path(output, read=files_read(choices), force=force)
    practice = practice_chosen(choices)
    from sheetmark.documents.printer_page import printer_page
    from sheetmark.render.pdf import render_pdf

    content = render_pdf(printer_page(PAPERS[practice.paper]))
    write_all({path: content}, read=files_read(choices), force=force)
    note(f"wrote {path}")


@app.command("set")
@takes(*PRACTICE)
def set_(
    x: Annotated[
        float,
        typer.Option(
            "--x", parser=typed_number, metavar="MM", help="The bar across as measured, mm."
        ),
    ],
    y: Annotated[
        float,
        typer.Option(
            "--y", parser=typed_number, metavar="MM", help="The bar down as measured, mm."
        ),
    ],
    name: Annotated[
        str | None,
        typer.Option(metavar="NAME", help=f"Your own name for the printer (default {_FIRST})."),
    ] = None,
    yes: Annotated[
        bool, typer.Option("--yes", help="Store bars that look as if the page was scaled.")
    ] = False,
    *,
    choices: Choices,
) -> None:
    """Store the measured bars of the test page in the practice file, and use this printer."""
    check_bars(x, y)
    path = _practice_file(choices)
    question = fitted_question(x, y)
    if question and not yes:
        _ask_about(question)
    printer = Printer(_name(path) if name is None else name, x, y)
    _change(path, lambda text: store_printer(text, printer, path.name, unwritable))
    note(f"{printer.summary}; in use from now on")
    note(f"wrote {path}")


@app.command("list")
@takes(*PRACTICE)
def list_(*, choices: Choices) -> None:
    """List the printers of the practice file: their measured bars, and the one in use."""
    practice = check_text(read_text(path := _practice_file(choices)), path.name).practice
    if not practice.printers:
        print("no printer is stored: pages are not corrected", file=sys.stderr)
        return
    width = max(len(known.name) for known in practice.printers)
    for known in practice.printers:
        x, y = known.correction
        bars = f"bars x {known.bar_x_mm:g} mm, y {known.bar_y_mm:g} mm"
        mark = "  in use" if known.name == practice.printer else ""
        print(f"{known.name:<{width}}  {bars}  corrected by x {x:.4f}, y {y:.4f}{mark}")


@app.command("remove")
@takes(*PRACTICE)
def remove(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="The printer's name in the practice file.")
    ],
    *,
    choices: Choices,
) -> None:
    """Take a printer out of the practice file."""
    path = _practice_file(choices)
    in_use = check_text(read_text(path), path.name).practice.printer
    _change(path, lambda text: remove_printer(text, name, path.name, unwritable))
    if in_use == name:
        print(f"printer {name} was in use: pages are not corrected from now on", file=sys.stderr)
    note(f"wrote {path}")


def _name(path: Path) -> str:
    """The name of a printer that nobody named. Raises InputError where another one is known."""
    printers = check_text(read_text(path), path.name).practice.printers
    known = [printer.name for printer in printers]
    if known and _FIRST not in known:
        raise InputError(f"printer: {path.name} has {', '.join(known)}; say which, with --name")
    return _FIRST


def _practice_file(choices: Choices) -> Path:
    path = practice_path(choices["practice"])
    if path is None:
        raise InputError(
            f"practice file {default_path()}: not found, so it holds no printer; "
            f"make it with sheetmark practice init"
        )
    return path


def _ask_about(question: str) -> None:
    """Returns where the person at the terminal says yes. Raises InputError for a no, and where
    there is nobody to answer."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        raise InputError(f"{question}, with --yes; nothing was stored")
    print(f"{question}.", file=sys.stderr)
    if not typer.confirm("Was scaling off when the test page was printed?", err=True):
        raise InputError("nothing was stored; print the test page again at 100 % and measure it")


def _change(path: Path, changed: Callable[[str], str]) -> None:
    with one_at_a_time(path):
        content = changed(read_text(path)).encode()
        write_all({path: content}, force=True)  # it was read as a practice file


@app.command("card")
@takes(*PRACTICE)
def card(
    photographs: Annotated[
        list[str],
        typer.Argument(metavar="PHOTO", help="Two photographs, the card turned by a quarter."),
    ],
    *,
    choices: Choices,
) -> None:
    """Look for a wrong scale: photographs of the test page with a bank card in its square."""
    if len(photographs) != 2:
        raise InputError(
            f"photographs: {len(photographs)} given; two are needed, the card across and down"
        )
    # Loaded here: numpy and SciPy are no part of the other commands.
    from sheetmark.checking.card import both_scales, card_scale, scale_text
    from sheetmark.checking.photo import read_photo
    from sheetmark.jobs.check import photo_content

    first, other = (
        card_scale(read_photo(photo_content(Path(name)), Path(name).name)) for name in photographs
    )
    print(practice_chosen(choices).numerals(scale_text(*both_scales(first, other))))
