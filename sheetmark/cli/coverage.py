"""`sheetmark arch coverage`: how many patients an arch model serves, and with how many sizes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model, model_names
from sheetmark.base.choice import pick
from sheetmark.base.files import outputs, write_all
from sheetmark.base.json_files import json_bytes
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.options import Force, outputs_of, takes
from sheetmark.cli.progress import working
from sheetmark.cli.talk import note, table
from sheetmark.jobs.outputs import render_drawing
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options
from sheetmark.practice.settings import PAPERS, Paper, Practice

if TYPE_CHECKING:
    from sheetmark.studies.coverage.situations import Situation
    from sheetmark.studies.coverage.study import Coverage

_ENDINGS = (".pdf", ".svg", ".json")
_PATIENTS = 100_000
_SEED = 1
# As in `studies.coverage.patients.Correlations`, which loads numpy; a test compares them.
_TEETH, _PAIR, _ARCH, _TOOTH_ARCH = 0.5, 0.9, 0.5, 0.3
_OWN_MM = 0.55  # as `studies.coverage.patients.OWN_MM`


@takes(replace(*options("paper"), usual=Practice().paper, help="a4 or letter."))
def command(
    models: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="MODEL",
            help="Models to judge, names or .toml files; without any the usual adult ones.",
            autocompletion=lambda: list(model_names()),
        ),
    ] = None,
    output: Annotated[
        list[str],
        outputs_of(_ENDINGS),
    ] = [],  # noqa: B006  typer wants a list and never changes it
    population: Annotated[
        str,
        typer.Option(
            metavar="MODEL",
            help="Model whose means and SDs the patients have.",
            autocompletion=lambda: list(model_names()),
        ),
    ] = DEFAULT_MODEL,
    patients: Annotated[
        int, typer.Option(metavar="COUNT", help="How many patients to draw.")
    ] = _PATIENTS,
    seed: Annotated[
        int, typer.Option(metavar="NUMBER", help="The same seed draws the same patients.")
    ] = _SEED,
    teeth_correlation: Annotated[
        float,
        typer.Option(
            parser=typed_number, metavar="0-1", help="Between the widths of two teeth (assumption)."
        ),
    ] = _TEETH,
    pair_correlation: Annotated[
        float,
        typer.Option(
            parser=typed_number,
            metavar="0-1",
            help="Between right and left (assumption); 1: left = right.",
        ),
    ] = _PAIR,
    arch_correlation: Annotated[
        float,
        typer.Option(
            parser=typed_number, metavar="0-1", help="Between two arch widths (assumption)."
        ),
    ] = _ARCH,
    tooth_arch_correlation: Annotated[
        float,
        typer.Option(
            parser=typed_number,
            metavar="0-1",
            help="Between a tooth's and an arch width (assumption).",
        ),
    ] = _TOOTH_ARCH,
    own_displacement: Annotated[
        float,
        typer.Option(
            parser=typed_number,
            metavar="MM",
            help="Of each tooth from its arch, SD along and across, mm (one sample).",
        ),
    ] = _OWN_MM,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Draw patients from published means and SDs and count those that each model serves."""
    read = [Path(name) for name in (*(models or ()), population)]
    files = outputs(output, _ENDINGS, kind="coverage", read=read, force=force)
    page = PAPERS[pick("paper", choices["paper"], tuple(PAPERS))]
    from sheetmark.studies.coverage.patients import Correlations
    from sheetmark.studies.coverage.study import USUAL_MODELS, study

    names = tuple(models or USUAL_MODELS)
    with working("drawing patients"):
        done = study(
            [load_model(name) for name in names],
            load_model(population),
            patients,
            seed,
            Correlations(
                teeth=teeth_correlation,
                pair=pair_correlation,
                arch=arch_correlation,
                tooth_arch=tooth_arch_correlation,
            ),
            own_displacement,
            recipe_models=[Path(name).name for name in names],
            recipe_population=Path(population).name,
        )
    write_all(
        {path: _render(done, ending, page) for path, ending in files.items()},
        read=read,
        force=force,
    )
    table(report(done))
    for path in files:
        note(f"wrote {path}")


def _render(done: Coverage, ending: str, paper: Paper) -> bytes:
    if ending == ".json":
        return json_bytes(done.as_json())
    from sheetmark.documents.figures.coverage import coverage_page

    return render_drawing(coverage_page(done, paper), ending.removeprefix("."))


def report(done: Coverage) -> str:
    """The study as text tables."""
    tables = [_head(done), *(_served_table(done, name) for name in done.models), _size_table(done)]
    return "\n\n".join("\n".join(line.rstrip() for line in table) for table in tables)


def _head(done: Coverage) -> list[str]:
    from sheetmark.studies.coverage.study import NOTES

    rho = done.correlations
    missed = ", ".join(f"{jaw} {_percent(share)}" for jaw, share in done.missed.items())
    return [
        f"{done.patients:,} patients drawn from {done.population}, seed {done.seed}",
        f"Correlations (assumptions): teeth {rho.teeth:g}, pairs {rho.pair:g}, "
        f"arch widths {rho.arch:g}, tooth and arch width {rho.tooth_arch:g}",
        f"Each tooth's own displacement from its arch: SD {done.own_mm:g} mm along and across",
        f"Laid on the nearest arch, since their teeth cannot reach a width across: {missed}",
        *NOTES,
    ]


def _served_table(done: Coverage, model: str) -> list[str]:
    from sheetmark.studies.coverage.study import LIMITS_MM

    limits = "".join(f"{limit:>7.1f}" for limit in LIMITS_MM)
    lines = [
        f"{model}: errors in mm; patients, %, whose worst hole is within",
        f"{'':<18}{'worst pitch':<15}{'worst hole':<15}",
        f"{'row':<18}{'half':<7}{'95 %':<8}{'half':<7}{'95 %':<6}{limits}",
    ]
    for row in done.served:
        if row.model == model:
            errors = "{:<7.2f}{:<8.2f}{:<7.2f}{:<6.2f}".format(*row.pitch_mm, *row.hole_mm)
            shares = "".join(f"{100 * share:>7.1f}" for share in row.hole_within)
            lines.append(f"{_name(row.situation):<18}{errors}{shares}")
    return lines


def _size_table(done: Coverage) -> list[str]:
    from sheetmark.studies.coverage.study import STEP_LIMITS_MM, WANTED_SHARE

    lines: dict[str, str] = {}
    for steps in done.size_steps:
        sizes = " ".join(f"{size:+g}" if size else "0" for size in steps.sizes)
        share = _percent(steps.share)
        cell = f"{len(steps.sizes)} ({sizes}): {share}" if sizes else f"none: at most {share}"
        name = _name(steps.situation)
        lines[name] = lines.get(name, f"{name:<18}") + f"{cell + ' ':<30}"
    heads = "".join(f"{f'within {limit:.1f} mm':<30}" for limit in STEP_LIMITS_MM)
    return [
        f"Sizes: the fewest models that serve {100 * WANTED_SHARE:g} % of the patients, each",
        "patient by the best of them; in brackets each one's SDs from the mean in every width",
        f"{'row':<18}{heads}",
        *lines.values(),
    ]


def _name(situation: Situation) -> str:
    return f"{situation.jaw} {situation.row}"


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"
