"""`sheetmark overlay`: one case in, a true-scale overlay out."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from sheetmark.anatomy.teeth import write
from sheetmark.base.files import listed, outputs, write_all
from sheetmark.case.case import DEFAULT_ACCESS, DEFAULT_PROCEDURE
from sheetmark.cli.report import print_findings
from sheetmark.cli.selection import (
    AccessOption,
    AgeOption,
    AnchorOption,
    ArchOption,
    CaseFileOption,
    ExposeOption,
    MissingOption,
    MoreOption,
    NoShiftOption,
    PresentOption,
    ProcedureOption,
    ReferenceOption,
    ShiftRuleOption,
    SlitOption,
    TeethArgument,
    WithOption,
)
from sheetmark.cli.settings import (
    EaseOption,
    MaterialOption,
    NotationOption,
    PaperOption,
    PracticeOption,
    PrinterOption,
    PunchOption,
    SheetOption,
    SizingOption,
)
from sheetmark.documents.case.stencil import PEN_MM
from sheetmark.jobs.choices import (
    Options,
    Selection,
    load_practice,
    plan_chosen,
    shift_said,
    with_options,
)
from sheetmark.jobs.outputs import ENDINGS, render_plan
from sheetmark.plan.plan import Plan


def command(
    teeth: TeethArgument = [],  # noqa: B006  typer wants a list and never changes it
    output: Annotated[
        list[str],
        typer.Option("-o", "--output", help=f"File to write: {listed(ENDINGS)}; repeatable."),
    ] = [],  # noqa: B006
    case_file: CaseFileOption = None,
    notation: NotationOption = None,
    procedure: ProcedureOption = DEFAULT_PROCEDURE,
    expose: ExposeOption = [],  # noqa: B006
    more: MoreOption = 0,
    missing: MissingOption = [],  # noqa: B006
    present: PresentOption = [],  # noqa: B006
    with_: WithOption = [],  # noqa: B006
    anchor: AnchorOption = [],  # noqa: B006
    slit: SlitOption = [],  # noqa: B006
    access: AccessOption = DEFAULT_ACCESS,
    age: AgeOption = None,
    arch: ArchOption = None,
    sheet: SheetOption = None,
    paper: PaperOption = None,
    punch: PunchOption = None,
    material: MaterialOption = None,
    sizing: SizingOption = None,
    ease: EaseOption = None,
    shift: ShiftRuleOption = None,
    no_shift: NoShiftOption = False,
    practice_file: PracticeOption = None,
    printer: PrinterOption = None,
    reference: ReferenceOption = "",
    card: Annotated[
        bool, typer.Option("--card", help="The case card alone, without the overlay.")
    ] = False,
    pen: Annotated[float, typer.Option(help="Stencil: diameter of the pen holes in mm.")] = PEN_MM,
    kerf: Annotated[
        float, typer.Option(help="Stencil: width in mm that the cutter takes away.")
    ] = 0.0,
) -> None:
    """Plan one case and write its overlay at true scale, with the case card."""
    files = outputs(output, ENDINGS)
    middle = shift_said(shift, no_shift)
    said = Options(notation, sheet, paper, punch, material, sizing, ease, printer=printer)
    practice = with_options(load_practice(practice_file), said)
    chosen = Selection(
        teeth, procedure, expose, more, missing, present, with_, anchor, slit, access, age, arch,
        reference, case_file,
    )  # fmt: skip
    case = chosen.case(practice.notation)
    plan = plan_chosen(case, chosen.model(case.age), practice, middle, chosen.arch_name)
    write_all(
        {
            path: render_plan(plan, ending[1:], card=card, pen_mm=pen, kerf_mm=kerf)
            for path, ending in files.items()
        }
    )
    _report(plan, list(files))


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
    print_findings(plan.findings, practice)
    if practice.printer_in_use:
        print(practice.numerals(f"{practice.printer_in_use.words} (PDF only)"), file=sys.stderr)
    for path in paths:
        print(f"wrote {path}", file=sys.stderr)
    if not paths:
        print("no file asked for; add -o case.pdf", file=sys.stderr)
