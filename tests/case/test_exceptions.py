"""The words for what is different in a mouth, read and written."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sheetmark.anatomy.teeth import ALL_TEETH, NOTATIONS, Notation, Tooth
from sheetmark.base.findings import InputError
from sheetmark.case.case import ToothState
from sheetmark.case.exceptions import read_states, write_state


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("24 pontic", ToothState(Tooth(2, 4), pontic=True)),
        ("15 missing", ToothState(Tooth(1, 5), missing=True)),
        ("15 missing gap 4", ToothState(Tooth(1, 5), missing=True, gap_mm=4)),
        ("15 gap 2,7", ToothState(Tooth(1, 5), missing=True, gap_mm=2.7)),
        ("15 gap 4", ToothState(Tooth(1, 5), missing=True, gap_mm=4)),
        ("15 closed", ToothState(Tooth(1, 5), missing=True, gap_mm=0)),
        ("13 facial 2 distal 1", ToothState(Tooth(1, 3), facial_mm=2, mesial_mm=-1)),
        ("13 lingual 0.5 rotated -30", ToothState(Tooth(1, 3), facial_mm=-0.5, rotated_deg=-30)),
        ("47 partly-erupted", ToothState(Tooth(4, 7), partly_erupted=True)),
        ("75 present", ToothState(Tooth(7, 5), present=True)),
    ],
)
def test_terms_to_states(text: str, state: ToothState) -> None:
    assert read_states([text], "iso") == (state,)


def test_a_bridge_names_its_abutments_and_pontics() -> None:
    states = read_states(["22-12 bridge"], "iso")
    assert [(s.tooth.iso, s.abutment, s.pontic) for s in states] == [
        ("12", True, False),
        ("11", False, True),
        ("21", False, True),
        ("22", True, False),
    ]


def test_two_texts_of_one_tooth_are_taken_together() -> None:
    (state,) = read_states(["24 abutment", "24 facial 1"], "iso")
    assert state == ToothState(Tooth(2, 4), abutment=True, facial_mm=1)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("24", "says nothing"),
        ("24 pontik", "did you mean pontic"),
        ("24 gap", "needs a number of mm"),
        ("24 rotated much", "needs a number of degrees"),
        ("99 pontic", "not a tooth in iso notation"),
        ("24 bridge", "not two teeth"),
        ("24-25 bridge", "at least one tooth between"),
        ("24-36 bridge", "different jaws"),
        ("24 facial 1; 24 facial 2", "given twice"),
        ("24 facial 1 lingual 2", "facial mm given twice, 1 and -2; leave one out"),
        ("24 mesial 1 distal 1", "mesial mm given twice"),
        ("24 rotated 5 rotated 6", "rotated deg given twice"),
        ("24 missing closed gap 3", "gap mm given twice, 0 and 3"),
    ],
)
def test_bad_terms_are_refused(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message) as error:
        read_states([text], "iso")
    assert len(error.value.problems) == 1


@settings(max_examples=60, derandomize=True)
@given(
    tooth=st.sampled_from(ALL_TEETH),
    notation=st.sampled_from(NOTATIONS),
    facial=st.integers(-40, 40),
    mesial=st.integers(-40, 40),
    turned=st.integers(-180, 180),
    lesion=st.booleans(),
    implant=st.booleans(),
    abutment=st.booleans(),
)
def test_what_is_written_reads_back(
    tooth: Tooth,
    notation: Notation,
    facial: int,
    mesial: int,
    turned: int,
    lesion: bool,
    implant: bool,
    abutment: bool,
) -> None:
    state = ToothState(
        tooth,
        facial_mm=facial / 10,
        mesial_mm=mesial / 10,
        rotated_deg=turned,
        lesion=lesion,
        implant=implant,
        abutment=abutment or not (facial or mesial or turned or lesion or implant),
    )
    assert read_states([write_state(state, notation)], notation) == (state,)
