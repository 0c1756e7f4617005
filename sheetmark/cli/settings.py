"""The options that stand in for what a practice file says, for every command that has them."""

from __future__ import annotations

from typing import Annotated

import typer

from sheetmark.anatomy.teeth import NOTATIONS
from sheetmark.practice.settings import MATERIALS, NO_PRINTER, PAPERS, SIZING_RULES

# The options that a practice file can answer; None: not said.
PracticeOption = Annotated[
    str | None,
    typer.Option("--practice", help="Practice file; else the one in your settings folder, if any."),
]
NotationOption = Annotated[
    str | None,
    typer.Option(
        "--notation",
        help="How teeth are written: iso (default), universal or palmer.",
        autocompletion=lambda: list(NOTATIONS),
    ),
]
SheetOption = Annotated[
    str | None, typer.Option("--sheet", help="152 (default), 127 or WIDTHxHEIGHT in mm.")
]
PaperOption = Annotated[
    str | None,
    typer.Option("--paper", help="a4 (default) or letter.", autocompletion=lambda: list(PAPERS)),
]
PunchOption = Annotated[
    str | None,
    typer.Option("--punch", help='Hole diameters in mm by position, such as "0.5,1,1.5,2".'),
]
MaterialOption = Annotated[
    str | None,
    typer.Option(
        "--material", help="latex (default) or nitrile.", autocompletion=lambda: list(MATERIALS)
    ),
]
SizingOption = Annotated[
    str | None,
    typer.Option(
        "--sizing", help="crown (default) or two-size.", autocompletion=lambda: list(SIZING_RULES)
    ),
]
EaseOption = Annotated[
    float | None, typer.Option("--ease", help="mm added to each pitch along the row (default 0).")
]
ShiftOption = Annotated[
    bool | None,
    typer.Option("--shift/--no-shift", help="Middle towards the quadrant (default), or centred."),
]
PrinterOption = Annotated[
    str | None,
    typer.Option(
        "--printer", help=f"Printer to correct for, from the practice file; {NO_PRINTER}."
    ),
]
