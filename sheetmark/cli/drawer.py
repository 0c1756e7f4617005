"""`sheetmark drawer`: a reusable set, a page for each usual situation."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model, model_names
from sheetmark.base.files import pdf_path, write_all
from sheetmark.base.findings import InputError
from sheetmark.case.case import PROCEDURES
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
from sheetmark.jobs.choices import Options, load_practice, one_of, with_options

USUALLY = "restoration, crown, root-canal, full-arch"


def command(
    output: Annotated[str, typer.Option("-o", "--output", help="File to write, a .pdf.")],
    arch: Annotated[
        list[str],
        typer.Option(
            help="Arch model: a name or a .toml file; repeatable.",
            autocompletion=lambda: list(model_names()),
        ),
    ] = [],  # noqa: B006  typer wants a list and never changes it
    procedure: Annotated[
        list[str],
        typer.Option("--for", help=f"Procedures to serve; repeatable (default {USUALLY})."),
    ] = [],  # noqa: B006
    both_notations: Annotated[
        bool,
        typer.Option("--both-notations", help="Write each tooth in ISO 3950 and in Universal."),
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
    """Write a page for each usual situation of an arch model, to print once and keep."""
    path = pdf_path(output)
    if both_notations and notation is not None:
        raise InputError(
            f"notation {notation!r}: --both-notations writes ISO 3950 and Universal; "
            f"leave one of the two out"
        )
    said = Options(notation, sheet, paper, punch, material, sizing, ease, shift, printer)
    practice = with_options(load_practice(practice_file), said)
    names = list(dict.fromkeys(arch)) or [DEFAULT_MODEL]
    models = [load_model(name) for name in names]
    from sheetmark.documents.correction import corrected
    from sheetmark.documents.sets.drawer import USUAL, drawer
    from sheetmark.render.pdf import render_pdf

    procedures = [one_of("--for", name, PROCEDURES) for name in dict.fromkeys(procedure)]
    document, found = drawer(
        models,
        practice,
        names=[Path(name).name for name in names],
        procedures=procedures or USUAL,
        both_notations=both_notations,
    )
    write_all({path: render_pdf(corrected(document, practice))})
    for words in found.left_out:
        print(f"warning: left out: {practice.numerals(words)}", file=sys.stderr)
    print(f"{len(found.situations)} situations, {len(document.pages)} pages", file=sys.stderr)
    print(f"wrote {path}", file=sys.stderr)
