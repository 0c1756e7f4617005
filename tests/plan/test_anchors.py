"""Which teeth hold the sheet: sound ones, and not only by clamps.

Sound anchors and rows held without clamps are common practice without a source; the mean ages of
eruption are the middle of the ranges of Logan & Kronfeld 1933 (from memory).
"""

from __future__ import annotations

from typing import Any

import pytest

from sheetmark.anatomy.arch_model import load_model, model_for_age
from sheetmark.base.findings import Choice, InputError
from sheetmark.base.row_rules import Hold
from sheetmark.case.exceptions import read_states
from sheetmark.documents.case.overlay import overlay
from sheetmark.documents.case.steps.before import before
from sheetmark.documents.case.steps.fetch import fetch
from sheetmark.documents.case.steps.place import place
from sheetmark.documents.case.steps.take_off import take_off
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Origin, Practice
from sheetmark.typesetting.marks import Text
from tests.helpers.cases import case_of, codes, json_of, plan_of, teeth


def child(treat: str, age: int, **fields: Any) -> Plan:
    return make_plan(case_of(treat, age=age, **fields), load_model(model_for_age(age).name))


def mouth(treat: str, states: str, **fields: Any) -> dict[str, Any]:
    return json_of(treat, states=read_states([states], "iso"), **fields)


# Options, what is different, the row, the anchors.
REPLACED: list[tuple[str, str, dict[str, Any], str, str]] = [
    # The next sound tooth further back, and the row reaches to it.
    ("15", "17 broken-down; 18 present", {}, "18 17 16 15 14 13", "18"),
    ("14", "16 implant", {}, "17 16 15 14 13 12", "17"),
    ("11", "14 partly-erupted", {}, "15 14 13 12 11 21 22 23 24", "15 24"),
    ("13", "16 broken-down", {}, "17 16 15 14 13 12 11 21 22", "17"),
    ("36", "36 broken-down", {"procedure": "root-canal"}, "36 37", "37"),
    ("16", "16-18 bridge; 18 broken-down", {}, "16 15 14", "16"),
    # Nothing sound there: the next in front, and nothing is exposed behind it.
    ("15", "17 broken-down", {}, "16 15 14 13", "16"),
    ("16", "17 implant", {}, "16 15 14", "16"),
    ("36", "36 broken-down; 37 partly-erupted", {"procedure": "root-canal"}, "35 36", "35"),
]


@pytest.mark.parametrize(("treat", "states", "fields", "row", "anchors"), REPLACED)
def test_an_anchor_that_is_not_sound_is_replaced(
    treat: str, states: str, fields: dict[str, Any], row: str, anchors: str
) -> None:
    plan = mouth(treat, states, **fields)
    assert plan["isolated"] == row.split()
    assert plan["anchors"] == anchors.split()
    assert "anchor-replaced" in codes(plan)
    assert "anchor-not-sound" not in codes(plan)


@pytest.mark.parametrize(
    ("treat", "states", "behind"),
    [
        ("36", "36 implant; 37 broken-down", "36"),
        ("36,35", "36 implant; 37 broken-down; 35 broken-down", "36, 35"),
        ("36", "37 broken-down", ""),
        ("15", "17 broken-down", ""),
        ("16", "16 broken-down; 17 implant; 18 present", ""),
    ],
)
def test_a_row_without_a_clamp_behind_a_treated_tooth_is_warned_of(
    treat: str, states: str, behind: str
) -> None:
    findings = mouth(treat, states)["findings"]
    advices = [f["advice"] for f in findings if "No clamp holds the sheet behind" in f["advice"]]
    assert len(advices) == bool(behind)
    assert all(f"behind {behind}: check that it stays there." in advice for advice in advices)


def test_a_replaced_anchor_is_reported_with_the_way_back() -> None:
    plan = mouth("14", "16 implant")
    (found,) = [f for f in plan["findings"] if f["code"] == "anchor-replaced"]
    assert found["severity"] == "warning"
    assert found["message"] == "16 is an implant crown, so 17 is the anchor in its place."
    assert found["actions"] == [{"choice": Choice.ANCHOR, "value": "16", "drop": False}]
    treated = mouth("16", "17 broken-down")
    assert "check that it leaves room to work" in " ".join(f["advice"] for f in treated["findings"])


def test_a_pontic_is_no_anchor() -> None:
    plan = mouth("14", "16 pontic")
    assert plan["isolated"] == ["17", "15", "14", "13", "12"]
    assert plan["anchors"] == ["17"]


def test_an_anchor_that_a_person_chose_stays_with_a_warning() -> None:
    plan = mouth("14", "16 broken-down", anchors=teeth("16"))
    assert plan["anchors"] == ["16"]
    assert "anchor-replaced" not in codes(plan)
    (found,) = [f for f in plan["findings"] if f["code"] == "anchor-not-sound"]
    assert found["severity"] == "warning"
    assert found["message"] == "Anchor 16 is broken down."


def test_where_nothing_is_sound_the_usual_anchor_stays_with_a_warning() -> None:
    plan = mouth("36", "36 broken-down", expose="36")
    assert plan["isolated"] == plan["anchors"] == ["36"]
    assert "anchor-not-sound" in codes(plan)


def test_a_chosen_anchor_on_the_treated_tooth_is_not_explained_away() -> None:
    for chosen in ("46", "47"):
        assert "no-tooth-behind" not in codes(json_of("47", anchors=teeth(chosen)))
    assert "no-tooth-behind" in codes(json_of("47"))


def test_nothing_is_exposed_behind_the_last_anchor() -> None:
    assert json_of("15", anchors=teeth("16"))["isolated"] == ["16", "15", "14", "13"]
    plan = json_of("11", anchors=teeth("13,23"))
    assert plan["isolated"] == ["13", "12", "11", "21", "22", "23"]


@pytest.mark.parametrize(
    ("treat", "age", "anchor", "offered"),
    [
        # Lower first molars erupt at 6.5 on average, second molars at 12; upper ones at 12.5.
        ("36", 6, "36", "75"),
        ("75", 7, "36", "75"),
        ("46", 12, "47", "46"),
        ("16", 13, "17", "16"),
    ],
)
def test_an_anchor_that_may_still_be_erupting_is_reported_and_another_offered(
    treat: str, age: int, anchor: str, offered: str
) -> None:
    plan = child(treat, age)
    assert [tooth.iso for tooth in plan.isolation.anchors] == [anchor]
    (found,) = [f for f in plan.findings if f.code == "perhaps-partly-erupted"]
    assert found.severity == "warning"
    assert found.message.startswith(f"Anchor {anchor} may be only partly erupted at age {age}")
    assert f"choose {offered} as the anchor" in found.advice
    assert [(action.choice, action.value) for action in found.actions] == [(Choice.ANCHOR, offered)]
    other = child(treat, age, anchors=teeth(offered))
    assert "perhaps-partly-erupted" not in [f.code for f in other.findings]


@pytest.mark.parametrize(
    ("treat", "age"), [("75", 8), ("36", 10), ("46", 14), ("16", 15), ("54", 6), ("48", 30)]
)
def test_an_anchor_far_from_eruption_is_not_doubted(treat: str, age: int) -> None:
    fields = {"present": "48"} if treat == "48" else {}
    plan = child(treat, age, **fields)
    assert "perhaps-partly-erupted" not in [f.code for f in plan.findings]


def test_no_tooth_is_offered_that_may_still_be_erupting_itself() -> None:
    # Upper lateral incisors erupt at 8.5 on average, so that the canine before them is next.
    plan = child("11", 8, procedure="root-canal")
    (found,) = [f for f in plan.findings if f.code == "perhaps-partly-erupted"]
    assert [action.value for action in found.actions] == ["53"]


@pytest.mark.parametrize(
    ("treat", "age", "anchor", "successor", "offered"),
    [
        # Upper premolars erupt at 10.5 and 11 on average, lower ones at 11 and 11.5.
        ("54", 9, "55", "11", "16"),
        ("75", 10, "75", "11.5", "36"),
        ("11", 9, "54", "10.5", "16"),
        # Kept far beyond its time it is no firmer.
        ("55", 30, "55", "11", "16"),
    ],
)
def test_a_primary_anchor_near_its_time_may_be_loose(
    treat: str, age: int, anchor: str, successor: str, offered: str
) -> None:
    present = f"{treat} present" if age > 20 else ""
    plan = child(
        treat, age, anchors=teeth(anchor), states=read_states([present] if present else [], "iso")
    )
    (found,) = [f for f in plan.findings if f.code == "perhaps-loose"]
    assert found.severity == "warning"
    assert found.message == (
        f"Anchor {anchor} is a primary tooth and may be loose at age {age}; its successor erupts "
        f"at {successor} years on average."
    )
    assert found.advice == f"If it is not firm, choose {offered} as the anchor."
    assert [action.value for action in found.actions] == [offered]


@pytest.mark.parametrize(("treat", "age"), [("54", 6), ("75", 8), ("85", 4), ("51", 4)])
def test_a_primary_anchor_long_before_its_time_is_not_doubted(treat: str, age: int) -> None:
    plan = child(treat, age)
    assert any(tooth.primary for tooth in plan.isolation.anchors) or age == 8
    assert "perhaps-loose" not in [f.code for f in plan.findings]


def test_no_loose_tooth_is_offered_instead() -> None:
    # At 9 the tooth behind 54 is no firmer; upper canines erupt at 11.5 only.
    plan = child("54", 9, anchors=teeth("54"), missing="16,26")
    (found,) = [f for f in plan.findings if f.code == "perhaps-loose"]
    assert [action.value for action in found.actions] == ["53"]


def test_an_implant_is_clamped_only_where_the_clinician_accepts_it() -> None:
    for states, advice in (
        ("17 implant", "Choose 17 only if the clinician accepts a clamp on it."),
        ("17 broken-down", "Where 17 holds a clamp well, choose it as the anchor."),
    ):
        (found,) = [f for f in mouth("16", states)["findings"] if f["code"] == "anchor-replaced"]
        assert found["advice"].endswith(advice)


def test_without_an_age_nothing_is_reported_of_eruption() -> None:
    assert "perhaps-partly-erupted" not in codes(json_of("16"))


@pytest.mark.parametrize("states", ["15 pontic", "15 missing", "15 lesion", "14-16 bridge"])
def test_a_tooth_in_whose_place_its_other_form_stands_cannot_be_described(states: str) -> None:
    with pytest.raises(InputError, match="55 stands in its place") as caught:
        child("16", 8, states=read_states([states], "iso"))
    assert [action.choice for action in caught.value.actions] == [Choice.WITH]


def test_the_other_form_may_be_missing() -> None:
    plan = child("16", 8, states=read_states(["55 missing; 15 pontic"], "iso"))
    assert not {"15", "55"} & {tooth.iso for tooth in plan.isolation.row}
    adult = child("16", 30, states=read_states(["55 present"], "iso"))
    assert "55" in [tooth.iso for tooth in adult.isolation.row]


def steps_of(plan: Plan) -> str:
    steps = (*place(plan), *take_off(plan))
    return "\n".join((*fetch(plan), *(step.text for step in steps)))


@pytest.mark.parametrize(
    ("hold", "step"),
    [
        ("ligature", "Hold the sheet at 14, 24: floss ligature round the neck."),
        ("wedge", "Hold the sheet at 14, 24: wedge or strip."),
    ],
)
def test_a_front_row_is_held_without_clamps(hold: Any, step: str) -> None:
    plan = plan_of("11", hold=hold)
    assert [tooth.iso for tooth in plan.isolation.anchors] == ["14", "24"]
    assert plan.clamps == ()
    assert step in steps_of(plan)
    assert ("Gum numb where the ligature goes?" in before(plan)) is (hold == "ligature")
    assert "clamp" not in steps_of(plan).lower()
    assert "forceps" not in steps_of(plan).lower()
    assert ("wedge" in steps_of(plan).lower()) is (hold == "wedge")
    legend = [mark.text for mark in overlay(plan).pages[0].marks if isinstance(mark, Text)]
    assert f"anchor: {hold}" in legend
    assert "anchor: clamp" not in legend
    data = json_of("11", hold=hold)
    assert data["settings"]["hold"] == hold
    assert data["hold"] == {"14": hold, "24": hold}
    assert data["holes"][0]["role"] == "anchor"
    assert f"14, 24: held by a {hold}, without a clamp." in [
        finding["message"] for finding in data["findings"]
    ]


def test_a_hole_that_no_clamp_fills_is_chosen_for_its_tooth() -> None:
    clamped, held = plan_of("11"), plan_of("11", hold="ligature")
    assert held.holes[0].hole.diameter_mm < clamped.holes[0].hole.diameter_mm


@pytest.mark.parametrize(
    ("treat", "fields", "clamped"),
    [("16", {}, "17"), ("13", {}, "16"), ("11", {"procedure": "root-canal"}, "11")],
)
def test_other_rows_keep_their_clamps_and_say_so(
    treat: str, fields: dict[str, Any], clamped: str
) -> None:
    data = json_of(treat, hold="wedge", **fields)
    assert data["hold"] == {clamped: "clamp"}
    assert [clamp["anchor"] for clamp in data["clamps"]] == [clamped]
    assert "hold-unused" in codes(data)


def test_a_practice_that_ties_its_fronts_is_not_reminded_of_it_at_every_molar() -> None:
    """Only what was chosen for the case and serves nothing is worth a word."""
    file = Origin("own.toml", Practice(hold="wedge"))
    chosen: tuple[tuple[Hold, bool], ...] = (
        ("wedge", False),
        ("ligature", True),
        ("clamp", False),
    )
    for hold, wording in chosen:
        practice = Practice(hold=hold, origin=file)
        found = make_plan(case_of("16"), practice=practice).findings
        assert ("hold-unused" in [f.code for f in found]) is wording
    front = make_plan(case_of("11"), practice=Practice(hold="wedge", origin=file))
    assert "held-without-clamp" in [f.code for f in front.findings]


def test_each_end_is_held_by_what_suits_it() -> None:
    data = json_of("11,16", hold="ligature")
    assert data["hold"] == {"17": "clamp", "24": "ligature"}
    assert [clamp["anchor"] for clamp in data["clamps"]] == ["17"]


@pytest.mark.parametrize(
    ("treat", "fields", "used", "note"),
    [
        ("16", {}, "textbook", ""),
        ("16", {"row": "short"}, "short", "by the short rule"),
        ("16", {"row": "wide"}, "wide", "by the wide rule"),
        (
            "16",
            {"row": "wide", "procedure": "root-canal"},
            "root-canal",
            "as for a root canal, not by the wide rule",
        ),
        (
            "16",
            {"row": "wide", "procedure": "full-arch"},
            "full-arch",
            "a full arch, not by the wide rule",
        ),
        ("16", {"row": "wide", "expose": "17-14"}, "named-teeth", "as named, not by the wide rule"),
        ("16", {"procedure": "root-canal"}, "root-canal", ""),
    ],
)
def test_the_plan_says_which_rule_chose_the_row(
    treat: str, fields: dict[str, Any], used: str, note: str
) -> None:
    data = json_of(treat, **fields)
    assert data["settings"]["row"] == fields.get("row", Practice().row)
    assert data["row_rule"] == used
    messages = [f["message"] for f in data["findings"] if f["code"].startswith("row-rule")]
    assert messages == [f"Row of teeth: {note}."] * bool(note)


def test_a_practices_own_row_rule_is_not_missed_where_the_procedure_chooses() -> None:
    wide = Practice(row="wide", origin=Origin("clinic.toml", Practice(row="wide")))
    plan = make_plan(case_of("16", procedure="root-canal"), practice=wide)
    assert not any(finding.code.startswith("row-rule") for finding in plan.findings)
