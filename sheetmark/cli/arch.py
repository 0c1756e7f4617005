"""`sheetmark arch`: list the arch models, show one with its sources, make a new one."""

from __future__ import annotations

from itertools import pairwise
from math import dist
from typing import Annotated, Literal

import typer

from sheetmark.anatomy.arch_model import (
    ArchModel,
    JawModel,
    load_model,
    model_names,
    own_list,
)
from sheetmark.anatomy.curves import Curve
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import on_a_line
from sheetmark.base.sources import MEANING
from sheetmark.cli import arch_fit, coverage

app = typer.Typer(help="Arch models: list them, show one, make your own.")
app.command("fit")(arch_fit.command)
app.command("coverage")(coverage.command)


@app.command("list")
def list_models() -> None:
    """List the shipped arch models and the clinic's own, one a line."""
    for name in model_names():
        print(f"{name:<16}{load_model(name).title}")
    for own in own_list():
        title = own.model.title if own.model else f"broken: {own.problem}"
        print(f"{on_a_line(own.name):<15} {title}")


@app.command("show")
def show(
    name: Annotated[
        str,
        typer.Argument(
            metavar="MODEL",
            help="A model's name or a .toml file.",
            autocompletion=lambda: list(model_names()),
        ),
    ],
    curve: Annotated[
        Literal["sixth-order", "beta", "catenary", "even-order"] | None,
        typer.Option(
            metavar="CURVE",
            help="For comparison: lay the teeth, except third molars, along a curve of another "
            "form, the one nearest to the model's widths.",
        ),
    ] = None,
) -> None:
    """Show a model's widths, pitches, arch widths and depth, each with source and flag."""
    model = load_model(name)
    sources = model.sources | gum_line_table().sources
    if curve is not None:
        from sheetmark.studies.published_forms import with_form

        model = with_form(model, curve)
        sources = model.sources
    for jaw in JAWS:
        build_arch(model, jaw)  # teeth past a curve's end are refused before anything is printed
        for slot in model.jaw(jaw).row:
            row, text = model.width(jaw, slot)
            sources.setdefault(row.source, text)
    print(f"{model.name}: {model.title}. Lengths in mm.")
    for jaw in JAWS:
        _show_jaw(model, model.jaw(jaw), jaw)
    print("\nSources")
    for key, text in sources.items():
        print(f"  {key}: {text}")
    print("\nFlags: " + "; ".join(f"{flag} {meaning}" for flag, meaning in MEANING.items()))


def _show_jaw(model: ArchModel, jaw: JawModel, name: Jaw) -> None:
    arch = build_arch(model, name)
    half = [place for place in arch.places if place.tooth.side == "left"]
    half.sort(key=lambda place: place.tooth.position)
    print(f"\n{name} jaw")
    if jaw.placed:
        _show_places(jaw)
        return
    print("  tooth  width  SD    source, flag")
    for place in half:
        row, _ = model.width(name, place.tooth.slot)
        sd = f"{row.sd_mm:.2f}" if row.sd_mm else "-"
        note = f" ({row.note})" if row.note else ""
        print(f"  {row.tooth:<7}{row.mm:<7g}{sd:<6}{row.source}, {row.flag}{note}")
    print("  pitch between neighbouring gum-line centres (derived)")
    first = half[0].tooth.slot
    print(f"  {first}-{first} across the midline  {2 * half[0].centre[0]:.2f}")
    for near, other in pairwise(half):
        print(f"  {near.tooth.slot}-{other.tooth.slot}    {dist(near.centre, other.centre):.2f}")
    print("  width between the gum-line centres of right and left")
    print("  tooth  given  SD    laid   source, flag")
    for width in jaw.centre_widths:
        laid = next((f"{2 * p.centre[0]:.2f}" for p in half if p.tooth.slot == width.tooth), "-")
        sd = f"{width.sd_mm:.2f}" if width.sd_mm else "-"
        notes = [f"SD {width.sd_flag}"] if width.sd_flag else []
        notes += [width.note] if width.note else []
        note = f" ({'; '.join(notes)})" if notes else ""
        print(
            f"  {width.tooth:<7}{width.mm:<7.2f}{sd:<6}{laid:<7}{width.source}, {width.flag}{note}"
        )
    for position, off in arch.missed_mm:
        slot = next(p.tooth.slot for p in half if p.tooth.position == position)
        side = "wider" if off > 0 else "narrower"
        print(f"  out of reach of these teeth: tooth {slot}, laid {abs(off):.2f} {side}")
    print("  depth behind the incisal point (derived)")
    print("  tooth  gum line  contacts")
    for place in half:
        gum, contact = (abs(arch.incisal_y_mm - point.y) for point in (place.centre, place.contact))
        print(f"  {place.tooth.slot:<7}{gum:<10.2f}{contact:.2f}")
    if jaw.curve is not None:
        _show_curve(jaw.curve)
        print("  the middle of a chord of the curve stands for gum line and contacts alike")


def _show_places(jaw: JawModel) -> None:
    """Every tooth of a mouth that was measured."""
    print("  gum-line centres: x to the patient's left, y behind the central incisors")
    print("  tooth  x       y       width   source, flag")
    for place in jaw.placed:
        figures = f"{place.x_mm:<8.2f}{place.y_mm:<8.2f}{place.width_mm:<8.2f}"
        print(f"  {place.tooth:<7}{figures}{place.source}, {place.flag}")
    if jaw.worst_hole:
        print("  worst hole of a row off by up to, in half of such mouths and in 95 %")
    for known in jaw.worst_hole:
        figures = f"{known.half_mm:<8.2f}{known.most_mm:<8.2f}"
        print(f"  {known.row:<15}{figures}{known.source}, {known.flag}")


def _show_curve(curve: Curve) -> None:
    figures = ", ".join(
        f"{key} = {getattr(curve, key):.6g}" for key in curve.__struct_fields__ if key not in
        ("source", "flag")
    )  # fmt: skip
    form = type(curve).__struct_config__.tag
    print(f"  curve {form}: {figures}; {curve.source}, {curve.flag}")
