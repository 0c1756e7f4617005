"""What a page says of itself: each limit and figure that it names, held against the geometry.

The words are read off the finished pages and the limits worked out anew from hole centres and the
sheet's place, over cases drawn at random and over the corpus.
"""

from __future__ import annotations

import re
from itertools import pairwise
from math import dist, pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import tooth_at
from sheetmark.base.findings import InputError
from sheetmark.case.case import Run
from sheetmark.documents.case.overlay import CHECK_EACH_HOLE, overlay
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from sheetmark.practice.settings import Punch, Sheet
from sheetmark.typesetting.marks import Page, Text
from tests.helpers.cases import Setup, few, plan_of, setups
from tests.helpers.corpus import Mouth, mouths
from tests.helpers.holes_by_hand import perimeter
from tests.helpers.paths import ROOT

MOUTHS = mouths()


def text_of(page: Page) -> str:
    """The running text of a page, its lines joined."""
    return " ".join(mark.text for mark in page.marks if isinstance(mark, Text))


def every_word(plan: Plan) -> str:
    return " ".join(text_of(page) for page in overlay(plan).pages)


def figures(text: str, pattern: str) -> dict[str, float]:
    """The figures behind names such as `16-14` or `16` in the first match of the pattern."""
    match = re.search(pattern, text)
    named = re.findall(r"([\w-]+) (\d+\.\d) mm", match.group(1)) if match else []
    return {name: float(mm) for name, mm in named}


def strips(plan: Plan) -> dict[str, float]:
    """The sheet left between each two neighbouring holes that no slit joins, mm."""
    joined = {pair for slot in plan.slots for pair in pairwise(slot.teeth)}
    return {
        f"{plan.case.write([first.tooth])}-{plan.case.write([other.tooth])}": dist(
            first.centre_mm, other.centre_mm
        )
        - (first.hole.diameter_mm + other.hole.diameter_mm) / 2
        for first, other in pairwise(plan.holes)
        if (first.tooth, other.tooth) not in joined
    }


def assert_claims_hold(plan: Plan, model: str) -> None:
    data, text = plan_json(plan), every_word(plan)
    _nose(plan, data, text, model)
    _edges(plan, text)
    _strips(plan, text)
    _stretch(plan, text)


def _nose(plan: Plan, data: dict[str, Any], text: str, model: str) -> None:
    """The card has the fold, and the page the words, where the edge is over the nostrils only."""
    incisal = build_arch(load_model(model), "upper").incisal_y_mm
    if plan.measured and plan.arch.jaw == "upper":
        incisal = plan.arch.incisal_y_mm
    above = plan.shift_mm.y + plan.sheet.height_mm / 2 - incisal
    ages = load_model(model).ages
    usual = 40.0 if ages is None else sum(ages) / 2
    years = usual if plan.case.age is None else plan.case.age + 0.5
    nostrils = 24.0 * min(1.0, 0.80 + 0.02 * (years - 6))
    over = above > nostrils + 1e-8
    assert ("Fold the upper edge down along the line. Nostrils free." in text) == over
    assert ("The upper edge lies above the nostrils" in text) == over
    assert (data["sheet"]["fold_line_mm"] is not None) == over
    if over:
        line = incisal + nostrils - plan.shift_mm.y
        assert data["sheet"]["fold_line_mm"] == pytest.approx(line, abs=1e-8)
        assert f"above the nostrils: off by {above - nostrils:.1f} mm" in text


def _edges(plan: Plan, text: str) -> None:
    half_w, half_h = plan.sheet.width_mm / 2, plan.sheet.height_mm / 2
    nearest = min(
        min(half_w - abs(hole.centre_mm.x), half_h - abs(hole.centre_mm.y)) for hole in plan.holes
    )
    reported = re.search(r"A hole is nearer than 20 mm to an edge: off by (\d+\.\d) mm", text)
    assert (reported is not None) == (nearest < 20 - 1e-8)
    if reported:
        assert reported.group(1) == f"{20 - nearest:.1f}"


def _strips(plan: Plan, text: str) -> None:
    narrow = {name: mm for name, mm in strips(plan).items() if mm < 2}
    reported = figures(text, r"Narrow strip of sheet: (.*?) \(under 2\)")
    assert reported == {name: pytest.approx(mm, abs=0.05 + 1e-9) for name, mm in narrow.items()}
    wide = figures(text, r"Wide strip of sheet: (.*? mm)\. ")
    assert all(strips(plan)[name] > 4 for name in wide)


def _stretch(plan: Plan, text: str) -> None:
    share_of = {"latex": 9.58, "nitrile": 6.16}[plan.practice.material]
    over = {}
    for planned in plan.holes:
        size = plan.arch.place(planned.tooth).size
        stretch = perimeter(size.mesiodistal_mm, size.labiolingual_mm) / (
            pi * planned.hole.diameter_mm
        )
        if stretch > 0.60 * share_of:
            over[plan.case.write([planned.tooth])] = f"{stretch:.2f}"
    reported = re.search(r"over the preferred (\d\.\d\d) \(.*?\): (.*?)\. ", text)
    assert (reported is not None) == bool(over)
    if reported:
        assert reported.group(1) == f"{0.60 * share_of:.2f}"
        named = re.findall(r"(\d+\.\d\d) at (\w+)", reported.group(2) + " ")
        assert {name: figure for figure, name in named} == over


@st.composite
def strained(draw: st.DrawFn) -> Setup:
    """Any case with what strains the limits: odd sheets and holes, slits, a child's face."""
    setup = draw(setups())
    practice = replace(
        setup.practice,
        sheet=Sheet(draw(st.floats(90, 160)), draw(st.sampled_from([104.0, 130.0, 152.0, 178.0]))),
        shift=draw(st.booleans()),
        punch=Punch(draw(st.sampled_from([(3.5, 3.6), (0.5, 1.0)]))),
        ease_mm=draw(st.sampled_from([0.0, 0.5])),
        paper="a4",
    )
    ages = st.one_of(st.none(), st.integers(14, 70))
    tooth = setup.case.treat[0]
    along = tooth.along - 1 or -1 if tooth.along > 0 else tooth.along + 1 or 1
    in_front = tooth_at(tooth.jaw, along)
    joined = draw(st.booleans()) and in_front not in setup.case.missing
    slits = (Run(tooth, in_front),) if joined else ()
    case = replace(setup.case, age=draw(ages), slits=slits)
    return replace(setup, case=case, practice=practice)


@given(strained())
@settings(few, max_examples=50)
def test_a_page_holds_the_limits_that_it_names(setup: Setup) -> None:
    try:
        plan = setup.plan()
    except InputError:
        return  # refused in words of its own
    assert_claims_hold(plan, setup.model)


@pytest.mark.parametrize(
    ("treat", "fields", "line"),
    [
        ("11", {"sheet": "152x178", "shift": False}, "Fold the upper edge down"),
        ("41", {"sheet": "127x178", "shift": False}, "Fold the upper edge down"),
        ("11", {"expose": "15-25", "sheet": "80x152"}, "A hole is nearer than 20 mm"),
        ("31", {"punch": "4,4.5"}, "Narrow strip of sheet"),
        ("16", {"punch": "0.5,1"}, "over the preferred"),
        ("16", {"material": "nitrile"}, "over the preferred"),
    ],
)
def test_each_limit_that_is_missed_is_named_as_it_is(
    treat: str, fields: dict[str, Any], line: str
) -> None:
    plan = plan_of(treat, **fields)
    assert line in every_word(plan)
    assert_claims_hold(plan, "adult-mean")


@pytest.mark.parametrize("mouth", MOUTHS, ids=[mouth.name for mouth in MOUTHS])
def test_a_page_of_the_corpus_holds_the_limits_that_it_names(mouth: Mouth) -> None:
    assert_claims_hold(mouth.plan(), mouth.model)


def crosses_far(plan: Plan) -> bool:
    """Whether an average arch may miss the row by much: a front, a full arch, more than a side."""
    row = plan.isolation.row
    one_side = len({tooth.side for tooth in row}) == 1
    return len(row) > 1 and not (one_side and len(row) <= 5)


@pytest.mark.parametrize("mouth", MOUTHS, ids=[mouth.name for mouth in MOUTHS])
def test_page_one_asks_to_check_each_hole_of_a_front_or_a_full_arch(mouth: Mouth) -> None:
    plan = mouth.plan()
    (first, *_) = overlay(plan).pages
    assert (CHECK_EACH_HOLE in text_of(first)) == crosses_far(plan)


def test_warnings_do_not_push_that_text_off_page_one() -> None:
    plan = plan_of("41", procedure="full-arch", material="nitrile", missing="42,35")
    (first, *more) = overlay(plan).pages
    assert more, "what has no room goes on behind"
    assert CHECK_EACH_HOLE in text_of(first)


def test_no_page_claims_of_every_case_what_only_most_of_them_keep() -> None:
    """A small sheet under a lower front leaves the upper lip bare: no fixed words may deny it."""
    plan = plan_of("31", sheet="127")
    assert "The upper edge is not 15 to 30 mm above the upper incisors" in every_word(plan)
    texts = [path.read_text("utf-8") for path in (ROOT / "sheetmark").rglob("*.js")]
    texts += [path.read_text("utf-8") for path in (ROOT / "sheetmark/documents").rglob("*.py")]
    joined = (
        " ".join(" ".join(text.split()) for text in texts).replace('" + "', "").replace('" f"', "")
    )
    assert "upper lip, nostrils and edges let it" in joined
    assert not re.search(r"(lip stays|lip is) covered|nostrils (stay|are) free", joined)
