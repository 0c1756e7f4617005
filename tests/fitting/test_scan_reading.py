"""Scan files: every format gives the same surface; each kind of bad file gets one line."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding, InputError
from sheetmark.fitting.scan import read
from sheetmark.fitting.scan.mesh import Mesh
from sheetmark.fitting.scan.plausible import checked_jaw
from sheetmark.fitting.scan.read import read_scan, scan_content
from tests.helpers.scan_files import as_file, drawn, scaled, together, with_crumbs
from tests.helpers.scans import Recipe, draw_teeth, make_scan

UPPER = drawn(Recipe("upper", 3, triangles=8_000, turned=False)).mesh
LOWER = drawn(Recipe("lower", 4, triangles=8_000, turned=False)).mesh
FORMATS = {
    "binary.stl": as_file(UPPER),
    "text.stl": as_file(UPPER, "stl_ascii"),
    "binary.ply": as_file(UPPER, "ply"),
    "text.ply": as_file(UPPER, "ply", encoding="ascii"),
    "surface.obj": as_file(UPPER, "obj"),
}


def reduced(*, teeth: slice) -> Mesh:
    """A scan of some of the teeth alone, from the patient's right."""
    recipe = Recipe("upper", 3, triangles=6_000, palate=False, turned=False)
    return make_scan(draw_teeth(recipe)[teeth], recipe).mesh


@pytest.mark.parametrize("name", list(FORMATS))
def test_every_format_gives_the_same_surface(name: str) -> None:
    mesh = read_scan(FORMATS[name], name)
    assert len(mesh.faces) == len(UPPER.faces)
    assert np.allclose(mesh.extents, UPPER.extents, atol=1e-3)
    assert mesh.vertices.mean(axis=0) == pytest.approx(UPPER.vertices.mean(axis=0), abs=0.05)


@cache
def damaged() -> dict[str, tuple[str, bytes]]:
    stl, text, ply, text_ply, obj = FORMATS.values()
    not_a_number = UPPER.vertices.copy()
    not_a_number[5] = np.nan
    points = (
        b"ply\nformat ascii 1.0\nelement vertex 1\n"
        b"property float x\nproperty float y\nproperty float z\nend_header\n1 2 3\n"
    )
    return {
        "empty": ("a.stl", b""),
        "another ending": ("a.jpg", stl),
        "no STL": ("a.stl", b"\x01garbage" * 50),
        "binary STL cut off": ("a.stl", stl[: len(stl) // 2]),
        "text STL cut off": ("a.stl", text[: len(text) // 2]),
        "PLY cut off": ("a.ply", ply[: len(ply) // 2]),
        "text PLY cut off": ("a.ply", text_ply[: len(text_ply) // 2]),
        "OBJ cut off": ("a.obj", obj[: obj.rfind(b" ")]),
        "OBJ without triangles": ("a.obj", obj[: len(obj) // 4]),
        "text after binary STL": ("a.stl", stl + b"hello"),
        "text after text STL": ("a.stl", text + b"\nhello"),
        "text after PLY": ("a.ply", ply + b"hello"),
        "text after OBJ": ("a.obj", obj + b"\nhello there"),
        "corners that are no numbers": ("a.stl", as_file(Mesh(not_a_number, UPPER.faces))),
        "OBJ with nan": ("a.obj", obj.replace(b"v ", b"v nan ", 1)),
        "text STL with nan": ("a.stl", text.replace(b"vertex ", b"vertex nan #", 1)),
        "points alone": ("a.ply", points),
    }


@pytest.mark.parametrize("case", list(damaged()))
def test_a_damaged_file_is_refused_in_one_line(case: str) -> None:
    name, content = damaged()[case]
    with pytest.raises(InputError) as refused:
        read_scan(content, name)
    check_line(refused.value, name)


def check_line(error: InputError, name: str) -> None:
    assert len(error.problems) == 1
    line = str(error)
    assert line.startswith(f"{name}: ")
    assert "\n" not in line
    assert any(advice in line for advice in ("export ", "scan the whole jaw", "clean "))


def implausible() -> dict[str, tuple[Mesh, str]]:
    head = trimesh.creation.icosphere(4, 90.0)
    return {
        "metres": (scaled(UPPER, 0.001), "looks like metres"),
        "inches": (scaled(UPPER, 1 / 25.4), "looks like inches"),
        "a single tooth": (reduced(teeth=slice(6, 7)), "few teeth only"),
        "one side": (reduced(teeth=slice(0, 7)), "one side of a jaw"),
        "both jaws closed": (together(UPPER, LOWER, np.array([0, 0, 2.0]), over=True), "both jaws"),
        "both jaws apart": (together(UPPER, LOWER, np.array([80.0, 0, 0])), "both jaws"),
        "a head": (Mesh(np.asarray(head.vertices), np.asarray(head.faces)), "whole head"),
        "crumbs": (with_crumbs(UPPER, 900), "loose crumbs"),
    }


@pytest.mark.parametrize("case", list(implausible()))
def test_what_is_no_single_jaw_in_mm_is_refused_in_one_line(case: str) -> None:
    mesh, what = implausible()[case]
    with pytest.raises(InputError, match=what) as refused:
        checked_jaw(mesh, "a.stl")
    check_line(refused.value, "a.stl")


def test_a_hole_in_the_surface_is_no_damage() -> None:
    middles = UPPER.vertices[UPPER.faces].mean(axis=1)
    kept = np.hypot(middles[:, 0], middles[:, 1] + 5) > 3
    assert not kept.all()
    mesh = read_scan(as_file(Mesh(UPPER.vertices, UPPER.faces[kept])), "a.stl")
    assert checked_jaw(mesh, "a.stl")[1] == []


def test_a_few_crumbs_are_left_out_and_named() -> None:
    mesh, findings = checked_jaw(with_crumbs(UPPER, 30), "a.stl")
    assert len(mesh.faces) == len(UPPER.faces)
    assert [finding.code for finding in findings] == [Code.SCAN_CRUMBS]
    assert isinstance(findings[0], Finding)
    assert "30 loose" in findings[0].message


def test_too_many_triangles_and_too_large_files_are_refused(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(read, "MOST_TRIANGLES", 5_000)
    for name, content in FORMATS.items():
        with pytest.raises(InputError, match="triangles, at most 5000"):
            read_scan(content, name)
    path = tmp_path / "large.stl"
    path.write_bytes(FORMATS["binary.stl"])
    monkeypatch.setattr(read, "LARGEST_FILE_BYTES", 1_000)
    with pytest.raises(InputError, match="MB, at most"):
        scan_content(path)
    with pytest.raises(InputError, match=r"none\.stl: cannot be read"):
        scan_content(tmp_path / "none.stl")
