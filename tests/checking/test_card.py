"""A bank card on the printer's test page tells a wrong scale."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetmark.checking.card import CARD_MM, CARD_THICK_MM
from sheetmark.cli.app import run
from sheetmark.documents.printer_page import printer_page
from sheetmark.practice.settings import PAPERS
from sheetmark.render.pdf import render_pdf
from sheetmark.typesetting.marks import Polygon
from tests.helpers.photographs import Camera, Light, Rubber, Scene, photograph

Output = pytest.CaptureFixture[str]
PAGE = printer_page(PAPERS["a4"])
PDF = render_pdf(PAGE)


def shot(path: Path, scale: float, *, down: bool, tilt_deg: float = 4.0) -> str:
    """The card on a page that came out at a scale: the same as a card that is larger by it."""
    (square,) = [
        mark.points
        for mark in PAGE.pages[0].marks
        if isinstance(mark, Polygon) and mark.name == "square"
    ]
    middle = (
        sum(x for x, _ in square) / 4,
        sum(y for _, y in square) / 4,
    )
    long, short = (side / scale for side in CARD_MM)
    card = Rubber(
        size_mm=(long, short),
        colour="blue",
        opacity=1.0,
        lift_mm=CARD_THICK_MM,
        turn_deg=91.0 if down else 1.5,
        shift_mm=(2.0, -3.0),
    )
    camera = Camera(height_mm=300.0, tilt_deg=tilt_deg, megapixels=2.0, k1=0.04)
    scene = Scene(pdf=PDF, sheet_at_mm=middle, rubber=card, camera=camera, light=Light())
    path.write_bytes(photograph(scene))
    return str(path)


@pytest.mark.parametrize(
    ("across", "down", "wording"),
    [
        (1.0, 1.0, "No sign of a wrong scale"),
        (0.993, 1.004, "do not use overlays of this print"),
    ],
)
def test_the_scale_is_measured_to_two_in_a_thousand(
    across: float, down: float, wording: str, tmp_path: Path, capsys: Output
) -> None:
    shots = [
        shot(tmp_path / "down.jpg", down, down=True),
        shot(tmp_path / "across.jpg", across, down=False),
    ]
    assert run(["printer", "card", *shots]) == 0
    out = capsys.readouterr().out
    assert wording in out
    numbers = [float(word) for word in out.split() if word.replace(".", "").isdigit()][:2]
    assert numbers == pytest.approx([100 * across, 100 * down], abs=0.2)
    if across == 1.0:
        assert run(["printer", "card", shots[0], shots[0]]) == 2
        assert "both photographs show the card down" in capsys.readouterr().err
        assert run(["printer", "card", shots[0]]) == 2
        assert "two are needed" in capsys.readouterr().err


def test_a_page_from_aside_or_without_a_card_is_refused(tmp_path: Path, capsys: Output) -> None:
    aside = shot(tmp_path / "aside.jpg", 1.0, down=True, tilt_deg=14.0)
    assert run(["printer", "card", aside, aside]) == 2
    assert "taken at 14 degrees, at most 10 for a card" in capsys.readouterr().err
