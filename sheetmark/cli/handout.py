"""`sheetmark handout`: teaching pages, and a list of them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

import typer

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model
from sheetmark.base.files import pdf_path, write_all
from sheetmark.base.findings import InputError
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.options import SETTINGS, Force, takes
from sheetmark.cli.progress import working
from sheetmark.cli.talk import note
from sheetmark.documents.handouts.names import HANDOUTS
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options
from sheetmark.plan.recipe import document_line
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.marks import Document

# Options that only some handouts have.
_OWN = {"exercise": ("cases", "seed", "tolerance"), "why-the-middle-moves": ("tooth",)}


@takes(replace(*options("arch"), usual=DEFAULT_MODEL), *SETTINGS)
def command(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help=f"{', '.join(HANDOUTS)}; or list, to describe them.",
            autocompletion=lambda: [*HANDOUTS, "list"],
        ),
    ],
    output: Annotated[
        str | None,
        typer.Option("-o", "--output", metavar="FILE.pdf", help="File to write, a .pdf."),
    ] = None,
    cases: Annotated[
        int | None, typer.Option(metavar="COUNT", help="exercise: how many cases (default 3).")
    ] = None,
    seed: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="exercise: which cases (default 1).")
    ] = None,
    tolerance: Annotated[
        float | None,
        typer.Option(
            parser=typed_number,
            metavar="MM",
            help="exercise: radius of the key's rings, mm (default 2).",
        ),
    ] = None,
    tooth: Annotated[
        str | None,
        typer.Option(
            metavar="TOOTH", help="why-the-middle-moves: the tooth to treat (default ISO 16)."
        ),
    ] = None,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Write a teaching page, true to scale where it shows a sheet."""
    if name == "list":
        for known, description in HANDOUTS.items():
            print(f"{known:<22}{description}")
        return
    if name not in HANDOUTS:
        raise InputError(f"handout {name!r}: unknown; use {', '.join(HANDOUTS)}")
    own: dict[str, Any] = {"cases": cases, "seed": seed, "tolerance": tolerance, "tooth": tooth}
    own = {key: value for key, value in own.items() if value is not None}
    for key in own:
        if key not in _OWN.get(name, ()):
            raise InputError(f"--{key}: has no meaning for the handout {name}; leave it out")
    if output is None:
        raise InputError(f"handout {name}: no file to write; add -o {name}.pdf")
    path = pdf_path(output)
    practice = practice_chosen(choices)
    document = _drawn(name, choices["arch"], practice, own)
    from sheetmark.documents.correction import corrected
    from sheetmark.render.pdf import render_pdf

    content = render_pdf(corrected(document, practice))
    write_all({path: content}, read=files_read(choices), force=force)
    note(f"{document.title}, pages: {len(document.pages)}")
    note(f"wrote {path}")


def _drawn(name: str, arch: str, practice: Practice, own: dict[str, Any]) -> Document:
    options = {key: str(value) for key, value in own.items()}
    options["arch"] = Path(arch).name if arch != DEFAULT_MODEL else ""
    from sheetmark.documents.handouts.all import draw_handout
    from sheetmark.documents.handouts.lesson import Lesson

    lesson = Lesson(load_model(arch), practice, document_line(["handout", name], options, practice))
    with working(f"drawing {name}"):
        return draw_handout(name, lesson, **own)
