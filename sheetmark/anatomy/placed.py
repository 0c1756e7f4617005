"""What an arch model's file keeps of a mouth that was measured: every tooth's place, and how sure
the places are. mm."""

from __future__ import annotations

from typing import Annotated

import msgspec

from sheetmark.anatomy.row_kind import Stretch
from sheetmark.base.sources import Sourced

# Bounds for a misplaced decimal point, not for anatomy (assumption).
ToothWidth = Annotated[float, msgspec.Meta(ge=2, le=16)]
Coordinate = Annotated[float, msgspec.Meta(ge=-100, le=100)]


class Placed(Sourced, frozen=True, kw_only=True):
    """Where one tooth of a mouth that was measured stands: its gum-line centre in the arch's axes
    (x to the patient's left, y backwards) and its mesiodistal width, mm.

    `tooth` is by ISO 3950. The flag is `measured` where the tooth itself was seen; the place of any
    other is predicted from what was measured.
    """

    tooth: Annotated[str, msgspec.Meta(pattern="^[1-8][1-8]$")]
    x_mm: Coordinate
    y_mm: Coordinate
    width_mm: ToothWidth

    @property
    def label(self) -> str:
        """The tooth, for messages."""
        return f" (tooth {self.tooth})"

    @property
    def seen(self) -> bool:
        """Whether the tooth itself was measured."""
        return self.flag == "measured"


class MeasuredRow(Sourced, frozen=True, kw_only=True):
    """How far the worst hole of a row may be off in a mouth that was measured, mm: half of such
    mouths stand better than `half_mm`, 95 % better than `most_mm`."""

    row: Stretch
    half_mm: Annotated[float, msgspec.Meta(gt=0, lt=20)]
    most_mm: Annotated[float, msgspec.Meta(gt=0, lt=20)]
