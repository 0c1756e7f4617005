"""Patients drawn and their arches solved, held against closed forms and the solver of one arch."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.chords import lay_chords
from sheetmark.anatomy.curves import SixthOrder
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.solve import CentrePair, solve_sixth_order
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import InputError
from sheetmark.studies.coverage.fit import worst_holes, worst_pitches
from sheetmark.studies.coverage.laying import Array
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
    return draw_patients(load_model("adult-mean"), COUNT, 7, Correlations())


@pytest.fixture(scope="module")
def mirrored() -> Mouths:
    """Patients whose left is equal to their right."""
    return draw_patients(load_model("adult-mean"), 60, 7, Correlations(pair=1.0))


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
        one, other = sd_in_file(jaw, tooth), sd_in_file(jaw, tooth + 1)
        # Var((u + v) / 2) = (s² + t² + 2 r s t) / 4, with r = 0.5 between teeth.
        closed = math.sqrt(one**2 + other**2 + 2 * 0.5 * one * other) / 2
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
    # From the first premolar back the arch is so straight that chords lie nearly in line.
    teeth = jaw_teeth(jaw)
    carried = mouths[jaw].curves.exist
    for tooth in (4, 5, 6):
        places = [
            n for n, t in enumerate(teeth) if t.side == "left" and t.position - tooth in (0, 1)
        ]
        centres = mouths[jaw].centres[places][:, carried]
        one, other = sd_in_file(jaw, tooth), sd_in_file(jaw, tooth + 1)
        closed = math.sqrt(one**2 + other**2 + one * other) / 2
        drawn = np.std(np.abs(centres[1] - centres[0]), ddof=1)
        assert drawn == pytest.approx(closed, rel=SD_TOLERANCE), tooth


@both_jaws
def test_means_sds_and_correlations_are_those_asked_for(jaw: Jaw) -> None:
    rho = Correlations(teeth=0.4, pair=0.7, arch=0.6, tooth_arch=-0.2)
    patients = draw_patients(load_model("adult-mean"), COUNT, 3, rho)[jaw]
    rows = in_file(jaw, "mesiodistal")
    for tooth in range(1, 8):
        widths = patients.widths_mm[tooth - 1]
        mean = next(row["mm"] for row in rows if row["tooth"] == str(tooth))
        sd = sd_in_file(jaw, tooth)
        assert widths.mean() == pytest.approx(mean, abs=4 * sd / math.sqrt(COUNT))
        for side in (0, 1):
            assert np.std(widths[side], ddof=1) == pytest.approx(sd, rel=SD_TOLERANCE)
    arch = {row["tooth"]: row for row in in_file(jaw, "centre_widths")}
    for drawn, tooth_name in ((patients.front_mm, "3"), (patients.back_mm, "6")):
        row = arch[tooth_name]
        assert drawn.mean() == pytest.approx(row["mm"], abs=4 * row["sd_mm"] / math.sqrt(COUNT))
        assert np.std(drawn, ddof=1) == pytest.approx(row["sd_mm"], rel=SD_TOLERANCE)
    drawn_rows = np.array(
        [*patients.widths_mm.reshape(14, COUNT), patients.front_mm, patients.back_mm]
    )
    expected = np.full((16, 16), 0.4)
    for place in range(0, 14, 2):
        expected[place, place + 1] = expected[place + 1, place] = 0.7
    expected[14:] = expected[:, 14:] = -0.2
    expected[14:, 14:] = 0.6
    np.fill_diagonal(expected, 1.0)
    assert np.abs(np.corrcoef(drawn_rows) - expected).max() < CORRELATION_TOLERANCE


def test_both_jaws_share_the_size_of_the_mouth(mouths: Mouths) -> None:
    upper, lower = (mouths[jaw].widths_mm[5, 0] for jaw in JAWS)
    assert np.corrcoef(upper, lower)[0, 1] == pytest.approx(0.5, abs=CORRELATION_TOLERANCE)


def test_widths_are_normal(mouths: Mouths) -> None:
    # Kolmogorov's distance; 1.63 / sqrt(n) is passed by chance once in a hundred.
    width = np.sort(mouths["upper"].widths_mm[5, 0])
    below = norm.cdf((width - width.mean()) / width.std())
    steps = np.arange(COUNT + 1) / COUNT
    distance = max(np.abs(steps[1:] - below).max(), np.abs(steps[:-1] - below).max())
    assert distance < 1.63 / math.sqrt(COUNT)


@both_jaws
def test_the_solver_of_many_arches_agrees_with_that_of_one(mirrored: Mouths, jaw: Jaw) -> None:
    patients = mirrored[jaw]
    compared = {"carried": 0, "small": 0, "large": 0}
    for number in range(patients.widths_mm.shape[2]):
        lengths = patients.widths_mm[:, 0, number].tolist()
        front = CentrePair(2, float(patients.front_mm[number]), "canine")
        back = CentrePair(5, float(patients.back_mm[number]), "molar")
        try:
            curve = solve_sixth_order(lengths, front, back)
        except InputError as error:
            narrow, wide, straight = (
                bool(group[number])
                for group in (
                    patients.curves.narrow,
                    patients.curves.wide,
                    patients.curves.straight,
                )
            )
            message = str(error)
            assert straight == message.startswith("canine")
            assert narrow == (message.startswith("molar") and "too small" in message)
            assert wide == (message.startswith("molar") and "too large" in message)
            compared["small" if narrow else "large"] += 1
            continue
        assert patients.curves.exist[number]
        assert patients.curves.a[number] == pytest.approx(curve.a, rel=1e-6)
        assert patients.curves.b[number] == pytest.approx(curve.b, rel=1e-6)
        chords = lay_chords(curve.depth, lengths, curve.reach_mm)
        up = 1 if jaw == "upper" else -1
        for place, chord in zip(patients.centres[7:, number], chords, strict=True):
            assert place.real == pytest.approx(chord.centre[0], abs=1e-6)
            assert place.imag == pytest.approx(-up * chord.centre[1], abs=1e-6)
        compared["carried"] += 1
    assert compared["carried"] >= 20
    assert compared["small" if jaw == "upper" else "large"] >= 5


@both_jaws
def test_unequal_sides_are_laid_on_one_curve_that_carries_the_widths(
    mouths: Mouths, jaw: Jaw
) -> None:
    patients = mouths[jaw]
    carried = np.flatnonzero(patients.curves.exist)[:25]
    assert len(carried) == 25
    for number in carried.tolist():
        a, b = float(patients.curves.a[number]), float(patients.curves.b[number])
        curve = SixthOrder(a=a, b=b, source="test", flag="D")
        across = []
        for side in (0, 1):
            lengths = patients.widths_mm[:, side, number].tolist()
            chords = lay_chords(curve.depth, lengths, curve.reach_mm)
            across.append([chord.centre[0] for chord in chords])
            laid = patients.centres[6::-1, number] if side == 0 else patients.centres[7:, number]
            assert np.abs(laid.real) == pytest.approx(across[-1], abs=1e-9)
        assert across[0][2] + across[1][2] == pytest.approx(patients.front_mm[number], abs=1e-9)
        assert across[0][5] + across[1][5] == pytest.approx(patients.back_mm[number], abs=1e-9)


@both_jaws
def test_patients_without_a_curve_stand_on_the_nearest(mouths: Mouths, jaw: Jaw) -> None:
    curves = mouths[jaw].curves
    assert curves.narrow.sum() > 100
    assert curves.wide.sum() > 100
    assert curves.straight.sum() > 20
    # Right and left in a straight line: two teeth and half a canine on each side.
    widths = mouths[jaw].widths_mm
    reach = (widths[0] + widths[1] + widths[2] / 2).sum(axis=0)
    assert (curves.straight == (reach <= mouths[jaw].front_mm)).all()
    groups = curves.exist.astype(int) + curves.narrow + curves.wide + curves.straight
    assert (groups == 1).all()
    # The pure sixth power stands narrowest at the back, the parabola widest. Usual b: 0.02 to 0.06.
    assert curves.b[curves.narrow].max() < 1e-10
    assert (curves.missed_mm[curves.narrow] > 0).all()
    assert curves.a[curves.wide].max() < 1e-16  # usual a: 1e-7
    assert (curves.missed_mm[curves.wide] < 0).all()
    assert np.abs(curves.missed_mm[curves.exist]).max() == 0
    assert np.isnan(mouths[jaw].centres[:, curves.straight]).all()
    laid = ~curves.straight
    across = mouths[jaw].centres.real
    front, back = across[9] - across[4], across[12] - across[1]
    assert np.abs(front - mouths[jaw].front_mm)[laid].max() < 1e-9
    missed = back - mouths[jaw].back_mm
    assert np.abs(missed - curves.missed_mm)[laid].max() < 1e-9


def test_equal_sides_are_mirror_images(mirrored: Mouths) -> None:
    for patients in mirrored.values():
        laid = ~patients.curves.straight
        other = -patients.centres[::-1].conj()
        assert np.abs(patients.centres - other)[:, laid].max() < 1e-12
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
    fewer = draw_patients(load_model("adult-mean"), 300, 7, Correlations())
    for jaw in JAWS:
        assert (fewer[jaw].widths_mm == mouths[jaw].widths_mm[:, :, :300]).all()
        assert (fewer[jaw].front_mm == mouths[jaw].front_mm[:300]).all()
        laid = ~fewer[jaw].curves.straight
        off = np.abs(fewer[jaw].centres - mouths[jaw].centres[:, :300])
        assert off[:, laid].max() < 1e-9


def test_a_seed_draws_these_very_patients() -> None:
    # Worked out once; every machine and every numpy must give them again.
    patients = draw_patients(load_model("adult-mean"), 3, 1, Correlations())
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
    assert np.abs(patients["lower"].back_mm - lower_back).max() < 1e-9


@pytest.mark.parametrize("seed", [2, 2**63 - 1])
def test_another_seed_draws_others(seed: int) -> None:
    one = draw_patients(load_model("adult-mean"), 5, 1, Correlations())["upper"].front_mm
    other = draw_patients(load_model("adult-mean"), 5, seed, Correlations())["upper"].front_mm
    assert np.abs(one - other).min() > 1e-6


@pytest.mark.parametrize(
    ("values", "words"),
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
def test_correlations_that_cannot_be_are_refused(values: dict[str, float], words: str) -> None:
    with pytest.raises(InputError) as raised:
        Correlations(**values)
    assert words in str(raised.value)


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
    patients = draw_patients(load_model("adult-mean"), 2000, 1, rho)["upper"]
    rows: Array = np.array([patients.widths_mm[0, 0], patients.widths_mm[0, 1], patients.front_mm])
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
    ("old", "new", "words"),
    [
        (
            'tooth = "6", mm = 45.3, sd_mm = 2.5,',
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
            'solve_from = ["3", "6"]',
            'solve_from = ["3", "6"]\n'
            'spaces = [{ after = "3", mm = 1.0, source = "wheeler", flag = "S2" }]',
            "population adult-mean: upper.row: patients need the permanent teeth 1 to 7",
        ),
    ],
)
def test_populations_from_files_are_checked(tmp_path: Path, old: str, new: str, words: str) -> None:
    population = load_model(written(tmp_path, changed(shipped(), old, new)))
    with pytest.raises(InputError) as raised:
        draw_patients(population, 1000, 1, Correlations())
    assert words in str(raised.value)


def test_pairs_of_neighbours_run_along_the_arch() -> None:
    for jaw in JAWS:
        teeth = jaw_teeth(jaw)
        assert [tooth.along for tooth in teeth] == [*range(-7, 0), *range(1, 8)]
