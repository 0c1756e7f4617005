"""The shipped arch models against the published tables, typed again here. Lengths in mm."""

from __future__ import annotations

from math import sqrt

import pytest

from sheetmark.anatomy.arch_model import (
    DEFAULT_MODEL,
    CentreWidth,
    Width,
    crowns,
    load_model,
    model_names,
)
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.sources import MEANING, Flag

ADULTS = ("adult-mean", "adult-male", "adult-female")
every_model = pytest.mark.parametrize("name", model_names())
every_jaw = pytest.mark.parametrize("jaw", JAWS)

Pair = tuple[float, float]

# Mesiodistal crown width, mean and SD, mm: Moorrees, Thomsen, Jensen, Yen 1957, J Dent Res
# 36:39-47, flag M (from memory). Position: (male, female).
MOORREES: dict[Jaw, dict[str, tuple[Pair, Pair]]] = {
    "upper": {
        "1": ((8.78, 0.46), (8.40, 0.54)),
        "2": ((6.64, 0.63), (6.47, 0.56)),
        "3": ((7.95, 0.42), (7.53, 0.37)),
        "4": ((7.01, 0.38), (6.85, 0.40)),
        "5": ((6.82, 0.37), (6.62, 0.37)),
        "6": ((10.81, 0.56), (10.52, 0.51)),
        "7": ((10.35, 0.63), (9.81, 0.48)),
    },
    "lower": {
        "1": ((5.42, 0.31), (5.25, 0.36)),
        "2": ((5.95, 0.35), (5.78, 0.40)),
        "3": ((6.96, 0.36), (6.47, 0.32)),
        "4": ((7.07, 0.36), (6.87, 0.36)),
        "5": ((7.29, 0.53), (7.02, 0.39)),
        "6": ((11.18, 0.45), (10.74, 0.55)),
        "7": ((10.76, 0.71), (10.34, 0.67)),
    },
}
# Primary teeth, the same source and flag: (boys, girls).
MOORREES_PRIMARY: dict[Jaw, dict[str, tuple[Pair, Pair]]] = {
    "upper": {
        "A": ((6.55, 0.34), (6.44, 0.43)),
        "B": ((5.32, 0.38), (5.23, 0.38)),
        "C": ((6.88, 0.36), (6.67, 0.36)),
        "D": ((7.12, 0.46), (6.95, 0.53)),
        "E": ((9.08, 0.46), (8.84, 0.55)),
    },
    "lower": {
        "A": ((4.08, 0.31), (3.98, 0.28)),
        "B": ((4.74, 0.35), (4.63, 0.33)),
        "C": ((5.92, 0.33), (5.74, 0.34)),
        "D": ((7.80, 0.39), (7.65, 0.39)),
        "E": ((9.83, 0.46), (9.64, 0.44)),
    },
}
# Third molars are not in that table: Woelfel & Scheid, Dental Anatomy: Its Relevance to Dentistry,
# flag M (from memory).
THIRD_MOLAR: dict[Jaw, float] = {"upper": 9.2, "lower": 11.3}

# Neck mesiodistally, crown labiolingually, neck labiolingually, mm: Ash & Nelson, Wheeler's Dental
# Anatomy, Physiology and Occlusion, table of measurements, rounded to 0.5, flag S2.
WHEELER: dict[Jaw, dict[str, tuple[float, float, float]]] = {
    "upper": {
        "1": (7.0, 7.0, 6.0),
        "2": (5.0, 6.0, 5.0),
        "3": (5.5, 8.0, 7.0),
        "4": (5.0, 9.0, 8.0),
        "5": (5.0, 9.0, 8.0),
        "6": (8.0, 11.0, 10.0),
        "7": (7.0, 11.0, 10.0),
        "8": (6.5, 10.0, 9.5),
    },
    "lower": {
        "1": (3.5, 6.0, 5.3),
        "2": (4.0, 6.5, 5.8),
        "3": (5.5, 7.5, 7.0),
        "4": (5.0, 7.5, 6.5),
        "5": (5.0, 8.0, 7.0),
        "6": (9.0, 10.5, 9.0),
        "7": (8.0, 10.0, 9.0),
        "8": (7.5, 9.5, 9.0),
    },
}
# Primary teeth: Wheeler's, after Black, flag S2.
WHEELER_PRIMARY: dict[Jaw, dict[str, tuple[float, float, float]]] = {
    "upper": {
        "A": (4.5, 5.0, 4.0),
        "B": (3.7, 4.0, 3.7),
        "C": (5.1, 7.0, 5.5),
        "D": (5.2, 8.5, 6.9),
        "E": (6.4, 10.0, 8.3),
    },
    "lower": {
        "A": (3.0, 4.0, 3.5),
        "B": (3.0, 4.0, 3.5),
        "C": (3.7, 4.8, 4.0),
        "D": (6.5, 7.0, 5.3),
        "E": (7.2, 8.7, 6.4),
    },
}

# Widths between tooth centres, mm, male and female: Moyers, van der Linden, Riolo, McNamara 1976,
# Standards of Human Occlusal Development, as tabulated by Proffit, flag M (from memory).
# Age: canine, first premolar or first primary molar, first molar.
MOYERS: dict[Jaw, dict[int, tuple[Pair, Pair, Pair]]] = {
    "upper": {
        6: ((27.5, 26.9), (32.3, 31.7), (41.9, 41.3)),
        8: ((29.7, 29.1), (33.7, 33.0), (43.1, 42.4)),
        10: ((30.5, 29.8), (34.4, 33.6), (44.5, 43.5)),
        12: ((32.5, 31.5), (35.7, 35.1), (45.3, 44.6)),
        18: ((32.3, 31.2), (36.7, 34.6), (46.7, 43.9)),
    },
    "lower": {
        6: ((23.3, 22.2), (28.7, 28.4), (40.2, 40.0)),
        8: ((24.3, 24.0), (29.7, 29.5), (40.9, 40.3)),
        10: ((24.6, 24.1), (30.2, 29.7), (41.5, 41.0)),
        12: ((25.1, 24.8), (32.5, 31.6), (42.1, 41.8)),
        18: ((24.8, 23.1), (32.8, 30.8), (43.0, 41.7)),
    },
}
# SDs of those widths: about 1.5-2.5 at the canine, 2-3 at the molar, from memory. That the middles
# hold, and the canines' for the premolars, is an assumption.
MOYERS_SD = {"3": 2.0, "4": 2.0, "6": 2.5}

AGES = {"primary": 6, "age-6": 6, "age-8": 8, "age-10": 10, "age-12": 12, "adult-mean": 18}


def mean(pair: Pair) -> float:
    return (pair[0] + pair[1]) / 2


def pooled(first: Pair, other: Pair) -> Pair:
    """Mean and SD of two groups of like size, from the mean and SD of each."""
    (m1, s1), (m2, s2) = first, other
    return (m1 + m2) / 2, sqrt((s1**2 + s2**2) / 2 + ((m1 - m2) / 2) ** 2)


def widths(name: str, jaw: Jaw) -> dict[str, Width]:
    return {row.tooth: row for row in load_model(name).jaw(jaw).mesiodistal}


def centre_widths(name: str, jaw: Jaw) -> dict[str, CentreWidth]:
    return {row.tooth: row for row in load_model(name).jaw(jaw).centre_widths}


def test_the_wanted_models_ship() -> None:
    assert set(ADULTS) <= set(model_names())
    assert DEFAULT_MODEL == "adult-mean"
    assert "crowns" not in model_names()  # a table shared by all models, not one of them


@every_model
def test_a_model_is_called_what_its_file_is_called(name: str) -> None:
    assert load_model(name).name == name


@pytest.mark.parametrize(("name", "sex"), [("adult-male", 0), ("adult-female", 1)])
@every_jaw
def test_widths_of_each_sex_are_the_published_ones(name: str, sex: int, jaw: Jaw) -> None:
    rows = widths(name, jaw)
    assert set(rows) == {*MOORREES[jaw], "8"}
    for tooth, sexes in MOORREES[jaw].items():
        assert (rows[tooth].mm, rows[tooth].sd_mm) == sexes[sex]
        assert (rows[tooth].source, rows[tooth].flag) == ("moorrees-1957", "M")


@every_jaw
def test_mean_widths_are_recomputed_from_the_sexes(jaw: Jaw) -> None:
    male, female = widths("adult-male", jaw), widths("adult-female", jaw)
    rows = widths("adult-mean", jaw)
    assert set(rows) == {*MOORREES[jaw], "8"}
    for tooth in MOORREES[jaw]:
        sexes = [(row.mm, row.sd_mm or 0.0) for row in (male[tooth], female[tooth])]
        mm, sd_mm = pooled(sexes[0], sexes[1])
        assert rows[tooth].mm == pytest.approx(mm, abs=1e-9)
        assert rows[tooth].sd_mm == round(sd_mm, 2)
        assert (rows[tooth].source, rows[tooth].flag) == ("moorrees-1957", "M")


@every_jaw
def test_primary_widths_are_the_mean_of_the_published_ones(jaw: Jaw) -> None:
    rows = widths("primary", jaw)
    assert set(rows) == set(MOORREES_PRIMARY[jaw])
    for tooth, (boys, girls) in MOORREES_PRIMARY[jaw].items():
        mm, sd_mm = pooled(boys, girls)
        assert rows[tooth].mm == pytest.approx(mm, abs=1e-9)
        assert rows[tooth].sd_mm == round(sd_mm, 2)
        assert (rows[tooth].source, rows[tooth].flag) == ("moorrees-1957", "M")


@pytest.mark.parametrize("name", [*ADULTS, "adult-small", "adult-large"])
@every_jaw
def test_third_molars_come_from_the_other_table(name: str, jaw: Jaw) -> None:
    row = widths(name, jaw)["8"]
    assert (row.mm, row.sd_mm) == (THIRD_MOLAR[jaw], None)
    assert (row.source, row.flag) == ("woelfel-scheid", "M")


@pytest.mark.parametrize(("name", "sign"), [("adult-small", -1), ("adult-large", 1)])
@every_jaw
def test_small_and_large_are_one_sd_from_the_mean(name: str, sign: int, jaw: Jaw) -> None:
    rows, middle = widths(name, jaw), widths("adult-mean", jaw)
    assert set(rows) == set(middle)
    for tooth, row in rows.items():
        expected = middle[tooth].mm + sign * (middle[tooth].sd_mm or 0.0)
        assert row.mm == pytest.approx(expected, abs=1e-9)
        # Third molars have no SD: theirs is the mean itself.
        assert row.flag == ("M" if tooth == "8" else "D")
    across, middle_across = centre_widths(name, jaw), centre_widths("adult-mean", jaw)
    assert set(across) == set(MOYERS_SD)
    for tooth, sd_mm in MOYERS_SD.items():
        assert across[tooth].mm == pytest.approx(middle_across[tooth].mm + sign * sd_mm, abs=1e-9)
        assert (across[tooth].source, across[tooth].flag) == ("moyers-1976", "D")


@pytest.mark.parametrize(("name", "sex"), [("adult-male", 0), ("adult-female", 1)])
@every_jaw
def test_centre_widths_of_each_sex_are_the_published_ones(name: str, sex: int, jaw: Jaw) -> None:
    rows = centre_widths(name, jaw)
    for tooth, pair in zip(("3", "4", "6"), MOYERS[jaw][18], strict=True):
        assert rows[tooth].mm == pair[sex]
        assert (rows[tooth].sd_mm, rows[tooth].sd_flag) == (MOYERS_SD[tooth], "assumption")
        assert (rows[tooth].source, rows[tooth].flag) == ("moyers-1976", "M")


@pytest.mark.parametrize(("name", "age"), AGES.items())
@every_jaw
def test_centre_widths_of_each_age_are_the_mean_of_the_sexes(name: str, age: int, jaw: Jaw) -> None:
    model = load_model(name)
    rows = model.jaw(jaw).centre_widths
    assert all(row.tooth in slots for row, slots in zip(rows, ("3C", "4D", "6"), strict=True))
    for row, pair in zip(rows, MOYERS[jaw][age], strict=True):
        assert row.mm == pytest.approx(mean(pair), abs=1e-9)
        assert (row.source, row.flag) == ("moyers-1976", "M")
        assert row.sd_flag == "assumption"
    assert [row.sd_mm for row in rows] == list(MOYERS_SD.values())
    assert f"age {age}," in model.sources["moyers-1976"]


@every_jaw
def test_crowns_and_necks_are_the_published_ones(jaw: Jaw) -> None:
    table = crowns()
    rows = table.upper if jaw == "upper" else table.lower
    assert {row.tooth for row in rows} == {*WHEELER[jaw], *WHEELER_PRIMARY[jaw]}
    for row in rows:
        published, source = (
            (WHEELER[jaw][row.tooth], "wheeler")
            if row.tooth.isdigit()
            else (WHEELER_PRIMARY[jaw][row.tooth], "wheeler-primary")
        )
        assert (
            row.neck_mesiodistal_mm,
            row.labiolingual_mm,
            row.neck_labiolingual_mm,
        ) == published
        assert (row.source, row.flag) == (source, "S2")


# How the words of a source bear out a flag: no row claims more than its source does.
BORNE_OUT_BY: dict[Flag, str] = {
    "S2": "(secondary source)",
    "M": "(from memory)",
    "D": "(from memory)",
    "assumption": "is an assumption",
}


@every_model
@every_jaw
def test_every_row_has_a_source_whose_text_bears_out_its_flag(name: str, jaw: Jaw) -> None:
    model = load_model(name)
    table = model.jaw(jaw)
    assert table.curve is None
    assert table.solve_from is None
    claims = [(row.source, row.flag) for row in table.mesiodistal]
    claims += [(row.source, row.flag) for row in table.centre_widths]
    claims += [(row.source, row.flag) for row in table.spaces]
    assert len(claims) >= 3
    for source, flag in claims:
        assert flag in MEANING
        assert BORNE_OUT_BY[flag] in model.sources[source]


def test_crown_sources_are_called_secondary() -> None:
    table = crowns()
    assert table.sources
    for source in table.sources.values():
        assert "secondary source" in source


@every_model
@every_jaw
def test_every_tooth_of_a_shipped_arch_has_all_its_measures(name: str, jaw: Jaw) -> None:
    model = load_model(name)
    arch = build_arch(model, jaw)
    assert len(arch.places) == 2 * len(model.jaw(jaw).row) > 0
    for place in arch.places:
        size = place.size
        assert size.mesiodistal_mm == model.width(jaw, place.tooth.slot)[0].mm
        assert size.neck_mesiodistal_mm <= size.mesiodistal_mm
        assert size.neck_labiolingual_mm <= size.labiolingual_mm
