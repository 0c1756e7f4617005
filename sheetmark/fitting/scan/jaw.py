"""One jaw from its scan: the file read, its teeth proposed, seen from above, as landmarks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct

from sheetmark.anatomy.teeth import Jaw, Notation, write
from sheetmark.base.findings import Finding
from sheetmark.fitting.landmarks import CastPoint, Landmark
from sheetmark.fitting.scan.frame import find_frame
from sheetmark.fitting.scan.height_map import height_map
from sheetmark.fitting.scan.mesh import Mesh
from sheetmark.fitting.scan.picture import Mark, picture_png
from sheetmark.fitting.scan.plausible import checked_jaw
from sheetmark.fitting.scan.propose import Proposal, Proposals, propose
from sheetmark.fitting.scan.read import read_scan
from sheetmark.fitting.scan.remarks import scan_remarks
from sheetmark.fitting.scan.turns import TILT_DEG, Turn

# The axis of the frame, and how far about it, degrees. What turns the view's picture to the left
# turns its frame the other way.
_TURNS: Mapping[Turn, tuple[Literal["x", "y", "z"], float]] = {
    "over": ("y", 180.0),
    "left": ("z", -90.0),
    "right": ("z", 90.0),
    "front-down": ("x", TILT_DEG),
    "front-up": ("x", -TILT_DEG),
    "left-down": ("y", TILT_DEG),
    "right-down": ("y", -TILT_DEG),
}


class ScannedJaw(Struct, frozen=True):
    """A jaw's surface in the scanner's axes, mm; the teeth proposed in it; what to say of both."""

    mesh: Mesh
    proposals: Proposals
    findings: tuple[Finding, ...]


def scanned_jaw(
    content: bytes,
    name: str,
    notation: Notation,
    jaw: Jaw | None = None,
    turns: Sequence[Turn] = (),
) -> ScannedJaw:
    """The jaw in a file's bytes; `name` is the file's.

    jaw: as named by a person, or None to guess. turns: by hand, from the position that is found.
    Raises InputError, one line, for a file that is damaged or no single jaw in mm.
    """
    mesh, left_out = checked_jaw(read_scan(content, name), name)
    frame = find_frame(mesh)
    for turn in turns:
        frame = frame.turned(*_TURNS[turn])
    proposals = propose(mesh, jaw, frame)
    return ScannedJaw(mesh, proposals, (*left_out, *scan_remarks(proposals, notation)))


def scan_landmarks(proposals: Iterable[Proposal]) -> tuple[Landmark, ...]:
    """The middles of the crowns as landmarks: seen from the biting side, y upwards, mm."""
    return tuple(
        Landmark(proposal.tooth, (CastPoint(*proposal.view_mm),), "middle")
        for proposal in proposals
    )


def scan_picture(
    scanned: ScannedJaw, notation: Notation, pixels_per_mm: float = 10.0, *, marked: bool = True
) -> bytes:
    """The jaw from above as a PNG at true scale, marked with the teeth proposed in it."""
    proposals = scanned.proposals
    marks = [Mark(t.view_mm, write(t.tooth, notation)) for t in proposals.teeth] if marked else []
    seen = height_map(proposals.frame.view(scanned.mesh), pixels_per_mm)
    return picture_png(seen, marks)
