"""Patients drawn and their arches laid, held against closed forms and the laying of one arch."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.gum_line import RowTooth, lay_chain
from sheetmark.anatomy.gum_line_table import reference
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import InputError
from sheetmark.studies.coverage.fit import worst_holes, worst_pitches
from sheetmark.studies.coverage.laying import Array, lay_rows
from sheetmark.studies.coverage.patients import (
    Correlations,
    JawPatients,
    draw_patients,
    jaw_teeth,
    patients_of_size,
)
from tests.helpers.model_files import changed, shipped, written

COUNT = 20_000
# Of an SD estimated from COUNT normal draws: its standard error is 1 / sqrt(2 n), taken 4 times.
SD_TOLERANCE = 4 / math.sqrt(2 * COUNT)
CORRELATION_TOLERANCE = 4 / math.sqrt(COUNT)

Mouths = dict[Jaw, JawPatients]
both_jaws = pytest.mark.parametrize("jaw", JAWS)


@pytest.fixture(scope="module")
def mouths() -> Mouths:
    return draw_patients(load_model("adult-mean"), COUNT, 7, Correlations(), own_mm=0.0)


@pytest.fixture(scope="module")
def mirrored() -> Mouths:
    """Patients whose left is equal to their right."""
    return draw_patients(load_model("adult-mean"), 60, 7, Correlations(pair=1.0), own_mm=0.0)


def in_file(jaw: Jaw, key: str) -> Any:
    """A table of adult-mean as the data file states it."""
    return tomllib.loads(shipped())[jaw][key]


def sd_in_file(jaw: Jaw, tooth: int) -> float:
    rows = in_file(jaw, "mesiodistal")
    (sd,) = [row["sd_mm"] for row in rows if row["tooth"] == str(tooth)]
    return float(sd)


@both_jaws
def test_sd_of_a_half_sum_of_two_widths_is_the_closed_form(mouths: Mouths, jaw: Jaw) -> None:
    widths = mouths[jaw].widths_mm
    for tooth in range(1, 7):
        first, other = sd_in_file(jaw, tooth), sd_in_file(jaw, tooth + 1)
        # Var((u + v) / 2) = (s² + t² + 2 r s t) / 4, with r = 0.5 between teeth.
        closed = math.sqrt(first**2 + other**2 + 2 * 0.5 * first * other) / 2
        for side in (0, 1):
            drawn = np.std((widths[tooth - 1, side] + widths[tooth, side]) / 2, ddof=1)
            assert drawn == pytest.approx(closed, rel=SD_TOLERANCE), tooth
    # The two central incisors are a pair: r = 0.9.
    closed = sd_in_file(jaw, 1) * math.sqrt((1 + 0.9) / 2)
    drawn = np.std((widths[0, 0] + widths[0, 1]) / 2, ddof=1)
    assert drawn == pytest.approx(closed, rel=SD_TOLERANCE)


@both_jaws
def test_sd_of_a_pitch_on_the_flat_of_the_arch_is_that_of_the_half_sum(
    mouths: Mouths, jaw: Jaw
) -> None:
    # Each pitch is a share of its own of the half sum, whatever the widths across.
    teeth = jaw_teeth(jaw)
    for tooth in (4, 5, 6):
        places = [
            n for n, t in enumerate(teeth) if t.side == "left" and t.position - tooth in (0, 1)
        ]
        centres = mouths[jaw].centres[places]
        first, other = sd_in_file(jaw, tooth), sd_in_file(jaw, tooth + 1)
        closed = (
            reference(jaw).share[tooth - 1] * math.sqrt(first**2 + other**2 + first * other) / 2
        )
        drawn = np.std(np.abs(centres[1] - centres[0]), ddof=1)
        assert drawn == pytest.approx(closed, rel=SD_TOLERANCE), tooth


@both_jaws
def test_means_sds_and_correlations_are_those_wanted(jaw: Jaw) -> None:
    rho = Correlations(teeth=0.4, pair=0.7, arch=0.6, tooth_arch=-0.2)
    patients = draw_patients(load_model("adult-mean"), COUNT, 3, rho, own_mm=0.0)[jaw]
    rows = in_file(jaw, "mesiodistal")
    for tooth in range(1, 8):
        widths = patients.widths_mm[tooth - 1]
        mean = next(row["mm"] for row in rows if row["tooth"] == str(tooth))
        sd = sd_in_file(jaw, tooth)
        assert widths.mean() == pytest.approx(mean, abs=4 * sd / math.sqrt(COUNT))
        for side in (0, 1):
            assert np.std(widths[side], ddof=1) == pytest.approx(sd, rel=SD_TOLERANCE)
    arch = {row["tooth"]: row for row in in_file(jaw, "centre_widths")}
    for place, drawn in patients.across_mm.items():
        row = arch[str(place)]
        assert drawn.mean() == pytest.approx(row["mm"], abs=4 * row["sd_mm"] / math.sqrt(COUNT))
        assert np.std(drawn, ddof=1) == pytest.approx(row["sd_mm"], rel=SD_TOLERANCE)
    drawn_rows = np.array(
        [*patients.widths_mm.reshape(14, COUNT), patients.across_mm[3], patients.across_mm[6]]
    )
    expected = np.full((16, 16), 0.4)
    for place in range(0, 14, 2):
        expected[place, place + 1] = expected[place + 1, place] = 0.7
    expected[14:] = expected[:, 14:] = -0.2
    expected[14:, 14:] = 0.6
    np.fill_diagonal(expected, 1.0)
    assert np.abs(np.corrcoef(drawn_rows) - expected).max() < CORRELATION_TOLERANCE
    # The premolars' width is the standardised mean of the two, and goes with each by the root of
    # half of one and their correlation.
    for place in (3, 6):
        found = np.corrcoef(patients.across_mm[4], patients.across_mm[place])[0, 1]
        assert found == pytest.approx(math.sqrt((1 + 0.6) / 2), abs=CORRELATION_TOLERANCE)


def test_both_jaws_share_the_size_of_the_mouth(mouths: Mouths) -> None:
    upper, lower = (mouths[jaw].widths_mm[5, 0] for jaw in JAWS)
    assert np.corrcoef(upper, lower)[0, 1] == pytest.approx(0.5, abs=CORRELATION_TOLERANCE)


def test_widths_are_normal(mouths: Mouths) -> None:
    # Kolmogorov's distance; 1.63 / sqrt(n) is passed by chance once in a hundred.
    width = np.sort(mouths["upper"].widths_mm[5, 0])
    below = ndtr((width - width.mean()) / width.std())
    steps = np.arange(COUNT + 1) / COUNT
    distance = max(np.abs(steps[1:] - below).max(), np.abs(steps[:-1] - below).max())
    assert distance < 1.63 / math.sqrt(COUNT)


def laid_alone(
    widths: list[float], across: dict[int, float], jaw: Jaw
) -> tuple[list[complex], bool]:
    """One side of one patient: its gum-line centres, and whether every width is met."""
    row = [RowTooth(place, mm) for place, mm in enumerate(widths, start=1)]
    chain = lay_chain(row, across, reference(jaw))
    up = 1 if jaw == "upper" else -1
    return [complex(x, -up * y) for x, y in chain.centres], not chain.missed_mm


@both_jaws
def test_the_laying_of_many_rows_agrees_with_that_of_one(mouths: Mouths, jaw: Jaw) -> None:
    patients = mouths[jaw]
    for number in range(60):
        across = {place: float(mm[number]) for place, mm in patients.across_mm.items()}
        met = []
        for side in (0, 1):
            alone, all_met = laid_alone(patients.widths_mm[:, side, number].tolist(), across, jaw)
            met.append(all_met)
            laid = patients.centres[6::-1, number] if side == 0 else patients.centres[7:, number]
            mirrored = [complex(-at.real, at.imag) for at in laid] if side == 0 else laid
            assert np.abs(np.array(alone) - mirrored).max() < 1e-9
        assert patients.missed[number] == (not all(met))


@both_jaws
def test_patients_whose_width_is_out_of_reach_stand_on_the_nearest_arch(jaw: Jaw) -> None:
    widths = np.repeat(np.array([8.5, 6.5, 7.5, 7.0, 7.0, 10.5, 10.0]), 6).reshape(7, 2, 3)
    # The second's premolars are wider apart than their teeth reach, the third's narrower.
    across = {3: np.full(3, 32.0), 4: np.array([36.5, 50.0, 30.0]), 6: np.full(3, 46.0)}
    rows = lay_rows(widths, across, reference(jaw))
    assert rows.missed.tolist() == [False, True, True]
    for number in range(3):
        own = {place: float(mm[number]) for place, mm in across.items()}
        alone, met = laid_alone(widths[:, 0, number].tolist(), own, jaw)
        assert met == (number == 0)
        assert [at.real for at in alone] == pytest.approx(rows.x[:, 0, number].tolist(), abs=1e-9)


@both_jaws
def test_every_width_across_is_carried(mouths: Mouths, jaw: Jaw) -> None:
    patients = mouths[jaw]
    across = patients.centres.real
    met = ~patients.missed
    assert met.mean() > 0.99
    for place, mm in patients.across_mm.items():
        laid = across[6 + place] - across[7 - place]
        assert np.abs(laid - mm)[met].max() < 1e-9


def test_equal_sides_are_mirror_images(mirrored: Mouths) -> None:
    for patients in mirrored.values():
        other = -patients.centres[::-1].conj()
        assert np.abs(patients.centres - other).max() < 1e-12
        assert np.abs(patients.widths_mm[:, 0] - patients.widths_mm[:, 1]).max() < 1e-12


@both_jaws
@pytest.mark.parametrize(
    ("population", "size", "model"),
    [
        ("adult-mean", 0.0, "adult-mean"),
        ("adult-male", 0.0, "adult-male"),
        ("adult-female", 0.0, "adult-female"),
        ("adult-mean", -1.0, "adult-small"),
        ("adult-mean", 1.0, "adult-large"),
    ],
)
def test_a_patient_equal_to_the_model_has_no_error(
    population: str, size: float, model: str, jaw: Jaw
) -> None:
    patient = patients_of_size(load_model(population), jaw, np.array([size]))
    arch = build_arch(load_model(model), jaw)
    holes = np.array([[complex(*arch.place(tooth).centre) for tooth in jaw_teeth(jaw)]])
    assert worst_holes(holes, patient.centres).max() < 1e-9
    assert worst_pitches(holes, patient.centres).max() < 1e-9
    # Another size does not fit as well.
    other = patients_of_size(load_model(population), jaw, np.array([size + 0.5]))
    assert worst_holes(holes, other.centres).min() > 0.3


def test_fewer_patients_are_the_first_of_more(mouths: Mouths) -> None:
    fewer = draw_patients(load_model("adult-mean"), 300, 7, Correlations(), own_mm=0.0)
    for jaw in JAWS:
        assert (fewer[jaw].widths_mm == mouths[jaw].widths_mm[:, :, :300]).all()
        assert (fewer[jaw].across_mm[3] == mouths[jaw].across_mm[3][:300]).all()
        off = np.abs(fewer[jaw].centres - mouths[jaw].centres[:, :300])
        assert off.max() < 1e-9


def test_a_seed_draws_these_very_patients() -> None:
    # Worked out once; every machine and every numpy must give them again.
    patients = draw_patients(load_model("adult-mean"), 3, 1, Correlations(), own_mm=0.0)
    first_incisors = [
        [7.9111649673846545, 8.53917534395618, 7.939722908428119],
        [8.35575150676092, 8.551426684195338, 8.02805042913174],
    ]
    second_molars = [
        [10.246820212787636, 10.505711077895855, 9.211918103220176],
        [10.025928907940298, 9.991248372565742, 9.52976641881069],
    ]
    lower_back = [45.92324297385003, 42.18218469777042, 39.53808852150221]
    assert np.abs(patients["upper"].widths_mm[0] - first_incisors).max() < 1e-9
    assert np.abs(patients["lower"].widths_mm[6] - second_molars).max() < 1e-9
    assert np.abs(patients["lower"].across_mm[6] - lower_back).max() < 1e-9


@pytest.mark.parametrize("seed", [2, 2**63 - 1])
def test_another_seed_draws_others(seed: int) -> None:
    width = draw_patients(load_model("adult-mean"), 5, 1, Correlations())["upper"].across_mm[3]
    other = draw_patients(load_model("adult-mean"), 5, seed, Correlations())["upper"].across_mm[3]
    assert np.abs(width - other).min() > 1e-6


@pytest.mark.parametrize(
    ("values", "wording"),
    [
        ({"teeth": -0.1}, "correlation teeth -0.1: must be 0 to 1"),
        ({"pair": 1.1}, "correlation pair 1.1: must be 0 to 1"),
        ({"arch": math.nan}, "correlation arch nan: must be 0 to 1"),
        ({"teeth": math.inf}, "correlation teeth inf"),
        ({"pair": 0.4}, "correlation pair 0.4: must be at least that between teeth, 0.5"),
        ({"tooth_arch": 0.51}, "correlation tooth-arch 0.51: must be at most 0.500 either way"),
        ({"tooth_arch": -0.51}, "correlation tooth-arch -0.51"),
        ({"tooth_arch": math.nan}, "correlation tooth-arch nan"),
        ({"teeth": 0.0}, "correlation tooth-arch 0.3: must be at most 0.000"),
    ],
)
def test_correlations_that_cannot_be_are_refused(values: dict[str, float], wording: str) -> None:
    with pytest.raises(InputError) as raised:
        Correlations(**values)
    assert wording in str(raised.value)


@pytest.mark.parametrize(
    "rho",
    [
        Correlations(teeth=0.0, pair=0.0, arch=0.0, tooth_arch=0.0),
        Correlations(teeth=1.0, pair=1.0, arch=1.0, tooth_arch=1.0),
        Correlations(teeth=1.0, pair=1.0, arch=1.0, tooth_arch=-1.0),
        Correlations(teeth=0.5, pair=0.5, arch=0.5, tooth_arch=0.5),
    ],
)
def test_correlations_at_their_limits_can_be_drawn(rho: Correlations) -> None:
    patients = draw_patients(load_model("adult-mean"), 2000, 1, rho, own_mm=0.0)["upper"]
    rows: Array = np.array(
        [patients.widths_mm[0, 0], patients.widths_mm[0, 1], patients.across_mm[3]]
    )
    found = np.asarray(np.corrcoef(rows))
    assert found[0, 1] == pytest.approx(rho.pair, abs=0.08)
    assert found[0, 2] == pytest.approx(rho.tooth_arch, abs=0.08)


def test_a_population_needs_its_figures() -> None:
    def refused(name: str, population: str) -> str:
        with pytest.raises(InputError) as raised:
            draw_patients(load_model(population), 10, 1, Correlations())
        message = str(raised.value)
        assert message.startswith(f"population {name}: ")
        return message

    assert "tooth 1 has no sd_mm" in refused("adult-small", "adult-small")
    assert "teeth 1 to 7" in refused("age-8", "age-8")
    assert "teeth 1 to 7" in refused("primary", "primary")


@pytest.mark.parametrize(
    ("old", "new", "wording"),
    [
        (
            'tooth = "6", mm = 45.3, sd_mm = 2.5, sd_flag = "assumption",',
            'tooth = "6", mm = 45.3,',
            "population adult-mean: upper: tooth 6 has no sd_mm; add it",
        ),
        (
            'tooth = "1", mm = 5.335, sd_mm = 0.35',
            'tooth = "1", mm = 5.335, sd_mm = 9.0',
            "population adult-mean: lower: an SD is so large that widths of 0 mm or less are drawn",
        ),
        (
            'row = ["1", "2", "3", "4", "5", "6", "7", "8"]',
            'row = ["1", "2", "3", "4", "5", "6"]',
            "population adult-mean: upper.row: patients need the permanent teeth 1 to 7",
        ),
        (
            "centre_widths = [",
            'spaces = [{ after = "3", mm = 1.0, source = "moorrees-1957", flag = "M" }]\n'
            "centre_widths = [",
            "population adult-mean: upper.row: patients need the permanent teeth 1 to 7",
        ),
    ],
)
def test_populations_from_files_are_checked(
    tmp_path: Path, old: str, new: str, wording: str
) -> None:
    population = load_model(written(tmp_path, changed(shipped(), old, new)))
    with pytest.raises(InputError) as raised:
        draw_patients(population, 1000, 1, Correlations())
    assert wording in str(raised.value)


def test_pairs_of_neighbours_run_along_the_arch() -> None:
    for jaw in JAWS:
        teeth = jaw_teeth(jaw)
        assert [tooth.along for tooth in teeth] == [*range(-7, 0), *range(1, 8)]


@pytest.mark.parametrize("own_mm", [0.55, 1.2])
def test_each_tooth_has_a_displacement_of_its_own(own_mm: float) -> None:
    model = load_model("adult-mean")
    with_own, without = (
        draw_patients(model, 20_000, 7, Correlations(), own_mm=mm) for mm in (own_mm, 0.0)
    )
    for jaw in JAWS:
        moved = with_own[jaw].centres - without[jaw].centres
        along, across = moved.real, moved.imag
        assert along.std(axis=1) == pytest.approx(np.full(14, own_mm), rel=0.03)
        assert across.std(axis=1) == pytest.approx(np.full(14, own_mm), rel=0.03)
        # Of one tooth the two directions do not go together, nor do two teeth.
        assert abs(np.corrcoef(along[0], across[0])[0, 1]) < 0.03
        assert abs(np.corrcoef(along[0], along[1])[0, 1]) < 0.03
    # Nor the two jaws.
    upper, lower = ((with_own[jaw].centres - without[jaw].centres).real[0] for jaw in JAWS)
    assert abs(np.corrcoef(upper, lower)[0, 1]) < 0.03


@pytest.mark.parametrize("own_mm", [-0.1, 3.1, float("nan")])
def test_an_own_displacement_outside_its_limits_is_refused(own_mm: float) -> None:
    with pytest.raises(InputError, match=r"own displacement .* must be 0 to 3 mm"):
        draw_patients(load_model("adult-mean"), 10, 1, Correlations(), own_mm=own_mm)
