"""`sheetmark overlay`: one case in, a true-scale overlay out."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated, TypeVar

import typer

from sheetmark.arch.model import (
    DEFAULT_MODEL,
    ArchModel,
    load_model,
    model_for_age,
    model_names,
)
from sheetmark.case import (
    ACCESSES,
    DEFAULT_ACCESS,
    DEFAULT_PROCEDURE,
    PROCEDURES,
    Case,
    read_expose,
    read_run,
)
from sheetmark.cli.files import write_all
from sheetmark.conditions import read_states
from sheetmark.findings import InputError
from sheetmark.outputs import FORMATS, render_plan
from sheetmark.plan import Plan, make_plan
from sheetmark.practice.settings import (
    MATERIALS,
    PAPERS,
    SIZING_RULES,
    Practice,
    read_punch,
    read_sheet,
)
from sheetmark.teeth import DEFAULT_NOTATION, NOTATIONS, read_list, write

_Choice = TypeVar("_Choice", bound=str)
_DEFAULT = Practice()


def command(
    teeth: Annotated[list[str], typer.Argument(help="Teeth to treat, such as 16 or 16,15.")],
    output: Annotated[
        list[str],
        typer.Option("-o", "--output", help="File to write: .pdf, .svg or .json; repeatable."),
    ] = [],  # noqa: B006  typer wants a list and never changes it
    notation: Annotated[
        str,
        typer.Option(help="How teeth are written.", autocompletion=lambda: list(NOTATIONS)),
    ] = DEFAULT_NOTATION,
    procedure: Annotated[
        str,
        typer.Option(
            "--for", help=", ".join(PROCEDURES) + ".", autocompletion=lambda: list(PROCEDURES)
        ),
    ] = DEFAULT_PROCEDURE,
    expose: Annotated[
        list[str], typer.Option(help="Teeth to expose instead of the usual ones: 17-13 or a list.")
    ] = [],  # noqa: B006
    more: Annotated[int, typer.Option(help="Teeth to add in front: easier to seat.")] = 0,
    missing: Annotated[list[str], typer.Option(help="Missing teeth; the gap stays.")] = [],  # noqa: B006
    present: Annotated[list[str], typer.Option(help="Third molars that stand.")] = [],  # noqa: B006
    with_: Annotated[
        list[str],
        typer.Option(
            "--with", help='What is different: "24 pontic", "15 missing gap 4", "13 facial 2", …'
        ),
    ] = [],  # noqa: B006
    anchor: Annotated[list[str], typer.Option(help="Teeth to clamp instead of the usual.")] = [],  # noqa: B006
    slit: Annotated[list[str], typer.Option(help="Holes to join to one slot: 24-26.")] = [],  # noqa: B006
    access: Annotated[
        str,
        typer.Option(help="normal or tight.", autocompletion=lambda: list(ACCESSES)),
    ] = DEFAULT_ACCESS,
    age: Annotated[
        int | None, typer.Option(help="Completed years: picks the arch model and the teeth.")
    ] = None,
    arch: Annotated[
        str | None,
        typer.Option(
            help="Arch model: a name or a .toml file.", autocompletion=lambda: list(model_names())
        ),
    ] = None,
    sheet: Annotated[str, typer.Option(help="152, 127 or WIDTHxHEIGHT in mm.")] = "152",
    paper: Annotated[
        str, typer.Option(help="a4 or letter.", autocompletion=lambda: list(PAPERS))
    ] = _DEFAULT.paper,
    punch: Annotated[
        str | None, typer.Option(help='Hole diameters in mm by position, such as "0.5,1,1.5,2".')
    ] = None,
    material: Annotated[
        str, typer.Option(help="latex or nitrile.", autocompletion=lambda: list(MATERIALS))
    ] = _DEFAULT.material,
    sizing: Annotated[
        str,
        typer.Option(help="crown or two-size.", autocompletion=lambda: list(SIZING_RULES)),
    ] = _DEFAULT.sizing,
    ease: Annotated[float, typer.Option(help="mm added to each pitch along the row.")] = 0.0,
    shift: Annotated[
        bool, typer.Option("--shift/--no-shift", help="Middle towards the quadrant, or centred.")
    ] = True,
    reference: Annotated[str, typer.Option(help="Free text on the page; never a name.")] = "",
    card: Annotated[
        bool, typer.Option("--card", help="The case card alone, without the overlay.")
    ] = False,
) -> None:
    """Plan one case and write its overlay at true scale, with the case card."""
    files = [(Path(name), _format(name)) for name in dict.fromkeys(output)]
    written = one_of("notation", notation, NOTATIONS)
    case = Case(
        treat=tuple(dict.fromkeys(read_list(teeth, written))),
        notation=written,
        procedure=one_of("--for", procedure, PROCEDURES),
        expose=read_expose(tuple(expose), written),
        more=more,
        missing=read_list(missing, written),
        present=read_list(present, written),
        states=read_states(with_, written),
        anchors=read_list(anchor, written),
        slits=tuple(read_run(word, written) for text in slit for word in text.split(",")),
        access=one_of("access", access, ACCESSES),
        age=age,
        reference=reference,
    )
    practice = Practice(
        paper=one_of("paper", paper, tuple(PAPERS)),
        sheet=read_sheet(sheet),
        material=one_of("material", material, MATERIALS),
        sizing=one_of("sizing", sizing, SIZING_RULES),
        ease_mm=ease,
        shift=shift,
    )
    if punch is not None:
        practice = replace(practice, punch=read_punch(punch))
    plan = make_plan(case, _model(arch, age), practice, arch_name=Path(arch or "").name)
    write_all({path: render_plan(plan, form, card=card) for path, form in files})
    _report(plan, [path for path, _ in files])


def one_of(what: str, value: str, choices: Sequence[_Choice]) -> _Choice:
    """The choice that was named. Raises InputError with the choices for another word."""
    for choice in choices:
        if choice == value.lower():
            return choice
    raise InputError(f"{what} {value!r}: use one of {', '.join(choices)}")


def _model(arch: str | None, age: int | None) -> ArchModel:
    if arch is not None:
        return load_model(arch)
    return load_model(DEFAULT_MODEL) if age is None else model_for_age(age)


def _format(name: str) -> str:
    ending = Path(name).suffix.lower().removeprefix(".")
    if ending not in FORMATS:
        raise InputError(
            f"output {name!r}: the ending must be one of {', '.join('.' + f for f in FORMATS)}"
        )
    return ending


def _report(plan: Plan, paths: list[Path]) -> None:
    """The hole table to stdout; findings and what was written to stderr."""
    print(f"{'tooth':<7}{'role':<9}{'punch hole':<12}mm")
    for planned in plan.holes:
        own_anchor = planned.treated and planned.role == "anchor"
        role = f"{planned.role}*" if own_anchor else planned.role
        print(
            f"{write(planned.tooth, plan.case.notation):<7}{role:<9}"
            f"{planned.hole.punch_position:<12}{planned.hole.diameter_mm:g}"
        )
    if set(plan.isolation.treated) & set(plan.isolation.anchors):
        print("* also the tooth to treat")
    for one in plan.clamps:
        chosen = one.choices[0] if one.choices else None
        words = f"{chosen.clamp.label} ({chosen.reason})" if chosen else "none of the tray fits"
        print(f"clamp {write(one.tooth, plan.case.notation)}: {words}")
    for finding in plan.findings:
        print(f"{finding.severity}: {finding.line}", file=sys.stderr)
    for path in paths:
        print(f"wrote {path}", file=sys.stderr)
    if not paths:
        print("no file asked for; add -o case.pdf", file=sys.stderr)
