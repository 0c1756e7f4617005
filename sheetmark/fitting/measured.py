"""An arch as callipers measured it: every tooth where it most likely stands. mm.

No mouth is refused for its shape. A reading far from what mouths show is named, with what it is
missed by, and refused only where no mouth has it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from msgspec import Struct

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.jaw import Arch
from sheetmark.anatomy.row_kind import WorstHole
from sheetmark.anatomy.teeth import Notation, Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding, InputError
from sheetmark.fitting.figure import Figure
from sheetmark.fitting.how_far import worst_hole
from sheetmark.fitting.measures import Measure
from sheetmark.fitting.mouth import arch_with, prior_of
from sheetmark.fitting.predict import (
    UNUSUAL_SDS,
    Mouth,
    Predicted,
    Prior,
    Reading,
    mouth_of,
    predict,
)
from sheetmark.fitting.readings import reading

# A reading this many SDs from what mouths show is no mouth's (assumption).
IMPOSSIBLE_SDS = 7.0
# Missed by more than this, a reading is worth a second look (assumption).
MISSED_MM = 0.5


class Measured(Struct, frozen=True):
    """The arch as measured, the prediction it came from, how each measure went, what to say."""

    arch: Arch
    prior: Prior
    predicted: Predicted
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]

    def worst_hole(self, row: Sequence[Tooth]) -> WorstHole:
        """How far the worst hole of these teeth may be off."""
        numbers = [self.prior.at(tooth.along) for tooth in row]
        return worst_hole(self.predicted.mouth.centres, self.predicted.errors, numbers)


def measure_arch(
    arch: Arch,
    model: ArchModel,
    measures: Sequence[Measure],
    standing: Collection[Tooth],
    notation: Notation,
) -> Measured:
    """The model's arch with what was measured of its jaw; the measures run between teeth that
    stand.

    Raises InputError for a jaw that was measured before, a tooth that does not stand, and a figure
    that no mouth has.
    """
    if model.jaw(arch.jaw).placed:
        raise InputError(
            f"arch model {model.name}: its {arch.jaw} jaw was measured already; measure on the "
            f"model that it came from, with all measures together"
        )
    prior = prior_of(arch, model)
    readings = [reading(measure, prior, standing, notation) for measure in measures]
    predicted = predict(prior, readings)
    _refuse(measures, readings, predicted, prior, notation)
    figures = tuple(
        Figure(
            measure.name(notation),
            measure.mm - missed,
            measure.mm,
            _expected(known, surprise, prior),
        )
        for measure, known, missed, surprise in zip(
            measures, readings, predicted.missed_mm, predicted.surprise_sds, strict=True
        )
    )
    return Measured(
        arch_with(arch, predicted.mouth),
        prior,
        predicted,
        figures,
        _findings(measures, readings, predicted, prior, notation),
    )


def _expected(known: Reading, surprise_sds: float, prior: Prior) -> str:
    """What the model has in a reading's place, with the SD among mouths."""
    mm = known.of(_usual(prior))
    if not surprise_sds:
        return f"{mm:.2f}"
    return f"{mm:.2f} (SD {(known.mm - mm) / surprise_sds:.2f})"


def _usual(prior: Prior) -> Mouth:
    return mouth_of(prior.state)


def _refuse(
    measures: Sequence[Measure],
    readings: Sequence[Reading],
    predicted: Predicted,
    prior: Prior,
    notation: Notation,
) -> None:
    problems = [
        f"measure {measure.text(notation)!r}: no mouth has that: {abs(sds):.1f} SDs from the "
        f"{_expected(known, sds, prior)} of the arch model, limit {IMPOSSIBLE_SDS:g}; measure again"
        for measure, known, sds in zip(measures, readings, predicted.surprise_sds, strict=True)
        if abs(sds) > IMPOSSIBLE_SDS
    ]
    if not problems:
        problems = [
            f"measure {measure.text(notation)!r}: contradicts the other measures: with them it "
            f"would be {known.mm - missed:.1f} mm; measure again"
            for measure, known, missed in zip(measures, readings, predicted.missed_mm, strict=True)
            if abs(missed) > IMPOSSIBLE_SDS * known.sd_mm
        ]
    if problems:
        raise InputError(*problems)


def _findings(
    measures: Sequence[Measure],
    readings: Sequence[Reading],
    predicted: Predicted,
    prior: Prior,
    notation: Notation,
) -> tuple[Finding, ...]:
    findings = [
        Finding(
            Code.UNUSUAL_MEASURE,
            "warning",
            f"{measure.name(notation)}: {measure.mm:g} mm is {abs(sds):.1f} SDs from the usual "
            f"{_expected(known, sds, prior)}.",
            "Measure again; check the arch model.",
            field="measure",
            value=abs(sds),
            limit=UNUSUAL_SDS,
        )
        for measure, known, sds in zip(measures, readings, predicted.surprise_sds, strict=True)
        if abs(sds) > UNUSUAL_SDS
    ]
    worst = max((abs(missed) for missed in predicted.missed_mm), default=0.0)
    if worst > MISSED_MM or findings:
        missed = ", ".join(
            f"{measure.name(notation)} {off:+.1f}"
            for measure, off in zip(measures, predicted.missed_mm, strict=True)
        )
        findings.append(
            Finding(
                Code.MEASURES_DISAGREE,
                "warning",
                f"The nearest mouth misses what was measured, measured less found, mm: {missed}.",
                "Measure again.",
                field="measure",
                value=worst,
                limit=MISSED_MM,
            )
        )
    return tuple(findings)
