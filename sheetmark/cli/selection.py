"""The options that say which case is meant, for every command that plans one."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

import typer

from sheetmark.arch.model import DEFAULT_MODEL, ArchModel, load_model, model_for_age, model_names
from sheetmark.case import ACCESSES, PROCEDURES, Case, read_expose, read_run
from sheetmark.casefile import read_case
from sheetmark.cli.settings import one_of
from sheetmark.conditions import read_states
from sheetmark.findings import InputError
from sheetmark.teeth import Notation, read_list

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

Shift = Literal["rule", "even", "none"]
SHIFTS: tuple[Shift, ...] = get_args(Shift)


@dataclass(frozen=True, slots=True)
class Selection:
    """What was said of a case on the command line, still as words."""

    teeth: list[str]
    procedure: str
    expose: list[str]
    more: int
    missing: list[str]
    present: list[str]
    with_: list[str]
    anchor: list[str]
    slit: list[str]
    access: str
    age: int | None
    arch: str | None
    reference: str = ""
    case_file: str | None = None

    def case(self, notation: Notation) -> Case:
        """The case it means. Raises InputError for words that mean none."""
        said: dict[str, Any] = {
            "treat": tuple(dict.fromkeys(read_list(self.teeth, notation))),
            "procedure": one_of("--for", self.procedure, PROCEDURES),
            "expose": read_expose(tuple(self.expose), notation),
            "more": self.more,
            "missing": read_list(self.missing, notation),
            "present": read_list(self.present, notation),
            "states": read_states(self.with_, notation),
            "anchors": read_list(self.anchor, notation),
            "slits": tuple(
                read_run(word, notation) for text in self.slit for word in text.split(",")
            ),
            "access": one_of("access", self.access, ACCESSES),
            "age": self.age,
            "reference": self.reference,
        }
        if self.case_file is None:
            return Case(notation=notation, **said)
        return _from_file(self.case_file, said)

    def model(self, age: int | None) -> ArchModel:
        """The model that was named, or the one for the case's age."""
        if self.arch is not None:
            return load_model(self.arch)
        return load_model(DEFAULT_MODEL) if age is None else model_for_age(age)

    @property
    def arch_name(self) -> str:
        """What the recipe calls the model."""
        return Path(self.arch or "").name


def _from_file(name: str, said: dict[str, Any]) -> Case:
    """The case of a file, beside which nothing else may be said of the case."""
    case = read_case(Path(name))
    blank = {field.name: field.default for field in fields(Case)} | {"treat": ()}
    doubled = [key for key, value in said.items() if value != blank[key]]
    if doubled:
        raise InputError(
            f"case {name!r}: {', '.join(doubled)} said beside the file; say it in the file, "
            f"or leave out --case"
        )
    return case


def shift_said(shift: str | None, no_shift: bool) -> Shift | None:
    """Which shift was asked for, None where nothing was said."""
    named = None if shift is None else one_of("shift", shift, SHIFTS)
    if no_shift and named not in (None, "none"):
        raise InputError(f"shift {named!r}: contradicts --no-shift; leave out one of them")
    return "none" if no_shift else named
