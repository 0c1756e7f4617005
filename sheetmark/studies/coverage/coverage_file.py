"""What stands in the coverage's JSON file, key by key; its schema is made from these records.

Lengths are in mm, teeth in ISO 3950; shares of patients are 0 to 1.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypedDict

from msgspec import Meta

from sheetmark.anatomy.teeth import Jaw
from sheetmark.base.json_files import Length, Schemed
from sheetmark.base.sources import Flag
from sheetmark.plan.plan_file import Count, Iso

Share = Annotated[float, Meta(ge=0, le=1)]
Shares = list[Share]

HalfAndMost = TypedDict("HalfAndMost", {"half": float, "95 %": float})


class CorrelationsRow(TypedDict):
    """How widths go together, and what the figures rest on."""

    teeth: float
    pair: float
    arch: float
    tooth_arch: float
    flag: Flag


class SituationRow(TypedDict):
    """Which teeth come through the sheet."""

    situation: str
    jaw: Jaw
    row: str
    teeth: Annotated[list[Iso], Meta(min_length=1)]


class ServedRow(SituationRow):
    """What one model does there: errors that half and 95 % of patients stay within, and shares."""

    model: str
    worst_pitch_mm: HalfAndMost
    worst_hole_mm: HalfAndMost
    share_pitch_within: Shares
    share_within: Shares
    distribution: Shares


class SizeRow(SituationRow):
    """The fewest sizes that serve the wanted share within a limit, in SDs from the mean."""

    within_mm: Length
    enough: bool
    sizes_sd: list[float]
    share: Share


class CoverageFile(Schemed):
    """How many patients each arch model serves. `served` has a row for each model and situation.

    `share_within` and `share_pitch_within` are the shares within each of `limits_mm`;
    `distribution` is the share within each step of `distribution_step_mm`.
    """

    format: Literal["sheetmark-coverage/1"]
    sheetmark: str
    command: str
    population: str
    models: Annotated[list[str], Meta(min_length=1)]
    patients: Count
    seed: int
    correlations: CorrelationsRow
    own_displacement_mm: float
    share_missed: dict[Jaw, Share]
    limits_mm: list[Length]
    distribution_step_mm: Length
    served: list[ServedRow]
    sizes_sd: list[float]
    wanted_share: Share
    size_steps: list[SizeRow]
    notes: list[str]
    sources: list[str]
