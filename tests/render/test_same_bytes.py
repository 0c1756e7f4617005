"""Same input, same bytes: in any process, time zone, locale and version of Python, whatever stands
in a person's home; and nothing is left there.

Other versions of Python are tried where their programs, with the libraries in place, stand in the
folders that SHEETMARK_PYTHONS names, set apart as in PATH."""

from __future__ import annotations

import ast
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.helpers.paths import ROOT

HERE = (3, sys.version_info.minor)
OTHERS = [minor for minor in range(11, 15) if minor != HERE[1]]


def fingerprints(python: str, home: Path, **env: str) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "SYSTEMROOT") if name in os.environ}
    done = subprocess.run(
        [python, "-m", "tests.helpers.every_output"],
        cwd=ROOT,
        env={**kept, "PYTHONPATH": str(ROOT), "HOME": str(home), **env},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, str] = json.loads(done.stdout)
    assert len(found) > 50
    return found


@pytest.fixture(scope="module")
def expected(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    home = tmp_path_factory.mktemp("home")
    made = fingerprints(sys.executable, home, PYTHONHASHSEED="0", TZ="UTC")
    assert list(home.rglob("*")) == [], "nothing is left in a person's home"
    return made


def test_another_process_makes_the_same_bytes(expected: dict[str, str], tmp_path: Path) -> None:
    """Another hash seed, time zone and locale, and a home in which libraries find settings."""
    (tmp_path / ".cache" / "ezdxf").mkdir(parents=True)
    (tmp_path / ".cache" / "ezdxf" / "font_manager_cache.json").write_text("{broken")
    made = fingerprints(
        sys.executable,
        tmp_path,
        PYTHONHASHSEED="4242",
        TZ="Pacific/Kiritimati",
        LC_ALL="tr_TR.UTF-8",
        LANG="tr_TR.UTF-8",
    )
    assert made == expected


@pytest.mark.parametrize("minor", OTHERS)
def test_another_python_makes_the_same_bytes(
    minor: int, expected: dict[str, str], tmp_path: Path
) -> None:
    python = shutil.which(f"python3.{minor}", path=os.environ.get("SHEETMARK_PYTHONS", ""))
    if python is None:
        pytest.skip(
            f"no Python 3.{minor} with the program's libraries is named in SHEETMARK_PYTHONS"
        )
    assert fingerprints(python, tmp_path) == expected


def sums(path: Path) -> Iterator[str]:
    """The sums of a module that may be of lengths."""
    tree = ast.parse(path.read_text("utf-8"))
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "sum"):
            continue
        item = node.args[0]
        counted = item.elt if isinstance(item, ast.GeneratorExp) else item
        if not isinstance(counted, (ast.Compare, ast.BoolOp, ast.UnaryOp, ast.Constant)):
            yield f"{path.relative_to(ROOT).as_posix()}: {ast.unparse(node)}"


# Sums of whole numbers.
WHOLE = {
    "sheetmark/day/spreadsheet.py: sum((part.file_size for part in packed.infolist()))",
    "sheetmark/cli/fitting.py: sum(map(_of_scan, pictures))",
    "sheetmark/fitting/scan/read.py: sum((counts[e] * sizes[e] for e in counts))",
    "sheetmark/fitting/scan/read.py: sum(counts.values())",
    "sheetmark/plan/clamps.py: sum((serve(anchor, set()) for anchor in range(len(wishes))))",
    "sheetmark/studies/coverage/study.py: sum((1 << size for size in sizes))",
    "sheetmark/studies/membrane/report.py: sum((strain.iterations for strain in strains))",
    "sheetmark/studies/membrane/stretched.py: sum((sheet.found.iterations for sheet in "
    "(*guesses, *ends)))",
    "sheetmark/typesetting/bullseyes.py: sum((1 << place for place, cell in "
    "enumerate(reversed(cells[:CODE_BITS])) if cell))",
}


def test_lengths_are_added_alike_in_every_python() -> None:
    """`sum` adds floats in another way from Python 3.12 on; `fsum` does not."""
    found = {line for path in (ROOT / "sheetmark").rglob("*.py") for line in sums(path)}
    assert found - WHOLE == set(), "take math.fsum, or name the sum here if it is of whole numbers"
