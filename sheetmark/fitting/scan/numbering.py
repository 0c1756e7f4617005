"""Where the midline is, and so which number each tooth has: the right teeth mirror the left.

A row of cuts can be numbered from several contacts at the front. Each is tried; what it costs in
widths (`teeth_along`) and how badly it mirrors right onto left decide, and say how sure it is.
"""

from __future__ import annotations

from math import atan2, cos, degrees, radians, sin

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.teeth import Jaw
from sheetmark.fitting.scan.band import STEP_MM, Band
from sheetmark.fitting.scan.mesh import Floats
from sheetmark.fitting.scan.teeth_along import Layout, Piece, Row, TeethAnywhere, huber

SIZES = (0.90, 0.95, 1.0, 1.05, 1.10)  # of all teeth of one mouth together
SIZE_SD = 0.05
# Assumptions: how far the midline may lie from where the whole arch mirrors best; pairs' places
# after mirroring; pairs' widths.
MIDLINE_SD_MM, REACH_MM, TRIED_EVERY_MM, TRIED_SD_MM = 4.0, 11.25, 1.25, 0.8
PLACE_SD_MM, WIDTH_SD_MM = 1.2, 0.5
SAME_MM = 1.0
HOPELESS = 12.0  # scores so far under the best are not looked into


class Axis(Struct, frozen=True):
    """The mirror line in the view: its turn from y, then its x there, mm."""

    turn_deg: float
    shift_mm: float

    def straight(self, points: Floats) -> Floats:
        """(n, 2) points of the view, as seen when the axis is x = 0."""
        c, s = cos(radians(self.turn_deg)), sin(radians(self.turn_deg))
        return np.column_stack(
            [
                c * points[:, 0] + s * points[:, 1] - self.shift_mm,
                c * points[:, 1] - s * points[:, 0],
            ]
        )


class Numbered(Struct, frozen=True):
    """Teeth from small x to large, the log evidence of all numberings, and the mirror line."""

    pieces: tuple[Piece, ...]
    evidence: float
    axis: Axis


def number_teeth(band: Band, teeth: TeethAnywhere, jaw: Jaw) -> Numbered:
    """The likeliest layout of a jaw's teeth along the band, over all midlines near the front."""
    front = float(np.where(band.curve[:, 1] > 0, np.abs(band.curve[:, 0]), np.inf).argmin())
    rows = [Row(teeth, jaw, size) for size in SIZES]
    first = [
        row.best_score(front, 2 * MIDLINE_SD_MM) - 0.5 * ((size - 1) / SIZE_SD) ** 2
        for row, size in zip(rows, SIZES, strict=True)
    ]
    row = rows[int(np.argmax(first))]
    layouts: list[Layout] = []
    scores: list[float] = []
    offs = np.arange(-REACH_MM, REACH_MM + 0.1, TRIED_EVERY_MM)
    rough = [row.best_score(front + float(off) / STEP_MM, TRIED_SD_MM) for off in offs]
    for off in offs[np.array(rough) > max(rough) - HOPELESS]:
        layout = row.layout(front + float(off) / STEP_MM, TRIED_SD_MM)
        layouts.append(layout)
        mirror = _mirror_cost(band, layout.pieces)[0]
        scores.append(layout.evidence - 0.5 * (float(off) / MIDLINE_SD_MM) ** 2 - mirror)
    total = float(np.logaddexp.reduce(scores))
    shares = np.exp(np.array(scores) - total)
    best = layouts[int(np.argmax(scores))]
    pieces = tuple(
        replace(piece, sure=min(1.0, _sure(piece, layouts, shares))) for piece in best.pieces
    )
    return Numbered(pieces, total, _mirror_cost(band, best.pieces)[1])


def _sure(piece: Piece, layouts: list[Layout], shares: Floats) -> float:
    """Share of all numberings that have this tooth at this place."""
    near = SAME_MM / STEP_MM
    sure = 0.0
    for layout, share in zip(layouts, shares, strict=True):
        for other in layout.pieces:
            same = (other.position, other.side) == (piece.position, piece.side)
            if same and max(abs(other.start - piece.start), abs(other.end - piece.end)) <= near:
                sure += float(share) * other.sure
    return sure


def _mirror_cost(band: Band, pieces: tuple[Piece, ...]) -> tuple[float, Axis]:
    """How badly right teeth mirror onto the left, and the line that mirrors them best."""
    places = {(p.position, p.side): (_rough_middle(band, p), p.end - p.start) for p in pieces}
    pairs = [n for n in range(1, 8) if (n, -1) in places and (n, 1) in places]
    if len(pairs) < 2:
        return total_cost(np.full(2 * (7 - len(pairs)), 1.0)), Axis(0.0, 0.0)
    a = np.array([places[n, -1][0] for n in pairs])
    b = np.array([places[n, 1][0] for n in pairs])
    both, other = np.vstack([a, b]), np.vstack([b, a])
    centre = both.mean(axis=0)
    flipped = (both - centre) * [-1.0, 1.0]
    target = other - centre
    cross = float((flipped[:, 0] * target[:, 1] - flipped[:, 1] * target[:, 0]).sum())
    turn = atan2(cross, float((flipped * target).sum()))
    c, s = cos(turn), sin(turn)
    mirrored = flipped @ np.array([[c, s], [-s, c]])
    off = np.linalg.norm(mirrored - target, axis=1)[: len(pairs)]
    widths = np.array([(places[n, -1][1] - places[n, 1][1]) * STEP_MM for n in pairs])
    half = turn / 2
    axis = Axis(degrees(half), float(cos(half) * centre[0] + sin(half) * centre[1]))
    return total_cost(off / PLACE_SD_MM) + 0.5 * total_cost(widths / WIDTH_SD_MM), axis


def total_cost(z: Floats) -> float:
    """Sum of the costs of deviations in SDs."""
    return float(huber(z).sum())


def _rough_middle(band: Band, piece: Piece) -> Floats:
    """Middle of a crown's top between its cuts, in the view, mm."""
    top = band.upper_part_mm[piece.start : piece.end + 1].sum(axis=0)
    across = float((top * band.across_mm).sum() / max(float(top.sum()), 1e-9))
    middle = np.array([(piece.start + piece.end) / 2])
    return np.asarray(band.point(middle, np.array([across]))[0])
