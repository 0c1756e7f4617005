"""The gum-line row and other forms of the arch on the same widths, as Markdown tables."""

from __future__ import annotations

from typing import get_args

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, ArchModel, load_model, model_names
from sheetmark.anatomy.jaw import Arch, build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, tooth_at
from sheetmark.studies.published_forms import Form, with_form
from tests.helpers.mean_arches import SAMPLES, SCALED, landmarks, off, sample

OWN = "gum-line row"
FORMS: tuple[Form, ...] = get_args(Form)


def curves() -> None:
    """Print every form's figures for the default model, and its worst width for every model."""
    models = {name: _by_form(load_model(name)) for name in model_names()}
    print(_figures(models[DEFAULT_MODEL]), _widths(models), sep="\n\n")


def _by_form(model: ArchModel) -> dict[str, ArchModel]:
    return {OWN: model} | {form: with_form(model, form) for form in FORMS}


def _figures(forms: dict[str, ArchModel]) -> str:
    lines = [
        f"{DEFAULT_MODEL}, mm. Worst width: of the widths between canines, first premolars and "
        "first molars. Canines: how far their centres lie behind the central incisors'. Step: how "
        "much wider the second molars stand than the first. Samples: worst tooth / root mean "
        "square after the best rigid fit, the sample's widths made the model's.",
        "",
        "| jaw | form | worst width | canines | step | gum-line landmarks | crowns | whole teeth |",
        f"|{' --- |' * (5 + len(SAMPLES))}",
    ]
    for jaw in JAWS:
        for form, model in forms.items():
            arch = build_arch(model, jaw)
            first, canine, molar, second = (arch.place(tooth_at(jaw, p)) for p in (1, 3, 6, 7))
            step = 2 * (second.centre.x - molar.centre.x)
            depth = abs(canine.centre.y - first.centre.y)
            cells = [f"{_worst_width(model, jaw):.2f}", f"{depth:.1f}", f"{step:.1f}"]
            cells += [" / ".join(f"{mm:.2f}" for mm in _to_sample(arch, name)) for name in SAMPLES]
            lines.append(f"| {jaw} | {form} | {' | '.join(cells)} |")
    return "\n".join(lines)


def _to_sample(arch: Arch, name: str) -> tuple[float, float]:
    own = landmarks(arch, name)
    return off(own, SCALED["widths only"](own, sample(name, arch.jaw)))


def _widths(models: dict[str, dict[str, ArchModel]]) -> str:
    forms = [OWN, *FORMS]
    lines = [
        "Worst width of each model, upper / lower, mm:",
        "",
        f"| model | {' | '.join(forms)} |",
        f"|{' --- |' * (1 + len(forms))}",
    ]
    for name, by_form in models.items():
        cells = [
            " / ".join(f"{_worst_width(by_form[form], jaw):.2f}" for jaw in JAWS) for form in forms
        ]
        lines.append(f"| {name} | {' | '.join(cells)} |")
    return "\n".join(lines)


def _worst_width(model: ArchModel, jaw: Jaw) -> float:
    """How far the laid widths are from the model's own, at most, mm."""
    table = model.jaw(jaw)
    row = tuple((slot, None) for slot in table.reaching_row)
    laid = {
        place.tooth.position: 2 * place.centre.x
        for place in build_arch(model, jaw, row, row).places
        if place.tooth.side == "left"
    }
    return max(abs(laid[place] - mm) for place, mm in table.across_mm.items())
