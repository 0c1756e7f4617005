"""Case cards for the tests: cases from the plainest to all at once, and what stands where."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import combinations
from typing import Any

from msgspec import Struct

from sheetmark.anatomy.arch_model import load_model
from sheetmark.case.case import Case, Run, ToothState, read_run
from sheetmark.documents.cautions import CAUTIONS
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import (
    PaperName,
    Practice,
)
from sheetmark.practice.tray import Clamp
from sheetmark.typesetting.marks import Line, Page, Text
from tests.helpers.cases import teeth

MARGIN_MM = Practice().margin_mm
WORDY = "the winged one from the blue box, second drawer, with the notch filed in 2019"
TRAY = (
    Clamp(WORDY, "molar", winged=True),
    Clamp("x" * 130, "molar", winged=False, span_mm=(5.0, 9.0)),
    Clamp("premolar one", "premolar", winged=False, count=2),
    Clamp("double bow", "front", winged=False, count=2),
    Clamp("small", "primary-molar", winged=True),
)


ALL_UPPER = "17,16,15,14,13,12,11,21,22,23,24,25,26,27"
MANY_STATES = tuple(
    ToothState(tooth, rotated_deg=10.0 + number) for number, tooth in enumerate(teeth(ALL_UPPER))
)


BRIDGE = (
    ToothState(teeth("24")[0], abutment=True),
    ToothState(teeth("25")[0], pontic=True),
    ToothState(teeth("26")[0], abutment=True),
)


def plan_for(
    treat: str,
    tray: tuple[Clamp, ...] = TRAY,
    paper: PaperName = "a4",
    practice: Practice | None = None,
    **fields: Any,
) -> Plan:
    """A plan for the teeth; other teeth among the fields are texts. A practice keeps its tray."""
    if "anchors" in fields:
        fields["anchors"] = teeth(fields["anchors"])
    if "present" in fields:
        fields["present"] = teeth(fields["present"])
    model = "age-8" if fields.get("age") else "adult-mean"
    practice = practice or Practice(paper=paper, tray=tray)
    return make_plan(Case(treat=teeth(treat), **fields), load_model(model), practice)


def run_of(text: str) -> tuple[Run, ...]:
    """One run of teeth, in ISO 3950."""
    return (read_run(text, "iso"),)


# Everything from the plainest to all at once.
KINDS: dict[str, dict[str, Any]] = {
    "usual": {"treat": "16"},
    "plain tray": {"treat": "16", "tray": Practice().tray},
    "tight": {"treat": "36", "procedure": "root-canal", "access": "tight"},
    "front": {"treat": "11", "reference": "chair 2"},
    "lower front": {"treat": "41", "notation": "palmer"},
    "child": {"treat": "75", "age": 8},
    "bridge": {"treat": "27", "more": 1, "states": BRIDGE, "slits": run_of("24-26")},
    "full": {"treat": "11", "procedure": "full-arch", "notation": "universal"},
    "sixteen": {"treat": "11", "expose": run_of("18-28"), "present": "18,28", "notation": "palmer"},
    "no clamp": {"treat": "16", "tray": ()},
    "one clamp": {"treat": "11", "tray": (Clamp("only", "premolar", winged=True),)},
    "all anchors": {"treat": ALL_UPPER, "anchors": ALL_UPPER, "notation": "palmer"},
    "many findings": {"treat": ALL_UPPER, "anchors": ALL_UPPER, "states": MANY_STATES, "tray": ()},
}


CASES = [(kind, paper) for kind in KINDS for paper in ("a4", "letter")]


@cache
def case_plan(kind: str, paper: PaperName = "a4") -> Plan:
    """The plan of one of the kinds."""
    return plan_for(paper=paper, **KINDS[kind])


def squeezed(text: str) -> str:
    """The text without white space."""
    return "".join(text.split())


def page_texts(page: Page) -> str:
    """All text of a page, without white space."""
    return squeezed("".join(mark.text for mark in page.marks if isinstance(mark, Text)))


# Of the font size: capitals and brackets reach up, letters such as g down, figures hardly.
UP, DOWN, FIGURES_DOWN = 0.75, 0.25, 0.02


class Box(Struct, frozen=True):
    """The room that a text takes on its page. mm."""

    text: str
    left: float
    low: float
    right: float
    high: float

    def meets(self, other: Box) -> bool:
        across = min(self.right, other.right) - max(self.left, other.left)
        up = min(self.high, other.high) - max(self.low, other.low)
        return across > 0 and up > 0


def box(mark: Text) -> Box:
    back = {"left": 0.0, "middle": 0.5, "right": 1.0}[mark.align] * mark.width
    left, y = mark.at[0] - back, mark.at[1]
    down = FIGURES_DOWN if mark.text.isdigit() else DOWN
    return Box(mark.text, left, y - down * mark.size, left + mark.width, y + UP * mark.size)


def faults(page: Page) -> Iterator[str]:
    """Text over text, text on a line of the table, and what leaves the margins."""
    boxes = [box(mark) for mark in page.marks if isinstance(mark, Text) and not mark.angle]
    assert len(boxes) > len(CAUTIONS)
    for label, other in combinations(boxes, 2):
        if label.meets(other):
            yield f"{label} on {other}"
    rules = [mark for mark in page.marks if isinstance(mark, Line) and mark.name == "table"]
    assert rules
    for rule in rules:
        (left, y), (right, _) = rule.start, rule.end
        line = Box("rule", left, y - rule.width / 2, right, y + rule.width / 2)
        yield from (f"{label} on a rule" for label in boxes if label.meets(line))
    for label in boxes:
        inside = label.left >= MARGIN_MM - 1e-6 and label.low >= MARGIN_MM - 1e-6
        inside &= label.right <= page.width - MARGIN_MM + 1e-6
        inside &= label.high <= page.height - MARGIN_MM + 1e-6
        if not inside:
            yield f"{label} over the margin"
