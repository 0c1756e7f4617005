"""What stands in the plan's JSON file, key by key; its schema is made from these records.

Frames: see `plan_json`. Teeth are in ISO 3950. More keys may come; none goes or changes its sense
while the number in `format` stays.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypedDict

from msgspec import Meta

from sheetmark.anatomy.teeth import Jaw, Notation
from sheetmark.base.codes import Code
from sheetmark.base.findings import Choice, Severity
from sheetmark.base.json_files import Length, Point, Schemed
from sheetmark.base.row_rules import Hold, RowRule
from sheetmark.case.case import Access, Procedure
from sheetmark.plan.isolation import Role, RuleUsed
from sheetmark.practice.settings import FrameOrder, MarksKind, MaterialName, SizingRule
from sheetmark.practice.tray import ClampKind, Version

Iso = Annotated[
    str, Meta(pattern=r"^([1-4][1-8]|[5-8][1-5])$", description="A tooth in ISO 3950, such as 16")
]
Count = Annotated[int, Meta(ge=0)]
Positive = Annotated[int, Meta(ge=1)]

_With = TypedDict("_With", {"with": list[str]})


class CaseEcho(_With):
    """The case as it was given. `with` says what is different about single teeth."""

    treat: Annotated[list[Iso], Meta(min_length=1)]
    procedure: Procedure
    notation: Notation
    expose: str
    more: int
    missing: list[Iso]
    present: list[Iso]
    anchors: list[Iso]
    slits: list[str]
    access: Access
    age: int | None
    reference: str


class SettingsEcho(TypedDict):
    """The clinic's settings that decided something. `frame` says which goes on first."""

    punch_mm: Annotated[list[Length], Meta(min_length=1)]
    material: MaterialName
    row: RowRule
    hold: Hold
    sizing: SizingRule
    share_of_break: float
    ease_mm: float
    shift: bool
    even: bool
    orientation_marks: MarksKind
    frame: FrameOrder


class ArchEcho(TypedDict):
    """The jaw as laid, every tooth of it, mouth frame: gum-line centres and contact middles."""

    model: str
    measured: list[str]
    jaw: Jaw
    centres_mm: dict[Iso, Point]
    contacts_mm: dict[Iso, Point]


class MarginsRow(TypedDict):
    """Smallest distance from a hole's centre to each edge of the sheet, mm."""

    left: float
    right: float
    lower: float
    upper: float


class SheetRow(TypedDict):
    """The sheet. `shift_mm` is its middle in the mouth frame; the fold line is a y of its own."""

    width_mm: Length
    height_mm: Length
    shift_mm: Point
    fold_line_mm: float | None
    margins_mm: MarginsRow


class HoleRow(TypedDict):
    """A hole, sheet frame. Stretches are lengths round the rim, over that of the hole."""

    tooth: Iso
    role: Role
    x_mm: float
    y_mm: float
    diameter_mm: Length
    punch_position: Positive
    punch_label: str
    stretch_at_neck: float
    stretch_passing: float


class SlotRow(TypedDict):
    """Holes that are cut into one, sheet frame."""

    teeth: Annotated[list[Iso], Meta(min_length=2)]
    centres_mm: Annotated[list[Point], Meta(min_length=2)]
    width_mm: Length


class ClampRow(TypedDict):
    """A clamp of the tray that fits, the best with rank 1, and why."""

    rank: Positive
    label: str
    kind: ClampKind
    winged: bool
    version: Version | None
    span_mm: Point | None
    secondary: bool
    cervical: bool
    jaws_towards_gum: bool
    reason: str


class AnchorRow(TypedDict):
    """The clamps for an anchor; `missing` is the kind that is needed when none fits, or empty."""

    anchor: Iso
    neck_mm: Length
    turn: Positive
    choices: list[ClampRow]
    missing: str


class RetractorRow(TypedDict):
    """What draws the gum back from a lesion; `ligature` says why no clamp does, or is empty."""

    tooth: Iso
    neck_mm: Length
    choices: list[ClampRow]
    ligature: str


class PageRow(TypedDict):
    """The paper. The sheet's middle is in the page frame."""

    paper: str
    width_mm: Length
    height_mm: Length
    margin_mm: float
    sheet_centre_mm: Point


class ActionRow(TypedDict):
    """A choice to change, by the option's name, and the value to give it; or to take it back."""

    choice: Choice
    value: str
    drop: bool


class FindingRow(TypedDict):
    """Something about this plan that the person at the chair should know."""

    code: Code
    severity: Severity
    message: str
    advice: str
    field: str
    value: float | None
    limit: float | None
    actions: list[ActionRow]


class PlanFile(Schemed):
    """All that was decided for one case. Lists of teeth run from the patient's right to left."""

    format: Literal["sheetmark-plan/1"]
    sheetmark: str
    command: str
    case: CaseEcho
    settings: SettingsEcho
    arch: ArchEcho
    sheet: SheetRow
    isolated: Annotated[list[Iso], Meta(min_length=1)]
    row_rule: RuleUsed
    anchors: list[Iso]
    hold: dict[Iso, Hold]
    treated: Annotated[list[Iso], Meta(min_length=1)]
    holes: Annotated[list[HoleRow], Meta(min_length=1)]
    slots: list[SlotRow]
    clamps: list[AnchorRow]
    retractors: list[RetractorRow]
    centre_mark_mm: Point
    orientation_marks_mm: list[Point]
    side_dash_mm: Annotated[list[Point], Meta(min_length=2, max_length=2)] | None
    page: PageRow
    findings: list[FindingRow]
    sources: list[str]


class PlansFile(Schemed):
    """The plans of one call, one for each jaw."""

    format: Literal["sheetmark-plans/1"]
    plans: Annotated[list[PlanFile], Meta(min_length=2)]
