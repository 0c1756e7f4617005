"""`sheetmark check PHOTO`: what it prints, writes and refuses."""

from __future__ import annotations

import csv
import json
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from sheetmark.anatomy.teeth import Tooth
from sheetmark.case.case import Case
from sheetmark.checking.exercise import Exercise, ExercisePage, exercise_json
from sheetmark.checking.wanted import wanted_of
from sheetmark.cli.app import run
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.plan.make import make_plan
from tests.helpers.check_scenes import holes_of, scene_of, see_once
from tests.helpers.drawn_pages import IGNORE, cross_at, drawn_scene
from tests.helpers.photographs import Camera, photograph
from tests.helpers.readback import read_pdf
from tests.helpers.schemas import check_schema

Output = pytest.CaptureFixture[str]
PLAN = make_plan(Case(treat=(Tooth(1, 6),)))
SMALL = Camera(height_mm=290.0, megapixels=1.2, tilt_deg=4.0)


@pytest.fixture(autouse=True)
def looked_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is seen in a photograph does not hang on what is asked of it afterwards."""
    monkeypatch.setattr("sheetmark.jobs.check.see_sheet", see_once)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """14 lies 2.5 mm off; 17 is missing; one hole is too many."""
    _, second, third, fourth = holes_of(PLAN)
    moved = (fourth[0] + 1.5, fourth[1] + 2.0, fourth[2])
    holes = (second, third, moved, (30.0, -25.0, 2.0))
    path = tmp_path_factory.mktemp("photographs") / "sheet.jpg"
    path.write_bytes(photograph(scene_of(PLAN, holes=holes, camera=SMALL)))
    return path


def test_the_check_is_printed_and_written(sheet: Path, tmp_path: Path, capsys: Output) -> None:
    outputs = [tmp_path / name for name in ("report.pdf", "report.json", "report.png")]
    typed = [word for path in outputs for word in ("-o", str(path))]
    assert run(["check", str(sheet), "16", *typed]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Not as planned: 17 missing; 14 out of place; 1 too many.\n")
    assert "1.5 mm to the patient's left, 2.0 mm towards the nose" in out
    assert err.splitlines() == [f"wrote {path}" for path in outputs]

    data = json.loads(outputs[1].read_text("utf-8"))
    check_schema(data)
    assert data["good"] is False
    found = {hole["tooth"]: hole["found"] for hole in data["holes"]}
    assert found["17"] is None
    assert found["14"]["off_mm"] == pytest.approx([1.5, 2.0], abs=0.1)
    assert found["14"]["own_mm"] > 1.5
    assert found["16"]["distance_mm"] < 0.1
    assert found["16"]["uncertain_mm"] >= 0.1
    (extra,) = data["extra"]
    assert (extra["x_mm"], extra["y_mm"]) == pytest.approx((30.0, -25.0), abs=0.1)

    (page,) = read_pdf(outputs[0].read_bytes())
    text = " ".join(page.text.split())
    assert "Not as planned: 17 missing; 14 out of place; 1 too many." in text
    assert all(caution in text for caution in (*CAUTIONS, RESPONSIBILITY))
    # At true scale: the ring round 14's place, and the found hole 2.5 mm off it.
    rings = [c for c in page.circles if c.diameter == pytest.approx(4.0, abs=0.01) and c.line]
    discs = [c for c in page.circles if c.filled]
    assert len(rings) == 4
    gaps = sorted(
        min(abs(complex(*disc.centre) - complex(*ring.centre)) for ring in rings) for disc in discs
    )
    assert gaps == pytest.approx([0.0, 0.0, 2.5], abs=0.12)

    with Image.open(BytesIO(outputs[2].read_bytes())) as picture:
        assert picture.size == pytest.approx((1114, 1114), abs=3)


def test_a_plans_file_takes_the_place_of_teeth(sheet: Path, tmp_path: Path, capsys: Output) -> None:
    plan = tmp_path / "case.json"
    assert run(["overlay", "16", "-o", str(plan)]) == 0
    capsys.readouterr()
    assert run(["check", str(sheet), "--plan", str(plan), "-q"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Not as planned: 17 missing; 14 out of place; 1 too many.\n")
    assert err == ""
    assert run(["check", str(sheet), "16", "--plan", str(plan)]) == 2
    assert "name either a plan, or teeth" in capsys.readouterr().err


def test_the_tolerance_is_the_practices_until_another_is_typed(
    sheet: Path, tmp_path: Path, capsys: Output
) -> None:
    """14 lies 2.5 mm off."""
    practice = tmp_path / "practice.toml"
    practice.write_text('format = "sheetmark-practice/1"\n[check]\ntolerance_mm = 3\n')
    typed = ["check", str(sheet), "16", "--practice", str(practice)]
    assert run(typed) == 0
    assert capsys.readouterr().out.startswith("Not as planned: 17 missing; 1 too many.\n")
    assert run([*typed, "--tolerance", "2"]) == 0
    assert "14 out of place" in capsys.readouterr().out


def test_another_sheet_than_the_pages_is_refused(sheet: Path, capsys: Output) -> None:
    assert run(["check", str(sheet), "16", "--sheet", "127"]) == 2
    err = capsys.readouterr().err
    assert "this is the check page for a sheet of 152 x 152 mm" in err
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("typed", "wording"),
    [
        (["gone.jpg", "16"], "gone.jpg: cannot be read"),
        (["text.jpg", "16"], "text.jpg: cannot be read as a photograph"),
        (["small.png", "16"], "at least 800"),
        (["text.jpg", "16", "36"], "check one jaw at a time"),
        (["text.jpg", "16", "--plan", "text.jpg"], "not both"),
        (["text.jpg", "--plan", "text.jpg"], "no JSON"),
        (["text.jpg", "16", "--tolerance", "9"], "tolerance 9 mm: must be 0.5 to 5 mm"),
        (["text.jpg", "16", "--exercise", "text.jpg"], "it has its own teeth"),
        (["x.jpg", "--exercise", "x.json", "--tolerance", "2"], "it has its own tolerance"),
        (["text.jpg", "--exercise", "text.jpg", "-o", "m.pdf"], "must end in .csv"),
        (["text.jpg", "16", "-o", "report.svg"], "must end in .pdf, .json or .png"),
    ],
)
def test_bad_input_gives_one_line_and_no_file(
    typed: list[str],
    wording: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: Output,
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "text.jpg").write_text("no photograph")
    Image.new("RGB", (640, 480)).save(tmp_path / "small.png")
    assert run(["check", *typed]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("sheetmark: error: ")
    assert wording in line
    assert len(list(tmp_path.iterdir())) == 2


def test_a_class_is_marked_in_one_go(tmp_path: Path, capsys: Output) -> None:
    rng = np.random.default_rng(3)
    wanted = wanted_of(PLAN)
    page = ExercisePage(code=5, name="1 of 1: 16", notation="iso", holes=wanted.holes)
    exercise = Exercise(sheet=PLAN.sheet, pages=(page,), ignore_mm=IGNORE)
    (tmp_path / "exercise.json").write_bytes(exercise_json(exercise))
    strokes = [
        stroke
        for hole, off in zip(wanted.holes, (0.3, 0.0, 3.2, 0.0), strict=True)
        for stroke in cross_at(hole.at.x, hole.at.y + off, rng)
    ]
    folder = tmp_path / "class"
    folder.mkdir()
    (folder / "anna.jpg").write_bytes(photograph(drawn_scene(exercise, 5, strokes, camera=SMALL)))
    (folder / "=b.jpg").write_text("no photograph")
    table = tmp_path / "marks.csv"
    typed = ["check", str(folder), "--exercise", str(tmp_path / "exercise.json"), "-o", str(table)]
    assert run(typed) == 0
    out, err = capsys.readouterr()
    assert out == "anna.jpg: 1 of 1: 16: 3 of 4 in place\n"
    assert "=b.jpg: " in err
    assert "0x" not in err, "no place in memory"
    rows = list(csv.DictReader(table.read_text("utf-8-sig").splitlines()))
    assert [row["file"] for row in rows] == ["'=b.jpg", "anna.jpg"]
    assert rows[1]["in place"] == "3"
    assert rows[1]["out of place"] == "15"
    assert rows[1]["missing"] == rows[1]["for the teacher"] == ""
    assert float(rows[1]["worst mm"]) == pytest.approx(3.2, abs=0.35)
    assert "cannot be read as a photograph" in rows[0]["note"]
    picture = tmp_path / "marks-pictures" / "anna.jpg.png"
    with Image.open(picture) as image:
        assert min(image.size) > 1000
    capsys.readouterr()
    assert run(["check", str(folder / "=b.jpg"), *typed[2:4]]) == 2
    assert "no photograph could be marked" in capsys.readouterr().err
