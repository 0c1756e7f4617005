"""Paper names no option of the command line and no key of a file, but for the recipe."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.codes import Code
from sheetmark.case.case import Case, ToothState
from sheetmark.fitting.measures import read_measures
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Sheet, StockSheet
from sheetmark.practice.tray import Clamp
from tests.helpers.cards import squeezed
from tests.helpers.cases import plan_of
from tests.helpers.corpus import mouths
from tests.helpers.fits import seen_model
from tests.helpers.foreign_wording import foreign
from tests.helpers.readback import read_pdf


def narrow_at_the_premolars() -> ArchModel:
    """The mean adult with upper premolars nearer to the midline than their teeth reach."""
    mean = load_model("adult-mean")
    rows = tuple(
        replace(row, mm=29.0) if row.tooth == "4" else row for row in mean.upper.centre_widths
    )
    return replace(mean, upper=replace(mean.upper, centre_widths=rows))


# Made where a test needs them: naming the tests must not take the time.
PLANS: dict[str, Callable[[], Plan]] = {mouth.name: mouth.plan for mouth in mouths()} | {
    "implant as anchor": lambda: plan_of("16", states=(ToothState(Tooth(1, 7), implant=True),)),
    "more beyond the midline": lambda: plan_of("11", more=2),
    "more than there are": lambda: plan_of("17", more=15),
    "much ease": lambda: plan_of("16", ease_mm=3.0),
    "two sizes": lambda: plan_of("36", sizing="two-size", punch="0.5,1,1.5"),
    "centred lower front": lambda: plan_of("31", shift=False),
    "nothing in front": lambda: plan_of("16", missing="14,13,12,11,21,22,23,24,25,26,27"),
    "other jaw": lambda: plan_of("16", states=(ToothState(Tooth(3, 6), missing=True),)),
    "small punch": lambda: plan_of("16", punch="1;2"),
    "narrow strips": lambda: plan_of("31", punch="4,4.5"),
    "no clamp": lambda: plan_of("16", tray=(Clamp("A", "premolar", True),)),
    "not in stock": lambda: plan_of("16", stock=(StockSheet(Sheet(127, 127), "latex"),)),
    "width out of reach": lambda: make_plan(Case(treat=(Tooth(1, 6),)), narrow_at_the_premolars()),
    "short row": lambda: plan_of("14", row="short"),
    "row as named": lambda: plan_of("14", row="short", expose="16-13"),
    "front row without clamps": lambda: plan_of("11", hold="ligature"),
    "back row needs its clamp": lambda: plan_of("16", hold="wedge"),
    "chosen anchor broken down": lambda: plan_of(
        "14", states=(ToothState(Tooth(1, 6), broken_down=True),), anchors=(Tooth(1, 6),)
    ),
    "unusual measure": lambda: make_plan(
        Case(treat=(Tooth(1, 6),), measures=read_measures(["16 13"], "iso"))
    ),
    "teeth that were seen": lambda: make_plan(
        Case(treat=(Tooth(1, 6),), states=(ToothState(Tooth(1, 4), missing=True, gap_mm=2.0),)),
        seen_model(without=("15",)),
    ),
    "short sheet": lambda: plan_of("36", sheet="80"),
    "ends too high below the mouth": lambda: plan_of("11", sheet="150x100"),
    "covers the nose": lambda: plan_of("11", shift=False, sheet="152x165"),
    "hole near the edge": lambda: plan_of("11", expose="15-25", sheet="80x152"),
    "small sheet for a full arch": lambda: plan_of("16", procedure="full-arch", sheet="90"),
    "edge above the nostrils": lambda: plan_of("11", sheet="127x170", shift=False),
}


def page_text(plan: Plan) -> str:
    """All words of a plan's PDF but its recipe; no spaces, as lines break anywhere."""
    text = squeezed("".join(page.text for page in read_pdf(render_plan(plan, "pdf"))))
    recipe = "".join(plan.command.split())
    assert recipe in text
    return text.replace(recipe, "")


@pytest.mark.parametrize("name", PLANS)
def test_no_page_names_an_option_or_a_key(name: str) -> None:
    assert foreign(page_text(PLANS[name]())) == []


def test_these_plans_have_every_finding_that_a_plan_may_have() -> None:
    found = {finding.code for plan in PLANS.values() for finding in plan().findings}
    codes = list(Code)
    assert found == {*codes[: codes.index(Code.UNUSUAL_SCALE)]}, "the rest is of fitted arches"
