"""svgwrite loads without its tables and a web client, and has the tables where they are wanted."""

from __future__ import annotations

import subprocess
import sys

OURS = """
import sys
import sheetmark.render.svg
print(*[name for name in sys.modules if name.startswith(("svgwrite.", "urllib.", "http.", "ssl"))])
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
    assert not {"urllib.request", "http.client", "ssl"} & set(loaded.split())
    assert "'wide' is not a valid value for attribute 'r'" in refusal


def test_one_that_is_loaded_already_stays_as_it_is() -> None:
    (kind,) = lines(THEIRS_FIRST)
    assert "Full11Validator" in kind


def test_others_have_the_web_client_all_the_same() -> None:
    program = "import sheetmark.render.svg, urllib.request; print(urllib.request.Request)"
    (kind,) = lines(program)
    assert "urllib.request.Request" in kind


def test_a_drawing_fetches_nothing() -> None:
    program = """
from sheetmark.render.light_svgwrite import svgwrite
try:
    svgwrite.Drawing(debug=False).embed_google_web_font("x", "https://example.invalid/")
except OSError as error:
    print(error)
"""
    assert lines(program) == ["a drawing fetches nothing"]


def test_beside_another_thread_the_real_web_client_is_there() -> None:
    """Which may want it at this moment."""
    program = """
from threading import Event, Thread
Thread(target=Event().wait, daemon=True).start()
import sheetmark.render.svg, svgwrite.container, urllib.request
print(svgwrite.container.urlopen is urllib.request.urlopen)
"""
    assert lines(program) == ["True"]
