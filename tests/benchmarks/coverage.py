"""Patients on arrays against one patient after another in plain Python, as a ratio from one run.

    python tests/benchmarks/coverage.py [--patients 100000] [--loop 1000]

Both do the same study: lay each patient's arches, lay every usual model and every size over them,
keep the worst hole. The loop lays an arch with `anatomy.gum_line`, and fits with complex numbers of
Python's own; its time is scaled up to as many patients. The loop's patients are the first of the
others, and both must count the same of them.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from itertools import pairwise
from time import perf_counter

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model
from sheetmark.anatomy.gum_line import RowTooth, lay_chain
from sheetmark.anatomy.gum_line_table import reference
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import Jaw
from sheetmark.studies.coverage.patients import (
    Correlations,
    JawPatients,
    draw_patients,
    patients_of_size,
)
from sheetmark.studies.coverage.situations import Situation, usual_situations
from sheetmark.studies.coverage.study import LIMITS_MM, SIZES, USUAL_MODELS, study

SEED = 1


def main() -> None:
    """Run both and print the ratio."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--patients", type=int, default=100_000)
    options.add_argument("--loop", type=int, default=1000)
    arguments = options.parse_args()
    models = [load_model(name) for name in USUAL_MODELS]
    population = load_model(DEFAULT_MODEL)

    start = perf_counter()
    study(models, population, arguments.patients, SEED, Correlations(), own_mm=0.0)
    arrays = perf_counter() - start

    few = draw_patients(population, arguments.loop, SEED, Correlations(), own_mm=0.0)
    start = perf_counter()
    counted = loop(few)
    plain = (perf_counter() - start) * arguments.patients / arguments.loop

    expected = study(models, population, arguments.loop, SEED, Correlations(), own_mm=0.0)
    for row in expected.served:
        assert counted[row.model, row.situation] == row.hole_within, "both count the same"
    print(f"arrays, {arguments.patients} patients: {arrays:.1f} s")
    print(f"loop over {arguments.loop}, scaled up: {plain:.0f} s")
    print(f"ratio {plain / arrays:.0f}")


def loop(drawn: dict[Jaw, JawPatients]) -> dict[tuple[str, Situation], tuple[float, ...]]:
    """Shares within each limit by model and situation, one patient after another."""
    overlays = {situation: _overlays(situation) for situation in usual_situations()}
    counts = {(name, s): [0] * len(LIMITS_MM) for s in overlays for name in USUAL_MODELS}
    for jaw, patients in drawn.items():
        for number in range(len(patients.missed)):
            teeth = _teeth(jaw, patients, number)
            for situation, rows in overlays.items():
                if situation.jaw == jaw:
                    own = [teeth[tooth.along] for tooth in situation.teeth]
                    for name, holes in rows.items():
                        worst, _ = _misfit(holes, own)
                        if name in USUAL_MODELS:
                            for place, limit in enumerate(LIMITS_MM):
                                counts[name, situation][place] += worst <= limit
    return {
        key: tuple(round(count / len(drawn[key[1].jaw].missed), 5) for count in found)
        for key, found in counts.items()
    }


def _overlays(situation: Situation) -> dict[str, list[complex]]:
    """The holes of every model, and of every size."""
    rows = {}
    for name in USUAL_MODELS:
        arch = build_arch(load_model(name), situation.jaw)
        rows[name] = [complex(*arch.place(tooth).centre) for tooth in situation.teeth]
    sizes = patients_of_size(load_model(DEFAULT_MODEL), situation.jaw, SIZES)
    centres = sizes.centres_of(situation.teeth)
    for place, size in enumerate(SIZES):
        rows[f"size {size:+g}"] = centres[:, place].tolist()
    return rows


def _teeth(jaw: Jaw, patients: JawPatients, number: int) -> dict[int, complex]:
    """The patient's gum-line centres by place along the arch."""
    across = {place: float(mm[number]) for place, mm in patients.across_mm.items()}
    up = 1 if jaw == "upper" else -1
    teeth = {}
    for side, sign in enumerate((-1, 1)):
        widths = patients.widths_mm[:, side, number].tolist()
        row = [RowTooth(place, mm) for place, mm in enumerate(widths, start=1)]
        for place, (x, y) in enumerate(lay_chain(row, across, reference(jaw)).centres, start=1):
            teeth[sign * place] = complex(sign * x, -up * y)
    return teeth


def _misfit(holes: Sequence[complex], teeth: Sequence[complex]) -> tuple[float, float]:
    """The worst hole and the worst pitch."""
    middle_of_holes, middle_of_teeth = sum(holes) / len(holes), sum(teeth) / len(teeth)
    holes = [hole - middle_of_holes for hole in holes]
    teeth = [tooth - middle_of_teeth for tooth in teeth]
    turn = sum(h.conjugate() * t for h, t in zip(holes, teeth, strict=True))
    turn /= abs(turn)
    worst = max(abs(t - h * turn) for h, t in zip(holes, teeth, strict=True))
    pitches = zip(pairwise(holes), pairwise(teeth), strict=True)
    return worst, max(abs(abs(b - a) - abs(d - c)) for (a, b), (c, d) in pitches)


if __name__ == "__main__":
    main()
