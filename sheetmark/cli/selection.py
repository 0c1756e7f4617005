"""The options that say which case is meant, for every command that plans one."""

from __future__ import annotations

from typing import Annotated

import typer

from sheetmark.anatomy.arch_model import model_names
from sheetmark.case.case import ACCESSES, PROCEDURES
from sheetmark.jobs.choices import SHIFTS

TeethArgument = Annotated[list[str], typer.Argument(help="Teeth to treat, such as 16 or 16,15.")]
CaseFileOption = Annotated[
    str | None, typer.Option("--case", help="Case file (TOML) instead of teeth and the like.")
]
ProcedureOption = Annotated[
    str,
    typer.Option(
        "--for", help=", ".join(PROCEDURES) + ".", autocompletion=lambda: list(PROCEDURES)
    ),
]
ExposeOption = Annotated[
    list[str],
    typer.Option("--expose", help="Teeth to expose instead of the usual ones: 17-13 or a list."),
]
MoreOption = Annotated[int, typer.Option("--more", help="Teeth to add in front: easier to seat.")]
MissingOption = Annotated[
    list[str], typer.Option("--missing", help="Missing teeth; the gap stays.")
]
PresentOption = Annotated[list[str], typer.Option("--present", help="Third molars that stand.")]
WithOption = Annotated[
    list[str],
    typer.Option(
        "--with", help='What is different: "24 pontic", "15 missing gap 4", "13 facial 2", …'
    ),
]
AnchorOption = Annotated[
    list[str], typer.Option("--anchor", help="Teeth to clamp instead of the usual.")
]
SlitOption = Annotated[list[str], typer.Option("--slit", help="Holes to join to one slot: 24-26.")]
AccessOption = Annotated[
    str,
    typer.Option("--access", help="normal or tight.", autocompletion=lambda: list(ACCESSES)),
]
AgeOption = Annotated[
    int | None,
    typer.Option("--age", help="Completed years: picks the arch model and the teeth."),
]
ArchOption = Annotated[
    str | None,
    typer.Option(
        "--arch",
        help="Arch model: a name or a .toml file.",
        autocompletion=lambda: list(model_names()),
    ),
]
ReferenceOption = Annotated[
    str, typer.Option("--reference", help="Free text on the page; never a name.")
]
ShiftRuleOption = Annotated[
    str | None,
    typer.Option(
        "--shift",
        help="Where the sheet's middle goes: rule (default), even (computed), none (centred).",
        autocompletion=lambda: list(SHIFTS),
    ),
]
NoShiftOption = Annotated[bool, typer.Option("--no-shift", help="The same as --shift none.")]
