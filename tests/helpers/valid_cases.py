"""Random valid cases as plans, for the tests that measure finished pages."""

from __future__ import annotations

import json
from functools import cache
from typing import Any, cast

from hypothesis import assume
from hypothesis import strategies as st
from msgspec import Struct

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.teeth import JAWS, NOTATIONS, Tooth, in_arch_order, read_list, tooth_at
from sheetmark.base.findings import InputError
from sheetmark.case.case import PROCEDURES, Case, Run, ToothState
from sheetmark.case.exceptions import state_terms
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import (
    PAPERS,
    STANDARD_SHEETS,
    OrientationMarks,
    Practice,
    Punch,
    Sheet,
)

SHEETS = (*STANDARD_SHEETS, Sheet(140.0, 127.0), Sheet(150.0, 160.5), Sheet(110.0, 96.0))
PUNCHES = (
    Practice().punch,
    Punch((0.5, 1.0, 1.5, 2.0, 2.5, 2.6), ("I", "II", "III", "IV", "V", "VI")),
    Punch((2.6, 2.2, 1.8, 1.4, 1.0)),
)
MARKS = (
    OrientationMarks(),
    OrientationMarks("corner-hole"),
    OrientationMarks("corner-hole", corner="upper-right"),
)
MODELS = ("adult-mean", "adult-male", "adult-female", "adult-small", "adult-large")
REFERENCES = ("", "test 7", 5 * "12 letters: ")
model = cache(load_model)


class Sample(Struct, frozen=True):
    """A plan; when a test fails, it shows as the command line that makes it again."""

    plan: Plan

    def __repr__(self) -> str:
        return self.plan.command

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:  # noqa: ARG002
        """What hypothesis asks for."""
        printer.text(repr(self))

    @property
    def data(self) -> dict[str, Any]:
        """The plan as its JSON file holds it."""
        return cast(dict[str, Any], json.loads(render_plan(self.plan, "json")))


def sample(teeth: str, practice: Practice | None = None, arch: str = "", **case: Any) -> Sample:
    """The plan of one case by name: teeth in ISO 3950, the rest as `Case` takes it."""
    treat = read_list([teeth], "iso")
    return Sample(make_plan(Case(treat=treat, **case), model(arch or "adult-mean"), practice))


@st.composite
def samples(draw: st.DrawFn) -> Sample:
    """A case that can be done: both jaws, any procedure, sheet, paper and notation."""
    jaw = draw(st.sampled_from(JAWS))
    teeth = [tooth_at(jaw, along) for along in range(-8, 9) if along]
    present = draw(st.lists(st.sampled_from([teeth[0], teeth[-1]]), max_size=2, unique=True))
    mouth = [tooth for tooth in teeth if tooth.position < 8 or tooth in present]
    treat = draw(st.lists(st.sampled_from(mouth), min_size=1, max_size=3, unique=True))
    others = [tooth for tooth in teeth if tooth not in (*treat, *present)]
    missing = draw(st.lists(st.sampled_from(others), max_size=4, unique=True))
    left = [tooth for tooth in others if tooth not in missing]
    states = draw(st.lists(_states(left), max_size=2, unique_by=lambda state: state.tooth))
    first, *_, last = in_arch_order(treat) * 2
    expose = draw(st.sampled_from([(), (), (), (Run(first, last),)]))
    case = Case(
        treat=tuple(treat),
        notation=draw(st.sampled_from(NOTATIONS)),
        procedure=draw(st.sampled_from(PROCEDURES)),
        expose=expose,
        more=0 if expose else draw(st.integers(0, 5)),
        missing=tuple(missing),
        present=tuple(present),
        states=tuple(states),
        slits=(Run(first, last),) if first != last and draw(st.booleans()) else (),
        reference=draw(st.sampled_from(REFERENCES)),
    )
    practice = Practice(
        paper=draw(st.sampled_from(list(PAPERS))),
        margin_mm=draw(st.sampled_from([10.0, 10.0, 12.5])),
        name=draw(st.sampled_from(["", "A practice"])),
        numbers=draw(st.sampled_from(["point", "comma"])),
        sheet=draw(st.sampled_from(SHEETS)),
        punch=draw(st.sampled_from(PUNCHES)),
        marks=draw(st.sampled_from(MARKS)),
        material=draw(st.sampled_from(["latex", "nitrile"])),
        sizing=draw(st.sampled_from(["crown", "two-size"])),
        ease_mm=draw(st.sampled_from([0.0, 0.0, 0.5, 1.37, 3.0])),
        shift=draw(st.booleans()),
    )
    try:
        return Sample(make_plan(case, model(draw(st.sampled_from(MODELS))), practice))
    except InputError:
        # Such as a hole too near an edge, or two holes that run into each other.
        assume(False)
        raise


def _states(teeth: list[Tooth]) -> st.SearchStrategy[ToothState]:
    return st.builds(
        ToothState,
        tooth=st.sampled_from(teeth),
        lesion=st.booleans(),
        facial_mm=st.sampled_from([0.0, 1.5, -2.0]),
        mesial_mm=st.sampled_from([0.0, 1.0]),
        rotated_deg=st.sampled_from([0.0, 30.0]),
    ).filter(state_terms)
