"""Shares of patients as Markdown tables, of one study of 100,000 drawn patients."""

from __future__ import annotations

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model
from sheetmark.studies.coverage.study import LIMITS_MM, USUAL_MODELS, Coverage, Served, study


def coverage() -> None:
    """Print the default model's errors, all usual models' shares, and how many sizes serve 95 %."""
    models = [load_model(name) for name in USUAL_MODELS]
    found = study(models, load_model(DEFAULT_MODEL), patients=100_000, seed=1)
    print(errors(found), shares(found), sizes(found), sep="\n\n")


def errors(found: Coverage) -> str:
    """Worst pitch and worst hole of the default model, mm."""
    limits = " | ".join(f"{limit:.1f} mm" for limit in LIMITS_MM)
    lines = [
        f"| row | worst pitch, mm: half / 95 % | worst hole, mm: half / 95 % | within {limits} |",
        f"|{' --- |' * (3 + len(LIMITS_MM))}",
    ]
    for row in found.served:
        if row.model == DEFAULT_MODEL:
            within = " | ".join(f"{100 * share:.1f} %" for share in row.hole_within)
            lines.append(f"| {name(row)} | {pair(row.pitch_mm)} | {pair(row.hole_mm)} | {within} |")
    return "\n".join(lines)


def shares(found: Coverage) -> str:
    """The share of patients, %, whose worst hole is within each limit, model by model."""
    limits = " / ".join(f"{limit:.1f}" for limit in LIMITS_MM)
    lines = [
        f"Share of patients, %, whose worst hole is within {limits} mm:",
        "",
        f"| row | {' | '.join(found.models)} |",
        f"|{' --- |' * (1 + len(found.models))}",
    ]
    for situation in dict.fromkeys(row.situation for row in found.served):
        rows = {row.model: row for row in found.served if row.situation == situation}
        cells = [
            " / ".join(f"{100 * share:.1f}" for share in rows[model].hole_within)
            for model in found.models
        ]
        lines.append(f"| {name(rows[found.models[0]])} | {' | '.join(cells)} |")
    return "\n".join(lines)


def sizes(found: Coverage) -> str:
    """The fewest sizes, as SDs from the mean, that serve 95 % of patients."""
    lines = [
        "The fewest sizes that serve 95 %: each one's SDs from the mean, then the share served:",
        "",
        "| row | within mm | sizes | share, % |",
        "| --- | --- | --- | --- |",
    ]
    for steps in found.size_steps:
        named = ", ".join(f"{sd:+g}" for sd in steps.sizes) or "none is enough"
        row = f"{steps.situation.jaw} {steps.situation.row}"
        lines.append(f"| {row} | {steps.limit_mm:g} | {named} | {100 * steps.share:.1f} |")
    return "\n".join(lines)


def name(row: Served) -> str:
    return f"{row.situation.jaw} {row.situation.row}"


def pair(half_and_most: tuple[float, float]) -> str:
    half, most = half_and_most
    return f"{half:.2f} / {most:.2f}"
