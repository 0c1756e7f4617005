"""A clinic's settings on its pages: margins, name, labels, marks, decimal sign, sheet."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.teeth import NOTATIONS, read_list
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding, InputError
from sheetmark.case.case import Case, ToothState
from sheetmark.documents.case.overlay import overlay
from sheetmark.documents.correction import corrected
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from sheetmark.practice.printer import Printer
from sheetmark.practice.settings import (
    CORNERS,
    PAPERS,
    Corner,
    OrientationMarks,
    Practice,
    Punch,
    Sheet,
    StockSheet,
    read_sheet,
    sheet_overflow_mm,
)
from sheetmark.practice.tray import Clamp
from tests.helpers.page_areas import faults, symbol_faults
from tests.helpers.page_check import _Sheet, check_bars, check_cross, check_outline
from tests.helpers.readback import Drawing, Word, read_first_page, read_pdf, read_svg
from tests.helpers.valid_cases import Sample, samples

SMALL = Sheet(127.0, 127.0)
WIDE_LABELS = ("WW", "MM", "W", "10", "Q", "@@@")


def plan_of(tooth: str, practice: Practice, **case: Any) -> Plan:
    return make_plan(Case(treat=read_list([tooth], "iso"), **case), practice=practice)


def first_page(plan: Plan) -> Drawing:
    return read_first_page(render_plan(plan, "pdf"))


def text_named(page: Drawing, text: str) -> Word:
    (word,) = (word for word in page.texts if word.text == text)
    return word


def all_faults(plan: Plan) -> list[str]:
    """What touches what and what leaves the margins, on every page as it is printed."""
    document = corrected(overlay(plan), plan.practice)
    found = [
        fault for number, page in enumerate(document.pages) for fault in faults(plan, page, number)
    ]
    return found + list(symbol_faults(document.pages[0]))


@st.composite
def clinics(draw: st.DrawFn) -> Practice:
    """Settings that make a page crowded."""
    stock = StockSheet(
        draw(st.sampled_from([SMALL, Sheet(152.0, 152.0), Sheet(140.0, 127.0)])),
        "latex",
        draw(st.sampled_from([None, 0.35])),
        see_through=draw(st.booleans()),
    )
    return Practice(
        name=draw(st.sampled_from(["", "Example practice", 40 * "W"])),
        numbers=draw(st.sampled_from(["point", "comma"])),
        paper=draw(st.sampled_from(list(PAPERS))),
        margin_mm=draw(st.sampled_from([10.0, 12.0, 15.0, 19.0, 25.0])),
        sheet=stock.sheet,
        stock=(stock,),
        punch=Punch((0.5, 1.0, 1.5, 2.0, 2.5, 2.6), draw(st.sampled_from([(), WIDE_LABELS]))),
        marks=OrientationMarks(
            draw(st.sampled_from(["two-dots", "corner-hole"])),
            draw(st.sampled_from([9.0, 10.0, 14.0])),
            draw(st.sampled_from([8.0, 12.0, 25.0])),
            draw(st.sampled_from(CORNERS)),
            draw(st.sampled_from([5.0, 10.0, 14.0])),
        ),
        printers=(Printer(20 * "W", 149.4, 150.2),),
        printer=draw(st.sampled_from(["none", 20 * "W"])),
    )


@settings(max_examples=60, derandomize=True, deadline=None)
@given(samples(), clinics())
def test_nothing_touches_and_nothing_leaves_the_margins(case: Sample, practice: Practice) -> None:
    try:
        plan = make_plan(case.plan.case, practice=practice)
        found = all_faults(plan)
    except InputError:
        # A case or a margin that this sheet and paper cannot hold.
        assume(False)
        raise
    assert found == [], plan.command


@pytest.mark.parametrize("margin", [10.0, 16.5, 31.0])
@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_layout_follows_the_margin(margin: float, paper: Any) -> None:
    """Read back: sheet and bars where this margin puts them, words flush with both edges."""
    practice = Practice(
        name="Example practice",
        paper=paper,
        margin_mm=margin,
        sheet=Sheet(127.0, 100.0),
        printers=(Printer("desk", 150, 150),),
        printer="desk",
    )
    plan = plan_of("36", practice, procedure="root-canal")
    page = first_page(plan)
    size = PAPERS[practice.paper]
    outline = max(page.outlines, key=lambda shape: max(y for _, y in shape.points))
    top = max(y for _, y in outline.points)
    assert top == pytest.approx(size.height_mm - margin - 10, abs=0.01)
    bar = text_named(page, "Tooth")
    assert bar.start[0] == pytest.approx(margin, abs=0.01)
    assert text_named(page, "Example practice").start[0] == pytest.approx(margin, abs=0.01)
    printer = text_named(page, "Printer desk: x 1.0000, y 1.0000")
    assert printer.end[0] == pytest.approx(size.width_mm - margin, abs=0.02)
    lowest = min(word.start[1] for word in page.texts)
    assert margin < lowest < margin + 1.5
    assert plan_json(plan)["page"]["margin_mm"] == margin


@pytest.mark.parametrize(
    ("margin", "across", "down"),
    [(19.0, "", ""), (19.1, "0.2", "0.0"), (25.0, "12.0", "1.0"), (40.0, "42.0", "31.0")],
)
def test_a_margin_that_leaves_no_room_is_refused_with_the_overflow(
    margin: float, across: str, down: str
) -> None:
    """A 152 sheet on A4: 210 - 2 (margin + 10) across, 297 - 2 margin - 96 down."""
    practice = Practice(margin_mm=margin)
    if not across:
        assert plan_of("16", practice).sheet.width_mm == 152
        return
    with pytest.raises(InputError) as caught:
        plan_of("16", practice)
    assert str(caught.value).startswith(
        f"sheet 152 x 152 mm on A4 with margins of {margin:g} mm: too large at true scale by "
        f"{across} mm across and {down} mm down; the most that fits is "
    )


def test_text_that_finds_no_room_is_refused_with_the_overflow() -> None:
    practice = Practice(margin_mm=18.0, sheet=Sheet(150.0, 147.0), paper="letter")
    with pytest.raises(InputError, match=r"page: the text needs \d+\.\d mm more than letter has"):
        overlay(plan_of("16", practice, reference="60 characters " + 9 * "wwwww" + "."))


CORNER_OF = {"upper-left": 1, "upper-right": -1}


@pytest.mark.parametrize("corner", CORNERS)
@pytest.mark.parametrize(("sheet", "off"), [(SMALL, 5.0), (Sheet(152.0, 130.0), 14.0)])
def test_the_corner_hole_is_one_disc_in_that_corner(
    corner: Corner, sheet: Sheet, off: float
) -> None:
    """By the patient's left and right: the patient's left is at the right of the page."""
    marks = OrientationMarks("corner-hole", corner=corner, from_corner_edges_mm=off)
    plan = plan_of("46", Practice(sheet=sheet, marks=marks), procedure="root-canal")
    side = CORNER_OF[corner]
    planned = (side * (sheet.width_mm / 2 - off), sheet.height_mm / 2 - off)
    assert plan_json(plan)["orientation_marks_mm"] == [list(planned)]
    for page in (first_page(plan), read_svg(render_plan(plan, "svg"))):
        x, y = plan.sheet_centre_on_page_mm
        discs = [
            circle
            for circle in page.circles
            if circle.filled and circle.centre[1] > y - sheet.height_mm / 2
        ]
        corners = [circle for circle in discs if circle.centre[1] > y + 10]
        assert len(discs) == len(corners) + 1 == 2, "the hole of 46, and the corner's"
        at = (x + planned[0], y + planned[1])
        assert corners[0].centre == pytest.approx(at, abs=0.01)
        below = text_named(page, "hole").middle
        assert below[0] == pytest.approx(at[0], abs=0.3)
        assert 2 < at[1] - below[1] < 5
        letter = {1: "L", -1: "R"}[side]
        (beside,) = (word for word in page.texts if word.text == letter)
        assert 5 < (at[0] - beside.middle[0]) * side < 10, "the letter moves inwards"
        assert "Mark discs, cross, corner hole." in page.text
        check_outline(page, _Sheet(plan_json(plan)))
        check_cross(page, _Sheet(plan_json(plan)))
        check_bars(page, _Sheet(plan_json(plan)))


def test_two_dots_stand_where_the_settings_say() -> None:
    marks = OrientationMarks(below_edge_mm=7.5, from_middle_mm=20.0)
    plan = plan_of("46", Practice(marks=marks), procedure="root-canal")
    assert plan_json(plan)["orientation_marks_mm"] == [[-20.0, 68.5], [20.0, 68.5]]
    x, y = plan.sheet_centre_on_page_mm
    centres = [circle.centre for circle in first_page(plan).circles if circle.filled]
    for dot in ((x - 20.0, y + 68.5), (x + 20.0, y + 68.5)):
        assert any(centre == pytest.approx(dot, abs=0.01) for centre in centres)
    assert "Mark discs, cross, both dots, dash." in first_page(plan).text


@pytest.mark.parametrize(("sheet", "half"), [("152", 76.0), ("127", 63.5)])
def test_the_dash_stands_beside_the_dot_at_the_patients_left_only(sheet: str, half: float) -> None:
    """It alone tells one face of a sheet with a symmetric row from the other."""
    plan = plan_of("11", Practice(sheet=read_sheet(sheet)))
    x, y = plan.sheet_centre_on_page_mm
    dashes = [line for line in first_page(plan).lines if line.line == pytest.approx(1.2, abs=0.01)]
    (dash,) = dashes
    ends = sorted([dash.start, dash.end])
    assert ends[0] == pytest.approx((x + 17.0, y + half - 10.0), abs=0.01)
    assert ends[1] == pytest.approx((x + 23.0, y + half - 10.0), abs=0.01)
    assert plan_json(plan)["side_dash_mm"] == [[17.0, half - 10.0], [23.0, half - 10.0]]


def test_a_corner_hole_needs_no_dash() -> None:
    plan = plan_of("11", Practice(marks=OrientationMarks(kind="corner-hole")))
    assert plan_json(plan)["side_dash_mm"] is None
    assert not [line for line in first_page(plan).lines if line.line == pytest.approx(1.2)]


def test_holes_table_and_facts_carry_the_labels_of_the_punch() -> None:
    """17 to 14 take 2.5, 2, 1.5, 1.5 with the usual diameters; here in another order."""
    punch = Punch((2.6, 2.5, 2.0, 1.5, 1.0, 0.5), ("a", "b", "c", "d", "e", "f"))
    plan = plan_of("16", Practice(punch=punch))
    page = first_page(plan)
    planned = ["b", "c", "d", "d"]
    data = plan_json(plan)
    assert [hole["punch_label"] for hole in data["holes"]] == planned
    assert [hole["punch_position"] for hole in data["holes"]] == [2, 3, 4, 4]
    x, y = plan.sheet_centre_on_page_mm
    at_holes = [
        word.text
        for hole in data["holes"]
        for word in page.texts
        if not word.bold and word.text in "abcdef"
        if abs(word.middle[0] - x - hole["x_mm"] - 5) < 4
        and abs(word.middle[1] - y - hole["y_mm"]) < 3
    ]
    assert at_holes == planned
    row = text_named(page, "Punch hole").middle[1]
    in_table = [word for word in page.texts if word.bold and abs(word.middle[1] - row) < 1.5]
    assert [word.text for word in sorted(in_table, key=lambda w: w.middle[0])] == planned
    assert "Punch a: 2.6, b: 2.5, c: 2, d: 1.5, e: 1, f: 0.5 mm" in page.text


def test_labels_default_to_the_positions() -> None:
    punch = Practice().punch
    assert [punch.label(i) for i in range(1, 7)] == ["1", "2", "3", "4", "5", "6"]


@pytest.mark.parametrize("notation", NOTATIONS)
def test_wide_labels_stay_apart_in_a_full_table(notation: Any) -> None:
    punch = Punch(
        (0.5, 1.0, 1.5, 2.0, 2.5, 2.6), 6 * ("W",) and ("WWM", "WMW", "MWW", "WWW", "MMW", "WMM")
    )
    practice = Practice(punch=punch, margin_mm=19.0)
    plan = plan_of("16", practice, procedure="full-arch", notation=notation)
    assert all_faults(plan) == []


def comma_texts(pages: Sequence[Drawing]) -> str:
    return " ".join(word.text for page in pages for word in page.texts if word.size > 2.7)


def test_every_number_for_people_takes_the_comma() -> None:
    """All words but the recipe, which is a command: findings, states, facts, table, printer."""
    practice = Practice(
        numbers="comma",
        material="nitrile",
        ease_mm=0.25,
        stock=(StockSheet(Sheet(152, 152), "nitrile", 0.2),),
        printers=(Printer("desk", 150, 150),),
        printer="desk",
    )
    case = Case(
        treat=read_list(["16"], "iso"), reference="version 1.5", procedure="restoration", more=1
    )
    plan = make_plan(case, practice=practice)
    assert any("." in finding.message for finding in plan.findings)
    pages = read_pdf(render_plan(plan, "pdf"))
    text = comma_texts(pages)
    for expected in (
        "over the preferred 3,70 (nitrile breaks at 6,16",
        "Punch 0,5; 1; 1,5; 2; 2,5; 2,6 mm",
        "each distance 0,25 mm longer",
        "medium 0,2 mm",
        "version 1.5",  # the clinic's own words stay
    ):
        assert expected in text
    rest = text.replace("version 1.5", "")
    assert not [part for part in rest.split() if part[0].isdigit() and "." in part.rstrip(".")]
    whole = pages[0].text
    assert "Printer desk: x 1,0000, y 1,0000" in whole
    assert "--ease 0.25" in whole
    point = first_page(replace(plan, practice=replace(practice, numbers="point"))).text
    assert "Punch 0.5, 1, 1.5, 2, 2.5, 2.6 mm" in point
    assert "Printer desk: x 1.0000, y 1.0000" in point


def test_state_labels_take_the_comma() -> None:
    (tooth,) = read_list(["15"], "iso")
    case = Case(treat=read_list(["16"], "iso"), states=(ToothState(tooth, facial_mm=1.5),))
    plan = make_plan(case, practice=Practice(numbers="comma"))
    assert "facial 1,5" in first_page(plan).text
    assert plan_json(plan)["case"]["with"] == ["15 facial 1.5"]


def test_a_sheet_that_is_not_see_through_is_marked_from_above() -> None:
    for see_through, expected in (
        (True, "Sheet on top, dull side up, edges on the outline. Mark discs"),
        (False, "page on top of its dull side, edges on the outline. Press through discs"),
    ):
        stock = StockSheet(Sheet(152, 152), "latex", 0.25, see_through)
        page = first_page(plan_of("16", Practice(stock=(stock,))))
        assert expected in page.text
        assert ("not see-through" in page.text) != see_through
        assert "Sheet 152 x 152 mm, latex, heavy 0.25 mm" in page.text


def test_the_name_stands_on_every_page_or_on_none() -> None:
    findings = plan_of("16", Practice(name="Example practice")).findings
    assert findings == ()
    base = plan_of("16", Practice(name="Example practice"))
    many = tuple(
        Finding(Code.TOOTH_STATE, "info", f"{number} " + 30 * "word ") for number in range(30)
    )
    pages = read_pdf(render_plan(replace(base, findings=many), "pdf"))
    assert len(pages) > 1
    for page in pages:
        assert text_named(page, "Example practice").bold
    assert "Example" not in first_page(plan_of("16", Practice())).text


def test_sources_say_what_the_clinic_changed() -> None:
    usual = plan_of("16", Practice()).sources
    own = plan_of(
        "16",
        Practice(
            punch=Punch((1.0, 2.0, 2.6)),
            marks=OrientationMarks("corner-hole"),
            share_of_break=0.5,
        ),
    ).sources
    assert any("two dots: common practice, no source" in line for line in usual)
    assert any("corner hole: common practice, no source" in line for line in own)
    assert "Punch diameters: as the clinic stated" in own
    assert "Distances of placement: assumptions, changed by the clinic" in own
    assert set(usual) & {"Punch diameters: as the clinic stated"} == set()


def test_every_margin_paper_and_sheet_gives_a_clean_page_or_a_line() -> None:
    """The whole grid for one case: no page with a fault, and at least half of them pages."""
    made = 0
    grid = list(product((10.0, 13.0, 19.0), PAPERS, (SMALL, Sheet(152.0, 152.0)), (True, False)))
    for margin, paper, sheet, hole in grid:
        marks = OrientationMarks("corner-hole" if hole else "two-dots")
        practice = Practice(name="H", paper=paper, margin_mm=margin, sheet=sheet, marks=marks)
        if any(sheet_overflow_mm(PAPERS[practice.paper], margin, sheet)):
            with pytest.raises(InputError, match="too large at true scale by"):
                plan_of("11", practice)
            continue
        plan = plan_of("11", practice)
        assert all_faults(plan) == [], plan.command
        made += 1
    assert made >= len(grid) / 2


def card_text(practice: Practice, tooth: str = "16") -> str:
    pages = read_pdf(render_plan(plan_of(tooth, practice), "pdf", card=True))
    return " ".join(page.text for page in pages)


def test_the_card_speaks_of_the_clinics_own_marks_labels_and_sheet() -> None:
    """17 to 14 take 2.5, 2, 1.5, 1.5 of the usual diameters, here V, IV, III, III."""
    usual = card_text(Practice())
    assert "Sheet 152 x 152 mm, latex" in usual
    assert "dull side up. Mark the discs, the cross, both dots, dash." in usual
    assert "Check: both dots up and facing you, dash at the patient's left, nose free." in usual
    assert "corner" not in usual
    assert " 5 2.5 17 " in usual
    for corner, side in (("upper-left", "left"), ("upper-right", "right")):
        practice = Practice(
            numbers="comma",
            stock=(StockSheet(Sheet(152, 152), "latex", 0.25, see_through=False),),
            punch=Punch(Practice().punch.diameters_mm, ("I", "II", "III", "IV", "V", "VI")),
            marks=OrientationMarks("corner-hole", corner=corner),  # type: ignore[arg-type]
        )
        text = card_text(practice)
        assert "Sheet 152 x 152 mm, latex, heavy 0,25 mm, not see-through" in text
        assert "overlay on the sheet's dull side. Press through discs, cross, the corner" in text
        assert "then the corner hole. Leave the cross." in text
        assert f"corner hole up at the patient's {side}, nose free." in text
        assert "dots" not in text
        for row in (" III 1,5 15 14 ", " IV 2 16 ", " V 2,5 17 "):
            assert row in text


def test_the_reason_for_a_clamp_takes_the_comma() -> None:
    """17, the anchor, has a neck of 7 mm (Wheeler, from a secondary source); the span holds it."""
    tray = (Clamp("size 7.5", "molar", winged=True, span_mm=(6.5, 10.5)),)
    for numbers, wording in (("point", "clamp 6.5 to 10.5"), ("comma", "clamp 6,5 to 10,5")):
        text = card_text(Practice(numbers=numbers, tray=tray))  # type: ignore[arg-type]
        assert wording in text
        assert "size 7.5" in text, "the clinic's own label stays"
