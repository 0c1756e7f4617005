"""`sheetmark overlay`: one case in, a true-scale overlay out."""

from __future__ import annotations

import sys
from dataclasses import fields
from pathlib import Path
from typing import Annotated, Any

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
from sheetmark.casefile import read_case
from sheetmark.cli.files import write_all
from sheetmark.cli.settings import (
    EaseOption,
    MaterialOption,
    NotationOption,
    Options,
    PaperOption,
    PracticeOption,
    PrinterOption,
    PunchOption,
    SheetOption,
    ShiftOption,
    SizingOption,
    load_practice,
    one_of,
    with_options,
)
from sheetmark.conditions import read_states
from sheetmark.documents.stencil import PEN_MM
from sheetmark.findings import InputError
from sheetmark.outputs import FORMATS, render_plan
from sheetmark.plan import Plan, make_plan
from sheetmark.teeth import read_list, write

# The ending .cut.svg is for a cutter, .svg alone for people.
_ENDINGS = ", ".join(f".{form}" for form in FORMATS)


def command(
    teeth: Annotated[list[str], typer.Argument(help="Teeth to treat, such as 16 or 16,15.")] = [],  # noqa: B006  typer wants a list and never changes it
    output: Annotated[
        list[str],
        typer.Option("-o", "--output", help=f"File to write, repeatable: {_ENDINGS}."),
    ] = [],  # noqa: B006
    case_file: Annotated[
        str | None, typer.Option("--case", help="Case file (TOML) instead of teeth and the like.")
    ] = None,
    notation: NotationOption = None,
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
    sheet: SheetOption = None,
    paper: PaperOption = None,
    punch: PunchOption = None,
    material: MaterialOption = None,
    sizing: SizingOption = None,
    ease: EaseOption = None,
    shift: ShiftOption = None,
    practice_file: PracticeOption = None,
    printer: PrinterOption = None,
    reference: Annotated[str, typer.Option(help="Free text on the page; never a name.")] = "",
    card: Annotated[
        bool, typer.Option("--card", help="The case card alone, without the overlay.")
    ] = False,
    pen: Annotated[float, typer.Option(help="Stencil: diameter of the pen holes in mm.")] = PEN_MM,
    kerf: Annotated[
        float, typer.Option(help="Stencil: width in mm that the cutter takes away.")
    ] = 0.0,
) -> None:
    """Plan one case and write its overlay at true scale, with the case card."""
    files = [(Path(name), _format(name)) for name in dict.fromkeys(output)]
    said = Options(notation, sheet, paper, punch, material, sizing, ease, shift, printer)
    practice = with_options(load_practice(practice_file), said)
    written = practice.notation
    said_of_case: dict[str, Any] = {
        "treat": tuple(dict.fromkeys(read_list(teeth, written))),
        "procedure": one_of("--for", procedure, PROCEDURES),
        "expose": read_expose(tuple(expose), written),
        "more": more,
        "missing": read_list(missing, written),
        "present": read_list(present, written),
        "states": read_states(with_, written),
        "anchors": read_list(anchor, written),
        "slits": tuple(read_run(word, written) for text in slit for word in text.split(",")),
        "access": one_of("access", access, ACCESSES),
        "age": age,
        "reference": reference,
    }
    if case_file is None:
        case = Case(notation=written, **said_of_case)
    else:
        case = _from_file(case_file, said_of_case)
    plan = make_plan(case, _model(arch, case.age), practice, arch_name=Path(arch or "").name)
    write_all(
        {path: render_plan(plan, form, card=card, pen_mm=pen, kerf_mm=kerf) for path, form in files}
    )
    _report(plan, [path for path, _ in files])


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


def _model(arch: str | None, age: int | None) -> ArchModel:
    if arch is not None:
        return load_model(arch)
    return load_model(DEFAULT_MODEL) if age is None else model_for_age(age)


def _format(name: str) -> str:
    # A name that is nothing but an ending is a hidden file, and a slip.
    bare = Path(name).name.lower()
    fitting = [form for form in FORMATS if bare.endswith(f".{form}") and bare != f".{form}"]
    if not fitting:
        raise InputError(f"output {name!r}: the ending must be one of {_ENDINGS}")
    return max(fitting, key=len)


def _report(plan: Plan, paths: list[Path]) -> None:
    """The hole table to stdout; findings and what was written to stderr."""
    practice = plan.practice
    print(f"{'tooth':<7}{'role':<9}{'punch hole':<12}mm")
    for planned in plan.holes:
        own_anchor = planned.treated and planned.role == "anchor"
        role = f"{planned.role}*" if own_anchor else planned.role
        print(
            f"{write(planned.tooth, plan.case.notation):<7}{role:<9}"
            f"{practice.punch.label(planned.hole.punch_position):<12}"
            f"{practice.numerals(f'{planned.hole.diameter_mm:g}')}"
        )
    if set(plan.isolation.treated) & set(plan.isolation.anchors):
        print("* also the tooth to treat")
    for one in plan.clamps:
        chosen = one.choices[0] if one.choices else None
        words = "none of the tray fits"
        if chosen:
            words = f"{chosen.clamp.label} ({practice.numerals(chosen.reason)})"
        print(f"clamp {write(one.tooth, plan.case.notation)}: {words}")
    for finding in plan.findings:
        print(f"{finding.severity}: {practice.numerals(finding.line)}", file=sys.stderr)
    if practice.printer_in_use:
        print(practice.numerals(f"{practice.printer_in_use.words} (PDF only)"), file=sys.stderr)
    for path in paths:
        print(f"wrote {path}", file=sys.stderr)
    if not paths:
        print("no file asked for; add -o case.pdf", file=sys.stderr)
