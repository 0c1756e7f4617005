"""How many patients each arch model serves in each usual situation, and with how many sizes.

The error of an overlay in a mouth is the distance of its worst hole from that hole's tooth after
the best rigid fit. A single isolated tooth always fits and is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, ArchModel
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import InputError
from sheetmark.base.json_files import schema_name
from sheetmark.base.sources import MEANING, Flag
from sheetmark.base.version import __version__
from sheetmark.plan.recipe import command_line
from sheetmark.studies.coverage.coverage_file import CoverageFile, HalfAndMost, SituationRow
from sheetmark.studies.coverage.fit import worst_holes, worst_pitches
from sheetmark.studies.coverage.laying import Array
from sheetmark.studies.coverage.patients import (
    OWN_MM,
    Centres,
    Correlations,
    JawPatients,
    draw_patients,
    patients_of_size,
)
from sheetmark.studies.coverage.situations import Situation, usual_situations

FORMAT: Literal["sheetmark-coverage/1"] = "sheetmark-coverage/1"
USUAL_MODELS = ("adult-small", "adult-mean", "adult-large", "adult-female", "adult-male")
USUAL_PATIENTS = 100_000
USUAL_SEED = 1
MOST_MODELS = 8

LIMITS_MM = (0.5, 1.0, 1.5)
STEP_LIMITS_MM = (1.0, 1.5)  # within which a clinic wants its sizes to serve
WANTED_SHARE = 0.95
DISTRIBUTION_STEP_MM = 0.1
DISTRIBUTION_STEPS = 40
# Sizes of whole mouths that a clinic could stock, in SDs from the mean.
SIZES = np.arange(-12, 13) / 4
_AT_ONCE = 250

ASSUMED: Flag = "assumption"
# What the figures rest on; stands wherever they are shown.
NOTES = (
    "Computed from published means and SDs, not measured on patients: widths are drawn as normal, "
    f"and how they go together is {MEANING[ASSUMED]}.",
    "The error is that of the worst hole after the sheet is moved and turned to its best fit; "
    "turned or crowded teeth, spaces and the stretch of the sheet are not in it.",
)


class Served(Struct, frozen=True, kw_only=True):
    """How one model serves one situation; shares of patients are 0 to 1."""

    model: str
    """The name of the arch model."""
    situation: Situation
    """The row of teeth."""
    pitch_mm: tuple[float, float]
    """The error of the worst pitch that half and 95 % of the patients stay within."""
    hole_mm: tuple[float, float]
    """The same for the worst hole."""
    pitch_within: tuple[float, ...]
    """The share whose worst pitch is within each of LIMITS_MM."""
    hole_within: tuple[float, ...]
    """The share whose worst hole is."""
    distribution: tuple[float, ...]
    """The share whose worst hole is within 0.1, 0.2, … mm."""


class SizeSteps(Struct, frozen=True):
    """The fewest sizes, evenly apart and even about the mean, whose best one serves 95 %."""

    situation: Situation
    """The row of teeth."""
    limit_mm: float
    """How far off the worst hole may be."""
    sizes: tuple[float, ...]
    """In SDs from the mean; empty where no number of them is enough."""
    share: float
    """The share of patients that they serve, or that all of SIZES serve."""


class Coverage(Struct, frozen=True):
    """The whole study. Figures are rounded so that every machine gives the same."""

    population: str
    """The model that patients are drawn from."""
    models: tuple[str, ...]
    """The models that were judged."""
    patients: int
    """How many were drawn."""
    seed: int
    """The same seed draws the same patients."""
    correlations: Correlations
    """How widths go together."""
    own_mm: float
    """Each tooth's own displacement from its arch, SD along and across."""
    missed: dict[Jaw, float]
    """The share of patients whose teeth cannot reach a width across; the nearest arch counts."""
    served: tuple[Served, ...]
    """A row for each model and situation."""
    size_steps: tuple[SizeSteps, ...]
    """A row for each situation and limit."""
    sources: tuple[str, ...]
    """Where the figures come from."""
    recipe_models: tuple[str, ...]
    """The models as the command line names them: names or files."""
    recipe_population: str
    """The population as the command line names it."""

    @property
    def command(self) -> str:
        """The command line that makes the same study again."""
        models = () if self.recipe_models == USUAL_MODELS else self.recipe_models
        usual, rho = Correlations(), self.correlations
        options = (
            ("population", self.recipe_population, DEFAULT_MODEL),
            ("patients", self.patients, None),
            ("seed", self.seed, None),
            ("teeth-correlation", rho.teeth, usual.teeth),
            ("pair-correlation", rho.pair, usual.pair),
            ("arch-correlation", rho.arch, usual.arch),
            ("tooth-arch-correlation", rho.tooth_arch, usual.tooth_arch),
            ("own-displacement", self.own_mm, OWN_MM),
        )
        return command_line(
            ["arch", "coverage", *models],
            {name: str(value) for name, value, default in options if value != default},
        )

    def as_json(self) -> CoverageFile:
        """Everything as plain data; shares of patients are 0 to 1."""
        return {
            "$schema": schema_name(FORMAT),
            "format": FORMAT,
            "sheetmark": __version__,
            "command": self.command,
            "population": self.population,
            "models": list(self.models),
            "patients": self.patients,
            "seed": self.seed,
            "correlations": {
                "teeth": self.correlations.teeth,
                "pair": self.correlations.pair,
                "arch": self.correlations.arch,
                "tooth_arch": self.correlations.tooth_arch,
                "flag": ASSUMED,
            },
            "own_displacement_mm": self.own_mm,
            "share_missed": self.missed,
            "limits_mm": list(LIMITS_MM),
            "distribution_step_mm": DISTRIBUTION_STEP_MM,
            "served": [
                {
                    "model": row.model,
                    **_situation_json(row.situation),
                    "worst_pitch_mm": _half_and_most_json(row.pitch_mm),
                    "worst_hole_mm": _half_and_most_json(row.hole_mm),
                    "share_pitch_within": list(row.pitch_within),
                    "share_within": list(row.hole_within),
                    "distribution": list(row.distribution),
                }
                for row in self.served
            ],
            "sizes_sd": SIZES.tolist(),
            "wanted_share": WANTED_SHARE,
            "size_steps": [
                {
                    **_situation_json(steps.situation),
                    "within_mm": steps.limit_mm,
                    "enough": bool(steps.sizes),
                    "sizes_sd": list(steps.sizes),
                    "share": steps.share,
                }
                for steps in self.size_steps
            ],
            "notes": list(NOTES),
            "sources": list(self.sources),
        }


def _situation_json(situation: Situation) -> SituationRow:
    teeth = [tooth.iso for tooth in situation.teeth]
    return {"situation": situation.name, "jaw": situation.jaw, "row": situation.row, "teeth": teeth}


def _half_and_most_json(errors: tuple[float, float]) -> HalfAndMost:
    half, most = errors
    return {"half": half, "95 %": most}


def study(
    models: Sequence[ArchModel],
    population: ArchModel,
    patients: int = USUAL_PATIENTS,
    seed: int = USUAL_SEED,
    correlations: Correlations | None = None,
    own_mm: float = OWN_MM,
    recipe_models: Sequence[str] = (),
    recipe_population: str = "",
) -> Coverage:
    """Draw the patients, lay every model's overlays over their teeth, and count.

    `recipe_models` and `recipe_population` are what the recipe calls models that came from files.

    Raises InputError for a population without SDs, or a model without the usual teeth.
    """
    if not 1 <= len(models) <= MOST_MODELS:
        raise InputError(f"arch models: {len(models)} named; name 1 to {MOST_MODELS}")
    names = [model.name for model in models]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise InputError(f"arch model {twice}: named twice; name each once")
    correlations = correlations or Correlations()
    situations = usual_situations()
    overlays = {s: np.array([_holes(model, s) for model in models]) for s in situations}
    drawn = draw_patients(population, patients, seed, correlations, own_mm)
    sizes = {jaw: patients_of_size(population, jaw, SIZES) for jaw in JAWS}
    served: list[list[Served]] = []
    steps: list[SizeSteps] = []
    for situation in situations:
        jaw = drawn[situation.jaw]
        served.append(_served(models, situation, overlays[situation], jaw))
        steps += _steps(situation, sizes[situation.jaw], jaw)
    return Coverage(
        population=population.name,
        models=tuple(names),
        patients=patients,
        seed=seed,
        correlations=correlations,
        own_mm=own_mm,
        missed={jaw: _share(drawn[jaw].missed) for jaw in JAWS},
        served=tuple(rows[number] for number in range(len(models)) for rows in served),
        size_steps=tuple(steps),
        sources=(*population.sources.values(), *gum_line_table().sources.values()),
        recipe_models=tuple(recipe_models or names),
        recipe_population=recipe_population or population.name,
    )


def _holes(model: ArchModel, situation: Situation) -> list[complex]:
    """Where the model's overlay has its holes, as the teeth stand: no ease."""
    arch = build_arch(model, situation.jaw)
    lacking = [tooth.iso for tooth in situation.teeth if tooth not in arch.teeth]
    if lacking:
        raise InputError(
            f"arch model {model.name}: no tooth {', '.join(lacking)}, which the usual situations "
            f"need; use a model of the permanent teeth"
        )
    return [complex(*arch.place(tooth).centre) for tooth in situation.teeth]


def _served(
    models: Sequence[ArchModel], situation: Situation, holes: Centres, jaw: JawPatients
) -> list[Served]:
    teeth = jaw.centres_of(situation.teeth)
    hole, pitch = _worst(worst_holes, holes, teeth), _worst(worst_pitches, holes, teeth)
    grid = DISTRIBUTION_STEP_MM * np.arange(1, DISTRIBUTION_STEPS + 1)
    return [
        Served(
            model=model.name,
            situation=situation,
            pitch_mm=_middle_and_most(of_pitch),
            hole_mm=_middle_and_most(of_hole),
            pitch_within=tuple(_share(of_pitch <= limit) for limit in LIMITS_MM),
            hole_within=tuple(_share(of_hole <= limit) for limit in LIMITS_MM),
            distribution=tuple(_share(of_hole <= error) for error in grid),
        )
        for model, of_hole, of_pitch in zip(models, hole, pitch, strict=True)
    ]


def _worst(measure: Callable[[Centres, Centres], Array], holes: Centres, teeth: Centres) -> Array:
    """The measure for every patient, some at a time."""
    return np.concatenate(
        [
            measure(holes, teeth[:, first : first + _AT_ONCE])
            for first in range(0, teeth.shape[1], _AT_ONCE)
        ],
        axis=1,
    )


def _share(group: NDArray[np.bool_]) -> float:
    return round(float(np.count_nonzero(group)) / group.size, 5)


def _middle_and_most(errors: Array) -> tuple[float, float]:
    half, most = np.quantile(errors, (0.5, 0.95))
    return round(float(half), 3), round(float(most), 3)


def _steps(situation: Situation, sizes: JawPatients, jaw: JawPatients) -> list[SizeSteps]:
    """For each limit the fewest sizes that are enough, each patient getting the best of them."""
    holes = sizes.centres_of(situation.teeth).T
    worst = _worst(worst_holes, holes, jaw.centres_of(situation.teeth))
    return [SizeSteps(situation, limit, *_fewest(worst <= limit)) for limit in STEP_LIMITS_MM]


def _fewest(fits: NDArray[np.bool_]) -> tuple[tuple[float, ...], float]:
    """The fewest sizes that serve enough patients, and whom they serve; () if all are too few.

    `fits` has a size to a row, in the order of SIZES.
    """
    # Each patient as the set of sizes that fit, one bit a size; few such sets occur.
    bits = np.arange(len(SIZES))[:, None]
    kinds, counts = np.unique((fits << bits).sum(axis=0), return_counts=True)

    def share(sizes: Iterable[int]) -> float:
        stock = sum(1 << size for size in sizes)
        return round(float(counts[kinds & stock != 0].sum() / counts.sum()), 5)

    for sets in _even_sets():
        best = max(sets, key=share)
        if share(best) >= WANTED_SHARE:
            return tuple(float(SIZES[size]) for size in best), share(best)
    return (), share(range(len(SIZES)))


def _even_sets() -> Iterator[list[range]]:
    """Sets of sizes evenly apart and even about the mean: those of one size, then of two, …"""
    middle = len(SIZES) // 2
    for number in range(1, len(SIZES) + 1):
        sets = []
        for step in range(1, len(SIZES)):
            reach, odd = divmod(step * (number - 1), 2)
            sizes = range(middle - reach, middle + reach + 1, step)
            if not odd and reach <= middle:
                sets.append(sizes)
        if sets:
            yield sets
