"""Patients drawn from a model's means and SDs, each with an arch of their own.

Widths are normal (assumption) about the means of the population's rows, with their SDs, sources
and flags. How the widths of one mouth go together is not published in the tables used: every
correlation here is an assumption, named and free to change.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from sheetmark.anatomy.arch_model import ArchModel, CentreWidth, Width
from sheetmark.anatomy.gum_line_table import reference
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, tooth_at
from sheetmark.base.findings import InputError
from sheetmark.studies.coverage.laying import Array, Rows, lay_rows

Centres = NDArray[np.complex128]

POSITIONS = range(1, 8)  # third molars count as absent, as in every case that does not name them
MOST_PATIENTS = 200_000  # more change nothing in the tables and fill the memory
MOST_SEED = 2**63 - 1
# How far each tooth stands off a smooth curve through its arch, SD along and across, mm: about
# 0.55 RMS in the even-numbered half of 146 orthodontic patients (landmarks-146, flag P). That it
# holds along as well as across, and for every tooth alike, is an assumption.
OWN_MM = 0.55
MOST_OWN_MM = 3.0


class Correlations(Struct, frozen=True, kw_only=True):
    """Between standardised widths of one mouth, both jaws alike. All assumptions.

    `teeth`: any two teeth that are no pair; one common factor, the size of the teeth.
    `pair`: a tooth and the same tooth of the other side; 1 makes left equal to right.
    `arch`: the foremost and the hindmost width across, such as canines and first molars; one common
    factor, the width of the jaws. A width between them follows from the mean of their scores.
    `tooth_arch`: any tooth and any arch width; weak, as Pont's index is in samples (pont-1909).
    """

    teeth: float = 0.5
    pair: float = 0.9
    arch: float = 0.5
    tooth_arch: float = 0.3

    def __post_init__(self) -> None:
        for what, value in (("teeth", self.teeth), ("pair", self.pair), ("arch", self.arch)):
            if not (isfinite(value) and 0 <= value <= 1):
                raise InputError(f"correlation {what} {value:g}: must be 0 to 1")
        if self.pair < self.teeth:
            raise InputError(
                f"correlation pair {self.pair:g}: must be at least that between teeth, "
                f"{self.teeth:g}"
            )
        limit = (self.teeth * self.arch) ** 0.5
        # A rounding apart, so that the limit as printed is allowed.
        if not (isfinite(self.tooth_arch) and abs(self.tooth_arch) <= limit + 1e-12):
            raise InputError(
                f"correlation tooth-arch {self.tooth_arch:g}: must be at most {limit:.3f} either "
                f"way, the root of teeth times arch; lower it or raise those"
            )


class JawPatients(Struct, frozen=True):
    """One jaw of every patient. `widths_mm` and `centres` have a patient to a column.

    `widths_mm` is by tooth from the midline, right and left; `across_mm` by place from the midline,
    between gum-line centres; `centres` runs from the patient's right to the left, gum-line centres
    x + iy in mm in the operator's frame. `missed` patients have a width across that is out of reach
    of their teeth, and stand on the nearest arch.
    """

    jaw: Jaw
    widths_mm: Array
    across_mm: dict[int, Array]
    missed: NDArray[np.bool_]
    centres: Centres

    def centres_of(self, teeth: tuple[Tooth, ...]) -> Centres:
        """The centres of some teeth, a tooth to a row."""
        rows: Centres = self.centres[[_ALONG.index(tooth.along) for tooth in teeth]]
        return rows


_ALONG = (*(-p for p in reversed(POSITIONS)), *POSITIONS)


def jaw_teeth(jaw: Jaw) -> tuple[Tooth, ...]:
    """The teeth that every patient has, from the patient's right to the left."""
    return tuple(tooth_at(jaw, along) for along in _ALONG)


class Norms(Struct, frozen=True):
    """Means and SDs of one jaw of a population, mm: of its teeth, and of its widths across by place
    from the midline."""

    mean_mm: Array
    sd_mm: Array
    across: dict[int, tuple[float, float]]


def norms(population: ArchModel, jaw: Jaw) -> Norms:
    """The figures to draw from. Raises InputError where the model lacks a tooth or an SD."""
    table = population.jaw(jaw)
    slots = tuple(str(p) for p in POSITIONS)
    name = f"population {population.name}: {jaw}"
    if table.row[: len(slots)] != slots or table.spaces:
        raise InputError(
            f"{name}.row: patients need the permanent teeth 1 to 7 from the midline, unspaced; "
            f"use an adult model"
        )
    rows = [population.width(jaw, slot)[0] for slot in slots]
    across = [row for row in table.centre_widths if row.tooth in slots]
    teeth = [(row.mm, _sd_mm(row, name)) for row in rows]
    return Norms(
        np.array([mm for mm, _ in teeth]),
        np.array([sd_mm for _, sd_mm in teeth]),
        {int(row.tooth): (row.mm, _sd_mm(row, name)) for row in across},
    )


def _sd_mm(row: Width | CentreWidth, name: str) -> float:
    if row.sd_mm is None:
        raise InputError(
            f"{name}: tooth {row.tooth} has no sd_mm; add it, "
            f"or use a population whose SDs are known, such as adult-mean"
        )
    return row.sd_mm


def draw_patients(
    population: ArchModel,
    count: int,
    seed: int,
    correlations: Correlations,
    own_mm: float = OWN_MM,
) -> dict[Jaw, JawPatients]:
    """Both jaws of `count` patients. A smaller count gives the first of the same patients.

    `own_mm` is each tooth's own displacement from its arch, SD along and across, mm.
    """
    if not (isfinite(own_mm) and 0 <= own_mm <= MOST_OWN_MM):
        raise InputError(f"own displacement {own_mm:g} mm: must be 0 to {MOST_OWN_MM:g} mm")
    if not 1 <= count <= MOST_PATIENTS:
        raise InputError(f"patients {count}: must be 1 to {MOST_PATIENTS}")
    if not 0 <= seed <= MOST_SEED:
        raise InputError(f"seed {seed}: must be 0 to {MOST_SEED}")
    figures = {jaw: norms(population, jaw) for jaw in JAWS}
    scores = _scores(count, seed, correlations)
    mouths = {}
    moved = _own(count, seed)
    for jaw, (teeth, ends), own in zip(JAWS, scores, moved, strict=True):
        front, back = ends
        across = _between(sorted(figures[jaw].across), front, back, correlations.arch)
        laid = _jaw(population, jaw, figures[jaw], teeth, across)
        mouths[jaw] = replace(laid, centres=laid.centres + own_mm * own)
    return mouths


def patients_of_size(population: ArchModel, jaw: Jaw, sizes: Array) -> JawPatients:
    """Mouths all of whose widths are the mean plus that many SDs, as in adult-small and -large."""
    figures = norms(population, jaw)
    teeth = np.broadcast_to(sizes, (len(POSITIONS), 2, len(sizes)))
    return _jaw(population, jaw, figures, teeth, dict.fromkeys(figures.across, sizes))


def _between(places: list[int], front: Array, back: Array, correlation: float) -> dict[int, Array]:
    """Scores of the widths across: those between the first and the last are the standardised mean
    of both, which goes with each of them as 0.87 where they go together as 0.5."""
    middle = (front + back) / (2 * (1 + correlation)) ** 0.5
    return {places[0]: front, **dict.fromkeys(places[1:-1], middle), places[-1]: back}


def _normal(stream: np.random.PCG64, count: int, columns: int) -> Array:
    """Standard normal scores, a patient to a column.

    The raw stream of PCG64 and the inverse of the normal distribution are fixed for good; numpy's
    own normal variates may change with its version.
    """
    from scipy.special import ndtri

    raw = stream.random_raw(count * columns).reshape(count, columns)
    scores: Array = ndtri(((raw >> np.uint64(11)) + 0.5) * 2.0**-53).T
    return scores


def _own(count: int, seed: int) -> Iterator[Centres]:
    """Each jaw's own displacements as x + iy of SD 1 each way, from a stream of their own."""
    teeth = len(_ALONG)
    for part in np.split(_normal(np.random.PCG64(seed).jumped(), count, 4 * teeth), len(JAWS)):
        yield part[:teeth] + 1j * part[teeth:]


def _scores(count: int, seed: int, rho: Correlations) -> Iterator[tuple[Array, Array]]:
    """For each jaw, teeth and arch widths as standard normal scores with these correlations."""
    teeth = len(POSITIONS)
    columns = 2 + len(JAWS) * (3 * teeth + 2)
    normal = _normal(np.random.PCG64(seed), count, columns)
    of_teeth, of_arch, rest = normal[0], normal[1], normal[2:]
    link = rho.tooth_arch / rho.teeth**0.5 if rho.tooth_arch else 0.0
    arch_factor = link * of_teeth + max(rho.arch - link * link, 0.0) ** 0.5 * of_arch
    for part in np.split(rest, len(JAWS)):
        pair, own, arch = np.split(part, (teeth, 3 * teeth))
        yield (
            rho.teeth**0.5 * of_teeth
            + (rho.pair - rho.teeth) ** 0.5 * pair[:, None]
            + (1 - rho.pair) ** 0.5 * own.reshape(teeth, 2, count),
            arch_factor + (1 - rho.arch) ** 0.5 * arch,
        )


def _jaw(
    population: ArchModel, jaw: Jaw, figures: Norms, teeth: Array, across: dict[int, Array]
) -> JawPatients:
    widths = figures.mean_mm[:, None, None] + figures.sd_mm[:, None, None] * teeth
    across_mm = {place: mean + sd * across[place] for place, (mean, sd) in figures.across.items()}
    if min(widths.min(), *(mm.min() for mm in across_mm.values())) <= 0:
        raise InputError(
            f"population {population.name}: {jaw}: an SD is so large that widths of 0 mm or less "
            f"are drawn; check sd_mm"
        )
    rows = lay_rows(widths, across_mm, reference(jaw))
    return JawPatients(jaw, widths, across_mm, rows.missed, _centres(jaw, rows))


def _centres(jaw: Jaw, rows: Rows) -> Centres:
    """Every gum-line centre, from the patient's right to the left."""
    up = 1.0 if jaw == "upper" else -1.0
    right, left = (
        sign * rows.x[:, side] - 1j * up * rows.y[:, side] for side, sign in ((0, -1.0), (1, 1.0))
    )
    return np.concatenate([right[::-1], left])
