"""Nothing that must be read touches anything else, over many cases, measured as areas."""

from __future__ import annotations

from contextlib import suppress
from itertools import product

import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from sheetmark.anatomy.teeth import NOTATIONS, PERMANENT, PRIMARY, Notation, Tooth
from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.case.case import PROCEDURES, Case, Procedure, ToothState
from sheetmark.documents.case.overlay import overlay
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import PAPERS, STANDARD_SHEETS, PaperName, Practice, Sheet
from sheetmark.typesetting.lettering import CAP_HEIGHT
from sheetmark.typesetting.marks import Disc, Line, Page, Text
from sheetmark.typesetting.marks import Polygon as DrawnPolygon
from tests.helpers.corpus import Mouth, mouths
from tests.helpers.named_cases import MANY_FINDINGS
from tests.helpers.page_areas import covered, faults, ink, symbol_faults
from tests.helpers.valid_cases import Sample, model, sample, samples

# A stride without a divisor in common with any of the counts takes each of them in.
COMBINATIONS = tuple(
    product(PERMANENT, PROCEDURES, STANDARD_SHEETS, NOTATIONS, PAPERS, (True, False))
)[::23]


def all_faults(case: Sample) -> list[str]:
    document = overlay(case.plan)
    found = [
        fault
        for number, page in enumerate(document.pages)
        for fault in faults(case.plan, page, number)
    ]
    return found + list(symbol_faults(document.pages[0]))


def test_labels_of_all_teeth_and_procedures() -> None:
    planned = [plan for combination in COMBINATIONS if (plan := plan_of(*combination))]
    assert len(planned) > 150
    for plan in planned:
        assert all_faults(Sample(plan)) == [], plan.command


def plan_of(
    tooth: Tooth,
    procedure: Procedure,
    sheet: Sheet,
    notation: Notation,
    paper: PaperName,
    shift: bool,
) -> Plan | None:
    """None for upper front teeth on a small sheet that is not moved: too near its edge."""
    case = Case(
        treat=(tooth,),
        notation=notation,
        procedure=procedure,
        present=(tooth,) if tooth.position == 8 else (),
    )
    practice = Practice(paper=paper, sheet=sheet, shift=shift)
    if sheet == STANDARD_SHEETS[0] and not shift:
        with suppress(InputError):
            return make_plan(case, model("adult-mean"), practice)
        return None
    return make_plan(case, model("adult-mean"), practice)


@pytest.mark.parametrize("tooth", PRIMARY, ids=lambda tooth: tooth.iso)
def test_labels_of_primary_teeth(tooth: Tooth) -> None:
    for notation, procedure in product(NOTATIONS, ("restoration", "full-arch")):
        case = sample(tooth.iso, arch="age-6", age=4, notation=notation, procedure=procedure)
        assert all_faults(case) == [], case


@pytest.mark.parametrize("mouth", mouths(), ids=lambda mouth: mouth.name)
@pytest.mark.parametrize("notation", NOTATIONS)
def test_labels_of_odd_mouths(mouth: Mouth, notation: Notation) -> None:
    case = replace(mouth.case, notation=notation)
    assert all_faults(Sample(replace(mouth, case=case).plan())) == []


@settings(max_examples=60, derandomize=True, deadline=None)
@given(samples())
def test_labels_of_random_cases(case: Sample) -> None:
    assert all_faults(case) == []


def test_labels_of_a_page_that_runs_over() -> None:
    assert len(overlay(MANY_FINDINGS.plan).pages) > 2
    assert all_faults(MANY_FINDINGS) == []


def crowded(side_mm: float) -> Sample:
    """One hole, and much to say of eleven other teeth."""
    teeth = [tooth for tooth in PERMANENT if tooth.jaw == "upper" and tooth.position < 7]
    states = tuple(
        ToothState(tooth, lesion=True, partly_erupted=True, facial_mm=1, mesial_mm=1)
        for tooth in teeth
        if tooth.iso != "16"
    )
    practice = Practice(sheet=Sheet(side_mm, side_mm), shift=False)
    return sample("16", practice, procedure="root-canal", states=states)


def test_much_to_say_finds_its_room_on_the_sheet() -> None:
    case = crowded(112.0)
    assert all_faults(case) == []
    wording = " ".join(
        mark.text
        for mark in overlay(case.plan).pages[0].marks
        if isinstance(mark, Text) and mark.name.startswith("state-")
    )
    assert wording.count("partly erupted, lesion, facial 1 mm, mesial 1 mm") == 11


def test_more_to_say_than_the_sheet_holds_is_an_error() -> None:
    with pytest.raises(InputError, match="80 x 80 mm: no room left on it for the words"):
        overlay(crowded(80.0).plan)


# The measure itself must see a fault: pages made wrong on purpose.
CASE = sample("16", notation="palmer")
PAGE = overlay(CASE.plan).pages[0]


def with_text(name: str, **changes: object) -> Page:
    """The page with one of its texts changed."""
    texts = [mark for mark in PAGE.marks if isinstance(mark, Text) and mark.name == name]
    assert len(texts) == 1
    return replace(
        PAGE,
        marks=tuple(replace(mark, **changes) if mark is texts[0] else mark for mark in PAGE.marks),
    )


def place(name: str) -> tuple[float, float]:
    """Where a disc or a text stands."""
    (mark,) = (mark for mark in PAGE.marks if mark.name == name and isinstance(mark, Disc | Text))
    return mark.centre if isinstance(mark, Disc) else mark.at


def test_the_page_itself_has_no_fault() -> None:
    assert list(faults(CASE.plan, PAGE, 0)) == []


@pytest.mark.parametrize(
    ("name", "at", "fault"),
    [
        ("number-15", place("punch-16"), "touches"),
        ("punch-16", place("hole-16"), "touches"),
        ("punch-16", CASE.plan.sheet_centre_on_page_mm, "touches centre"),
        ("side-R", place("scale"), "touches"),
        ("side-R", (5.0, 200.0), "reaches over"),
        ("side-R", (29.0, 220.0), "lies across"),
    ],
)
def test_a_misplaced_label_is_seen(name: str, at: tuple[float, float], fault: str) -> None:
    found = list(faults(CASE.plan, with_text(name, at=at), 0))
    assert any(fault in line for line in found), found


def test_a_label_on_a_faint_tooth_is_seen() -> None:
    (tooth,) = (mark for mark in PAGE.marks if mark.name == "tooth-11")
    edge = covered(tooth).bounds
    at = (edge[0], (edge[1] + edge[3]) / 2)
    assert any("tooth-11" in line for line in faults(CASE.plan, with_text("punch-14", at=at), 0))


def test_holes_that_touch_are_seen() -> None:
    (hole,) = (mark for mark in PAGE.marks if mark.name == "hole-15")
    (other,) = (mark for mark in PAGE.marks if mark.name == "hole-16")
    assert isinstance(hole, Disc)
    assert isinstance(other, Disc)
    near = replace(hole, centre=PagePoint(other.centre[0] + 2, other.centre[1]))
    page = replace(PAGE, marks=tuple(near if mark is hole else mark for mark in PAGE.marks))
    assert any("hole-15" in line for line in symbol_faults(page))


def test_letters_are_measured_by_their_ink() -> None:
    up, down = ink("E", bold=False)
    assert up == pytest.approx(CAP_HEIGHT, abs=0.01)
    assert down == pytest.approx(0, abs=0.01)
    assert ink("g", bold=False)[1] < -0.15
    assert ink("Q", bold=True)[1] < -0.1


def test_line_widths_count() -> None:
    line = Line(PagePoint(0.0, 0.0), PagePoint(10.0, 0.0), 2.0, "line")
    assert covered(line).area == pytest.approx(20)
    square = DrawnPolygon(
        (PagePoint(0.0, 0.0), PagePoint(4.0, 0.0), PagePoint(4.0, 4.0), PagePoint(0.0, 4.0)),
        1.0,
        "square",
    )
    assert covered(square).area == pytest.approx(5**2 - 3**2)
    assert covered(replace(square, filled=True)).area == pytest.approx(5**2)
    turned = Text(PagePoint(0.0, 0.0), "EE", 10.0, 12.0, "text", angle=90.0)
    left, bottom, right, top = covered(turned).bounds
    assert (right, bottom, top) == pytest.approx((0, 0, 12), abs=0.1)
    assert left == pytest.approx(-10 * CAP_HEIGHT, abs=0.1)
