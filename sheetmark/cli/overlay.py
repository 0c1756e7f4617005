"""`sheetmark overlay`: one case in, a true-scale overlay out."""

from __future__ import annotations

import sys
from contextlib import nullcontext
from typing import Annotated

import typer

from sheetmark.anatomy.teeth import write
from sheetmark.base.files import outputs, write_all
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.options import CASE, Force, TeethArgument, no_effect, outputs_of, takes
from sheetmark.cli.progress import working
from sheetmark.cli.report import print_findings
from sheetmark.cli.talk import detail, note, table
from sheetmark.documents.case.order import slits
from sheetmark.documents.case.stencil import PEN_MM
from sheetmark.jobs.choices import (
    arch_name,
    cases_chosen,
    files_read,
    is_slow,
    model_chosen,
    plan_chosen,
    practice_chosen,
    shift_chosen,
)
from sheetmark.jobs.outputs import DRAWING_ENDINGS, ENDINGS, STENCIL_ENDINGS, render_plans
from sheetmark.plan.option_records import Choices
from sheetmark.plan.plan import Plan


@takes(*CASE)
def command(
    teeth: TeethArgument = [],  # noqa: B006  typer wants a list and never changes it
    output: Annotated[
        list[str],
        outputs_of(ENDINGS),
    ] = [],  # noqa: B006
    card: Annotated[
        bool, typer.Option("--card", help="The case card alone, without the overlay.")
    ] = False,
    pen: Annotated[
        float | None,
        typer.Option(
            parser=typed_number,
            metavar="MM",
            help=f"Stencil: diameter of the pen holes in mm (default {PEN_MM:g}).",
        ),
    ] = None,
    kerf: Annotated[
        float | None,
        typer.Option(
            parser=typed_number,
            metavar="MM",
            help="Stencil: width in mm that the cutter takes away (default 0).",
        ),
    ] = None,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Plan one case: its overlay at true scale, and the case card.

    Teeth of both jaws make two sheets in one PDF, the upper jaw first.
    """
    read = files_read(choices)
    files = outputs(output, ENDINGS, kind="plan", read=read, force=force)
    typed = {"pen_mm": pen, "kerf_mm": kerf}
    stencil = {name: mm for name, mm in typed.items() if mm is not None}
    if stencil and not any(ending in STENCIL_ENDINGS for ending in files.values()):
        option = "--pen" if pen is not None else "--kerf"
        raise no_effect(option, "without a stencil", "-o case.dxf")
    if card and not any(ending in DRAWING_ENDINGS for ending in files.values()):
        raise no_effect("--card", "without a page", "-o card.pdf")
    shift = shift_chosen(choices)
    practice = practice_chosen(choices)
    # Only these take longer than a second; the others must not wait for a bar to be loaded.
    with working("computing the plan") if is_slow(choices) else nullcontext():
        plans = [
            plan_chosen(case, model_chosen(choices, case), practice, shift, arch_name(choices))
            for case in cases_chosen(teeth, choices, practice)
        ]
    write_all(
        {
            path: render_plans(plans, ending[1:], card=card, **stencil)
            for path, ending in files.items()
        },
        read=read,
        force=force,
    )
    for plan in plans:
        detail(f"arch model {plan.arch.model}; made again by: {plan.command}")
        if len(plans) > 1:
            table(f"{plan.arch.jaw} jaw")
        _report(plan)
    if practice.printer_in_use:
        note(practice.numerals(f"{practice.printer_in_use.summary} (PDF only)"))
    for path in files:
        note(f"wrote {path}")
    if not files:
        print("no file written; add -o case.pdf", file=sys.stderr)


def _report(plan: Plan) -> None:
    """Print the hole table to stdout and the findings to stderr."""
    practice = plan.practice
    table(f"{'tooth':<7}{'role':<9}{'punch hole':<12}mm")
    for planned in plan.holes:
        own_anchor = planned.treated and planned.role == "anchor"
        role = f"{planned.role}*" if own_anchor else planned.role
        table(
            f"{write(planned.tooth, plan.case.notation):<7}{role:<9}"
            f"{practice.punch.label(planned.hole.punch_position):<12}"
            f"{practice.numerals(f'{planned.hole.diameter_mm:g}')}"
        )
    if set(plan.isolation.treated) & set(plan.isolation.anchors):
        table("* also the tooth to treat")
    for slit in slits(plan):
        table(f"slit {slit}: punch its holes, then cut from end to end")
    for anchor in plan.clamps:
        best = anchor.choices[0] if anchor.choices else None
        clamp = "none of the tray fits"
        if best:
            clamp = f"{best.clamp.label} ({practice.numerals(best.reason)})"
        table(f"clamp {write(anchor.tooth, plan.case.notation)}: {clamp}")
    for retractor in plan.retractors:
        clamp = retractor.first.label if retractor.first else "ligature"
        reason = retractor.choices[0].reason if retractor.choices else retractor.ligature
        tooth = write(retractor.tooth, plan.case.notation)
        table(f"gum of {tooth}: {clamp} ({practice.numerals(reason)})")
    print_findings(plan.findings, practice)
