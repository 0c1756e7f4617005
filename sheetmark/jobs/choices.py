"""What a person chose, still as words, on the command line or on the page: case and settings.

Options win over the practice file, and the practice file over the defaults.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, Literal, TypeVar, get_args

from sheetmark.anatomy.arch_model import ArchModel, load_model, usual_model
from sheetmark.anatomy.teeth import NOTATIONS, Notation, read_list
from sheetmark.base.findings import InputError
from sheetmark.base.user_folder import practice_path
from sheetmark.case.case import ACCESSES, PROCEDURES, Case, read_expose, read_run
from sheetmark.case.exceptions import read_states
from sheetmark.case.file import read_case
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import (
    MATERIALS,
    PAPERS,
    SIZING_RULES,
    Practice,
    read_punch,
    read_sheet,
)

_Choice = TypeVar("_Choice", bound=str)

Shift = Literal["rule", "even", "none"]
SHIFTS: tuple[Shift, ...] = get_args(Shift)


def one_of(what: str, value: str, choices: Sequence[_Choice]) -> _Choice:
    """The choice that was named. Raises InputError with the choices for another word."""
    for choice in choices:
        if choice == value.lower():
            return choice
    raise InputError(f"{what} {value!r}: use one of {', '.join(choices)}")


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


def load_practice(named: str | None) -> Practice:
    """The settings of the practice file, or the defaults where there is none.

    Raises InputError for a file with a problem: it is never passed over.
    """
    path = practice_path(named)
    if path is None:
        return Practice()
    from sheetmark.practice.file.check import read_practice

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

    def case(self, notation: Notation, shown: Notation | None = None) -> Case:
        """The case it means, its teeth read in `notation` and shown in it or in another one.

        Raises InputError for words that mean none.
        """
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
            return Case(notation=shown or notation, **said)
        return _from_file(self.case_file, said)

    def model(self, age: int | None) -> ArchModel:
        """The model that was named, or the one for the case's age."""
        return usual_model(age) if self.arch is None else load_model(self.arch)

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


def plan_chosen(
    case: Case, model: ArchModel, practice: Practice, shift: Shift | None, arch_name: str = ""
) -> Plan:
    """The plan with the sheet's middle where it was asked for; None: as the practice has it.

    Raises InputError for a case that cannot be done, and NoAnswerError where the most even place
    could not be computed.
    """
    if shift == "even":
        # Loaded here: numpy and SciPy are no part of a plain overlay.
        from sheetmark.studies.membrane.placement import even_plan

        return even_plan(case, model, practice, arch_name=arch_name)
    if shift is not None:
        practice = replace(practice, shift=shift == "rule")
    return make_plan(case, model, practice, arch_name=arch_name)
