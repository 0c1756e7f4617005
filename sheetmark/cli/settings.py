"""The settings in force: the defaults, over them the practice file, over it the options."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, TypeVar

import typer

from sheetmark.findings import InputError
from sheetmark.practice.settings import (
    MATERIALS,
    NO_PRINTER,
    PAPERS,
    SIZING_RULES,
    Practice,
    read_punch,
    read_sheet,
)
from sheetmark.teeth import NOTATIONS

FILE_NAME = "practice.toml"
_Choice = TypeVar("_Choice", bound=str)

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


@dataclass(frozen=True, slots=True)
class Options:
    """What was said on the command line; None where nothing was."""

    notation: str | None = None
    sheet: str | None = None
    paper: str | None = None
    punch: str | None = None
    material: str | None = None
    sizing: str | None = None
    ease: float | None = None
    shift: bool | None = None
    printer: str | None = None

    def keys(self) -> list[str]:
        """The practice file's keys of which something was said."""
        return [
            key for field, keys in _KEYS.items() if getattr(self, field) is not None for key in keys
        ]


SHEET_IN_USE = "sheet in use"
_KEYS = {
    "notation": ("notation",),
    "sheet": (SHEET_IN_USE,),
    "paper": ("page.paper",),
    "punch": ("punch.diameters_mm", "punch.labels"),
    "material": (SHEET_IN_USE,),
    "sizing": ("holes.sizing",),
    "ease": ("holes.ease_mm",),
    "shift": ("placement.shift",),
    "printer": ("page.printer",),
}


def one_of(what: str, value: str, choices: Sequence[_Choice]) -> _Choice:
    """The choice that was named. Raises InputError with the choices for another word."""
    for choice in choices:
        if choice == value.lower():
            return choice
    raise InputError(f"{what} {value!r}: use one of {', '.join(choices)}")


def default_path() -> Path:
    """Where a practice file is looked for when none is named."""
    from platformdirs import user_config_path

    return user_config_path("sheetmark", appauthor=False) / FILE_NAME


def practice_path(named: str | None) -> Path | None:
    """The practice file that is meant: the one named, or the user's own if there is one."""
    if named is not None:
        return Path(named)
    path = default_path()
    try:
        path.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError:
        pass  # reading it will say what is wrong; it is never passed over
    return path


def load_practice(named: str | None) -> Practice:
    """The settings of the practice file, or the defaults where there is none.

    Raises InputError for a file with a problem: it is never passed over.
    """
    path = practice_path(named)
    if path is None:
        return Practice()
    from sheetmark.practice.check import read_practice

    return read_practice(path).practice


def with_options(practice: Practice, said: Options) -> Practice:
    """The settings with what was said on the command line. Raises InputError for a bad value."""
    sheet = None if said.sheet is None else read_sheet(said.sheet)
    material = None if said.material is None else one_of("material", said.material, MATERIALS)
    practice = practice.with_sheet(sheet, material)
    if said.notation is not None:
        practice = replace(practice, notation=one_of("notation", said.notation, NOTATIONS))
    if said.paper is not None:
        practice = replace(practice, paper=one_of("paper", said.paper, tuple(PAPERS)))
    if said.punch is not None:
        practice = replace(practice, punch=read_punch(said.punch))
    if said.sizing is not None:
        practice = replace(practice, sizing=one_of("sizing", said.sizing, SIZING_RULES))
    if said.ease is not None:
        practice = replace(practice, ease_mm=said.ease)
    if said.shift is not None:
        practice = replace(practice, shift=said.shift)
    return practice if said.printer is None else practice.with_printer(said.printer)


def unwritable(text: str) -> str:
    """Why the pages' font cannot write a text, or nothing."""
    from sheetmark.documents.lettering import missing_glyphs

    missing = ", ".join(missing_glyphs(text))
    return f"the font has no glyph for {missing}" if missing else ""
