"""The middle of each tooth, proposed from a scan, with its number and how sure it is.

Landmark: the middle of the crown as seen from above (centre of its outline's area). It is neither
the contact middle nor the gum-line centre.
"""

from __future__ import annotations

from math import exp

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, in_arch_order, tooth_at
from sheetmark.base.findings import InputError
from sheetmark.fitting.scan.band import STEP_MM, Band, unroll
from sheetmark.fitting.scan.frame import ScanFrame, find_frame, in_mouth
from sheetmark.fitting.scan.height_map import HeightMap, height_map
from sheetmark.fitting.scan.mesh import Floats, Mask, Mesh, inside_out
from sheetmark.fitting.scan.numbering import Numbered, number_teeth
from sheetmark.fitting.scan.teeth_along import Piece, TeethAnywhere, evidence_of

# A crown's outline is taken this far under its own top, by position, mm: down to about the gum
# (assumption; clinical crowns of front teeth are longer).
DEPTHS_MM = (7.0, 7.0, 7.0, 5.5, 5.0, 5.0, 5.0, 4.5)
# Positions whose outline hides an upright facial wall: its area counts as it stands, not as seen.
# Molars tip to one side and show one wall only, so theirs counts as seen (assumption).
UPRIGHT = (1, 2, 3, 4, 5)
FREE_MM = 3.0  # a crown with no neighbour may reach this far beyond its cut
LEAST_TEETH = 4
PALATE_WEIGHT = 4.0  # log odds of an upper jaw when the palate is in the scan (assumption)
EVIDENCE_PER_ODDS = 2.5  # log evidence that counts as one natural unit of odds (assumption)
_PIXELS_PER_MM = 5.0


class Proposal(Struct, frozen=True):
    """One tooth. `view_mm`: x, y in the view frame, as in the picture.
    `mouth_mm`: the same in the mouth's axes (x the patient's left, y to the nose), origin the
    view's. `width_mm`: along the arch between its cuts. `sure`: 0..1."""

    tooth: Tooth
    view_mm: tuple[float, float]
    mouth_mm: tuple[float, float]
    width_mm: float
    sure: float


class Proposals(Struct, frozen=True):
    """All teeth proposed in one scan, from the patient's right to the left.

    `frame`: the view they are in: the one found or given, its y turned onto the line that mirrors
    the right teeth onto the left. `jaw_sure`: 0..1, that it is this jaw; `jaw_named`: by a person.
    `inside_out`: the surface faces away from its teeth.
    """

    jaw: Jaw
    jaw_sure: float
    jaw_named: bool
    frame: ScanFrame
    teeth: tuple[Proposal, ...]
    inside_out: bool


def propose(mesh: Mesh, jaw: Jaw | None = None, frame: ScanFrame | None = None) -> Proposals:
    """The teeth of one jaw's mesh (mm, any axes).

    jaw: what the person says, or None to guess. frame: turned by hand, or None to find it.
    Raises InputError when no arch or too few teeth are found.
    """
    frame = find_frame(mesh) if frame is None else frame
    seen = height_map(frame.view(mesh), _PIXELS_PER_MM)
    band = unroll(seen)
    anywhere = TeethAnywhere(evidence_of(band))
    rows: dict[Jaw, Numbered] = {name: number_teeth(band, anywhere, name) for name in JAWS}
    odds = (rows["upper"].evidence - rows["lower"].evidence) / EVIDENCE_PER_ODDS
    odds += PALATE_WEIGHT * _palate(seen)
    named = jaw is not None
    jaw = jaw or ("upper" if odds >= 0 else "lower")
    against = -odds if jaw == "upper" else odds
    jaw_sure = 1.0 / (1.0 + exp(min(max(against, -50.0), 50.0)))
    pieces = rows[jaw].pieces
    if len(pieces) < LEAST_TEETH:
        raise InputError(
            f"scan: {len(pieces)} teeth found, at least {LEAST_TEETH} are needed; "
            "turn the scan by hand, or click the teeth"
        )
    middles = np.array([_middle(band, freed) for freed in _freed(pieces, len(band.curve))])
    axis = rows[jaw].axis
    frame = frame.turned("z", axis.turn_deg)
    frame = replace(frame, origin=frame.origin + axis.shift_mm * frame.axes[0])
    places = axis.straight(middles)
    found = (_proposal(piece, place, jaw) for piece, place in zip(pieces, places, strict=True))
    by_tooth = {proposal.tooth: proposal for proposal in found}
    teeth = tuple(by_tooth[tooth] for tooth in in_arch_order(by_tooth))
    return Proposals(jaw, jaw_sure, named, frame, teeth, inside_out(mesh, frame.axes[2]))


def _tooth(piece: Piece, jaw: Jaw) -> Tooth:
    """Seen from above, the patient's left is at large x in the upper jaw, small in the lower."""
    return tooth_at(jaw, piece.position * (piece.side if jaw == "upper" else -piece.side))


def _proposal(piece: Piece, place: Floats, jaw: Jaw) -> Proposal:
    mouth = in_mouth(place[None, :], jaw)[0]
    return Proposal(
        _tooth(piece, jaw),
        (float(place[0]), float(place[1])),
        (float(mouth[0]), float(mouth[1])),
        (piece.end - piece.start) * STEP_MM,
        piece.sure,
    )


def _freed(pieces: tuple[Piece, ...], count: int) -> list[Piece]:
    """Pieces with straight, roomier cuts at sides where no neighbour touches."""
    freed = []
    for k, piece in enumerate(pieces):
        before = pieces[k - 1].end if k else -count
        after = pieces[k + 1].start if k + 1 < len(pieces) else 2 * count
        start, end, (first, last) = piece.start, piece.end, piece.slants
        if start > before + 1:
            start, first = max(0, start - min(round(FREE_MM / STEP_MM), (start - before) // 2)), 0.0
        if end < after - 1:
            room = min(round(FREE_MM / STEP_MM), (after - end) // 2)
            end, last = min(count - 1, end + room), 0.0
        freed.append(replace(piece, start=start, end=end, slants=(first, last)))
    return freed


def _middle(band: Band, piece: Piece) -> tuple[float, float]:
    """Centre of the area of the crown's outline between its two cuts, in the view, mm."""
    steps = np.arange(len(band.curve))[:, None]
    across = band.across_mm[None, :]
    first, last = piece.slants
    inside = (steps >= piece.start + first * across / STEP_MM) & (
        steps <= piece.end + last * across / STEP_MM
    )
    tall = np.where(inside, band.heights_mm, -np.inf)
    core = tall[piece.start : piece.end + 1]
    top = float(np.percentile(core[np.isfinite(core)], 97))
    crown = inside & (band.heights_mm > top - DEPTHS_MM[piece.position - 1])
    crown = _largest(crown)
    rows, columns = np.nonzero(crown)
    points = band.point(rows.astype(np.float64), band.across_mm[columns])
    area = _stretch(band)
    if piece.position in UPRIGHT:
        floor = np.maximum(band.heights_mm, top - DEPTHS_MM[piece.position - 1])
        along, over = np.gradient(floor, STEP_MM)
        area = area * np.sqrt(1.0 + along**2 + over**2)
    weights = area[rows, columns]
    x, y = np.average(points, axis=0, weights=weights)
    return float(x), float(y)


def _largest(mask: Mask) -> Mask:
    from scipy.ndimage import label

    labels, count = label(mask)
    if count < 2:
        return mask
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    return np.asarray(labels == sizes.argmax())


def _stretch(band: Band) -> Floats:
    """(n, k) area of each cell of the band in the view over its area in the band."""
    turn = np.gradient(np.unwrap(np.arctan2(band.normals[:, 0], band.normals[:, 1]))) / STEP_MM
    return np.maximum(1.0 + turn[:, None] * band.across_mm[None, :], 0.05)


def _palate(seen: HeightMap) -> float:
    """Share (-0.2..1) of the middle of the arch in which the scan has a surface at palate depth."""
    rows, columns = np.mgrid[0 : seen.heights_mm.shape[0] : 4, 0 : seen.heights_mm.shape[1] : 4]
    points = seen.point_of(np.column_stack([rows.ravel(), columns.ravel()]).astype(np.float64))
    inner = (np.abs(points[:, 0]) < 8.0) & (points[:, 1] > -15.0) & (points[:, 1] < 5.0)
    heights = seen.heights_mm[rows.ravel()[inner], columns.ravel()[inner]]
    share = float((heights > -30.0).mean())
    return share if share > 0.5 else 0.0
