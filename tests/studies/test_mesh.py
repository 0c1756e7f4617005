"""Meshes: shape, area, rims, symmetry, and the refusal of what cannot be meshed."""

from __future__ import annotations

from math import pi, sin

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import LineString, Polygon

from sheetmark.base.findings import NoAnswerError
from sheetmark.base.frames import SheetPoint
from sheetmark.studies.membrane.energy import triangles
from sheetmark.studies.membrane.mesh import Layout, MeshError, Opening, least_angles, make_mesh


def hole(x: float, y: float, radius_mm: float = 1.0) -> Opening:
    return Opening((SheetPoint(x, y),), radius_mm, 16)


@st.composite
def layouts(draw: st.DrawFn) -> Layout:
    """Rows of holes as teeth stand, anywhere on a sheet."""
    x, y = draw(st.floats(-30, 10)), draw(st.floats(-20, 20))
    row = []
    for _ in range(draw(st.integers(1, 5))):
        row.append(hole(x, y, draw(st.sampled_from((0.5, 0.75, 1.0, 1.25)))))
        x, y = x + draw(st.floats(4.5, 9.0)), y + draw(st.floats(-4.0, 4.0))
    return Layout(127.0, 127.0, tuple(row), 7.0)


@given(layouts())
@settings(max_examples=25, derandomize=True, deadline=None)
def test_every_mesh_fills_the_sheet_and_has_no_slivers(layout: Layout) -> None:
    mesh = make_mesh(layout)
    area = triangles(mesh.rest, mesh.corners).area
    assert area.min() > 0
    holes = sum(o.radius_mm**2 * 8 * sin(2 * pi / 16) for o in layout.openings)
    assert area.sum() == pytest.approx(127.0**2 - holes, abs=1e-6)
    assert np.degrees(least_angles(mesh.rest, mesh.corners).min()) >= 12
    assert len(mesh.rims) == len(layout.openings)
    for opening, rim in zip(layout.openings, mesh.rims, strict=True):
        assert len(rim) == 16
        from_centre = np.hypot(*(mesh.rest[rim] - np.array(opening.line[0])).T)
        assert np.abs(from_centre - opening.radius_mm).max() < 1e-9
        assert Polygon(mesh.rest[rim]).exterior.is_ccw


@given(layouts())
@settings(max_examples=15, derandomize=True, deadline=None)
def test_a_mirrored_layout_has_the_mirrored_mesh(layout: Layout) -> None:
    assume(any(abs(x) > 0.1 for o in layout.openings for x, _ in o.line))  # else it is the same one
    first, other = (
        make_mesh(layout),
        make_mesh(replace(layout.mirrored, openings=layout.mirrored.openings[::-1])),
    )
    assert np.abs(first.rest * [-1, 1] - other.rest).max() < 1e-9
    assert {frozenset(c) for c in first.corners.tolist()} == {
        frozenset(c) for c in other.corners.tolist()
    }


def test_a_layout_that_is_its_own_mirror_image_has_a_mesh_that_is() -> None:
    mesh = make_mesh(
        Layout(152.0, 152.0, (hole(-6, 9), hole(6, 9), hole(-15, 2), hole(15, 2)), 6.0)
    )
    points = {tuple(p) for p in np.round(mesh.rest, 9) + 0.0}
    assert points == {(-x + 0.0, y) for x, y in points}
    middles = {tuple(p) for p in np.round(mesh.rest[mesh.corners].mean(axis=1), 7) + 0.0}
    assert middles == {(-x + 0.0, y) for x, y in middles}
    assert len(middles) == len(mesh.corners)


def test_the_mesh_is_as_fine_as_wanted_at_a_hole_and_coarse_far_away() -> None:
    mesh = make_mesh(Layout(100.0, 100.0, (hole(-20.0, 10.0),), 8.0))
    edges = np.concatenate([mesh.corners[:, [i, (i + 1) % 3]] for i in range(3)])
    length = np.hypot(*(mesh.rest[edges[:, 0]] - mesh.rest[edges[:, 1]]).T)
    away = np.hypot(*(mesh.rest[edges].mean(axis=1) - [-20.0, 10.0]).T)
    assert length[away < 1.2].mean() == pytest.approx(2 * pi / 16, rel=0.25)
    assert length[away > 45].mean() == pytest.approx(8.0, rel=0.2)


def test_a_slot_is_cut_round_its_holes() -> None:
    line = (SheetPoint(-10.0, 0.0), SheetPoint(-3.0, 2.0), SheetPoint(5.0, 2.5))
    mesh = make_mesh(Layout(100.0, 100.0, (Opening(line, 1.0, 16), hole(12.0, 1.0)), 7.0))
    rim = Polygon(mesh.rest[mesh.rims[0]])
    slot = LineString(line).buffer(1.0)
    assert rim.is_valid
    assert rim.symmetric_difference(slot).area < 0.03 * slot.area


@pytest.mark.parametrize("second", [hole(1.5, 0.0), hole(0.4, 0.1)])
def test_holes_that_run_into_each_other_are_refused(second: Opening) -> None:
    with pytest.raises(MeshError, match="holes may stand too near"):
        make_mesh(Layout(100.0, 100.0, (hole(0.0, 0.0), second), 7.0))
    assert issubclass(MeshError, NoAnswerError)


def test_the_same_layout_gives_the_same_mesh() -> None:
    layout = Layout(100.0, 100.0, (hole(-20.0, 10.0), hole(-12.0, 13.0)), 8.0)
    first, other = make_mesh(layout), make_mesh(layout)
    assert np.array_equal(first.rest, other.rest)
    assert np.array_equal(first.corners, other.corners)
