"""Measures from words and back, in all spellings, and each refusal. Lengths in mm."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sheetmark.anatomy.teeth import JAWS, NOTATIONS, Jaw, Notation, Tooth, tooth_at
from sheetmark.base.findings import InputError
from sheetmark.fitting.measures import MEASURING_POINTS, Measure, read_measures

CANINES = (Tooth(1, 3), Tooth(2, 3))
SPELLINGS = {
    "upper canines 33.1": Measure("across", CANINES, 33.1, phrase="canines"),
    "Upper  Canines 33,1 mm": Measure("across", CANINES, 33.1, phrase="canines"),
    "upper canines contacts 35mm": Measure("across", CANINES, 35, "contacts", "canines"),
    "upper canines 35 contacts": Measure("across", CANINES, 35, "contacts", "canines"),
    "upper canines cusp tips 35": Measure("across", CANINES, 35, "cusp-tips", "canines"),
    "upper canines 35 cusp-tips": Measure("across", CANINES, 35, "cusp-tips", "canines"),
    "upper canines gum line 33.1": Measure("across", CANINES, 33.1, phrase="canines"),
    "13-23 33.1": Measure("across", CANINES, 33.1),
    "lower first molars 44": Measure(
        "across", (Tooth(4, 6), Tooth(3, 6)), 44, phrase="first molars"
    ),
    "upper premolars 36": Measure("across", (Tooth(1, 4), Tooth(2, 4)), 36, phrase="premolars"),
    "upper depth 27": Measure("depth", (Tooth(1, 6), Tooth(2, 6)), 27, phrase="depth"),
    "upper depth contacts 31": Measure(
        "depth", (Tooth(1, 6), Tooth(2, 6)), 31, "contacts", "depth"
    ),
    "row 14-17 36": Measure("row", (Tooth(1, 4), Tooth(1, 7)), 36),
    "row 44-34 30": Measure("row", (Tooth(4, 4), Tooth(3, 4)), 30),
    "16 10.4": Measure("teeth", (Tooth(1, 6),), 10.4),
    "55 8.9": Measure("teeth", (Tooth(5, 5),), 8.9),
    "lower six fronts 36": Measure(
        "teeth", tuple(tooth_at("lower", a) for a in (-3, -2, -1, 1, 2, 3)), 36, phrase="six fronts"
    ),
}


@pytest.mark.parametrize(("text", "measure"), SPELLINGS.items(), ids=SPELLINGS)
def test_measures_are_read(text: str, measure: Measure) -> None:
    assert read_measures([text], "iso") == (measure,)


@pytest.mark.parametrize("notation", NOTATIONS)
@pytest.mark.parametrize("measure", SPELLINGS.values(), ids=SPELLINGS)
def test_what_is_written_reads_back_the_same(measure: Measure, notation: Notation) -> None:
    assert read_measures([measure.text(notation)], notation) == (measure,)


@pytest.mark.parametrize(
    ("notation", "texts"),
    [
        ("universal", ("6-11 33", "row 2-5 46", "3 10")),
        ("palmer", ("UR3-ul3 33", "row UR7-UR4 46", "ur6 10")),
    ],
)
def test_teeth_are_read_in_the_stated_notation(notation: Notation, texts: tuple[str, ...]) -> None:
    alike = read_measures(["13-23 33", "row 17-14 46", "16 10"], "iso")
    assert read_measures(texts, notation) == alike


def test_a_text_may_hold_several_and_leave_out_the_jaw_that_is_meant() -> None:
    texts = ["canines 33,0 mm; Molars 46mm", "16 10 mm"]
    alike = read_measures(["upper canines 33", "upper molars 46", "16 10"], "iso")
    assert read_measures(texts, "iso", "upper") == alike


@pytest.mark.parametrize("point", MEASURING_POINTS)
def test_the_usual_point_holds_for_widths_that_name_none(point: str) -> None:
    texts = ["upper canines 33", "upper molars contacts 46", "upper depth 27", "16 10"]
    found = read_measures(texts, "iso", None, point)  # type: ignore[arg-type]
    assert [measure.point for measure in found] == [point, "contacts", "centres", "centres"]


REFUSALS = {
    "no words": ("upper", "measure 'upper': not understood"),
    "empty words": ("33", "measure '33': not understood"),
    "other words": ("upper incisors 36", "measure 'upper incisors 36': not understood"),
    "no number": ("16 wide", "'wide' is no number of mm"),
    "no jaw": ("canines 33", 'which jaw? use "upper canines 33"'),
    "no tooth": ("19 10", "tooth '19': not a tooth in iso notation"),
    "two unlike teeth": ("16-27 46", 'use 16-26, or "row" for a length along the row'),
    "a row of one tooth": ("row 16 10", "measure 'row 16 10': not understood"),
    "a row from a tooth to itself": ("row 16-16 10", "name two teeth of one jaw"),
    "a row over both jaws": ("row 16-46 30", "name two teeth of one jaw"),
    "three teeth": ("14-15-16 30", "measure '14-15-16 30': not understood"),
    "a tooth at its contacts": ("16 contacts 10", "it is not taken at the contacts"),
    "depth at cusp tips": ("upper depth cusp tips 30", "it is not taken at the cusp tips"),
    "narrow tooth": ("16 1.9", "1.9 mm must be 2 to 16 mm"),
    "wide arch": ("upper molars 91", "91 mm must be 5 to 90 mm"),
    "deep arch": ("upper depth 300", "300 mm must be 5 to 70 mm"),
    "long row": ("row 17-27 130", "130 mm must be 5 to 120 mm"),
    "wide fronts": ("upper six fronts 8", "8 mm must be 15 to 90 mm"),
    "NaN": ("16 nan", "nan mm must be 2 to 16 mm"),
}


@pytest.mark.parametrize(("text", "problem"), REFUSALS.values(), ids=REFUSALS)
def test_text_that_is_no_measure_is_refused_in_one_line(text: str, problem: str) -> None:
    with pytest.raises(InputError) as refused:
        read_measures([text], "iso")
    (line,) = refused.value.problems
    assert problem in line
    assert "\n" not in line


@pytest.mark.parametrize(
    "texts",
    [
        ["upper canines 33", "13-23 34"],
        ["upper depth 30", "upper depth 31"],
        ["16 10; 16 10"],
        ["row 14-17 36", "row 17-14 36"],
    ],
)
def test_the_same_measure_twice_is_refused(texts: list[str]) -> None:
    with pytest.raises(InputError, match="given twice; keep one"):
        read_measures(texts, "iso")


def test_measures_of_another_jaw_than_the_one_meant_are_refused() -> None:
    with pytest.raises(InputError, match="measures of the lower jaw, but the jaw meant is upper"):
        read_measures(["36 11"], "iso", "upper")


@given(st.text(max_size=40), st.sampled_from([*JAWS, None]))
@settings(max_examples=200, derandomize=True, deadline=None)
def test_any_text_ends_in_a_measure_or_a_refusal(text: str, jaw: Jaw | None) -> None:
    try:
        read_measures([text], "iso", jaw)
    except InputError as error:
        lines = error.problems
    else:
        lines = ()
    assert not any("\n" in line for line in lines)
