"""The handout on why the middle moves, read back and measured, and the words for its figures."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from itertools import product
from math import dist
from pathlib import Path
from statistics import fmean, pstdev
from typing import Any, get_args

import pytest
from msgspec.structs import replace
from shapely import LinearRing, LineString, Polygon, box
from shapely import Point as ShapelyPoint

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import InputError, NoAnswerError
from sheetmark.case.case import Case
from sheetmark.cli.app import run
from sheetmark.documents.case.sheet import draw_sheet
from sheetmark.documents.handouts.rooms import draw_rooms, room_lines
from sheetmark.plan.make import make_plan
from sheetmark.practice.settings import STANDARD_SHEETS, Practice
from sheetmark.studies.membrane import report as membrane_report
from sheetmark.studies.membrane.mesh import MeshError
from sheetmark.studies.membrane.report import Placed, report_on
from sheetmark.studies.membrane.solve import SolveError
from sheetmark.typesetting.marks import Disc, Mark, Ring, Text
from sheetmark.typesetting.marks import Line as MarkLine
from sheetmark.typesetting.marks import Polygon as MarkPolygon
from tests.helpers.cases import json_of, run_json
from tests.helpers.commands import heavy_modules_loaded_by
from tests.helpers.golden_pages import HANDOUTS, handout_pdf
from tests.helpers.handout_pages import pages
from tests.helpers.page_check import (
    _Sheet,
    check_arch,
    check_bars,
    check_discs,
    check_outline,
    check_sides,
)
from tests.helpers.readback import Line, Point, Word, read_first_page


def test_margins_are_drawn_as_long_as_they_are_written() -> None:
    together, *alone = pages("why-the-middle-moves")
    shifts = []
    for page, plan in zip(alone, three_plans(), strict=True):
        sheet = _Sheet(plan)
        shifts.append(plan["sheet"]["shift_mm"])
        holes = [sheet.at((h["x_mm"], h["y_mm"])) for h in plan["holes"]]
        lines = [line for line in page.lines if line.start in _nearly(line.start, holes)]
        lines = [line for line in lines if dist(line.start, line.end) > 20]
        assert len(lines) == 4
        figures = [w for w in page.texts if w.size == pytest.approx(4.2, abs=0.01)]
        for line in lines:
            length = f"{dist(line.start, line.end):.1f}"
            word = min(figures, key=lambda w: dist(w.middle, _along(line, w)))
            assert word.text == length
            assert length in page.text.partition("each edge, mm:")[2]
            numbers = [w for w in page.texts if w.size == pytest.approx(4.8, abs=0.01)]
            assert len(numbers) == 4
            assert all(dist(w.middle, _along(line, w)) > 2 for w in numbers), "none crossed"
        wanted = sorted(f"{mm:.1f}" for mm in plan["sheet"]["margins_mm"].values())
        assert sorted(w.text for w in figures) == wanted
        at_edge = [min(abs(line.end[0] - x) for x in (29, 181)) for line in lines]
        assert sum(off < 0.01 for off in at_edge) == 2
        check_outline(page, sheet)
        check_arch(page, sheet, plan)
        check_discs(page, sheet, plan)
        check_bars(page, sheet)
        check_sides(page, sheet, plan)
    assert shifts[0] == [0, 0]
    assert len({tuple(shift) for shift in shifts}) == 3
    assert "not to scale: to compare" in together.text
    written = [w.text for w in together.texts if w.size == pytest.approx(3.2, abs=0.01)]
    wanted = [f"{mm:.1f}" for plan in three_plans() for mm in plan["sheet"]["margins_mm"].values()]
    assert sorted(written) == sorted(wanted)


@cache
def three_plans() -> tuple[dict[str, Any], ...]:
    """16 centred, by the rule, and where the pull is most even."""
    return (json_of("16", shift=False), json_of("16"), run_json("16", "--shift", "even"))


PULL_MM = 1.1  # the line of a bar, which no other mark has


def test_bars_are_as_long_as_the_pulls_and_as_uneven_as_is_written() -> None:
    """Measured on the paper, and against the command that computes them."""
    page = pages("why-the-middle-moves")[0]
    bars = [line for line in page.lines if line.line == pytest.approx(PULL_MM, abs=0.01)]
    lengths = [dist(bar.start, bar.end) for bar in bars]
    assert len(lengths) == 3 * 12
    written = [float(w.text.split()[1]) for w in page.texts if w.text.startswith("Unevenness 0")]
    between = [
        (float(found[1]), float(found[2]))
        for w in page.texts
        if (found := re.fullmatch(r"(.*) to (.*) N at a point of the frame\.", w.text))
    ]
    report = report_on(make_plan(Case(treat=(Tooth(1, 6),))))
    strains = [report.strains[placed] for placed in get_args(Placed)]
    newton_mm = max(pull.newton for strain in strains for pull in strain.pull) / max(lengths)
    for number, strain in enumerate(strains):
        row = lengths[12 * number : 12 * (number + 1)]
        assert pstdev(row) / fmean(row) == pytest.approx(written[number], abs=0.006)
        assert strain.evenness == pytest.approx(written[number], abs=0.0051)
        assert between[number] == (round(min(row) * newton_mm, 1), round(max(row) * newton_mm, 1))
        for bar, pull in zip(bars[12 * number : 12 * (number + 1)], strain.pull, strict=True):
            assert dist(bar.start, bar.end) * newton_mm == pytest.approx(pull.newton, abs=0.01)
    assert written == sorted(written, reverse=True)


def test_bars_stand_at_the_frames_points_and_keep_off_each_other_and_the_teeth() -> None:
    page = pages("why-the-middle-moves")[0]
    bars = [line for line in page.lines if line.line == pytest.approx(PULL_MM, abs=0.01)]
    hooks = [c.centre for c in page.circles if c.diameter == pytest.approx(1.8, abs=0.01)]
    assert len(hooks) == len(bars) == 36
    drawn = [LineString([bar.start, bar.end]).buffer(PULL_MM / 2) for bar in bars]
    for bar, hook in zip(bars, hooks, strict=True):
        assert dist(bar.start, hook) < 0.01
    assert all(a.distance(b) > 0.5 for n, a in enumerate(drawn) for b in drawn[n + 1 :])
    necks = [Polygon(o.points) for o in page.outlines if o.line == pytest.approx(0.3, abs=0.001)]
    necks = [neck for neck in necks if neck.centroid.y < min(y for _, y in hooks) + 40]
    assert len(necks) == 12
    assert all(neck.distance(bar) > 1 for neck in necks for bar in drawn)


def test_a_computed_result_says_what_is_left_out_of_it() -> None:
    together, centred, rule, even = pages("why-the-middle-moves")
    for page in (together, even):
        text = " ".join(page.text.split())
        assert "Left out: lips, cheeks, friction" in text
        assert "For comparing placements, not clinical forces." in text
        assert "Treloar" in text
    for page in (centred, rule):
        assert "nevenness" not in page.text, "nothing computed stands here"
    assert "Unevenness of the computed pull at the frame: 0.28 here, 0.36 by the rule" in even.text
    assert "The sheet's middle (cross) lies 8 mm to the patient's right, 4 mm" in even.text


@pytest.mark.parametrize("size", [4.2, 8.2])
def test_figures_touch_nothing_on_any_sheet(size: float) -> None:
    """At true scale, and as large as they are on the small pictures."""
    looked_at = 0
    for sheet, tooth, shift in product(STANDARD_SHEETS, range(1, 8), (True, False)):
        for quadrant in (1, 3):
            try:
                plan = make_plan(
                    Case(treat=(Tooth(quadrant, tooth),)), None, Practice(sheet=sheet, shift=shift)
                )
            except InputError:
                continue  # centred on a small sheet a hole may stand too near its edge
            drawn = draw_sheet(plan, keep_clear=room_lines(plan))
            marks = draw_rooms(plan, drawn, size)
            figures = [mark for mark in marks if isinstance(mark, Text)]
            others = [mark for mark in (*drawn, *marks) if mark not in figures]
            assert len(figures) == 4
            boxes = [shape_of(figure) for figure in figures]
            for number, own in enumerate(boxes):
                rest = [*boxes[:number], *boxes[number + 1 :], *map(shape_of, others)]
                assert all(own.distance(other) > 0.3 for other in rest), (plan.command, number)
            looked_at += 1
    assert looked_at > 50


def shape_of(mark: Mark) -> Any:
    match mark:
        case Disc(centre, diameter):
            return ShapelyPoint(centre).buffer(diameter / 2)
        case Ring(centre, diameter):
            return ShapelyPoint(centre).buffer(diameter / 2).exterior
        case MarkLine(start, end):
            return LineString([start, end])
        case MarkPolygon(points):
            return LinearRing(points)
        case Text():
            x = mark.at[0] - {"left": 0.0, "middle": 0.5, "right": 1.0}[mark.align] * mark.width
            return box(x, mark.at[1], x + mark.width, mark.at[1] + 0.66 * mark.size)


@pytest.mark.parametrize("error", [MeshError, SolveError, NoAnswerError])
def test_a_pull_that_cannot_be_computed_is_reported_and_nothing_is_written(
    error: type[NoAnswerError],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fails(*_: object) -> None:
        raise error("the sheet found no equilibrium in 80 steps")

    monkeypatch.setattr(membrane_report, "best_placement", fails)
    assert run(["handout", "why-the-middle-moves", "-o", str(tmp_path / "x.pdf")]) == 1
    printed = capsys.readouterr().err
    assert printed == "sheetmark: no answer: the sheet found no equilibrium in 80 steps\n"
    assert not list(tmp_path.iterdir())


@pytest.mark.usefixtures("coarse_membrane")
def test_where_the_rule_is_the_most_even_it_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    report = report_on(make_plan(Case(treat=(Tooth(1, 6),))))
    strains = report.strains | {"best": report.strains["rule"]}
    monkeypatch.setattr(membrane_report, "report_on", lambda _: replace(report, strains=strains))
    page = read_first_page(handout_pdf("why-the-middle-moves"))
    assert "The most even place found is the rule's own." in " ".join(page.text.split())
    written = [w.text for w in page.texts if w.text.startswith("Unevenness 0")]
    assert written[1] == written[2] != written[0]


@pytest.mark.parametrize(
    ("rule", "wording"),
    [
        ("rule", "pulls more evenly than the centred one"),
        ("best", "pulls more evenly than the centred one"),
        ("centred", "pulls about as evenly as the centred one"),
    ],
)
def test_what_the_model_cannot_tell_apart_is_called_alike(
    rule: Placed, wording: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    report = report_on(make_plan(Case(treat=(Tooth(1, 6),))))
    strains = report.strains | {"rule": report.strains[rule]}
    monkeypatch.setattr(membrane_report, "report_on", lambda _: replace(report, strains=strains))
    page = read_first_page(handout_pdf("why-the-middle-moves"))
    text = " ".join(page.text.split())
    assert wording in text
    assert "Differences in unevenness under 0.03 say nothing." in text


def test_a_rule_that_pulls_less_evenly_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    report = report_on(make_plan(Case(treat=(Tooth(1, 6),))))
    strains = report.strains | {"centred": report.strains["best"]}
    monkeypatch.setattr(membrane_report, "report_on", lambda _: replace(report, strains=strains))
    page = read_first_page(handout_pdf("why-the-middle-moves"))
    assert "pulls less evenly than the centred one" in " ".join(page.text.split())


@pytest.mark.parametrize("name", [name for name in HANDOUTS if name != "why-the-middle-moves"])
def test_other_handouts_load_no_membrane(name: str, tmp_path: Path) -> None:
    assert heavy_modules_loaded_by(["handout", name, "-o", str(tmp_path / "x.pdf")]) == set()


def _nearly(point: Point, places: Sequence[Point]) -> list[Point]:
    return [point for at in places if dist(at, point) < 0.01]


def _along(line: Line, word: Word) -> Point:
    """The line's point nearest to a word."""
    (x0, y0), (x1, y1) = line.start, line.end
    x, y = word.middle
    length = (x1 - x0) ** 2 + (y1 - y0) ** 2
    share = min(max(((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length, 0.1), 0.95)
    return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
