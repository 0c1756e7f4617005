"""The guides: short enough, every link leads somewhere, and the sdist holds what they link."""

from __future__ import annotations

import re
import subprocess
import sys
import tarfile
from pathlib import Path
from typing import Any

import pytest

from sheetmark.anatomy.arch_model import load_model
from tests.helpers.paths import ROOT
from tests.helpers.scan_files import as_file, drawn
from tests.helpers.scans import Recipe

GUIDES = sorted(
    [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "examples").rglob("*.md")],
    key=str,
)
LONGEST_MODULE = 400
LIMITS = {"README.md": 150, "DEVELOPERS.md": 130}


def links(guide: Path) -> list[Path]:
    """The files that a guide links, as paths in the project."""
    targets = re.findall(r"\]\(([^)\s]+)\)", guide.read_text("utf-8"))
    return [
        (guide.parent / target.partition("#")[0]).resolve()
        for target in targets
        if "://" not in target and not target.startswith("#")
    ]


def test_there_are_guides_with_links() -> None:
    assert len(GUIDES) > 8
    assert sum(len(links(guide)) for guide in GUIDES) > 20


@pytest.mark.parametrize("guide", GUIDES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_link_leads_somewhere(guide: Path) -> None:
    assert [str(path) for path in links(guide) if not path.exists()] == []


@pytest.mark.parametrize("name", list(LIMITS))
def test_a_guide_is_short(name: str) -> None:
    assert len((ROOT / name).read_text("utf-8").splitlines()) <= LIMITS[name]


def test_no_module_is_long() -> None:
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text("utf-8").splitlines())
        for path in (ROOT / "sheetmark").rglob("*.py")
    }
    assert len(lengths) > 100
    assert {name: n for name, n in lengths.items() if n > LONGEST_MODULE} == {}


def test_the_sdist_holds_what_the_guides_link(tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "--target", "sdist", "-d", str(tmp_path)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    with tarfile.open(next(tmp_path.glob("*.tar.gz"))) as archive:
        inside = {name.partition("/")[2] for name in archive.getnames()}
    linked = {str(path.relative_to(ROOT).as_posix()) for guide in GUIDES for path in links(guide)}
    assert linked - inside == set()
    assert {str(guide.relative_to(ROOT).as_posix()) for guide in GUIDES} <= inside


def test_the_examples_of_the_python_guide_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocks = re.findall(
        r"```python\n(.*?)```", (ROOT / "examples/guide/python.md").read_text("utf-8"), re.DOTALL
    )
    assert len(blocks) >= 3
    monkeypatch.chdir(tmp_path)
    Path("landmarks.csv").write_bytes((ROOT / "examples/landmarks.csv").read_bytes())
    names: dict[str, Any] = {}
    for block in blocks:  # each goes on where the one before ended
        exec(compile(block, "python.md", "exec"), names)
    Path("mine.toml").write_text(names["toml"], "utf-8")
    assert load_model("mine.toml") == names["mine"]
    assert {tooth.jaw for tooth in names["upper"].teeth} == {"upper"}
    scan = drawn(Recipe("upper", 7000, triangles=3_000))
    Path("scan.ply").write_bytes(as_file(scan.mesh, "ply"))
    assert len(names["from_scan"](Path("scan.ply")).seen) == len(scan.centres)
