"""The plan: one frozen record of all that was decided for a case.

Every length is in mm. Each field names its frame: mouth, sheet or page (see
`base.frames`).
"""

from __future__ import annotations

from msgspec import Struct

from sheetmark.anatomy.jaw import Arch, Place
from sheetmark.anatomy.row_kind import WorstHole
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import Finding
from sheetmark.base.frames import (
    Direction,
    MouthPoint,
    PagePoint,
    Range,
    SheetPoint,
    mouth_to_sheet,
    sheet_to_page,
)
from sheetmark.case.case import Case, ToothState
from sheetmark.fitting.measures import Measure
from sheetmark.plan.clamps import AnchorClamps, Retractor
from sheetmark.plan.holes import PlannedHole
from sheetmark.plan.isolation import Isolation
from sheetmark.plan.placement import Margins, standing
from sheetmark.plan.strips import Slot
from sheetmark.practice.settings import Paper, Practice, Sheet


class PlannedState(Struct, frozen=True, kw_only=True):
    """A tooth that differs from the usual, and where its remark stands on the sheet."""

    state: ToothState
    """What is different about the tooth."""
    centre_mm: SheetPoint
    """Sheet frame: the tooth's gum-line centre, or the middle of a closed gap's neighbours."""
    facial: Direction
    """Out of the mouth's middle."""


class Plan(Struct, frozen=True, kw_only=True):
    """All that was decided for one case. `make_plan` makes it, `plan_json` writes it as data."""

    case: Case
    """The case as it was given."""
    practice: Practice
    """The clinic's settings for this case, its sheet among them."""
    arch: Arch
    """The jaw as the arch model lays it, every tooth of it, mouth frame."""
    shift_mm: MouthPoint
    """Mouth frame: where the sheet's middle lies."""
    even: bool
    """Whether the sheet's middle is where the pull is most even, and not where the rule puts it."""
    range_mm: tuple[Range, Range]
    """Mouth frame: the x, then the y, of sheet middles that keep the preferred limits and the
    treated side, as well as they can be kept."""
    margins: Margins
    """Smallest distances from a hole's centre to the sheet's edges, mm."""
    worst_hole: WorstHole | None
    """How far the worst hole may be off from its tooth; None where that is not known."""
    fold_line_mm: float | None
    """Sheet frame: the y along which the upper edge is folded off the nostrils, where it must."""
    isolation: Isolation
    """The isolated teeth, the anchors and the treated among them."""
    holes: tuple[PlannedHole, ...]
    """A hole for each isolated tooth, from the patient's right to the left, sheet frame."""
    slots: tuple[Slot, ...]
    """Holes that are cut into one, sheet frame."""
    clamps: tuple[AnchorClamps, ...]
    """The clamps that fit each anchor, from the patient's right to the left."""
    retractors: tuple[Retractor, ...]
    """What draws the gum back from each treated lesion at the gum line, in the same order."""
    states: tuple[PlannedState, ...]
    """The teeth of this jaw that differ from the usual, from the patient's right to the left."""
    orientation_marks_mm: tuple[SheetPoint, ...]
    """Sheet frame: the centres of the dots, or of the hole in a corner, that show the way up."""
    side_dash_mm: tuple[SheetPoint, SheetPoint] | None
    """Sheet frame: the ends of the dash at the patient's left; None where a corner hole tells."""
    paper: Paper
    """The paper that the sheet is printed on."""
    sheet_centre_on_page_mm: PagePoint
    """Page frame: the sheet's middle."""
    findings: tuple[Finding, ...]
    """What a person should know of the plan, in the order in which it was found."""
    sources: tuple[str, ...]
    """Where the plan's numbers and rules come from, a sentence each."""
    command: str
    """The command line that makes the plan again, without the files to write."""

    @property
    def sheet(self) -> Sheet:
        """The sheet that is marked: its width and height in mm."""
        return self.practice.sheet

    @property
    def measured(self) -> tuple[Measure, ...]:
        """What was measured of this jaw."""
        return tuple(measure for measure in self.case.measures if measure.jaw == self.arch.jaw)

    @property
    def arch_text(self) -> str:
        """The arch model's name, with a word where it was measured in this mouth."""
        return f"{self.arch.model}, measured" if self.measured else self.arch.model

    @property
    def other_teeth(self) -> tuple[Place, ...]:
        """The teeth of this jaw that stay under the sheet, where they really stand, mouth frame."""
        shown = set(self.isolation.mouth) - set(self.isolation.row)
        return tuple(
            self.standing(place.tooth) for place in self.arch.places if place.tooth in shown
        )

    def standing(self, tooth: Tooth) -> Place:
        """The tooth where it really stands, mouth frame."""
        return standing(self.arch, self.case.state(tooth))

    def to_sheet(self, point: MouthPoint) -> SheetPoint:
        """The point of this sheet that lies over a point of the mouth."""
        return mouth_to_sheet(point, self.shift_mm)

    def to_page(self, point: SheetPoint) -> PagePoint:
        """The point of the page that shows a point of this sheet."""
        return sheet_to_page(point, self.sheet_centre_on_page_mm)
