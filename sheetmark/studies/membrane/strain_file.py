"""What stands in the strain report's JSON file, key by key; its schema is made from these records.

Lengths are in mm, in the sheet frame unless a key says otherwise; teeth are in ISO 3950. Stretch is
length over first length.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypedDict

from msgspec import Meta

from sheetmark.anatomy.teeth import Jaw
from sheetmark.base.json_files import Length, Point, Schemed
from sheetmark.plan.plan_file import CaseEcho, Count
from sheetmark.practice.settings import MaterialName


class StrainArch(TypedDict):
    """The arch model and the jaw."""

    model: str
    jaw: Jaw


class StrainSheet(TypedDict):
    """The sheet and its rubber."""

    width_mm: Length
    height_mm: Length
    material: MaterialName
    thickness_mm: Length
    modulus_mpa: Annotated[float, Meta(gt=0)]
    stretch_at_break: Annotated[float, Meta(gt=1)]


class PullRow(TypedDict):
    """The force of the sheet on the teeth of one hole."""

    x_mm: float
    y_mm: float
    newton: float


class StripRow(TypedDict):
    """The strip between two holes, before and after; shares are 0 to 1."""

    teeth: Annotated[list[str], Meta(min_length=2, max_length=2)]
    before_mm: float
    after_mm: float
    stretch: float
    thickness_share: float
    wrinkled_share: float


class SolvedRow(TypedDict):
    """How the equilibrium was found."""

    free_nodes: Count
    iterations: Count
    residual: float


class PlacementRow(TypedDict):
    """One place of the sheet. `shift_mm` is in the mouth frame."""

    shift_mm: Point
    pull: list[PullRow]
    evenness: float
    rim_stretch: dict[str, float]
    strips: list[StripRow]
    largest_stretch: float
    slack_mm2: float
    wrinkled_mm2: float
    sheet_mm2: float
    solver: SolvedRow


class JudgedRow(PlacementRow):
    """The same, with the stretch at break over the largest stretch: under 1 the sheet tears."""

    margin_to_break: float


class PlacementRows(TypedDict):
    """Without a shift, where the rule puts the sheet, and where the pull is most even."""

    centred: JudgedRow
    rule: JudgedRow
    best: JudgedRow


class SolverRow(SolvedRow):
    """How all of them were found."""

    search_solves: Count
    trace: float


class StrainFile(Schemed):
    """How the sheet is stretched in three places."""

    format: Literal["sheetmark-strain/1"]
    sheetmark: str
    command: str
    case: CaseEcho
    arch: StrainArch
    sheet: StrainSheet
    frame: dict[str, float]
    placements: PlacementRows
    solver: SolverRow
    left_out: str
    sources: list[str]
