"""`sheetmark strain` and `--shift`: words, JSON, picture, refusals, and what stays unloaded."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast, get_args
from xml.etree import ElementTree

import numpy as np
import pytest
from msgspec.structs import replace
from pdfminer.high_level import extract_text
from pypdf import PdfReader
from shapely import LinearRing, box
from shapely import Point as ShapelyPoint
from shapely import Polygon as Outline

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import NoAnswerError
from sheetmark.case.case import Case
from sheetmark.cli import app
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.documents.figures.strain import strain_picture
from sheetmark.documents.figures.strain_key import COLOURS, LEVELS
from sheetmark.plan.holes import TWO_STRETCHES
from sheetmark.plan.make import make_plan
from sheetmark.practice.materials import materials
from sheetmark.practice.settings import Practice
from sheetmark.render.pdf import render_pdf
from sheetmark.render.svg import render_svg
from sheetmark.studies.membrane import report as report_module
from sheetmark.studies.membrane.report import SOURCES, Placed, Report, report_on
from sheetmark.typesetting.marks import Document, Line, Polygon, Text
from tests.helpers.commands import heavy_modules_loaded_by
from tests.helpers.membrane_sheets import COARSE
from tests.helpers.schemas import check_schema, wrong


@pytest.fixture(scope="module")
def report() -> Report:
    return report_on(make_plan(Case(treat=(Tooth(1, 6),))), density=COARSE)


@pytest.fixture(scope="module")
def pictures(report: Report) -> dict[Placed, Document]:
    """The picture of each placement."""
    return {placed: strain_picture(report, placed) for placed in get_args(Placed)}


def run(*arguments: str) -> int:
    return app.run(list(arguments))


@pytest.mark.usefixtures("coarse_membrane")
def test_the_command_tells_and_writes_all_three_formats(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    paths = [tmp_path / f"case.{ending}" for ending in ("json", "pdf", "svg")]
    assert run("strain", "16", *(word for path in paths for word in ("-o", str(path)))) == 0
    printed = capsys.readouterr()
    assert [line.split()[0] for line in printed.out.splitlines()[:1]] == ["centred"]
    assert "evenness of the pull" in printed.out
    assert "stretch at the rim of 17" in printed.out
    assert "strip 17-16 mm 7.8 to 2.6" in printed.out
    assert "not clinical forces" in printed.err
    assert TWO_STRETCHES in printed.err
    data: dict[str, Any] = json.loads(paths[0].read_text("utf-8"))
    check_schema(data)
    assert wrong("strain", data | {"placements": {"rule": data["placements"]["rule"]}})
    assert data["format"] == "sheetmark-strain/1"
    assert data["command"] == "sheetmark strain 16"
    assert list(data["placements"]) == list(get_args(Placed))
    for placed in data["placements"].values():
        assert len(placed["shift_mm"]) == 2
        pulls = [pull["newton"] for pull in placed["pull"]]
        assert all(set(pull) == {"x_mm", "y_mm", "newton"} for pull in placed["pull"])
        assert placed["evenness"] == pytest.approx(np.std(pulls) / np.mean(pulls), abs=1e-5)
        assert list(placed["rim_stretch"]) == ["17", "16", "15", "14"]
        assert placed["strips"][0]["teeth"] == ["17", "16"]
    assert data["placements"]["centred"]["shift_mm"] == [0, 0]
    assert set(data["solver"]) >= {"free_nodes", "iterations", "residual"}
    assert data["solver"]["residual"] <= 1e-8
    assert paths[1].read_bytes().startswith(b"%PDF-1.7")
    assert b"<svg" in paths[2].read_bytes()


@pytest.mark.usefixtures("coarse_membrane")
def test_a_sheet_stretched_beyond_its_break_is_warned_of(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as weaker:
        # The same sheets, solved once for this module, of rubber that breaks sooner.
        latex = replace(materials()["latex"], stretch_at_break=5.0)
        weaker.setattr(report_module, "materials", lambda: {"latex": latex})
        assert run("strain", "16") == 0
    assert "warning: centred: stretched beyond the break in this model" in capsys.readouterr().err
    assert run("strain", "16") == 0
    assert "warning" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        (["--thickness", "9"], "thickness 9 mm: must be 0.1 to 0.5 mm"),
        (["--thickness", "fat"], "thickness 'fat': not a number; use thin, medium"),
        (["--modulus", "nan"], "modulus nan MPa: must be 0.05 to 5 MPa"),
        (["--frame", "width 1000"], "frame width 1000 mm: must be 60 to 300 mm"),
        (["--frame", "points 7"], "frame points 7: must be an even number"),
        (["--frame", "points 8.5"], "frame points 8.5: must be a whole number"),
        (["--frame", "shoe 9"], "frame 'shoe 9': use one of width, top, bottom"),
        (["--frame", "width"], "frame width '': not a number"),
        (["--show", "worst"], "show 'worst': use one of centred, rule, best"),
        (["-o", "case.docx"], "must end in .pdf, .svg or .json"),
        (["--for", "crowns"], "procedure 'crowns'"),
        (["--missing", "16"], "tooth 16: listed as missing and as treated"),
    ],
)
def test_bad_input_is_one_line_and_exit_2(
    arguments: list[str],
    problem: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("strain", "16", *arguments) == 2
    errors = capsys.readouterr().err.strip().splitlines()
    assert len(errors) == 1
    assert problem in errors[0]
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    "arguments", [["strain", "16"], ["overlay", "16", "--shift", "even"]], ids=["strain", "even"]
)
def test_a_solve_that_fails_says_so_and_writes_nothing(
    arguments: list[str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    from sheetmark.studies.membrane import placement

    def fails(*_: object) -> None:
        raise NoAnswerError("the sheet found no equilibrium in 80 steps")

    monkeypatch.setattr(placement, "best_placement", fails)
    monkeypatch.setattr(report_module, "best_placement", fails)
    assert run(*arguments, "-o", str(tmp_path / "case.pdf")) == 1
    error = capsys.readouterr().err
    assert error == "sheetmark: no answer: the sheet found no equilibrium in 80 steps\n"
    assert not list(tmp_path.iterdir())


def test_the_recipe_names_what_was_changed(report: Report) -> None:

    changed = replace(
        report,
        frame=replace(report.frame, tilt_deg=55.0),
        rubber=replace(report.rubber, thickness_mm=0.3, modulus_mpa=0.5),
    )
    assert changed.command == (
        "sheetmark strain 16 --frame 'tilt 55.0' --thickness 0.3 --modulus 0.5"
    )


def test_the_colours_grow_darker_step_by_step_and_stay_off_red_against_green() -> None:
    light = [0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in np.array(COLOURS) ** 2.2]
    steps = -np.diff(np.cbrt(light))
    assert len(COLOURS) == len(LEVELS) + 1
    assert steps.min() > 0.06, "each step can be told in grey"
    for red, green, _ in COLOURS:
        assert abs(red - green) < 0.2


@pytest.mark.parametrize("placed", get_args(Placed))
def test_the_picture_says_what_it_leaves_out(
    pictures: dict[Placed, Document], placed: Placed
) -> None:
    pdf = render_pdf(pictures[placed])
    (page,) = PdfReader(BytesIO(pdf)).pages
    assert float(page.mediabox.width) == pytest.approx(297 * 72 / 25.4, abs=0.01)
    wording = " ".join(extract_text(BytesIO(pdf)).split())
    for text in (
        "Left out: lips, cheeks, friction",
        TWO_STRETCHES,
        "For comparing placements, not clinical forces.",
        "Not to scale, not for marking.",
        RESPONSIBILITY,
        "sheetmark strain 16",
    ):
        assert text in wording
    assert all(caution in wording for caution in CAUTIONS)
    assert all(source in wording for source in SOURCES)
    assert "stretch at break: Jariyapongpaiboon" in wording


def shapes(marks: Sequence[object], name: str) -> list[Polygon]:
    return [mark for mark in marks if isinstance(mark, Polygon) and mark.name == name]


def test_the_picture_shows_the_sheet_its_pulls_and_its_contours(
    report: Report, pictures: dict[Placed, Document]
) -> None:
    (page,) = pictures["rule"].pages
    texts = [mark for mark in page.marks if isinstance(mark, Text)]
    pulls = [mark.text for mark in texts if mark.name == "pull"]
    assert pulls == [f"{pull.newton:.1f}" for pull in report.strains["rule"].pull]
    rims = [mark.text for mark in texts if mark.name == "tooth-17"]
    assert rims == ["17", f"17 {report.strains['rule'].rim_stretch['17']:.1f}"]
    assert {mark.text for mark in texts if mark.name.startswith("level-")} >= {"1.1", "1.25", "2"}
    coloured = shapes(page.marks, "sheet")
    assert {shape.colour for shape in coloured} == set(COLOURS)
    # Both pictures' coloured pieces fill the sheet at its two scales.
    rest = [s for s in coloured if max(x for x, _ in s.points) < page.width / 2]
    (edge, _) = shapes(page.marks, "edge")
    side = max(x for x, _ in edge.points) - min(x for x, _ in edge.points)
    share = sum(area(shape.points) for shape in rest) / side**2
    assert share == pytest.approx(report.strains["rule"].sheet_mm2 / 152**2, rel=1e-3)
    for mark in page.marks:
        for x, y in mark.points if isinstance(mark, Polygon) else ():
            assert 5 < x < page.width - 5
            assert 5 < y < page.height - 5


@pytest.mark.parametrize("placed", get_args(Placed))
def test_no_word_covers_the_edge_or_a_frame_point(
    report: Report, pictures: dict[Placed, Document], placed: Placed
) -> None:
    (page,) = pictures[placed].pages
    grounds = [mark.points for mark in shapes(page.marks, "ground")]
    rest, stretched = (LinearRing(edge.points) for edge in shapes(page.marks, "edge"))
    boxes = [box(*min(points), *max(points)) for points in grounds]
    assert len(boxes) > 12 + 8
    assert all(label.distance(other) > 0.3 for label in boxes for other in (rest, stretched))
    # The frame's points, by the scale of the sheet at rest.
    sheet = report.sheets[placed]
    x0, _, x1, _ = rest.bounds
    scale, middle = (x1 - x0) / 152.0, rest.centroid
    for rim in sheet.laid.hook_rims:
        x, y = sheet.laid.mesh.rest[rim].mean(axis=0) * scale
        hook = ShapelyPoint(middle.x + x, middle.y + y).buffer(1.5 * scale)
        assert all(hook.distance(label) > 0.3 for label in boxes)


def test_right_and_left_stand_beside_both_pictures(report: Report) -> None:
    (page,) = strain_picture(report).pages
    letters = [
        mark for mark in page.marks if isinstance(mark, Text) and mark.name.startswith("side")
    ]
    assert [mark.text for mark in letters] == ["R", "L", "R", "L"]
    for edge, (right, left) in zip(
        shapes(page.marks, "edge"), (letters[:2], letters[2:]), strict=True
    ):
        xs = [x for x, _ in edge.points]
        assert right.at[0] + right.width / 2 < min(xs)
        assert left.at[0] - left.width / 2 > max(xs)


def test_numbers_of_the_picture_take_a_decimal_comma() -> None:
    plan = make_plan(Case(treat=(Tooth(1, 6),)), None, Practice(numbers="comma"))
    (page,) = strain_picture(report_on(plan, density=COARSE)).pages
    wording = [mark for mark in page.marks if isinstance(mark, Text)]
    numbers = [mark.text for mark in wording if mark.name in ("legend", "pull", "figure")]
    assert {"1,1", "4,5"} <= set(numbers)
    assert not [text for text in numbers if re.search(r"\d\.\d", text)]
    assert "under 0,03 say nothing" in " ".join(mark.text for mark in wording)


def area(points: Sequence[tuple[float, float]]) -> float:
    x, y = np.array(points).T
    return float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)


def test_the_svg_carries_the_same_colours(pictures: dict[Placed, Document]) -> None:
    root = ElementTree.fromstring(render_svg(pictures["best"]))
    fills = {
        element.get("fill")
        for element in root.iter("{http://www.w3.org/2000/svg}polygon")
        if element.get("data-name") == "sheet"
    }
    expected = {f"rgb({','.join(str(round(255 * c)) for c in rgb)})" for rgb in COLOURS}
    assert fills == expected


def test_the_overlay_takes_the_even_place_and_says_so(
    tmp_path: Path, report: Report, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "case.json"
    pdf = tmp_path / "case.pdf"
    assert run("overlay", "16", "--shift", "even", "-o", str(path), "-o", str(pdf)) == 0
    plan = json.loads(path.read_text("utf-8"))
    assert plan["sheet"]["shift_mm"] == pytest.approx(report.search.shift_mm)
    assert plan["settings"]["even"] is True
    assert plan["command"] == "sheetmark overlay 16 --shift even"
    assert "where the computed pull is most even" in " ".join(extract_text(pdf).split())


@pytest.mark.parametrize(
    ("arguments", "shift"),
    [
        (["--shift", "rule"], None),
        (["--shift", "none"], [0.0, 0.0]),
        (["--no-shift"], [0.0, 0.0]),
        (["--shift", "none", "--no-shift"], [0.0, 0.0]),
    ],
)
def test_the_other_shifts_need_no_membrane(
    arguments: list[str], shift: list[float] | None, tmp_path: Path
) -> None:
    path = tmp_path / "case.json"
    assert run("overlay", "16", *arguments, "-o", str(path)) == 0
    plan = json.loads(path.read_text("utf-8"))
    rule = make_plan(Case(treat=(Tooth(1, 6),))).shift_mm
    assert plan["sheet"]["shift_mm"] == pytest.approx(shift or rule)
    assert plan["settings"]["even"] is False


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        (["--shift", "far"], "shift 'far': use one of rule, even, none"),
        (["--shift", "even", "--no-shift"], "shift 'even': contradicts --no-shift"),
    ],
)
def test_a_shift_that_is_none_or_two_is_refused(
    arguments: list[str], problem: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("overlay", "16", *arguments) == 2
    assert problem in capsys.readouterr().err


def test_a_plain_overlay_loads_none_of_it(tmp_path: Path) -> None:
    assert heavy_modules_loaded_by(["overlay", "16", "-o", str(tmp_path / "case.pdf")]) == set()


@pytest.mark.parametrize("placed", get_args(Placed))
def test_no_word_covers_the_holes(
    report: Report, pictures: dict[Placed, Document], placed: Placed
) -> None:
    """Round the necks of the stretched sheet, where one looks; a line leads to each word."""
    (page,) = pictures[placed].pages
    grounds = [box(*min(m.points), *max(m.points)) for m in shapes(page.marks, "ground")]
    necks = [
        Outline(mark.points).centroid
        for mark in page.marks
        if isinstance(mark, Polygon) and mark.name.startswith("neck-")
    ]
    assert len(necks) == len(report.plan.holes)
    assert all(ground.distance(neck) > 6.5 for ground in grounds for neck in necks)
    leaders = [m for m in page.marks if isinstance(m, Line) and m.name.startswith("leader-")]
    assert len(leaders) == 2 * len(necks)


def test_a_margin_under_1_looks_so() -> None:
    def shown(margin: float) -> str:
        report = cast(Report, SimpleNamespace(margin=lambda _: margin))
        return Report.margin_shown(report, "rule")

    assert [shown(margin) for margin in (0.96, 1.0, 1.08)] == ["0.9", "1.0", "1.0"]


def test_no_figure_is_finer_than_two_starts_agree(
    coarse_membrane: None, capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.run(["strain", "16"]) == 0
    printed = capsys.readouterr().out
    for head in ("largest stretch", "stretch at break over it", "stretch at the rim of 17"):
        (line,) = [line for line in printed.splitlines() if line.startswith(head)]
        assert re.fullmatch(r"( +\d+\.\d){3}", line.removeprefix(head)), line
