"""Which teeth come through the sheet, and which of them hold it.

The rows of the tables are the rules as stated: one behind and two in front (seen in print), two
behind premolars and first molar to the opposite lateral for canines (Sturdevant, from memory),
first premolar to first premolar and one tooth for a root canal (Davis 1917, seen in print). The
rest is common practice without a source.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given

from sheetmark.anatomy.teeth import NOTATIONS, Notation
from sheetmark.base.findings import InputError
from tests.helpers.cases import (
    THIRD_MOLARS,
    Setup,
    case_of,
    chart,
    codes,
    few,
    finding,
    json_of,
    mirror,
    run_json,
    setups,
    spell,
)

FRONT = "14 13 12 11 21 22 23 24"
LOWER_FRONT = "44 43 42 41 31 32 33 34"
UPPER_ARCH = f"17 16 15 {FRONT} 25 26 27"
LOWER_ARCH = f"47 46 45 {LOWER_FRONT} 35 36 37"

# Options, the row from the patient's right to the left, the anchors.
ROWS: list[tuple[str, dict[str, Any], str, str]] = [
    # Molars: one behind, two in front.
    ("16", {}, "17 16 15 14", "17"),
    ("26", {}, "24 25 26 27", "27"),
    ("36", {}, "34 35 36 37", "37"),
    ("46", {}, "47 46 45 44", "47"),
    # Premolars: two behind, two in front, so that a molar carries the clamp.
    ("15", {}, "17 16 15 14 13", "17"),
    ("14", {}, "16 15 14 13 12", "16"),
    ("34", {"procedure": "crown"}, "32 33 34 35 36", "36"),
    ("45", {"missing": "47"}, "46 45 44 43", "46"),
    # Canines: first molar to the opposite lateral incisor.
    ("13", {}, "16 15 14 13 12 11 21 22", "16"),
    ("33", {"procedure": "crown"}, "42 41 31 32 33 34 35 36", "36"),
    ("13", {"missing": "16"}, "17 15 14 13 12 11 21 22", "17"),
    ("13", {"missing": "16,17"}, "15 14 13 12 11 21 22", "15"),
    ("23", {"missing": "12"}, "11 21 22 23 24 25 26", "26"),
    ("13", {"missing": "12,11,21,22"}, "16 15 14 13 23 24", "16 24"),
    # More in front, as far as the midline.
    ("16", {"more": 1}, "17 16 15 14 13", "17"),
    ("14", {"more": 1}, "16 15 14 13 12 11", "16"),
    ("16", {"more": 9}, "17 16 15 14 13 12 11", "17"),
    ("36", {"more": 9}, "31 32 33 34 35 36 37", "37"),
    # Short: the fewest holes, canines like incisors.
    ("15", {"row": "short"}, "16 15 14 13", "16"),
    ("14", {"row": "short"}, "15 14 13 12", "15"),
    ("16", {"row": "short"}, "17 16 15 14", "17"),
    ("33", {"row": "short"}, LOWER_FRONT, "44 34"),
    ("11", {"row": "short"}, FRONT, "14 24"),
    # Wide: as textbook at the back, to the opposite lateral incisor in front.
    ("16", {"row": "wide"}, "17 16 15 14 13 12 11 21 22", "17"),
    ("25", {"row": "wide"}, "12 11 21 22 23 24 25 26 27", "27"),
    ("44", {"row": "wide"}, "46 45 44 43 42 41 31 32", "46"),
    ("13", {"row": "wide"}, "16 15 14 13 12 11 21 22", "16"),
    ("11", {"row": "wide"}, FRONT, "14 24"),
    # Cervical: back to the first molar at least, so that the clamps do not meet.
    ("16", {"procedure": "cervical"}, "17 16 15 14", "17"),
    ("14", {"procedure": "cervical", "row": "short"}, "16 15 14 13 12", "16"),
    ("15", {"procedure": "cervical"}, "17 16 15 14 13", "17"),
    ("33", {"procedure": "cervical"}, "42 41 31 32 33 34 35 36", "36"),
    ("11", {"procedure": "cervical"}, f"16 15 {FRONT} 25 26", "16 26"),
    ("43", {"procedure": "cervical", "row": "short"}, f"46 45 {LOWER_FRONT} 35 36", "46 36"),
    # First premolar to first premolar, an anchor at each end.
    ("11", {}, FRONT, "14 24"),
    ("22", {"procedure": "crown"}, FRONT, "14 24"),
    # Root canal: the tooth alone, its own anchor, however many more are exposed.
    ("36", {"procedure": "root-canal"}, "36", "36"),
    ("11", {"procedure": "root-canal"}, "11", "11"),
    ("46", {"procedure": "root-canal", "more": 1}, "46 45", "46"),
    ("11", {"procedure": "root-canal", "more": 2}, "11 21 22", "11"),
    ("21", {"procedure": "root-canal", "more": 2}, "12 11 21", "21"),
    ("11", {"procedure": "root-canal", "expose": "12-22"}, "12 11 21 22", "11"),
    ("46", {"procedure": "root-canal", "row": "wide"}, "46", "46"),
    # Full arch: second molar to second molar, third molars or not.
    ("11", {"procedure": "full-arch"}, UPPER_ARCH, "17 27"),
    ("46", {"procedure": "full-arch"}, LOWER_ARCH, "47 37"),
    ("16", {"procedure": "full-arch", "present": "18,28"}, UPPER_ARCH, "17 27"),
    ("28", {"procedure": "full-arch", "present": "28"}, f"{UPPER_ARCH} 28", "17 28"),
    # Third molars count as absent unless present.
    ("17", {}, "17 16 15", "17"),
    ("17", {"present": "18"}, "18 17 16 15", "18"),
    ("16", {"present": "18"}, "17 16 15 14", "17"),
    ("48", {"present": "48"}, "48 47 46", "48"),
    # Missing teeth: the row reaches past them to real ones.
    ("16", {"missing": "15,24"}, "17 16 14 13", "17"),
    ("46", {"missing": "47"}, "46 45 44", "46"),
    ("46", {"missing": "47", "present": "48"}, "48 46 45 44", "48"),
    ("36", {"missing": "35,34"}, "32 33 36 37", "37"),
    ("14", {"missing": "13,12"}, "16 15 14 11 21", "16"),
    ("14", {"missing": "15"}, "17 16 14 13 12", "17"),
    ("11", {"missing": "14,24"}, "15 13 12 11 21 22 23 25", "15 25"),
    ("11", {"missing": "12,21"}, "14 13 11 22 23 24", "14 24"),
    ("16", {"missing": "17,27", "procedure": "full-arch"}, UPPER_ARCH[3:-3], "16 26"),
    # Several treated teeth of one jaw are one case.
    ("16,14", {}, "17 16 15 14 13 12", "17"),
    ("16,26", {}, UPPER_ARCH, "17 27"),
    ("11,16", {}, f"17 16 15 {FRONT}", "17 24"),
    ("36,35", {"procedure": "root-canal"}, "35 36", "36"),
    # The teeth to expose, by run or list, override the rules.
    ("16", {"expose": "17-13"}, "17 16 15 14 13", "17"),
    ("16", {"expose": "13-17"}, "17 16 15 14 13", "17"),
    ("16", {"expose": "14,17,16"}, "17 16 14", "17"),
    ("11", {"expose": "13-23"}, "13 12 11 21 22 23", "13 23"),
    ("41", {"expose": "41-31"}, "41 31", "41 31"),
    ("31", {"expose": "43-31,33"}, "43 42 41 31 33", "43 33"),
    ("16", {"expose": "17-14", "missing": "15"}, "17 16 14", "17"),
    ("46", {"expose": "47-44", "missing": "47"}, "46 45 44", "46"),
    ("46", {"expose": "48-44", "present": "48"}, "48 47 46 45 44", "48"),
    ("16", {"expose": "16", "procedure": "full-arch"}, "16", "16"),
]
ROWS_BY_NAME = [
    pytest.param(*row, id=" ".join([row[0], *(f"{k} {v}" for k, v in row[1].items())]))
    for row in ROWS
]


@pytest.mark.parametrize("notation", NOTATIONS)
@pytest.mark.parametrize(("treat", "fields", "row", "anchors"), ROWS_BY_NAME)
def test_row_and_anchors(
    treat: str, fields: dict[str, Any], row: str, anchors: str, notation: Notation
) -> None:
    arguments = []
    for key, value in {"treat": treat, **fields}.items():
        option = {"treat": [], "procedure": ["--for"]}.get(key, [f"--{key}"])
        arguments += [*option, _spelt(value, notation) if key in _TEETH else str(value)]
    plan = run_json(*arguments, "--notation", notation)
    assert plan["isolated"] == row.split()
    assert plan["anchors"] == anchors.split()
    assert [hole["tooth"] for hole in plan["holes"]] == row.split()
    assert sorted(plan["treated"]) == sorted(treat.split(","))
    roles = {hole["tooth"]: hole["role"] for hole in plan["holes"]}
    for iso, role in roles.items():
        treated = "treated" if iso in treat.split(",") else "exposed"
        assert role == ("anchor" if iso in anchors.split() else treated)


_TEETH = {"treat", "expose", "missing", "present"}


def _spelt(wording: str, notation: Notation) -> str:
    """`17-13,11` in another notation."""
    return ",".join(
        "-".join(spell(iso, notation) for iso in word.split("-")) for word in wording.split(",")
    )


def test_a_usual_case_has_nothing_to_say() -> None:
    for treat in ("16", "11", "36", "34"):
        assert json_of(treat)["findings"] == []


@pytest.mark.parametrize(
    ("treat", "fields", "code", "wording"),
    [
        ("46", {"missing": "47"}, "no-tooth-behind", "No tooth behind 46, so it is itself"),
        ("47", {}, "no-tooth-behind", "No tooth behind 47, so it is itself the anchor."),
        ("17", {"notation": "universal"}, "no-tooth-behind", "No tooth behind 2, so it"),
        ("17", {"notation": "palmer"}, "no-tooth-behind", "No tooth behind UR7, so it"),
        (
            "16",
            {"missing": "14,13,12,11,21,22,23,24,25,26,27"},
            "few-in-front",
            "Fewer than 2 teeth in front of 16.",
        ),
        ("11", {"missing": "24,25,26,27"}, "no-left-end", "No premolar or molar on the patient"),
        ("31", {"missing": "44,45,46,47"}, "no-right-end", "the patient's right"),
        (
            "11",
            {"procedure": "full-arch", "missing": "17"},
            "short-arch",
            "the patient's right: the row ends at 16.",
        ),
        ("11", {"more": 2}, "no-more", "already crosses the midline"),
        ("17", {"more": 15}, "few-more", "Only 4 of 15 teeth could be added in front"),
    ],
)
def test_what_a_short_mouth_cannot_give_is_reported(
    treat: str, fields: dict[str, Any], code: str, wording: str
) -> None:
    found = finding(json_of(treat, **fields), code)
    assert wording in found["message"]
    assert found["severity"] == "warning"
    assert found["advice"]


def test_a_tooth_behind_that_stands_is_not_reported() -> None:
    assert "no-tooth-behind" not in codes(json_of("46"))
    assert "no-tooth-behind" not in codes(json_of("47", present="48"))


@pytest.mark.parametrize(
    ("treat", "fields", "wording"),
    [
        ("75", {}, "tooth 75 to treat: arch model adult-mean has no such primary tooth"),
        ("75", {}, "give the age, choose another arch model, or mark the tooth as present"),
        ("51", {"age": 9}, "has no such primary tooth here; choose another arch model, or mark"),
        ("55", {"notation": "universal"}, "tooth A to treat: arch model adult-mean"),
        ("18", {}, "tooth 18 to treat: third molars count as absent; mark it as present"),
        ("48", {"notation": "palmer"}, "tooth LR8 to treat: third molars count as absent"),
        ("46", {"expose": "48-44"}, "tooth 48 to expose: third molars count as absent"),
        ("16", {"expose": "18,16"}, "tooth 18 to expose: third molars count as absent"),
        ("16", {"expose": "17,15"}, "tooth 16: treated or an anchor, but not among"),
        ("16", {"expose": "15-13"}, "tooth 16: treated or an anchor, but not among"),
        ("16,14", {"expose": "17-15"}, "tooth 14: treated or an anchor, but not among"),
    ],
)
def test_what_this_mouth_does_not_have_is_refused(
    treat: str, fields: dict[str, Any], wording: str
) -> None:
    with pytest.raises(InputError) as caught:
        json_of(treat, **fields)
    (line,) = caught.value.problems
    assert wording in line


def test_a_primary_tooth_is_treated_in_a_mouth_of_its_age() -> None:
    plan = run_json("75", "--age", "6")
    assert plan["treated"] == ["75"]
    assert plan["isolated"] == ["73", "74", "75", "36"]
    assert plan["anchors"] == ["36"]


@few
@given(setups())
def test_the_row_holds_what_the_rules_ask_for(setup: Setup) -> None:
    case, plan = setup.case, setup.json()
    row, jaw = plan["isolated"], chart(plan["isolated"][0])
    missing = {tooth.iso for tooth in case.missing}
    absent = THIRD_MOLARS - {tooth.iso for tooth in case.present}
    standing = [iso for iso in jaw if iso not in missing | absent]
    treated = [tooth.iso for tooth in case.treat]
    assert row == [iso for iso in jaw if iso in row], "in arch order, each tooth once"
    assert set(treated) <= set(row) <= set(standing)
    assert plan["anchors"]
    assert set(plan["anchors"]) <= {row[0], row[-1]}
    if case.expose:
        return
    at = [standing.index(iso) for iso in row]
    assert all(b - a == 1 for a, b in pairwise(at)), "no standing tooth is skipped"
    if case.procedure in {"root-canal", "full-arch"}:
        return
    for iso in treated:
        position, own = int(iso[1]), [other for other in standing if other[0] == iso[0]]
        behind = sorted(int(other[1]) for other in own if other[1] > iso[1])
        held = [int(other[1]) for other in row if other[0] == iso[0]]
        if position <= 3:
            for quadrant in (iso[0], mirror(iso)[0]) if position < 3 else iso[0]:
                back = [o for o in standing if o[0] == quadrant and int(o[1]) >= 4]
                assert set(row) & set(back) or not back, "each end of the row is held"
        else:
            count = 1 if position > 5 else 2
            assert set(behind[:count]) <= set(held)
            assert behind or "no-tooth-behind" in codes(plan)
        if position >= 3:
            to_front = 1 if iso[0] in "14" else -1
            in_front = [standing.index(iso) + to_front * step for step in (1, 2)]
            real = [standing[i] for i in in_front if 0 <= i < len(standing)]
            assert set(real) <= set(row)
            assert len(real) == 2 or "few-in-front" in codes(plan)


@few
@given(setups())
def test_a_mirrored_case_gives_the_mirrored_row(setup: Setup) -> None:
    plan, other = setup.json(), setup.mirrored().json()
    for key in ("isolated", "anchors", "treated"):
        assert other[key] == [mirror(iso) for iso in reversed(plan[key])]
    roles = [hole["role"] for hole in plan["holes"]]
    assert [hole["role"] for hole in other["holes"]] == roles[::-1]


@pytest.mark.parametrize(
    ("treat", "more"), [("16", 1), ("16", 3), ("14", 1), ("35", 2), ("47", 1), ("47", 3)]
)
def test_more_adds_that_many_teeth_in_front_and_none_behind(treat: str, more: int) -> None:
    usual, longer = json_of(treat)["isolated"], json_of(treat, more=more)["isolated"]
    jaw = chart(treat)
    added = [iso for iso in longer if iso not in usual]
    assert len(added) == more
    if treat[0] in "14":
        assert longer == [*usual, *added]
        assert jaw.index(added[0]) == jaw.index(usual[-1]) + 1
    else:
        assert longer == [*added, *usual]
        assert jaw.index(added[-1]) == jaw.index(usual[0]) - 1


def test_one_case_serves_one_jaw() -> None:
    with pytest.raises(InputError, match="one sheet serves one jaw"):
        case_of("16,46")
