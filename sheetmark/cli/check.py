"""`sheetmark check`: the check page, and each hole's error from a photograph taken on it."""

from __future__ import annotations

from typing import Annotated

import typer

from sheetmark.base.files import pdf_path, write_all
from sheetmark.cli.options import Force, takes
from sheetmark.cli.talk import note
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options
from sheetmark.practice.settings import PAPERS

app = typer.Typer(help="What was punched: each hole's error from a photograph.")


@app.command("page")
@takes(*options("sheet", "paper", "practice"))
def page(
    output: Annotated[
        str, typer.Option("-o", "--output", metavar="FILE.pdf", help="File to write, a .pdf.")
    ],
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Write the check page: lay the punched sheet on it and photograph both."""
    path = pdf_path(output)
    practice = practice_chosen(choices)
    from sheetmark.documents.check_page import check_page
    from sheetmark.documents.correction import corrected
    from sheetmark.render.pdf import render_pdf

    document = check_page(PAPERS[practice.paper], practice.sheet)
    content = render_pdf(corrected(document, practice))
    write_all({path: content}, read=files_read(choices), force=force)
    if practice.printer_in_use:
        note(practice.numerals(practice.printer_in_use.summary))
    note(f"wrote {path}")
