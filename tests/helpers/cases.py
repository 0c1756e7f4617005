"""Random valid cases for the property tests, and short cuts from words to plans.

Teeth are written here by published rules of their own, so that the tests do not lean on the
code that they hold to account.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.teeth import NOTATIONS, Notation, Tooth, read, read_list
from sheetmark.case.case import PROCEDURES, Case, Run, read_expose
from sheetmark.cli.app import run
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from sheetmark.practice.settings import (
    MATERIALS,
    PAPERS,
    Practice,
    Punch,
    Sheet,
    read_punch,
    read_sheet,
)

# The patient's right to left, as on any chart.
UPPER = [*(f"1{p}" for p in range(8, 0, -1)), *(f"2{p}" for p in range(1, 9))]
LOWER = [*(f"4{p}" for p in range(8, 0, -1)), *(f"3{p}" for p in range(1, 9))]
THIRD_MOLARS = {"18", "28", "38", "48"}
MODELS = ("adult-mean", "adult-male", "adult-female")
PUNCHES = (
    (0.5, 1.0, 1.5, 2.0, 2.5, 2.6),
    (0.5, 0.8, 1.0, 1.5, 1.8, 2.0, 2.3, 2.6),
    (2.5, 1.0, 2.0, 1.5, 0.5),
    (1.25, 2.0),
)

# Short and alike in every run; two cores carry the whole suite.
few = settings(
    max_examples=40,
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)


def chart(iso: str) -> list[str]:
    """The jaw of the tooth, from the patient's right to the left."""
    return UPPER if iso in UPPER else LOWER


def spell(iso: str, notation: Notation) -> str:
    """A permanent tooth in another notation; Universal by quadrant: 9-p, 8+p, 25-p, 24+p."""
    quadrant, p = int(iso[0]), int(iso[1])
    if notation == "universal":
        return str((9 - p, 8 + p, 25 - p, 24 + p)[quadrant - 1])
    if notation == "palmer":
        return ("UR", "UL", "LL", "LR")[quadrant - 1] + str(p)
    return iso


def teeth(isos: str | Sequence[str]) -> tuple[Tooth, ...]:
    return read_list([isos] if isinstance(isos, str) else isos, "iso")


def case_of(
    treat: str, *, expose: str = "", missing: str = "", present: str = "", **fields: Any
) -> Case:
    """A case from words, all teeth by ISO 3950: `case_of("16", missing="15,24")`."""
    return Case(
        treat=teeth(treat),
        expose=read_expose((expose,), "iso"),
        missing=teeth(missing),
        present=teeth(present),
        **fields,
    )


def practice_of(*, sheet: str = "152", punch: str = "", **fields: Any) -> Practice:
    """Settings from words as the command takes them: `practice_of(sheet="127", shift=False)`."""
    practice = Practice(sheet=read_sheet(sheet), **fields)
    return replace(practice, punch=read_punch(punch)) if punch else practice


# A notation is said of the case; the practice only has one to start from.
_PRACTICE_FIELDS = {*Practice.__struct_fields__} - {*Case.__struct_fields__}


def plan_of(treat: str, *, model: str = "adult-mean", **fields: Any) -> Plan:
    """A plan from words: `plan_of("16", more=1, sheet="127")`."""
    practice = {key: fields.pop(key) for key in _PRACTICE_FIELDS & fields.keys()}
    return make_plan(case_of(treat, **fields), load_model(model), practice_of(**practice))


def json_of(treat: str, **fields: Any) -> dict[str, Any]:
    """The plan's JSON from words: `json_of("16", more=1, sheet="127")`."""
    return plan_json(plan_of(treat, **fields))


def run_json(*arguments: str) -> dict[str, Any]:
    """The plan that `sheetmark overlay` writes for these arguments."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.json"
        assert run(["overlay", *arguments, "-o", str(path)]) == 0
        plan: dict[str, Any] = json.loads(path.read_bytes())
        return plan


def codes(plan: dict[str, Any]) -> list[str]:
    return [finding["code"] for finding in plan["findings"]]


def finding(plan: dict[str, Any], code: str) -> dict[str, Any]:
    """The one finding of that code."""
    (found,) = [f for f in plan["findings"] if f["code"] == code]
    return dict(found)


class Setup(Struct, frozen=True):
    """All that a plan is made of."""

    case: Case
    practice: Practice
    model: str

    def plan(self) -> Plan:
        return make_plan(self.case, load_model(self.model), self.practice)

    def json(self) -> dict[str, Any]:
        return plan_json(self.plan())

    def mirrored(self) -> Setup:
        """The same case in the other half of the mouth."""
        case = self.case
        other = replace(
            case,
            treat=tuple(map(_mirror, case.treat)),
            expose=tuple(
                Run(_mirror(item.start), _mirror(item.end))
                if isinstance(item, Run)
                else _mirror(item)
                for item in case.expose
            ),
            missing=tuple(map(_mirror, case.missing)),
            present=tuple(map(_mirror, case.present)),
        )
        return replace(self, case=other)


def mirror(iso: str) -> str:
    """16 becomes 26, 36 becomes 46 (ISO 3950: 1 and 2, 3 and 4 face each other)."""
    return "02143"[int(iso[0])] + iso[1]


def _mirror(tooth: Tooth) -> Tooth:
    return read(mirror(tooth.iso), "iso")


# What a person may type as a reference: one line of printable characters.
references = st.one_of(
    st.just(""),
    st.sampled_from(["chair 2", "-x", "--help", 'it\'s "7"', "$(x) `y` \\", "Ärger 5/3"]),
    st.text(st.characters(categories=["L", "N", "P", "S"]), max_size=12).filter(str.isprintable),
)


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Any case that an adult mouth allows: gaps, third molars, lists and runs to expose."""
    jaw = draw(st.sampled_from([UPPER, LOWER]))
    present = draw(_some([iso for iso in jaw if iso in THIRD_MOLARS], 2))
    could_stand = [iso for iso in jaw if iso not in THIRD_MOLARS or iso in present]
    treat = draw(_some(could_stand, 3, at_least=1))
    rest = [iso for iso in could_stand if iso not in treat and iso not in present]
    missing = draw(st.one_of(st.just([]), _some(rest, 3), _some(rest, 12)))
    standing = [iso for iso in could_stand if iso not in missing]
    expose: tuple[Tooth | Run, ...] = ()
    more = 0
    match draw(st.sampled_from(["rules", "rules", "more", "run", "list"])):
        case "more":
            more = draw(st.integers(1, 15))
        case "run":
            treated = sorted(map(standing.index, treat))
            start = draw(st.sampled_from(standing[: treated[0] + 1]))
            end = draw(st.sampled_from(standing[treated[-1] :]))
            ends = [start, end] if draw(st.booleans()) else [end, start]
            expose = (Run(*teeth(ends)),)
        case "list":
            listed = draw(st.permutations([*treat, *draw(_some(standing, 4))]))
            expose = teeth(listed)
    return Case(
        treat=teeth(treat),
        notation=draw(st.sampled_from(NOTATIONS)),
        procedure=draw(st.sampled_from(PROCEDURES)),
        expose=expose,
        more=more,
        missing=teeth(missing),
        present=teeth(present),
        reference=draw(references),
    )


@st.composite
def setups(draw: st.DrawFn) -> Setup:
    """Any case on either standard sheet, with any of the clinic's choices.

    A sheet that is not shifted is a 152: on a 127 a lower front row is rightly refused.
    """
    size = draw(st.sampled_from([127.0, 152.0]))
    practice = Practice(
        paper=draw(st.sampled_from(tuple(PAPERS))),
        sheet=Sheet(size, size),
        punch=Punch(draw(st.sampled_from(PUNCHES))),
        material=draw(st.sampled_from(MATERIALS)),
        sizing=draw(st.sampled_from(["crown", "crown", "two-size"])),
        ease_mm=draw(st.one_of(st.just(0.0), st.floats(0, 1))),
        shift=size == 127 or draw(st.booleans()),
    )
    return Setup(draw(cases()), practice, draw(st.sampled_from(MODELS)))


def _some(isos: Sequence[str], at_most: int, *, at_least: int = 0) -> st.SearchStrategy[list[str]]:
    """A few of the teeth in any order; none where there are none."""
    if not isos:
        return st.just([])
    return st.lists(st.sampled_from(isos), unique=True, min_size=at_least, max_size=at_most)
