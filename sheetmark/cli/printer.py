"""`sheetmark printer`: the test page, and the correction measured from it."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from sheetmark.base.files import pdf_path, write_all
from sheetmark.base.findings import InputError
from sheetmark.base.user_folder import default_path, practice_path
from sheetmark.cli.options import PRACTICE, Force, takes
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options
from sheetmark.practice.printer import Printer, check_bars
from sheetmark.practice.settings import PAPERS

app = typer.Typer(help="The printer's test page and its correction.")


@app.command("page")
@takes(*options("paper", "practice"))
def page(
    output: Annotated[str, typer.Option("-o", "--output", help="File to write, a .pdf.")],
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Write the test page: two bars and a square to measure. It is never corrected."""
    path = pdf_path(output)
    practice = practice_chosen(choices)
    from sheetmark.documents.printer_page import printer_page
    from sheetmark.render.pdf import render_pdf

    content = render_pdf(printer_page(PAPERS[practice.paper]))
    write_all({path: content}, read=files_read(choices), force=force)
    print(f"wrote {path}", file=sys.stderr)


@app.command("set")
@takes(*PRACTICE)
def set_(
    x: Annotated[float, typer.Option("--x", help="The bar across as measured, mm.")],
    y: Annotated[float, typer.Option("--y", help="The bar down as measured, mm.")],
    name: Annotated[str, typer.Option(help="Your own name for the printer.")] = "main",
    *,
    choices: Choices,
) -> None:
    """Store the measured bars of the test page in the practice file, and use this printer."""
    check_bars(x, y)
    path = practice_path(choices["practice"])
    if path is None:
        raise InputError(
            f"practice file {default_path()}: not found, so the correction cannot be stored; "
            f"make it with sheetmark practice init"
        )
    from sheetmark.practice.file.check import read_text
    from sheetmark.practice.file.edit import store_printer
    from sheetmark.typesetting.lettering import unwritable

    printer = Printer(name, x, y)
    changed = store_printer(read_text(path), printer, path.name, unwritable)
    write_all({path: changed.encode()}, force=True)  # it was read as a practice file
    print(f"{printer.summary}; in use from now on", file=sys.stderr)
    print(f"wrote {path}", file=sys.stderr)
