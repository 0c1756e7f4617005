"""The words of the case card, held against the case: what to ask, fetch and do, in which order.

What the steps rest on stands beside each of them; here they are held against cases that differ.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from sheetmark.case.exceptions import read_states
from sheetmark.cli.app import run
from sheetmark.documents.case.steps.before import before
from sheetmark.documents.case.steps.fetch import fetch
from sheetmark.documents.case.steps.place import place
from sheetmark.documents.case.steps.sheet import prepare_sheet
from sheetmark.documents.case.steps.step import Step
from sheetmark.documents.case.steps.take_off import take_off
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.file.check import read_practice
from sheetmark.practice.file.convert import from_practice
from sheetmark.practice.settings import OrientationMarks, Practice
from sheetmark.practice.tray import DEFAULT_TRAY, Clamp
from tests.helpers.cards import KINDS, case_plan, plan_for, run_of, squeezed
from tests.helpers.readback import read_first_page, read_pdf

USUAL = Practice()


def usual(treat: str = "16", **fields: Any) -> Plan:
    """A plan with the tray and the settings that ship."""
    fields["states"] = read_states(fields.pop("different", []), "iso")
    return plan_for(treat, practice=fields.pop("practice", USUAL), **fields)


def texts(steps: tuple[Step, ...]) -> list[str]:
    return [step.text for step in steps]


def names(steps: tuple[Step, ...]) -> list[str]:
    return [step.name for step in steps]


def text_of(plan: Plan, name: str) -> str:
    """The words of the one step of that name."""
    (found,) = (s for s in (*prepare_sheet(plan), *place(plan), *take_off(plan)) if s.name == name)
    return found.text


# --- the usual case ------------------------------------------------------------------------


def test_a_usual_case_reads_as_it_should() -> None:
    plan = usual()
    assert texts(prepare_sheet(plan)) == [
        "Lay the sheet on the overlay, dull side up. Mark the discs, the cross, both dots, dash.",
        "Punch the holes in the order of the table. Leave cross, dots and dash.",
        "Stretch the sheet, look at each hole. Not clean all round? Take a new sheet.",
    ]
    assert texts(place(plan)) == [
        "Lubricate the holes, tooth side, and the lips.",
        "Floss through both holes of the clamp; its end stays outside the mouth.",
        "Hook the clamp for 17 by its wings into its hole, bow to the back.",
        "With the forceps set sheet and clamp on 17 together. Jaws on the tooth, not on the gum. "
        "It must not rock.",
        "Sheet off the wings with the flat instrument.",
        "Napkin under the sheet, frame on, its curve along the chin. Stretch left to right, "
        "hardly up and down.",
        "Slip the sheet over the other teeth, one by one.",
        "Floss the sheet past each contact. Do not force it. If it will not pass, take it off, "
        "floss and try again.",
        "Hold the sheet at 14: wedge or strip.",
        "Dry the teeth. Turn the edge inward round each with the flat instrument.",
        "Where the sheet creeps up, tie a floss ligature.",
        "Saliva ejector in. Check: both dots up and facing you, dash at the patient's left, nose "
        "free.",
    ]
    assert texts(take_off(plan)) == [
        "Rinse, suction. Wedges, strips, ligatures off.",
        "Stretch the sheet outwards, a finger behind it: cut all 3 strips. Count the cuts.",
        "Clamp off 17: open the forceps no wider than needed, lift straight.",
        "Frame, sheet and napkin off together. Wipe the lips.",
        "Spread it: 4 holes, 3 cuts, no piece missing.",
        "If a piece is missing, floss each contact, look in the mouth. Not found: tell the "
        "clinician. It may be swallowed or inhaled.",
        "Rinse, suction. Look at the gum round 17. Massage it.",
    ]


def test_what_to_ask_and_fetch() -> None:
    ask = " ".join(before(usual())).lower()
    for what in ("latex", "nose? if not", "asthma", "gag", "closed spaces", "numb", "flossed"):
        assert what in ask
    for what in ("calculus", "tried on, floss tied"):
        assert what in ask
    ready = " ".join(fetch(usual())).lower()
    for what in ("overlay", "sheet 152", "punch", "marker", "scissors", "frame", "napkin"):
        assert what in ready
    for what in ("flat instrument, forceps", "floss", "lubricant", "saliva ejector", "wedge"):
        assert what in ready
    assert "paper tissue" in ready


@pytest.mark.parametrize("kind", list(KINDS))
def test_the_steps_stand_in_their_order(kind: str) -> None:
    plan = case_plan(kind)
    order = ["mark", "punch", "look-at-holes", "lubricate", "frame", "floss", "turn-in"]
    order += ["last-look", "ligatures-off", "frame-off", "spread", "piece-missing", "look-at-gum"]
    done = names((*prepare_sheet(plan), *place(plan), *take_off(plan)))
    assert [name for name in done if name in order] == order


# --- clamps --------------------------------------------------------------------------------


def test_a_winged_clamp_goes_in_with_the_sheet() -> None:
    steps = names(place(usual()))
    winged = ["tie-floss", "hook-wings", "set-together", "off-wings"]
    assert [name for name in steps if name in winged] == winged
    assert steps.index("off-wings") < steps.index("frame") < steps.index("slip-over")


def test_a_wingless_clamp_goes_on_first_or_through_the_hole() -> None:
    plan = case_plan("tight")
    steps = names(place(plan))
    assert steps.index("tie-floss") < steps.index("clamp-alone") < steps.index("draw-over")
    assert "Or bow through the hole first" in text_of(plan, "draw-over")
    assert not [line for line in texts(place(plan)) if "wings" in line or "other teeth" in line]


def test_the_bow_points_to_the_back_but_for_a_double_bow() -> None:
    for kind in ("plain tray", "tight", "front", "child"):
        assert any("bow to the back" in line for line in texts(place(case_plan(kind))))
    lines = texts(place(plan_for("11", procedure="root-canal")))
    assert not any("to the back" in line for line in lines)
    assert any("Draw hole 11 over the bows" in line for line in lines)


def test_further_clamps_go_over_the_sheet() -> None:
    plan = case_plan("front")
    steps = names(place(plan))
    assert steps.index("slip-over") < steps.index("later-clamp") < steps.index("floss")
    assert text_of(plan, "later-clamp").startswith("Clamp for 24 over the sheet")
    assert "both holes of each clamp" in text_of(plan, "tie-floss")
    assert text_of(plan, "clamp-off").startswith("Clamp off 14, 24: ")
    assert "hold-end" not in steps, "both ends carry a clamp"
    assert "Wedge" not in " ".join(fetch(plan))


def test_where_no_clamp_fits_none_is_tied_tried_or_taken_off() -> None:
    plan = case_plan("no clamp")
    assert text_of(plan, "no-clamp") == (
        "17: no clamp of the tray fits. Decide how to hold the sheet here."
    )
    lines = [*before(plan), *fetch(plan), *texts(place(plan)), *texts(take_off(plan))]
    for what in ("tried on", "forceps", "Floss through", "Clamp off", "numb"):
        assert not [line for line in lines if what in line]
    plan = case_plan("one clamp")
    assert "24: no clamp of the tray fits" in text_of(plan, "later-clamp")
    assert text_of(plan, "clamp-off").startswith("Clamp off 14: ")


@pytest.mark.parametrize("order", ["frame-first", "septa-first"])
def test_the_practice_chooses_when_the_frame_goes_on(order: Any) -> None:
    steps = names(place(usual(practice=Practice(frame=order))))
    assert (steps.index("frame") < steps.index("slip-over")) == (order == "frame-first")
    assert (steps.index("frame") < steps.index("floss")) == (order == "frame-first")
    assert steps.index("off-wings") < steps.index("frame")


def test_the_practice_file_says_when_the_frame_goes_on(tmp_path: Path) -> None:
    path, made = tmp_path / "practice.toml", tmp_path / "case.json"
    path.write_text(
        'format = "sheetmark-practice/1"\n[card]\nframe = "septa-first"\n', encoding="utf-8"
    )
    assert read_practice(path).practice.frame == "septa-first"
    assert run(["overlay", "16", "--practice", str(path), "-o", str(made)]) == 0
    plan = json.loads(made.read_bytes())
    assert plan["settings"]["frame"] == "septa-first"
    assert plan["command"] == "sheetmark overlay 16 --practice practice.toml"
    assert from_practice(Practice(frame="septa-first")).card.frame == "septa-first"


# --- procedures ----------------------------------------------------------------------------


def test_a_root_canal_checks_the_tooth_and_keeps_the_irrigant_in() -> None:
    plan = usual("36", procedure="root-canal")
    assert text_of(plan, "punch").startswith("Punch one hole, that of 36.")
    assert "Check 36 against record" in text_of(plan, "check-tooth")
    steps = names(place(plan))
    order = ["check-tooth", "set-together", "test-seal", "disinfect", "irrigate", "last-look"]
    assert [name for name in steps if name in order] == order
    assert text_of(plan, "irrigate").endswith("stop, rinse, seal, test and disinfect again.")
    assert "slip-over" not in steps
    assert "cut" not in names(take_off(plan))
    # One tooth is spoken of as one, and what was never cut is not counted.
    assert text_of(plan, "turn-in") == (
        "Dry the tooth. Turn the edge inward round it with the flat instrument."
    )
    assert text_of(plan, "ligatures-off") == "Rinse, suction. Seal off."
    assert text_of(plan, "spread") == "Spread it: 1 hole, no piece missing."
    ready = " ".join(fetch(plan))
    for what in ("Caulk", "Disinfectant", "against the irrigant"):
        assert what in ready
    for other in ("restoration", "crown", "cervical", "full-arch"):
        other_plan = usual("36", procedure=other)
        assert not {"check-tooth", "test-seal", "irrigate"} & set(names(place(other_plan)))
        assert "irrigant" not in " ".join(fetch(other_plan))


def test_a_gumline_lesion_has_its_retracting_clamp() -> None:
    cervical = Clamp("gum one", "front", winged=False, cervical=True)
    tray = Practice(tray=(*DEFAULT_TRAY, cervical))
    plan = usual("13", procedure="cervical", practice=tray)
    steps = names(place(plan))
    assert steps.index("floss") < steps.index("retract") < steps.index("last-look")
    assert text_of(plan, "retract") == (
        "13: gum one, floss tied to it, over the sheet; its jaw just past the lesion. Steady it "
        "with impression compound."
    )
    assert "Impression compound" in fetch(plan)
    assert "Retracting clamp" in text_of(plan, "ligatures-off")
    assert re.search(r"gum round .*\b13\b", text_of(plan, "look-at-gum"))
    for alone in (True, False):
        (first, *_) = read_pdf(render_plan(plan, "pdf", card=alone))
        assert "Gum of 13: gum one" in first.text


def test_a_gumline_lesion_has_a_ligature_where_no_clamp_serves() -> None:
    plan = usual("34,35", procedure="cervical")
    assert text_of(plan, "retract") == (
        "34, 35, one at a time: tie a floss ligature just past the lesion, towards the root."
    )
    assert "Retracting" not in text_of(plan, "ligatures-off")
    assert "Impression compound" not in fetch(plan)
    assert "Gum numb where the clamp or ligature goes?" in before(plan)
    assert "Gum of 34, 35: floss ligature" in read_first_page(render_plan(plan, "pdf")).text
    assert "retract" not in names(place(usual("13")))


def test_the_clamp_at_the_gum_stays_clear_of_the_one_beside_it() -> None:
    gum = Clamp("gum one", "molar", winged=False, cervical=True)
    tray = Practice(tray=(*DEFAULT_TRAY, gum))
    beside = usual("36", procedure="cervical", practice=tray)
    assert text_of(beside, "retract").endswith("compound. Clear of the clamp on 37.")
    right = usual("46", procedure="cervical", practice=tray)
    assert text_of(right, "retract").endswith("compound. Clear of the clamp on 47.")
    # A tooth between the two, a ligature, or an anchor for which the tray has no clamp.
    apart = usual("36", procedure="cervical", practice=tray, expose=run_of("35-38"), present="38")
    assert "Clear of" not in text_of(apart, "retract")
    assert "Clear of" not in text_of(usual("36", procedure="cervical"), "retract")
    alone = Practice(tray=(gum,))
    assert "Clear of" not in text_of(usual("36", procedure="cervical", practice=alone), "retract")


def test_one_clamp_at_the_gum_is_fetched_once() -> None:
    """Lesions are treated one after the other, so the box to tick is one."""
    gum = Clamp("gum one", "premolar", winged=False, cervical=True)
    plan = usual("34,35", procedure="cervical", practice=Practice(tray=(*DEFAULT_TRAY, gum)))
    text = squeezed("".join(page.text for page in read_pdf(render_plan(plan, "pdf", card=True))))
    assert text.count(squeezed("Gum of 34, 35: gum one")) == 1
    assert squeezed("Gum of 35") not in text


# --- children ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "child", "slit"),
    [
        ({"treat": "75", "age": 6}, True, True),
        # A primary tooth is enough where no age is given.
        ({"treat": "55", "different": ["55 present"]}, True, True),
        ({"treat": "75", "age": 6, "slits": run_of("75-74")}, True, False),
        ({"treat": "75", "age": 6, "procedure": "root-canal", "more": 2}, True, False),
        ({"treat": "16", "age": 12}, True, True),
        ({"treat": "16", "age": 13}, False, False),
        ({"treat": "16"}, False, False),
    ],
)
def test_children_hear_and_see_what_comes(fields: dict[str, Any], child: bool, slit: bool) -> None:
    ask = " ".join(before(usual(**fields)))
    assert ("Tell, show, do" in ask) == child
    assert ("Plan one slit" in ask) == slit


@pytest.mark.parametrize(
    ("treat", "fields"),
    [("16", {}), ("55", {}), ("11", {}), ("85", {"procedure": "root-canal"})],
)
def test_a_child_s_card_takes_shorter_text_at_the_chair(treat: str, fields: dict[str, Any]) -> None:
    """The same steps in the same order in at most 17 words for 20; what keeps a child safe stays
    whole."""
    child = usual(treat, age=9, **fields)
    grown = replace(child, case=replace(child.case, age=40))
    for steps in (place, take_off):
        assert names(steps(child)) == names(steps(grown))
    short, long = (
        sum(len(line.split()) for steps in (place, take_off) for line in texts(steps(plan)))
        for plan in (child, grown)
    )
    assert short <= 0.85 * long
    kept = ("piece-missing", "last-look", "look-at-gum", "spread", "test-seal", "irrigate")
    for step in {*kept} & {*names((*place(child), *take_off(child)))}:
        assert text_of(child, step) == text_of(grown, step)
    every = " ".join((*texts(place(child)), *texts(take_off(child))))
    for what in ("end outside the mouth", "not on the gum", "must not rock", "Do not force it"):
        assert what in every


def test_one_opening_is_drawn_over_the_teeth_at_once() -> None:
    plan = usual("75", age=6, slits=run_of("73-36"))
    assert text_of(plan, "slip-over") == "Draw the slit over the other teeth."
    assert "one by one" in text_of(usual("75", age=6, slits=run_of("74-75")), "slip-over")


# --- bridges -------------------------------------------------------------------------------

BRIDGE = ["24-26 bridge"]


def test_nothing_is_passed_inside_a_bridge_and_its_pontic_is_sealed() -> None:
    plan = usual("27", more=1, different=BRIDGE)
    assert "past each contact, but not inside the bridge 24-26." in text_of(plan, "floss")
    assert text_of(plan, "bridge") == (
        "Bridge 24-26: no strip passes between its teeth. Cut a slit, or tie the sheet down under "
        "the pontic. Seal under pontic 25 with caulk or sealing paste."
    )
    assert "Caulk or sealing paste" in fetch(plan)


def test_a_slit_that_is_planned_is_not_advised_again() -> None:
    plan = usual("27", more=1, different=BRIDGE, slits=run_of("24-26"))
    assert text_of(plan, "slit").startswith("Slit 24-26: both end holes first")
    assert "slit" not in text_of(plan, "bridge")
    assert "Seal under pontic 25" in text_of(plan, "bridge")
    steps = names(prepare_sheet(plan))
    assert steps.index("punch") < steps.index("slit") < steps.index("look-at-holes")


def test_a_bridge_outside_the_row_changes_nothing() -> None:
    plan = usual("16", different=BRIDGE)
    assert texts(place(plan)) == texts(place(usual()))
    assert fetch(plan) == fetch(usual())


@pytest.mark.parametrize(
    ("different", "bridge", "pontic"),
    [
        # A pontic alone hangs on one neighbour or both, which is not known.
        (["24 pontic"], "23-25", "24"),
        (["24 pontic", "25 abutment"], "24-25", "24"),
        # Beside the row's last tooth, across the midline, or of several teeth.
        (["26 pontic", "25 abutment"], "25-26", "26"),
        (["11-22 bridge"], "11-22", "21"),
        (["13-21 bridge"], "13-21", "12, 11"),
    ],
)
def test_bridges_as_they_come(different: list[str], bridge: str, pontic: str) -> None:
    plan = usual("23", expose=run_of("14-25"), different=different)
    assert f"Bridge {bridge}: " in text_of(plan, "bridge")
    assert f"Seal under pontic {pontic} with" in text_of(plan, "bridge")


# --- materials, marks ----------------------------------------------------------------------


def test_an_allergic_patient_has_latex_free_gloves() -> None:
    plan = usual(practice=Practice(material="nitrile"))
    assert "Latex-free gloves" in fetch(plan)
    assert before(plan)[0] == "Latex allergy? The sheet is latex-free; the gloves must be too."
    assert "Latex-free gloves" not in fetch(usual())
    assert before(usual())[0] == (
        "Latex allergy? Then latex-free sheet and gloves, and an overlay made for that sheet."
    )


def test_the_dash_is_looked_for_on_the_side_where_the_sheet_has_it() -> None:
    plan = usual()
    assert plan.side_dash_mm is not None
    # Sheet frame: x runs to the patient's left.
    assert all(end.x > 0 for end in plan.side_dash_mm)
    assert "dash at the patient's left" in text_of(plan, "last-look")


def test_a_corner_hole_is_punched_and_looked_for() -> None:
    plan = usual(practice=Practice(marks=OrientationMarks(kind="corner-hole")))
    assert "then the corner hole. Leave the cross." in text_of(plan, "punch")
    assert "corner hole up at the patient's left" in text_of(plan, "last-look")
    assert "dash" not in text_of(plan, "last-look")
    practice = Practice(marks=OrientationMarks(kind="corner-hole"), tray=DEFAULT_TRAY)
    root_canal = usual("36", practice=practice, procedure="root-canal")
    assert text_of(root_canal, "punch") == (
        "Punch one hole, that of 36, then the corner hole. Leave the cross."
    )
