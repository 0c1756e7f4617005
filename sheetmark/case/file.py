"""A case as a TOML file, with a JSON schema to check and complete it by.

Teeth are texts in the file's own notation. Every key but `format` and `treat` may be left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec
from msgspec.structs import fields

from sheetmark.anatomy.teeth import DEFAULT_NOTATION, Notation, Tooth, read, read_list, write
from sheetmark.base.findings import InputError
from sheetmark.base.toml import read_toml, toml_value
from sheetmark.case.case import (
    DEFAULT_ACCESS,
    DEFAULT_PROCEDURE,
    Access,
    Case,
    Procedure,
    ToothState,
    read_expose,
    read_run,
    write_expose,
    write_run,
)
from sheetmark.fitting.measures import read_measures

FORMAT: Literal["sheetmark-case/1"] = "sheetmark-case/1"

ToothText = Annotated[str, msgspec.Meta(min_length=1, description="A tooth in the file's notation")]
MeasureText = Annotated[
    str, msgspec.Meta(min_length=1, description="What callipers measured, mm, as row 14-17 35.2")
]
RunText = Annotated[str, msgspec.Meta(pattern="-", description="Two teeth with a dash, as 24-26")]


class ToothEntry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is different about one tooth. Moves are in mm, lingual and distal negative."""

    tooth: ToothText
    present: bool = False
    missing: bool = False
    gap_mm: float | None = None
    pontic: bool = False
    abutment: bool = False
    implant: bool = False
    partly_erupted: bool = False
    lesion: bool = False
    broken_down: bool = False
    facial_mm: float = 0.0
    mesial_mm: float = 0.0
    rotated_deg: float = 0.0


class CaseFile(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    rename={"procedure": "for"},
):
    """One case: the same choices as the command's, under the same names."""

    format: Literal["sheetmark-case/1"]
    treat: Annotated[tuple[ToothText, ...], msgspec.Meta(min_length=1)]
    notation: Notation = DEFAULT_NOTATION
    procedure: Procedure = DEFAULT_PROCEDURE
    expose: tuple[str, ...] = ()
    more: int = 0
    missing: tuple[ToothText, ...] = ()
    present: tuple[ToothText, ...] = ()
    anchors: tuple[ToothText, ...] = ()
    slits: tuple[RunText, ...] = ()
    access: Access = DEFAULT_ACCESS
    age: int | None = None
    measure: tuple[MeasureText, ...] = ()
    reference: str = ""
    tooth: tuple[ToothEntry, ...] = ()


def read_case(path: Path) -> Case:
    """The case in a file. Raises InputError, with file and key, for one that cannot be used."""
    file = read_toml(path, str(path), CaseFile, "case")
    try:
        return case_of(file)
    except InputError as error:
        lines = [f"{path}: {problem}" for problem in error.problems]
        raise InputError(*lines, actions=error.actions) from error


def case_of(file: CaseFile) -> Case:
    """The case that a file's record describes. Raises InputError for contradictions."""
    return Case(
        treat=tuple(dict.fromkeys(read_list(file.treat, file.notation))),
        notation=file.notation,
        procedure=file.procedure,
        expose=read_expose(file.expose, file.notation),
        more=file.more,
        missing=read_list(file.missing, file.notation),
        present=read_list(file.present, file.notation),
        states=tuple(_state(entry, file.notation) for entry in file.tooth),
        anchors=read_list(file.anchors, file.notation),
        slits=tuple(read_run(text, file.notation) for text in file.slits),
        access=file.access,
        age=file.age,
        measures=read_measures(file.measure, file.notation),
        reference=file.reference,
    )


def write_case(case: Case) -> str:
    """The text of a file that `read_case` reads back as the same case."""

    def teeth(many: Iterable[Tooth]) -> tuple[str, ...]:
        return tuple(write(tooth, case.notation) for tooth in many)

    given = {
        "notation": case.notation,
        "for": case.procedure,
        "expose": tuple(write_expose(case.expose, case.notation).replace(",", " ").split()),
        "more": case.more,
        "missing": teeth(case.missing),
        "present": teeth(case.present),
        "anchors": teeth(case.anchors),
        "slits": tuple(write_run(slit, case.notation) for slit in case.slits),
        "access": case.access,
        "age": case.age,
        "measure": tuple(measure.text(case.notation) for measure in case.measures),
        "reference": case.reference,
    }
    usual = msgspec.to_builtins(CaseFile(format=FORMAT, treat=()))
    lines = [f"format = {toml_value(FORMAT)}", f"treat = {toml_value(teeth(case.treat))}"]
    lines += [f"{key} = {toml_value(value)}" for key, value in given.items() if value != usual[key]]
    for state in case.states:
        lines += ["", "[[tooth]]", f"tooth = {toml_value(write(state.tooth, case.notation))}"]
        lines += [
            f"{field.name} = {toml_value(value)}"
            for field in fields(state)
            if field.name != "tooth" and (value := getattr(state, field.name)) != field.default
        ]
    return "\n".join(lines) + "\n"


def case_schema() -> dict[str, Any]:
    """The JSON schema of a case file."""
    return msgspec.json.schema(CaseFile)


def _state(entry: ToothEntry, notation: Notation) -> ToothState:
    fields = {name: getattr(entry, name) for name in entry.__struct_fields__}
    return ToothState(**(fields | {"tooth": read(entry.tooth, notation)}))
