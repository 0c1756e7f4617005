"""`sheetmark strain`: how the sheet is stretched, with a picture."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING, Annotated

import typer
from msgspec.structs import fields, replace

from sheetmark.anatomy.teeth import read, write
from sheetmark.base.choice import pick
from sheetmark.base.files import outputs, write_all
from sheetmark.base.findings import InputError
from sheetmark.base.json_files import json_bytes
from sheetmark.base.numbers import read_number
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.options import CASE, Force, TeethArgument, no_effect, outputs_of, takes
from sheetmark.cli.progress import working
from sheetmark.cli.talk import note, table
from sheetmark.jobs.choices import (
    arch_name,
    case_chosen,
    files_read,
    model_chosen,
    practice_chosen,
)
from sheetmark.jobs.outputs import render_drawing
from sheetmark.plan.holes import TWO_STRETCHES
from sheetmark.plan.make import make_plan
from sheetmark.plan.option_records import Choices
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import THICKNESSES_MM

if TYPE_CHECKING:
    from sheetmark.studies.membrane.frame import Frame, Rubber
    from sheetmark.studies.membrane.report import Placed, Report
    from sheetmark.studies.membrane.strain import Strain

# A comma between digits is a decimal comma.
_BETWEEN_FIGURES = re.compile(r"[,;](?!\d)")
_SHOWN: tuple[Placed, ...] = ("centred", "rule", "best")
_ENDINGS = (".pdf", ".svg", ".json")


# All placements are shown, and nothing is printed.
_OPTIONS = [option for option in CASE if option.name not in ("shift", "no-shift", "printer")]


@takes(*_OPTIONS)
def command(
    teeth: TeethArgument = [],  # noqa: B006  typer wants a list and never changes it
    output: Annotated[
        list[str],
        outputs_of(_ENDINGS),
    ] = [],  # noqa: B006
    show: Annotated[
        str | None,
        typer.Option(
            metavar="PLACEMENT",
            help="The placement in the picture: centred, rule (default) or best.",
            autocompletion=lambda: list(_SHOWN),
        ),
    ] = None,
    thickness: Annotated[
        str | None,
        typer.Option(
            metavar="MM",
            help=f"{', '.join(THICKNESSES_MM)}, or mm (default: the sheet in use, else medium).",
        ),
    ] = None,
    modulus: Annotated[
        float | None,
        typer.Option(
            parser=typed_number,
            metavar="MPA",
            help="Shear modulus, MPa (default 0.4, from memory).",
        ),
    ] = None,
    frame: Annotated[
        list[str],
        typer.Option(
            metavar="TEXT",
            help='A figure of the frame, such as "width 150" or "tilt 55"; repeatable.',
        ),
    ] = [],  # noqa: B006
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """How the sheet is stretched: pull at the frame, rims, strips. For comparing placements."""
    read = files_read(choices)
    files = outputs(output, _ENDINGS, kind="strain", read=read, force=force)
    shown = pick("show", show or "rule", _SHOWN)
    if show is not None and set(files.values()) <= {".json"}:
        raise no_effect("--show", "without a picture", "-o x.pdf")
    practice = practice_chosen({**choices, "shifted": True})
    case = case_chosen(teeth, choices, practice)
    plan = make_plan(case, model_chosen(choices, case), practice, arch_name=arch_name(choices))
    rubber = _rubber(plan, thickness, modulus)
    u_frame = _frame(plan, frame)
    # Loaded here: numpy and SciPy are no part of a plain overlay, nor of bad input.
    from sheetmark.studies.membrane.report import report_on

    with working("computing how the sheet is stretched"):
        report = report_on(plan, u_frame, rubber)
    write_all(
        {path: _render(report, shown, ending) for path, ending in files.items()},
        read=read,
        force=force,
    )
    _print_table(report)
    for path in files:
        note(f"wrote {path}")


def _rubber(plan: Plan, thickness: str | None, modulus: float | None) -> Rubber:
    from sheetmark.studies.membrane.frame import rubber_of

    rubber = rubber_of(plan.practice)
    if thickness is not None:
        known = {word: mm for word, mm in THICKNESSES_MM.items() if word == thickness.lower()}
        mm = next(iter(known.values()), None)
        if mm is None:
            mm = _number("thickness", thickness, f"{', '.join(THICKNESSES_MM)}, or mm")
        rubber = replace(rubber, thickness_mm=mm)
    return rubber if modulus is None else replace(rubber, modulus_mpa=modulus)


def _frame(plan: Plan, texts: list[str]) -> Frame:
    """The frame of the sheet with the figures that were typed."""
    from sheetmark.studies.membrane.frame import frame_for, frame_word

    frame = frame_for(plan.sheet)
    names = {frame_word(field.name): field.name for field in fields(frame)}
    changes: dict[str, float] = {}
    for text in (part.strip() for typed in texts for part in _BETWEEN_FIGURES.split(typed)):
        word, _, value = text.replace("=", " ").partition(" ")
        name = names.get(word.lower())
        if name is None:
            raise InputError(f"frame {text!r}: use one of {', '.join(names)}, and a number")
        changes[name] = _number(f"frame {word}", value.strip(), "a number")
    points = changes.pop("points", frame.points)
    if points != int(points):
        raise InputError(f"frame points {points:g}: must be a whole number")
    return replace(frame, points=int(points), **changes)


def _number(what: str, text: str, usage: str) -> float:
    try:
        return read_number(text)
    except ValueError:
        raise InputError(f"{what} {text!r}: not a number; use {usage}") from None


def _render(report: Report, shown: Placed, ending: str) -> bytes:
    if ending == ".json":
        return json_bytes(report.as_json())
    from sheetmark.documents.figures.strain import strain_picture

    return render_drawing(strain_picture(report, shown), ending.removeprefix("."))


def _print_table(report: Report) -> None:
    """Print the three placements side by side."""
    from sheetmark.studies.membrane.report import LEFT_OUT, PURPOSE

    numerals = report.plan.practice.numerals
    rows: list[tuple[str, list[str]]] = [("", list(report.strains))]
    strains = report.strains.items()
    rows += [
        (
            "middle of the sheet x, y mm",
            [f"{s.shift_mm[0] + 0.0:.1f}, {s.shift_mm[1] + 0.0:.1f}" for _, s in strains],
        ),
        ("unevenness of the pull (0 is even)", [f"{s.evenness:.2f}" for _, s in strains]),
        (
            "pull at a frame point N",
            [
                f"{min(p.newton for p in s.pull):.1f}-{max(p.newton for p in s.pull):.1f}"
                for _, s in strains
            ],
        ),
        (
            "pull on right, left N",
            [f"{s.side_pull(-1):.1f}, {s.side_pull(1):.1f}" for _, s in strains],
        ),
        ("largest stretch", [f"{s.largest_stretch:.1f}" for _, s in strains]),
        ("stretch at break over it", [report.margin_shown(placed) for placed, _ in strains]),
        ("slack, wrinkled % of sheet", [_shares(s) for _, s in strains]),
    ]
    notation = report.plan.case.notation
    for iso in next(iter(report.strains.values())).rim_stretch:
        tooth = write(read(iso, "iso"), notation)
        rows.append(
            (f"stretch at the rim of {tooth}", [f"{s.rim_stretch[iso]:.1f}" for _, s in strains])
        )
    for place, strip in enumerate(next(iter(report.strains.values())).strips):
        names = "-".join(write(read(iso, "iso"), notation) for iso in strip.teeth)
        rows.append(
            (
                f"strip {names} mm {strip.before_mm:.1f} to {strip.after_mm:.1f}, wrinkled %",
                [f"{100 * s.strips[place].wrinkled_share:.0f}" for _, s in strains],
            )
        )
    for head, cells in rows:
        table(numerals(f"{head:<42}" + "".join(f"{cell:>16}" for cell in cells)).rstrip())
    solver = report.as_json()["solver"]
    table(
        numerals(
            f"solved with {solver['free_nodes']} free nodes, {solver['iterations']} steps, forces "
            f"balanced to {solver['residual']:.0e}; best place in {report.search.solves} solves"
        )
    )
    for placed in report.strains:
        if report.margin(placed) < 1:
            print(
                f"warning: {placed}: stretched beyond the break in this model. Rubber that "
                f"stiffens would stretch less; watch that rim all the same.",
                file=sys.stderr,
            )
    note(numerals(f"{TWO_STRETCHES} {LEFT_OUT} {PURPOSE}"))


def _shares(strain: Strain) -> str:
    slack, wrinkled = (
        100 * mm2 / strain.sheet_mm2 for mm2 in (strain.slack_mm2, strain.wrinkled_mm2)
    )
    return f"{slack:.0f}, {wrinkled:.0f}"
