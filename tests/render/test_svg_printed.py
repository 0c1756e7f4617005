"""The overlay's SVG, printed by a browser: its bars measured on the page that comes out."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from pdfminer.high_level import extract_pages
from pdfminer.layout import LTLine

from sheetmark.jobs.outputs import render_plan
from sheetmark.practice.settings import PAPERS, PaperName, Practice
from tests.helpers.browser import CHROMIUM_ARGUMENTS, chromium_for_tests
from tests.helpers.readback import POINT_MM
from tests.helpers.valid_cases import sample

BAR_MM = 100.0
TOLERANCE_MM = 0.1  # Chromium cuts its page to whole points, and draws what is on it to fit


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_chromium_prints_the_svg_at_true_scale(paper: PaperName, tmp_path: Path) -> None:
    drawing, printed = tmp_path / "case.svg", tmp_path / "case.pdf"
    drawing.write_bytes(render_plan(sample("16", Practice(paper=paper)).plan, "svg"))
    command = [
        chromium_for_tests(),
        "--headless",
        *CHROMIUM_ARGUMENTS,
        f"--user-data-dir={tmp_path / 'b'}",
    ]
    command += ["--no-pdf-header-footer", f"--print-to-pdf={printed}", drawing.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    page, *further = extract_pages(printed)
    assert not further, "all of it is on its one page"
    paper_mm = (PAPERS[paper].width_mm, PAPERS[paper].height_mm)
    size_mm = (page.width * POINT_MM, page.height * POINT_MM)
    assert size_mm == pytest.approx(paper_mm, abs=0.2), "cut to whole points"
    lines = [line for line in page if isinstance(line, LTLine)]
    across = max(line.width for line in lines) * POINT_MM
    down = max(line.height for line in lines) * POINT_MM
    assert (across, down) == pytest.approx((BAR_MM, BAR_MM), abs=TOLERANCE_MM)
