"""`sheetmark drawer`: a reusable set, a page for each usual situation."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model
from sheetmark.base.files import pdf_path, write_all
from sheetmark.base.findings import InputError
from sheetmark.case.case import read_procedure
from sheetmark.cli.options import SETTINGS, Force, PdfOutput, takes
from sheetmark.cli.progress import working
from sheetmark.cli.talk import note
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options

USUALLY = "restoration, crown, root-canal, full-arch"


_SITUATIONS = (
    replace(
        *options("for"),
        kind="texts",
        usual=(),
        help=f"Procedures to serve; repeatable (default {USUALLY}).",
    ),
    replace(
        *options("arch"),
        kind="texts",
        usual=(),
        help="Arch model: a name or a .toml file; repeatable.",
    ),
)


@takes(*_SITUATIONS, *SETTINGS)
def command(
    output: PdfOutput,
    both_notations: Annotated[
        bool,
        typer.Option("--both-notations", help="Write each tooth in ISO 3950 and in Universal."),
    ] = False,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Write a page for each usual situation, to print once and keep."""
    path = pdf_path(output, read=files_read(choices), force=force)
    if both_notations and choices["notation"] is not None:
        raise InputError(
            f"notation {choices['notation']!r}: --both-notations writes ISO 3950 and Universal; "
            f"leave out one of them"
        )
    practice = practice_chosen(choices)
    names = list(dict.fromkeys(choices["arch"])) or [DEFAULT_MODEL]
    models = [load_model(name) for name in names]
    from sheetmark.documents.correction import corrected
    from sheetmark.documents.sets.drawer import drawer
    from sheetmark.documents.sets.situations import USUAL
    from sheetmark.render.long_pdf import render_long_pdf

    procedures = [read_procedure(name) for name in dict.fromkeys(choices["for"])]
    with working("drawing the set"):
        document, found = drawer(
            models,
            practice,
            names=[Path(name).name for name in names],
            procedures=procedures or USUAL,
            both_notations=both_notations,
        )
    content = render_long_pdf(corrected(document, practice))
    write_all({path: content}, read=files_read(choices), force=force)
    for line in found.left_out:
        print(f"warning: left out: {practice.numerals(line)}", file=sys.stderr)
    note(f"{len(found.situations)} situations, {len(document.pages)} pages")
    note(f"wrote {path}")
