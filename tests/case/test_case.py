"""What a case may hold, and what it refuses, each in one line."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetmark.anatomy.teeth import ALL_TEETH, NOTATIONS, Notation, Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, Run, read_expose, write_expose
from sheetmark.case.exceptions import read_states
from tests.helpers.cases import case_of, few, teeth

TOOTH = st.sampled_from(ALL_TEETH)


def test_a_case_needs_no_more_than_a_tooth() -> None:
    case = case_of("16")
    assert (case.procedure, case.notation, case.more) == ("restoration", "iso", 0)
    assert case.expose == case.missing == case.present == ()
    assert case.reference == ""


@pytest.mark.parametrize(
    ("treat", "fields", "wording"),
    [
        ("", {}, "none to treat"),
        ("16,36", {}, "teeth 16, 36: both jaws in one case"),
        ("16", {"expose": "17-16,46"}, "teeth 16, 17, 46: both jaws"),
        ("16", {"missing": "15,16"}, "tooth 16: listed as missing and as treated or exposed"),
        ("16", {"expose": "17,16,15", "missing": "15"}, "tooth 15: listed as missing and as"),
        ("16", {"missing": "18", "present": "28,18"}, "tooth 18: listed as missing and as present"),
        ("16", {"more": -1}, "more -1: must be 0 to 15 teeth"),
        ("16", {"more": 16}, "more 16: must be 0 to 15 teeth"),
        ("16", {"more": 1, "expose": "17-14"}, "more: has no meaning beside expose"),
        ("16", {"reference": "a\nb"}, r"reference 'a\nb': '\n' cannot be printed"),
        ("16", {"reference": "a\tb"}, r"reference 'a\tb': '\t' cannot be printed"),
        ("16", {"reference": "\x00"}, r"reference '\x00': '\x00' cannot be"),
        ("16", {"reference": "x" * 61}, f"reference '{'x' * 61}': must be at most 60"),
    ],
)
def test_a_case_that_cannot_be_is_refused_in_one_line(
    treat: str, fields: dict[str, Any], wording: str
) -> None:
    with pytest.raises(InputError) as caught:
        case_of(treat, **fields)
    (line,) = caught.value.problems
    assert wording in line
    assert "\n" not in line


def test_the_limits_themselves_are_allowed() -> None:
    assert case_of("16", more=15).more == 15
    assert len(case_of("16", reference="x" * 60).reference) == 60


def test_a_missing_end_of_a_run_is_no_contradiction() -> None:
    case = case_of("46", expose="47-44", missing="47")
    assert case.missing == teeth("47")


def test_teeth_are_named_in_the_notation_of_the_case() -> None:
    with pytest.raises(InputError, match=r"^tooth UR6: listed"):
        Case(treat=teeth("16"), missing=teeth("16"), notation="palmer")


@pytest.mark.parametrize("texts", [("17-13",), ("17-13,11",), ("17 16", "15,14"), ("13-17",)])
def test_teeth_to_expose_are_read_from_runs_and_lists(texts: tuple[str, ...]) -> None:
    read = {
        ("17-13",): (Run(*teeth("17,13")),),
        ("17-13,11",): (Run(*teeth("17,13")), *teeth("11")),
        ("17 16", "15,14"): teeth("17,16,15,14"),
        ("13-17",): (Run(*teeth("13,17")),),
    }
    assert read_expose(texts, "iso") == read[texts]


@pytest.mark.parametrize("text", ["17-", "-13", "17--13", "17-15-13", "17-x", "-", "19-13"])
def test_a_broken_run_is_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"not a tooth in iso notation|a row of teeth"):
        read_expose((text,), "iso")


@few
@given(
    st.lists(st.one_of(TOOTH, st.builds(Run, TOOTH, TOOTH)), max_size=6), st.sampled_from(NOTATIONS)
)
def test_teeth_to_expose_survive_writing_and_reading(items: list[Any], notation: Notation) -> None:
    assert read_expose((write_expose(tuple(items), notation),), notation) == tuple(items)


@pytest.mark.parametrize(
    ("states", "wording"),
    [
        ("24 missing facial 1", "tooth 24: missing, moved contradict each other; leave one out"),
        ("24 pontic lesion broken-down", "pontic, gumline lesion, broken down contradict"),
        ("24 missing implant", "tooth 24: missing, implant contradict each other"),
    ],
)
def test_a_contradiction_is_named(states: str, wording: str) -> None:
    with pytest.raises(InputError, match=wording):
        Case(treat=(Tooth(2, 6),), states=read_states([states], "iso"))


@pytest.mark.parametrize(
    ("reference", "wording"),
    [
        ("a" * 61, "at most 60 characters, it has 61; shorten it"),
        ("a\x07b", r"'\\x07' cannot be printed on a line; leave it out"),
    ],
)
def test_a_reference_that_will_not_do_is_refused_with_the_reason(
    reference: str, wording: str
) -> None:
    with pytest.raises(InputError, match=wording):
        Case(treat=(Tooth(2, 6),), reference=reference)
