"""svgwrite loads without its tables, and has them all the same where they are wanted."""

from __future__ import annotations

import subprocess
import sys

OURS = """
import sys
import sheetmark.render.svg
print(*[name for name in sys.modules if name.startswith("svgwrite.")])
import svgwrite
svgwrite.Drawing(debug=False).circle(r="wide")
try:
    svgwrite.Drawing().circle(r="wide")
except TypeError as error:
    print(error)
"""
THEIRS_FIRST = "import svgwrite; import sheetmark.render.svg; print(svgwrite.Drawing().validator)"


def lines(program: str) -> list[str]:
    typed = [sys.executable, "-c", program]
    done = subprocess.run(typed, capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


def test_its_tables_are_loaded_when_a_drawing_is_checked() -> None:
    loaded, refusal = lines(OURS)
    assert "svgwrite.drawing" in loaded.split()
    assert not [name for name in loaded.split() if "validator" in name or "full11" in name]
    assert "'wide' is not a valid value for attribute 'r'" in refusal


def test_one_that_is_loaded_already_stays_as_it_is() -> None:
    (kind,) = lines(THEIRS_FIRST)
    assert "Full11Validator" in kind
