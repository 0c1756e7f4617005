"""The case card, read back from the finished PDF: every word of it, its order, its room.

The steps are common practice, no source, where `documents/steps.py` names none; here they are
held against the case: which clamp, which order, how many strips.
"""

from __future__ import annotations

import json
from functools import cache
from itertools import pairwise, permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.teeth import write
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding
from sheetmark.base.frames import PagePoint
from sheetmark.case.case import Case
from sheetmark.cli.app import run
from sheetmark.documents.case.card import card, card_below
from sheetmark.documents.case.order import punching_order, strip_count
from sheetmark.documents.case.overlay import overlay
from sheetmark.documents.case.steps.before import before
from sheetmark.documents.case.steps.fetch import fetch
from sheetmark.documents.case.steps.place import place
from sheetmark.documents.case.steps.sheet import prepare_sheet
from sheetmark.documents.case.steps.take_off import take_off
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.documents.parts import title
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import (
    BAR_STRIP_MM,
    STANDARD_SHEETS,
    Paper,
    PaperName,
    Practice,
    Punch,
)
from sheetmark.typesetting.paragraphs import Column
from tests.helpers.cards import (
    CASES,
    KINDS,
    MARGIN_MM,
    case_plan,
    faults,
    page_texts,
    plan_for,
    run_of,
    squeezed,
)
from tests.helpers.cases import few, teeth
from tests.helpers.readback import read_pdf


def read(pdf: bytes) -> list[str]:
    """The letters of each page in the order in which they are drawn, without spaces."""
    return [squeezed("".join(word.text for word in page.texts)) for page in read_pdf(pdf)]


@cache
def pages_of(kind: str, paper: PaperName, *, card: bool) -> list[str]:
    """The pages of one of the cases: the card alone, or the overlay with its card."""
    return read(render_plan(case_plan(kind, paper), "pdf", card=card))


def card_text(kind: str, paper: PaperName = "a4") -> str:
    return "".join(pages_of(kind, paper, card=True))


def lines_of(plan: Plan) -> list[str]:
    """Every line of the card but clamps and findings."""
    steps = (*prepare_sheet(plan), *place(plan), *take_off(plan))
    return [*before(plan), *fetch(plan), *(step.text for step in steps)]


# --- what stands on it ---------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "paper"), CASES)
def test_every_word_is_on_the_paper(kind: str, paper: PaperName) -> None:
    plan = case_plan(kind, paper)
    text = card_text(kind, paper)
    lines = lines_of(plan)
    assert len(lines) > 25
    for line in lines:
        # A line may go on on the next page, but none of these is as long as that.
        assert squeezed(line) in text
    for finding in plan.findings:
        assert squeezed(finding.line) in text
    for clamp in plan.clamps:
        tooth = write(clamp.tooth, plan.case.notation)
        if clamp.first:
            assert (
                squeezed(f"Clamp for {tooth}: {clamp.first.label}{clamp.choices[0].reason}") in text
            )
        else:
            assert squeezed(f"Clamp for {tooth}: none of the tray fits") in text
    assert squeezed(f"Sheet 152 x 152 mm, {plan.practice.material}") in text
    assert squeezed(plan.command) in text


def test_the_next_best_is_named() -> None:
    assert squeezed("Next best: molar wingless") in card_text("plain tray")
    assert "Nextbest" not in card_text("no clamp")


def test_findings_stand_on_the_card_warnings_first() -> None:
    text = card_text("bridge")
    assert "Inthiscase" in text
    assert text.index("!25pontic") < text.index("24,26abutment")
    assert "Inthiscase" not in card_text("plain tray")


# --- what is counted -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "strips", "counted"),
    [
        ({"treat": "16"}, 3, "4 holes, 3 cuts, "),
        ({"treat": "36", "procedure": "root-canal"}, 0, "1 hole, "),
        ({"treat": "16", "expose": run_of("17-16")}, 1, "2 holes, 1 cut, "),
        ({"treat": "11", "procedure": "full-arch"}, 13, "14 holes, 13 cuts, "),
        # A slit takes out the strips inside it; a pontic has no hole.
        (KINDS["bridge"], 2, "4 holes, 1 slit, 2 cuts, "),
        ({"treat": "16", "slits": run_of("17-15")}, 1, "4 holes, 1 slit, 1 cut, "),
        (
            {"treat": "16", "slits": (*run_of("17-16"), *run_of("16-15"))},
            1,
            "4 holes, 2 slits, 1 cut, ",
        ),
        # Two slits over the same strip take it out once.
        (
            {"treat": "16", "slits": (*run_of("17-15"), *run_of("16-14"))},
            0,
            "4 holes, 2 slits, ",
        ),
    ],
)
def test_strips_are_counted(fields: dict[str, Any], strips: int, counted: str) -> None:
    plan = plan_for(**fields)
    assert strip_count(plan) == strips
    lines = " ".join(step.text for step in take_off(plan))
    assert f"Spread it: {counted}no piece missing." in lines
    wording = {0: None, 1: "cut the one strip.", 2: "cut both strips."}.get(
        strips, f"cut all {strips} strips."
    )
    assert (wording in lines) if wording else ("finger behind" not in lines)


def wheel_moves(order: tuple[int, ...], positions: int) -> int:
    """How many positions the wheel turns in all, each time the shorter way round."""
    return sum(min(abs(b - a), positions - abs(b - a)) for a, b in pairwise(order))


diameters = st.permutations([0.5, 1.0, 1.5, 2.0, 2.5, 2.6])
eight = st.permutations([0.5, 0.8, 1.0, 1.5, 1.8, 2.0, 2.3, 2.6])


@given(st.one_of(diameters, eight), st.sampled_from(["16", "11", "34", "17,21"]))
@few
def test_the_punching_order_turns_the_wheel_least(mm: list[float], treat: str) -> None:
    case = Case(treat=teeth(treat), procedure="full-arch" if "," in treat else "restoration")
    plan = make_plan(case, practice=Practice(punch=Punch(tuple(mm))))
    turns = punching_order(plan)
    order = tuple(turn.position for turn in turns)
    assert len(set(order)) == len(order), "each position is set once"
    ways = permutations(sorted(order))
    assert wheel_moves(order, len(mm)) == min(wheel_moves(way, len(mm)) for way in ways)
    # Upwards all the way, but for one step past the wheel's end.
    assert sum(b < a for a, b in pairwise(order)) <= 1
    # Every hole once, by its own position and diameter.
    holes = {planned.tooth: planned.hole for planned in plan.holes}
    assert sorted(t.iso for turn in turns for t in turn.teeth) == sorted(t.iso for t in holes)
    for turn in turns:
        assert turn.diameter_mm == mm[turn.position - 1]
        assert {holes[tooth].punch_position for tooth in turn.teeth} == {turn.position}
        assert [t.along for t in turn.teeth] == sorted(t.along for t in turn.teeth)


@pytest.mark.parametrize(
    ("mm", "order"),
    [
        ((0.5, 1.0, 1.5, 2.0, 2.5, 2.6), [3, 4, 5]),
        # Down the wheel: the same positions upwards.
        ((2.6, 2.5, 2.0, 1.5, 1.0, 0.5), [2, 3, 4]),
        # Past its end: 6, 1, 2 is two steps, 1, 2, 6 would be three.
        ((2.0, 2.5, 2.6, 0.5, 1.0, 1.5), [6, 1, 2]),
    ],
)
def test_punching_orders_by_hand(mm: tuple[float, ...], order: list[int]) -> None:
    plan = make_plan(Case(treat=teeth("16")), practice=Practice(punch=Punch(mm)))
    assert [turn.position for turn in punching_order(plan)] == order


def test_the_table_is_drawn_in_punching_order() -> None:
    assert "HolemmTeeth31.5151442165217.5" not in card_text("usual")
    assert "HolemmTeeth" + "31.51514" + "4216" + "52.517" in card_text("usual")
    punch = Punch((2.0, 2.5, 2.6, 0.5, 1.0, 1.5))
    plan = make_plan(Case(treat=teeth("16")), practice=Practice(punch=punch))
    (text,) = read(render_plan(plan, "pdf", card=True))
    assert "HolemmTeeth" + "61.51514" + "1216" + "22.517" in text


# --- pages ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "paper"), CASES)
def test_every_page_carries_the_cautions(kind: str, paper: PaperName) -> None:
    for alone in (True, False):
        pages = pages_of(kind, paper, card=alone)
        assert len(pages) >= 1 + (not alone)
        for page in pages:
            for wording in (*CAUTIONS, RESPONSIBILITY):
                assert squeezed(wording) in page
        for number, page in enumerate(pages):
            last = number == len(pages) - 1
            shown = "!Moreonthenextpage." in page
            assert shown != last or (number == 0 and not alone), "points on where it goes on"


def test_the_cautions_name_what_they_must() -> None:
    wording = " ".join(CAUTIONS).lower()
    for what in ("latex", "both clamp holes", "nose", "do not force", "missing pieces"):
        assert what in wording


@pytest.mark.parametrize(("kind", "paper"), CASES)
def test_what_the_overlay_has_no_room_for_goes_on_behind_it(kind: str, paper: PaperName) -> None:
    plan = case_plan(kind, paper)
    pages = pages_of(kind, paper, card=False)
    for wording in (
        "Outside the arch: tooth",
        "Inside it: punch hole.",
        "R, L: the patient's right and left.",
        "Sheet 152 x 152 mm, latex",
        "Punch 0.5, 1, 1.5, 2, 2.5, 2.6 mm",
        f"Arch {plan.arch.model}{' (for ages 8 to 9)' * (plan.case.age is not None)}, "
        f"{plan.arch.jaw} jaw",
        "Spacing: as the teeth stand",
        *(finding.line for finding in plan.findings),
    ):
        assert squeezed(wording) in "".join(pages)
    if squeezed("Spacing: as the teeth stand") not in pages[0]:
        assert "!Moreonthenextpage." in pages[0]


def test_the_card_follows_the_overlay_or_stands_alone() -> None:
    plan = case_plan("usual")
    both, alone = (read(render_plan(plan, "pdf", card=card)) for card in (False, True))
    assert len(both) == 1 + len(alone)
    assert "thisbaris100mm" in both[0]
    assert "casecard" not in both[0]
    assert both[1:] == alone
    assert "thisbaris100mm" not in alone[0]


def test_the_picture_holds_the_first_page_only() -> None:
    plan = case_plan("usual")
    shown = render_plan(plan, "svg").decode()
    assert "this bar is 100 mm" in shown
    assert "case card" not in shown
    assert "case card" in render_plan(plan, "svg", card=True).decode()


def test_the_command_writes_the_card_alone_and_the_same_plan(tmp_path: Path) -> None:
    files = {name: tmp_path / name for name in ("a.pdf", "b.pdf", "a.json", "b.json")}
    for letter, more in (("a", []), ("b", ["--card"])):
        paths = [word for end in ("pdf", "json") for word in ("-o", str(files[f"{letter}.{end}"]))]
        assert run(["overlay", "16", *more, *paths]) == 0
    assert files["a.json"].read_bytes() == files["b.json"].read_bytes()
    assert json.loads(files["b.json"].read_bytes())["command"] == "sheetmark overlay 16"
    assert read(files["b.pdf"].read_bytes()) == read(files["a.pdf"].read_bytes())[1:]


def test_on_paper_with_room_the_card_stands_below_the_sheet() -> None:
    plan = on_paper_of(Paper("tall", 297.0, 480.0))
    document = overlay(plan)
    assert len(document.pages) == 1
    shown = page_texts(document.pages[0])
    for line in lines_of(plan):
        assert squeezed(line) in shown
    assert list(faults(document.pages[0])) == []
    # Less room, or findings that do not fit, and it has a page of its own.
    assert len(overlay(on_paper_of(Paper("A3", 297.0, 420.0))).pages) == 2
    found = Finding(Code.TOOTH_STATE, "info", "Something was found that takes a line to say.")
    assert len(overlay(replace(plan, findings=(found,))).pages) == 1
    assert len(overlay(replace(plan, findings=(found,) * 20)).pages) == 2
    endless = replace(found, message=f"{'endless ' * 1500}end.")
    pages = overlay(replace(plan, findings=(endless,))).pages
    assert "".join(page_texts(page) for page in pages[1:]).count("endless") == 1500
    assert card_below(plan, Column(left=10.0, top=250.0, width=277.0, bottom=40.0)) is not None
    assert card_below(plan, Column(left=10.0, top=120.0, width=277.0, bottom=40.0)) is None


def on_paper_of(paper: Paper) -> Plan:
    """A usual case on the smaller sheet, as high as it may stand on a paper of any height."""
    plan = make_plan(Case(treat=teeth("16")), practice=Practice(sheet=STANDARD_SHEETS[0]))
    y = paper.height_mm - MARGIN_MM - BAR_STRIP_MM - plan.sheet.height_mm / 2
    return replace(plan, paper=paper, sheet_centre_on_page_mm=PagePoint(paper.width_mm / 2, y))


@pytest.mark.parametrize("size", [80.0, 127.0, 152.0])
def test_on_a4_and_letter_it_has_a_page_of_its_own(size: float) -> None:
    for paper in ("a4", "letter"):
        plan = case_plan("tight", paper)
        sheet = replace(plan.practice.sheet, width_mm=size, height_mm=size)
        small = make_plan(plan.case, practice=replace(plan.practice, sheet=sheet))
        assert len(overlay(small).pages) == 1 + len(card(small).pages)


# --- the title and page one ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"treat": "14"}, "14 (ISO) · upper right first premolar · restoration"),
        (
            {"treat": "14", "notation": "palmer", "reference": "chair 2"},
            "UR4 (Palmer) · upper right first premolar · restoration · chair 2",
        ),
        (
            {"treat": "36", "notation": "universal", "procedure": "root-canal"},
            "19 (Universal) · lower left first molar · root canal",
        ),
        (
            {"treat": "34,35"},
            "34, 35 (ISO) · lower left first premolar and second premolar · restoration",
        ),
        (
            {"treat": "11,21"},
            "11, 21 (ISO) · upper right central incisor and upper left central incisor · "
            "restoration",
        ),
        ({"treat": "16,15,14"}, "16, 15, 14 (ISO) · upper right teeth · restoration"),
        ({"treat": "41,31,32"}, "41, 31, 32 (ISO) · lower teeth · restoration"),
    ],
)
def test_the_title_names_the_teeth(fields: dict[str, Any], expected: str) -> None:
    plan = plan_for(**fields)
    assert title(plan) == expected
    for alone in (True, False):
        assert squeezed(expected) in read(render_plan(plan, "pdf", card=alone))[0]


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "usual"])
def test_page_one_names_the_clamps(kind: str) -> None:
    plan = case_plan(kind)
    pages = read(render_plan(plan, "pdf"))
    shown = pages[0] if len(plan.clamps) < 3 else "".join(pages)
    for anchor in plan.clamps:
        label = anchor.first.label if anchor.first else "none of the tray fits"
        tooth = write(anchor.tooth, plan.case.notation)
        assert squeezed(f"Clamp for {tooth}: {label}") in shown


def test_a_usual_case_has_its_card_on_one_page_and_a_full_one_on_two() -> None:
    assert len(card(case_plan("plain tray")).pages) == 1
    ready, chair = read(render_plan(case_plan("bridge"), "pdf", card=True))
    for what in ("Before", "Fetch", "Sheet", "Inthiscase", "HolemmTeeth"):
        assert what in ready
        assert what not in chair.replace("Sheet,", "")
    for what in ("Place", "Takeoff"):
        assert what in chair
        assert what not in ready
