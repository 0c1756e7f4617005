"""What must not be left to guess on an overlay: which remark belongs to which hole, what each
shape means, what is slit, for whom the arch is."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist
from typing import Any

import pytest
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import usual_model
from sheetmark.anatomy.teeth import read_list
from sheetmark.case.case import Case, read_run
from sheetmark.case.exceptions import read_states
from sheetmark.documents.case.card import card
from sheetmark.documents.case.overlay import overlay
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.marks import Line, Mark, Polygon, Text

REMARKS = ("16 facial 2 rotated 20 mesial 1", "15 lesion lingual 1", "14 broken-down")
CROWDED = (*REMARKS, "17 rotated 10", "13 rotated 30")


def plan_for(*treat: str, practice: Practice | None = None, **fields: Any) -> Plan:
    case = Case(treat=read_list(treat, "iso"), **fields)
    return make_plan(case, usual_model(case.age), practice)


def texts(marks: Sequence[Mark]) -> list[str]:
    return [mark.text for mark in marks if isinstance(mark, Text)]


@pytest.mark.parametrize("remarks", [REMARKS, CROWDED])
def test_a_line_leads_from_each_remark_to_its_own_hole(remarks: tuple[str, ...]) -> None:
    """Or the remark stands closer to its own hole than a line would be long."""
    plan = plan_for("16", states=read_states(remarks, "iso"), more=1)
    marks = overlay(plan).pages[0].marks
    centres = {hole.tooth.iso: plan.to_page(hole.centre_mm) for hole in plan.holes}
    for iso in (remark[:2] for remark in remarks):
        others = [at for tooth, at in centres.items() if tooth != iso]
        label, *_ = (mark for mark in marks if mark.name == f"state-{iso}")
        lines = [mark for mark in marks if mark.name == f"state-{iso}-leader"]
        assert isinstance(label, Text)
        if not lines:
            off = dist(label.at, centres[iso]) - label.width / 2
            assert off < 5.0, iso
            continue
        (line,) = lines
        assert isinstance(line, Line)
        near, far = sorted((line.start, line.end), key=lambda end: dist(end, centres[iso]))
        assert dist(near, centres[iso]) < 4.5
        assert all(dist(near, other) > dist(near, centres[iso]) for other in others)
        assert abs(far.x - label.at.x) < label.width / 2 + 0.5


def test_a_treated_anchor_has_a_star_that_the_legend_names() -> None:
    plain, starred = plan_for("16"), plan_for("17", missing=read_list(["18"], "iso"))
    assert "treat, and anchor: clamp" not in texts(overlay(plain).pages[0].marks)
    marks = overlay(starred).pages[0].marks
    assert "treat, and anchor: clamp" in texts(marks)
    assert "treat" not in texts(marks), "no shape that is not on the sheet"
    square, diamond = (
        next(mark for mark in marks if mark.name == name).points  # type: ignore[union-attr]
        for name in ("anchor-17", "treated-17")
    )
    middle = starred.to_page(starred.holes[0].centre_mm)
    reaches = {round(dist(middle, point), 6) for point in (*square, *diamond)}
    assert len(reaches) == 1, "eight points at one distance"
    assert len({(round(x, 3), round(y, 3)) for x, y in (*square, *diamond)}) == 8


def test_a_star_touches_no_label_and_no_line_of_the_table() -> None:
    marks = overlay(plan_for("36", procedure="root-canal")).pages[0].marks
    stars = {mark.name: mark.points for mark in marks if isinstance(mark, Polygon)}
    (label,) = (mark for mark in marks if isinstance(mark, Text) and mark.text.startswith("treat,"))
    assert label.at.x - max(x for x, _ in stars["treated-legend"]) > 0.7
    lines = [mark.start.y for mark in marks if isinstance(mark, Line) and mark.name == "table"]
    tips = [y for _, y in stars["treated-table"]]
    assert min(abs(y - tip) for y in lines for tip in tips) > 0.5


def test_no_short_line_ends_where_nothing_is_drawn() -> None:
    """Beside a pontic it would look like a mark to punch by."""
    marks = (
        overlay(plan_for("11", procedure="crown", states=read_states(("13-11 bridge",), "iso")))
        .pages[0]
        .marks
    )
    assert "12 pontic" in texts(marks)
    assert not [mark for mark in marks if mark.name == "state-12-leader"]
    assert [mark for mark in marks if mark.name == "state-11-leader"]


def test_a_slit_is_named_in_the_table_on_the_page_and_on_the_card() -> None:
    plan = plan_for("16", slits=(read_run("16-14", "iso"),))
    marks = overlay(plan, card=False).pages[0].marks
    assert texts(marks).count("slit") == 2
    assert any(text.startswith("Slit 16-14: punch its holes") for text in texts(marks))
    on_card = [text for page in card(plan).pages for text in texts(page.marks)]
    assert "16-14" in on_card
    whole = plan_for("16")
    assert "slit" not in texts(overlay(whole, card=False).pages[0].marks)


@pytest.mark.parametrize(
    ("treat", "age", "expected"),
    [
        ("55", 7, "Arch age-6 (for ages 6 to 7), upper jaw"),
        ("16", 40, "Arch adult-mean, upper jaw"),
        ("16", None, "Arch adult-mean, upper jaw"),
    ],
)
def test_the_arch_tells_the_ages_it_is_for(treat: str, age: int | None, expected: str) -> None:
    pages = overlay(plan_for(treat, age=age)).pages
    assert expected in [text for page in pages for text in texts(page.marks)]


def test_a_list_of_diameters_is_read_number_by_number() -> None:
    practice = Practice()
    plan = plan_for("16", practice=practice)
    assert "Punch 0.5, 1, 1.5, 2, 2.5, 2.6 mm" in texts(overlay(plan).pages[0].marks)
    comma = plan_for("16", practice=replace(practice, numbers="comma"))
    assert "Punch 0,5; 1; 1,5; 2; 2,5; 2,6 mm" in texts(overlay(comma).pages[0].marks)
