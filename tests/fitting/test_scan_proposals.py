"""Teeth proposed in drawn scans: their numbers and places, the jaw, the frame, what is unsure."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth
from sheetmark.base.codes import Code
from sheetmark.fitting.scan.frame import find_frame
from sheetmark.fitting.scan.jaw import _TURNS
from sheetmark.fitting.scan.mesh import Mesh
from sheetmark.fitting.scan.plausible import checked_jaw
from sheetmark.fitting.scan.propose import Proposals, propose
from sheetmark.fitting.scan.remarks import SURE_TEETH, scan_remarks
from sheetmark.fitting.scan.turns import Turn
from tests.helpers.scan_files import drawn
from tests.helpers.scans import DrawnScan, Recipe

ROWS = {
    "usual upper": Recipe("upper", 7000, crowding=0.4, triangles=20_000),
    "usual lower": Recipe("lower", 7001, crowding=0.4, triangles=20_000),
    "crowded": Recipe("lower", 7001, crowding=1.0, triangles=20_000),
    "spaced": Recipe("upper", 7000, spaces=4, triangles=20_000),
    "one missing": Recipe("lower", 7001, missing=1, triangles=20_000),
    "crowns only": Recipe("upper", 7000, gum=False, triangles=20_000),
    "no palate": Recipe("upper", 7000, palate=False, triangles=20_000),
    "3,000 triangles": Recipe("lower", 7001, triangles=3_000),
    "rough": Recipe("upper", 7000, noise_mm=0.15, triangles=20_000),
}
USUAL = {"upper": ROWS["usual upper"], "lower": ROWS["usual lower"]}


def found_in(scan: DrawnScan, jaw: Jaw | None = None) -> Proposals:
    mesh, _ = checked_jaw(scan.mesh, "drawn.stl")
    return propose(mesh, jaw)


def off_mm(scan: DrawnScan, found: Proposals) -> dict[Tooth, float]:
    """How far each proposal of a drawn tooth lies from its middle, in the view."""
    frame = found.frame
    off = {}
    for proposal in found.teeth:
        true = (scan.centres[proposal.tooth] - frame.origin) @ frame.axes.T
        off[proposal.tooth] = float(np.hypot(*(true[:2] - proposal.view_mm)))
    return off


@pytest.mark.parametrize("row", list(ROWS))
def test_every_tooth_is_found_with_its_number_at_its_place(row: str) -> None:
    scan = drawn(ROWS[row])
    found = found_in(scan)
    assert found.jaw == ROWS[row].jaw
    assert {proposal.tooth for proposal in found.teeth} == set(scan.centres)
    off = off_mm(scan, found)
    assert np.median(list(off.values())) < 0.6
    assert max(off.values()) < 1.4
    assert float(found.frame.axes[2] @ scan.up) > 0.95
    assert float(found.frame.axes[1] @ scan.front) > 0.95
    assert not found.inside_out


@pytest.mark.parametrize("jaw", JAWS)
def test_right_and_left_are_the_patients(jaw: Jaw) -> None:
    """The mouth frame's x runs to the patient's left and its y to the nose, in both jaws."""
    found = found_in(drawn(USUAL[jaw]))
    places = {proposal.tooth: proposal.mouth_mm for proposal in found.teeth}
    assert all((x > 0) == (tooth.side == "left") for tooth, (x, _) in places.items())
    front = np.mean([y for tooth, (_, y) in places.items() if tooth.position == 1])
    back = np.mean([y for tooth, (_, y) in places.items() if tooth.position == 6])
    assert (front > back) == (jaw == "upper")


def test_a_mirrored_file_is_warned_about() -> None:
    scan = drawn(USUAL["upper"])
    mirrored = Mesh(scan.mesh.vertices * [-1.0, 1.0, 1.0], scan.mesh.faces)
    warned = scan_remarks(propose(mirrored, "upper"), "iso")
    assert Code.SCAN_INSIDE_OUT in [finding.code for finding in warned]
    assert "MIRRORED" in warned[0].message
    assert scan_remarks(propose(scan.mesh, "upper"), "iso") == ()


def test_a_scan_of_the_jaw_that_was_not_named_is_warned_about() -> None:
    scan = drawn(USUAL["upper"])
    (doubt,) = [
        f for f in scan_remarks(propose(scan.mesh, "lower"), "iso") if f.code == Code.SCAN_JAW
    ]
    assert "looks like the upper jaw" in doubt.message


def test_what_is_not_sure_is_warned_about_by_name() -> None:
    found = found_in(drawn(USUAL["upper"]))
    first, *others = found.teeth
    doubtful = replace(
        found,
        jaw_sure=0.7,
        frame=replace(found.frame, up_sure=0.6, front_sure=0.2),
        teeth=(replace(first, sure=SURE_TEETH - 0.1), *(replace(t, sure=1.0) for t in others)),
    )
    remarks = {finding.code: finding for finding in scan_remarks(doubtful, "universal")}
    assert set(remarks) == {Code.SCAN_JAW, Code.SCAN_UP, Code.SCAN_FRONT, Code.SCAN_TEETH}
    assert all(finding.severity == "warning" for finding in remarks.values())
    assert "(50% sure)" in remarks[Code.SCAN_TEETH].message


TILTS: dict[Turn, tuple[int, float]] = {
    "front-down": (1, -1.0),
    "front-up": (1, 1.0),
    "left-down": (0, 1.0),
    "right-down": (0, -1.0),
}


@pytest.mark.parametrize("turn", list(TILTS))
def test_a_tilt_by_hand_moves_that_side_by_three_degrees(turn: Turn) -> None:
    axis, way = TILTS[turn]
    before = find_frame(drawn(USUAL["upper"]).mesh)
    after = before.turned(*_TURNS[turn])
    # A point to the picture's right (0) or at its front (1), seen from the tilted frame.
    height = float(before.axes[axis] @ after.axes[2])
    assert height == pytest.approx(way * np.sin(np.radians(3.0)))
    assert np.linalg.det(after.axes) == pytest.approx(1.0)


def test_a_frame_is_turned_by_hand() -> None:
    scan = drawn(USUAL["upper"])
    frame = find_frame(scan.mesh)
    assert np.allclose(frame.turned("z", 90.0).axes[0], frame.axes[1])
    assert np.allclose(frame.upside_down().axes[2], -frame.axes[2])
    assert np.allclose(frame.upside_down().axes[1], frame.axes[1])
    turned = frame.turned("z", 8.0)
    off = off_mm(scan, propose(scan.mesh, "upper", turned))
    assert max(off.values()) < 1.4
