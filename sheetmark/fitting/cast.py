"""A jaw's landmarks in the arch's axes, mm, and what can be told of them apart from any curve."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist, hypot
from statistics import median
from typing import Literal

from sheetmark.anatomy.jaw import SideRow
from sheetmark.anatomy.teeth import SIDES, Jaw, Side, Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import InputError
from sheetmark.fitting.fit import Draft
from sheetmark.fitting.landmarks import CastPoint, Landmark

TEETH_NEEDED, TEETH_NEEDED_A_SIDE = 6, 2
# Median of measured widths over the base's: not in mm at all, or worth a look (assumptions).
SCALE_LIMITS, SCALE_USUAL = (0.7, 1.4), (0.88, 1.12)
# Points of neighbours nearer than this touch; further, there is a space between them, or they are
# crowded (assumption).
TOUCH_MM = 0.5
# A width is odd when it differs from what is usual by more than both (assumptions).
ODD_MM, ODD_SDS = 1.0, 3.0

Rows = Mapping[Side, SideRow]
End = Literal["mesial", "distal"]
ENDS: tuple[End, End] = ("mesial", "distal")


@dataclass(frozen=True, slots=True)
class Cast:
    """Points of a jaw's teeth, mesial and distal of each in turn; `kept` are those that belong."""

    teeth: tuple[Tooth, ...]
    points: tuple[CastPoint, ...]
    kept: tuple[bool, ...]

    @property
    def jaw(self) -> Jaw:
        """The jaw of all the teeth."""
        return self.teeth[0].jaw

    def number(self, tooth: Tooth, end: End) -> int:
        """The place of a tooth's mesial or distal point among all points, from 0."""
        return 2 * self.teeth.index(tooth) + ENDS.index(end)

    def at(self, tooth: Tooth, end: End) -> CastPoint:
        """A tooth's mesial or distal point, mm in the arch's axes."""
        return self.points[self.number(tooth, end)]

    def keeps(self, tooth: Tooth, end: End) -> bool:
        """Whether a tooth's mesial or distal point belongs."""
        return self.kept[self.number(tooth, end)]

    def strays(self, tooth: Tooth) -> tuple[End, ...]:
        """The ends of a tooth whose points do not belong."""
        return tuple(end for end in ENDS if not self.keeps(tooth, end))

    def whole(self, tooth: Tooth) -> bool:
        """Whether both points of a tooth belong."""
        return not self.strays(tooth)

    def centre(self, tooth: Tooth) -> CastPoint:
        """The point half way between a tooth's two, mm in the arch's axes."""
        return middle(self.at(tooth, "mesial"), self.at(tooth, "distal"))

    def widths(self) -> dict[Tooth, float]:
        """The distance between the two points of each tooth, mm."""
        return {t: dist(self.at(t, "mesial"), self.at(t, "distal")) for t in self.teeth}

    def of_side(self, side: Side) -> tuple[Tooth, ...]:
        """The side's teeth from the midline outwards."""
        teeth = [tooth for tooth in self.teeth if tooth.side == side]
        return tuple(sorted(teeth, key=lambda tooth: tooth.position))

    def gap(self, tooth: Tooth, end: End, other: Tooth) -> float | None:
        """From a tooth's end to the mesial point of the next, along the line of their centres.

        Negative where they overlap; None where one of the points does not belong.
        """
        if not (self.keeps(tooth, end) and self.keeps(other, "mesial")):
            return None
        (x1, y1), (x2, y2) = self.centre(tooth), self.centre(other)
        (u1, v1), (u2, v2) = self.at(tooth, end), self.at(other, "mesial")
        along = ((u2 - u1) * (x2 - x1) + (v2 - v1) * (y2 - y1)) / hypot(x2 - x1, y2 - y1)
        # A clear space is a chord of its own; nearer points tell more along the row than apart.
        return along if along < TOUCH_MM else hypot(u2 - u1, v2 - v1)


def cast_of(landmarks: Sequence[Landmark], y_down: bool) -> Cast:
    """The landmarks with y as the arch has it, still in the picture's position.

    Seen from the biting side both jaws look as in the mouth frame; there the arch's y, backwards,
    runs up in the lower jaw and down in the upper one.
    """
    up = -1.0 if (landmarks[0].tooth.jaw == "upper") != y_down else 1.0
    points = [point for landmark in landmarks for point in (landmark.mesial, landmark.distal)]
    return Cast(
        tuple(landmark.tooth for landmark in landmarks),
        tuple(CastPoint(x, up * y) for x, y in points),
        (True,) * len(points),
    )


def check_enough(cast: Cast, draft: Draft) -> None:
    """Refuse landmarks too few, or too far from canines and molars, to tell the arch by; and two
    teeth in one place."""
    needed = (
        f"at least {TEETH_NEEDED} teeth are needed, {TEETH_NEEDED_A_SIDE} on each side, with one "
        f"near each canine and one molar"
    )
    counts = {side: len(cast.of_side(side)) for side in SIDES}
    if len(cast.teeth) < TEETH_NEEDED or min(counts.values()) < TEETH_NEEDED_A_SIDE:
        found = ", ".join(f"{count} {side}" for side, count in counts.items())
        raise InputError(f"landmarks: {len(cast.teeth)} teeth ({found}); {needed}")
    middles = {cast.centre(tooth): tooth for tooth in cast.teeth}
    for tooth in cast.teeth:
        other = middles[cast.centre(tooth)]
        if other != tooth:
            names = f"{draft.origin.write(tooth)} and {draft.origin.write(other)}"
            raise InputError(f"landmarks: {names} stand in one place; correct one of them")
    for side in SIDES:
        if not any(2 <= tooth.position <= 4 for tooth in cast.of_side(side)):
            raise InputError(f"landmarks: none near the {side} canine; {needed}")
    molars = [side for side in SIDES if any(t.tooth_class == "molar" for t in cast.of_side(side))]
    if not molars:
        raise InputError(f"landmarks: no molar; {needed}")
    if len(molars) == 1:
        draft.warn(
            Code.ONE_SIDED_MOLARS,
            f"No molar on the {'right' if molars == ['left'] else 'left'}: the arch there is the "
            f"mirror image of the {molars[0]}.",
        )


def check_scale(cast: Cast, draft: Draft) -> None:
    """Refuse landmarks that are not in mm, and doubt those that are all large or all small."""
    ratios = [
        mm / row.mm
        for tooth, mm in cast.widths().items()
        if (row := draft.width_row(tooth.slot)) is not None
    ]
    ratio = median(ratios) if ratios else 1.0
    if not SCALE_LIMITS[0] <= ratio <= SCALE_LIMITS[1]:
        raise InputError(
            f"landmarks: teeth are {ratio:.2f} times as wide as those of {draft.origin.base.name}; "
            f"limits {SCALE_LIMITS[0]:g} to {SCALE_LIMITS[1]:g}; scale the picture to mm"
        )
    if not SCALE_USUAL[0] <= ratio <= SCALE_USUAL[1]:
        draft.warn(
            Code.UNUSUAL_SCALE,
            f"Teeth are {ratio:.2f} times as wide as those of {draft.origin.base.name}.",
            "Check the scale of the picture against a length measured on the cast.",
            ratio,
            SCALE_USUAL[ratio > 1],
        )


@dataclass(frozen=True, slots=True)
class OddWidth:
    """A tooth whose points cannot both be right: its width, the usual one, the doubtful ends."""

    mm: float
    usual_mm: float
    ends: tuple[End, ...]


def odd_widths(cast: Cast, draft: Draft) -> dict[Tooth, OddWidth]:
    """Teeth whose points are not as far apart as the other side's and the base's.

    Usual is the median of the three, or the base's where the other side was not measured. The
    end that lies further from its neighbour is in doubt; both are where that cannot be told.
    """
    widths, odd = cast.widths(), {}
    for tooth, mm in widths.items():
        row, other = draft.width_row(tooth.slot), widths.get(tooth.mirrored)
        if row is None:
            continue
        usual = row.mm if other is None else median((mm, other, row.mm))
        if abs(mm - usual) > max(ODD_MM, ODD_SDS * (row.sd_mm or 0.0)):
            odd[tooth] = OddWidth(mm, usual, _doubtful_ends(cast, tooth))
    return odd


def _doubtful_ends(cast: Cast, tooth: Tooth) -> tuple[End, ...]:
    side = cast.of_side(tooth.side)
    inner = [t for t in side if t.position == tooth.position - 1]
    outer = [t for t in side if t.position == tooth.position + 1]
    before = cast.gap(inner[0], "distal", tooth) if inner else None
    behind = cast.gap(tooth, "distal", outer[0]) if outer else None
    if tooth.position == 1:
        across = [t for t in cast.teeth if t.position == 1 and t.side != tooth.side]
        before = cast.gap(tooth, "mesial", across[0]) if across else None
    if before is None or behind is None or abs(abs(before) - abs(behind)) < ODD_MM:
        return ENDS
    return ("mesial",) if abs(before) > abs(behind) else ("distal",)


def gaps_between(cast: Cast, rows: Rows) -> dict[tuple[str, str], dict[Side, float]]:
    """Gaps between neighbours that were both seen, by their slots, for each side."""
    gaps: dict[tuple[str, str], dict[Side, float]] = defaultdict(dict)
    for side in SIDES:
        for first, other in pairwise(cast.of_side(side)):
            gap = cast.gap(first, "distal", other)
            if gap is not None and not between(first, other, rows[side]):
                gaps[first.slot, other.slot][side] = gap
    return gaps


def between(first: Tooth, other: Tooth, row: SideRow) -> list[str]:
    """The slots of the row that stand between two teeth of a side."""
    slots = [slot for slot, _ in row]
    return slots[slots.index(first.slot) + 1 : slots.index(other.slot)]


def check_order(cast: Cast, along_x_mm: Sequence[float], draft: Draft) -> None:
    """Refuse teeth, or the points of one, that lie along the arch in another order than named."""
    write = draft.origin.write
    for side in SIDES:
        before: tuple[float, Tooth] | None = None
        for tooth in cast.of_side(side):
            if not cast.whole(tooth):
                continue
            sign = 1.0 if side == "left" else -1.0
            mesial, distal = (sign * along_x_mm[cast.number(tooth, end)] for end in ENDS)
            if mesial > distal:
                raise InputError(
                    f"landmarks: tooth {write(tooth)}: its distal point lies nearer to the midline "
                    f"than its mesial one; exchange them, or correct the tooth"
                )
            if before and mesial + distal < before[0]:
                raise InputError(
                    f"landmarks: teeth {write(before[1])} and {write(tooth)} lie along the arch "
                    f"in the other order; correct their names"
                )
            before = (mesial + distal, tooth)


def middle(start: CastPoint, end: CastPoint) -> CastPoint:
    """The point half way between two."""
    return CastPoint((start.x + end.x) / 2, (start.y + end.y) / 2)
