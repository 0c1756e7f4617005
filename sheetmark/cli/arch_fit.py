"""`sheetmark arch fit`: an arch model of the clinic's own, from callipers, a picture or a scan."""

from __future__ import annotations

from typing import Annotated

import typer

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, model_names
from sheetmark.anatomy.teeth import JAWS
from sheetmark.cli.options import Force, takes
from sheetmark.fitting.measures import MEASURING_POINTS
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options


@takes(*options("notation", "paper", "practice", "printer"))
def command(
    output: Annotated[
        str | None,
        typer.Option("-o", "--output", metavar="FILE.toml", help="Model file to write: .toml."),
    ] = None,
    name: Annotated[
        str | None, typer.Option(metavar="NAME", help="Name of the model; else that of the file.")
    ] = None,
    date: Annotated[
        str,
        typer.Option(
            metavar="DATE",
            help="Day of measuring, such as 2026-11-25, to be written into the model.",
        ),
    ] = "",
    measure: Annotated[
        list[str],
        typer.Option(
            metavar="TEXT",
            help='Callipers, mm: "upper canines 33.1", "upper premolars 36", "upper molars 46", '
            '"upper depth 30", "row 14-17 36", "14-24 36", "16 10.4", "upper six fronts 47.2". '
            "A row runs straight from mesial to distal. Depth runs from the central incisors to "
            "the line of the first molars.",
        ),
    ] = [],  # noqa: B006  typer wants a list and never changes it
    point: Annotated[
        str,
        typer.Option(
            metavar="POINT",
            help="Where widths were measured: centres (at the gum line), contacts or cusp-tips.",
            autocompletion=lambda: list(MEASURING_POINTS),
        ),
    ] = MEASURING_POINTS[0],
    landmarks: Annotated[
        list[str],
        typer.Option(
            metavar="FILE.csv",
            help="CSV of one jaw in mm, seen from the biting side: tooth, mesial_x, mesial_y, "
            "distal_x, distal_y; or facial and lingual points of the gum margin; or tooth, x, y of "
            "each tooth's middle.",
        ),
    ] = [],  # noqa: B006
    scan: Annotated[
        list[str],
        typer.Option(
            metavar="FILE",
            help="Scan of one jaw in mm: .stl, .ply or .obj; repeatable for both jaws.",
        ),
    ] = [],  # noqa: B006
    y_down: Annotated[
        bool, typer.Option("--y-down", help="y of the landmarks counts downwards.")
    ] = False,
    jaw: Annotated[
        str | None,
        typer.Option(
            metavar="JAW", help="The jaw meant: upper or lower.", autocompletion=lambda: list(JAWS)
        ),
    ] = None,
    base: Annotated[
        str,
        typer.Option(
            metavar="MODEL",
            help="Model for all that was not measured: a name or a .toml file.",
            autocompletion=lambda: list(model_names()),
        ),
    ] = DEFAULT_MODEL,
    picture: Annotated[
        list[str],
        typer.Option(
            metavar="FILE",
            help="True-scale picture to write: .svg or .pdf of the arch, .png of a scan with its "
            "teeth, one for each scan; repeatable.",
        ),
    ] = [],  # noqa: B006
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Make an arch model from measurements of a patient or a cast."""
    # Loaded here so that no other command waits for it.
    from sheetmark.cli.fitting import Request, fit_and_write

    fit_and_write(
        Request(
            date=date,
            output=output,
            name=name,
            measure=tuple(measure),
            point=point,
            landmarks=tuple(dict.fromkeys(landmarks)),
            scan=tuple(dict.fromkeys(scan)),
            y_down=y_down,
            jaw=jaw,
            base=base,
            picture=tuple(dict.fromkeys(picture)),
        ),
        practice_chosen(choices),
        read=files_read(choices),
        force=force,
    )
