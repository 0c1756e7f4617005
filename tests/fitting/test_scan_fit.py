"""`sheetmark arch fit --scan`: a model whose holes stand at the scanned teeth, and what is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth
from sheetmark.cli.app import run
from sheetmark.fitting.scan.mesh import Floats, Mesh
from sheetmark.fitting.scan.picture import scale_of_png
from tests.helpers.scan_files import as_file, drawn, scaled
from tests.helpers.scans import Recipe

pytestmark = pytest.mark.usefixtures("few_mouths")

SCANS = {
    "upper": drawn(Recipe("upper", 7000, crowding=0.4, triangles=20_000)),
    "lower": drawn(Recipe("lower", 7001, crowding=0.4, triangles=20_000)),
}
Capture = pytest.CaptureFixture[str]
FIT = ("arch", "fit", "--date", "2026-11-26")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("upper.stl").write_bytes(as_file(SCANS["upper"].mesh))
    Path("lower.ply").write_bytes(as_file(SCANS["lower"].mesh, "ply"))
    return tmp_path


def test_both_jaws_go_into_one_model_with_the_holes_at_the_patients_teeth(capsys: Capture) -> None:
    pictures = ("--picture", "u.png", "--picture", "l.png")
    scans = ("--scan", "upper.stl", "--scan", "lower.ply")
    assert run([*FIT, *scans, "-o", "own.toml", *pictures]) == 0
    printed, warned = capsys.readouterr()
    assert "MIRRORED" not in warned
    assert "upper.stl: upper jaw" in printed
    assert "lower.ply: lower jaw" in printed
    assert printed.count("%") == 2 + sum(len(scan.centres) for scan in SCANS.values())
    for jaw in JAWS:
        off = off_mm(jaw)
        assert set(off) == set(SCANS[jaw].centres)
        assert np.median(list(off.values())) < 0.8
        assert max(off.values()) < 1.6
    assert scale_of_png(Path("u.png").read_bytes()) == 10.0
    assert scale_of_png(Path("l.png").read_bytes()) == 10.0
    # The recipe in the file names the scans again.
    assert "--scan upper.stl --scan lower.ply" in Path("own.toml").read_text("utf-8")


def off_mm(jaw: Jaw) -> dict[Tooth, float]:
    """How far each tooth of the model stands from the drawn crown's middle, after the best move."""
    scan = SCANS[jaw]
    table = load_model("own.toml").jaw(jaw)
    places = [
        p for p in build_arch(load_model("own.toml"), jaw).places if p.tooth.iso in table.seen
    ]
    # Half way between gum line and contacts, as a crown's middle is taken.
    model = np.array([(np.array(p.centre) + np.array(p.contact)) / 2 for p in places])
    right = np.cross(scan.front, scan.up)
    seen = np.array(
        [[scan.centres[p.tooth] @ right, scan.centres[p.tooth] @ scan.front] for p in places]
    )
    off = np.linalg.norm(moved_onto(seen, model) - model, axis=1)
    return {place.tooth: float(mm) for place, mm in zip(places, off, strict=True)}


def moved_onto(points: Floats, wanted: Floats) -> Floats:
    """Turned and shifted, never mirrored or scaled."""
    p, q = points - points.mean(axis=0), wanted - wanted.mean(axis=0)
    u, _, vt = np.linalg.svd(p.T @ q)
    turn = u @ np.diag([1.0, np.sign(np.linalg.det(u @ vt))]) @ vt
    moved: Floats = p @ turn + wanted.mean(axis=0)
    return moved


def test_warnings_of_the_scan_stay_in_the_model_file(capsys: Capture) -> None:
    mesh = SCANS["upper"].mesh
    Path("mirror.stl").write_bytes(as_file(Mesh(mesh.vertices * [-1.0, 1.0, 1.0], mesh.faces)))
    assert run([*FIT, "--scan", "mirror.stl", "--jaw", "upper", "-o", "own.toml"]) == 0
    assert "warning: The scan's surface faces inwards" in capsys.readouterr().err
    assert "# warning: The scan's surface faces inwards" in Path("own.toml").read_text("utf-8")


BAD: dict[str, tuple[tuple[str, ...], str]] = {
    "no such file": (("--scan", "none.stl"), "none.stl: cannot be read"),
    "another format": (("--scan", "scan.zip"), "scan.zip: not a scan that can be read"),
    "metres": (("--scan", "metres.stl"), "looks like metres; export in mm"),
    "the same jaw twice": (("--scan", "upper.stl", "--scan", "again.stl"), "measured already"),
    "a view for each scan": (
        ("--scan", "upper.stl", "--picture", "a.png", "--picture", "b.png"),
        "a PNG shows one scan",
    ),
    "a view of no scan": (("--measure", "upper canines 33", "--picture", "a.png"), "one scan"),
}


@pytest.mark.parametrize("case", list(BAD))
def test_what_cannot_be_used_is_one_line_and_writes_nothing(
    case: str, folder: Path, capsys: Capture
) -> None:
    Path("again.stl").write_bytes(as_file(SCANS["upper"].mesh))
    Path("metres.stl").write_bytes(as_file(scaled(SCANS["upper"].mesh, 0.001)))
    Path("scan.zip").write_bytes(b"PK")
    before = sorted(path.name for path in folder.iterdir())
    options, line = BAD[case]
    assert run([*FIT, *options, "-o", "own.toml"]) == 2
    printed = capsys.readouterr().err
    assert line in printed
    assert len(printed.strip().splitlines()) == 1
    assert sorted(path.name for path in folder.iterdir()) == before
