"""`sheetmark arch coverage`: its tables, its page read back, its JSON, and input it refuses."""

from __future__ import annotations

import inspect
import json
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from sheetmark.anatomy.arch_model import load_model
from sheetmark.cli.app import run
from sheetmark.cli.coverage import command
from sheetmark.documents.cautions import DRAWING_CAUTIONS, RESPONSIBILITY
from sheetmark.documents.figures.coverage import coverage_page
from sheetmark.practice.settings import PAPERS
from sheetmark.render.pdf import render_pdf
from sheetmark.studies.coverage.patients import Correlations
from sheetmark.studies.coverage.study import (
    LIMITS_MM,
    NOTES,
    USUAL_MODELS,
    USUAL_PATIENTS,
    USUAL_SEED,
    study,
)
from tests.helpers.model_files import changed, shipped, written
from tests.helpers.readback import Circle, Drawing, Line, Outline, Word, read_pdf, read_svg
from tests.helpers.schemas import check_schema, wrong

Capture = pytest.CaptureFixture[str]
FEW = ("--patients", "400", "--seed", "5")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One run of the command with every kind of file."""
    folder = tmp_path_factory.mktemp("coverage")
    outputs = [word for end in ("pdf", "svg", "json") for word in ("-o", str(folder / f"c.{end}"))]
    assert run(["arch", "coverage", *FEW, *outputs]) == 0
    return folder


@pytest.fixture(scope="module")
def data(files: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((files / "c.json").read_text("utf-8"))
    check_schema(found)
    assert wrong("coverage", found | {"share_missed": {"upper": 1.1}})
    return found


@pytest.fixture(scope="module", params=["pdf", "svg"])
def page(request: pytest.FixtureRequest, files: Path) -> Drawing:
    content = (files / f"c.{request.param}").read_bytes()
    if request.param == "svg":
        return read_svg(content)
    (drawing,) = read_pdf(content)
    return drawing


def test_the_tables_are_those_of_the_json(capsys: Capture, data: dict[str, Any]) -> None:
    assert run(["arch", "coverage", *FEW]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    head, *tables = captured.out.rstrip("\n").split("\n\n")
    assert head.startswith("400 patients drawn from adult-mean, seed 5\n")
    for jaw in ("upper", "lower"):
        assert f"{jaw} {100 * data['share_missed'][jaw]:.1f} %" in head
    assert all(note in head for note in NOTES)
    assert "assumption" in head
    *served, sizes = tables
    assert [table.split(":")[0] for table in served] == list(USUAL_MODELS)
    expected = iter(data["served"])
    for table in served:
        for line in table.split("\n")[3:]:
            row = next(expected)
            figures = [*row["worst_pitch_mm"].values(), *row["worst_hole_mm"].values()]
            arguments = [row["jaw"], row["row"], *(f"{figure:.2f}" for figure in figures)]
            assert line.split() == [*arguments, *(f"{100 * s:.1f}" for s in row["share_within"])]
    assert next(expected, None) is None
    lines = sizes.split("\n")[3:]
    assert len(lines) == 12
    for number, line in enumerate(lines):
        for steps in data["size_steps"][2 * number : 2 * number + 2]:
            assert line.startswith(f"{steps['jaw']} {steps['row']} ")
            start = f"{len(steps['sizes_sd'])} (" if steps["enough"] else "none: at most "
            assert start in line
            assert f"{100 * steps['share']:.1f} %" in line


def test_the_same_command_writes_the_same_bytes(files: Path, tmp_path: Path) -> None:
    outputs = [
        word for end in ("pdf", "svg", "json") for word in ("-o", str(tmp_path / f"c.{end}"))
    ]
    assert run(["arch", "coverage", *FEW, *outputs]) == 0
    for end in ("pdf", "svg", "json"):
        assert (tmp_path / f"c.{end}").read_bytes() == (files / f"c.{end}").read_bytes()


def test_the_recipe_makes_the_same_study_again(tmp_path: Path) -> None:
    first, second = tmp_path / "first.json", tmp_path / "second.json"
    options = [
        "adult-male", "adult-large", "--population", "adult-male", "--patients", "300",
        "--seed", "9", "--teeth-correlation", "0.35", "--pair-correlation", "1",
        "--arch-correlation", "0.25", "--tooth-arch-correlation", "-0.125",
    ]  # fmt: skip
    assert run(["arch", "coverage", *options, "-o", str(first)]) == 0
    recipe = json.loads(first.read_text("utf-8"))["command"]
    arguments = recipe.split()
    assert arguments[0] == "sheetmark"
    assert run([*arguments[1:], "-o", str(second)]) == 0
    assert second.read_bytes() == first.read_bytes()
    other = [word if word != "0.35" else "0.3" for word in arguments[1:]]
    assert run([*other, "-o", str(second)]) == 0
    assert second.read_bytes() != first.read_bytes()


def test_the_options_have_the_defaults_of_the_study() -> None:
    options = inspect.signature(command).parameters
    usual = Correlations()
    assert options["patients"].default == USUAL_PATIENTS
    assert options["seed"].default == USUAL_SEED
    assert options["teeth_correlation"].default == usual.teeth
    assert options["pair_correlation"].default == usual.pair
    assert options["arch_correlation"].default == usual.arch
    assert options["tooth_arch_correlation"].default == usual.tooth_arch


def test_the_recipe_names_files_as_they_were_named(tmp_path: Path) -> None:
    mine = changed(shipped(), 'name = "adult-mean"', 'name = "mine"')
    path, out = written(tmp_path, mine, "my teeth.toml"), tmp_path / "c.json"
    options = [path, "--population", path, "--patients", "100", "-o", str(out)]
    assert run(["arch", "coverage", *options]) == 0
    data = json.loads(out.read_text("utf-8"))
    assert (data["models"], data["population"]) == (["mine"], "mine")
    assert data["command"] == (
        "sheetmark arch coverage 'my teeth.toml' --population 'my teeth.toml' "
        "--patients 100 --seed 1"
    )


def middle_of(mark: Circle | Outline) -> tuple[float, float]:
    if isinstance(mark, Circle):
        return mark.centre
    xs, ys = ([point[axis] for point in mark.points] for axis in (0, 1))
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)


def word_at(page: Drawing, text: str) -> Word:
    (word,) = [word for word in page.texts if word.text == text]
    return word


def test_symbols_stand_at_their_shares(page: Drawing, data: dict[str, Any]) -> None:
    """Each panel's ticks give its scale; each row's words its height; each key its shape."""
    assert (page.width, page.height) == pytest.approx((210, 297), abs=1e-3)
    foot = min(w.middle[1] for w in page.texts if w.text == "95")
    zeros, marks_75 = (
        sorted(w.middle[0] for w in page.texts if w.text == text and abs(w.middle[1] - foot) < 0.1)
        for text in ("0", "75")
    )
    assert len(zeros) == len(marks_75) == len(LIMITS_MM)
    marks = [m for m in page.found if isinstance(m, Circle | Outline) and shape(m) != "other"]
    compared = 0
    kinds = dict(
        zip(
            USUAL_MODELS, ("triangle down", "disc", "triangle up", "diamond", "square"), strict=True
        )
    )
    for row in data["served"]:
        label = word_at(page, f"{row['jaw']} {row['row']}")
        for panel, share in enumerate(row["share_within"]):
            left, wide = zeros[panel], (marks_75[panel] - zeros[panel]) / 0.75
            found = [
                mark
                for mark in marks
                if shape(mark) == kinds[row["model"]]
                and abs(middle_of(mark)[1] - label.middle[1]) < 4.2
                and abs(middle_of(mark)[0] - (left + share * wide)) < 0.02
            ]
            assert found, (row["model"], row["row"], panel)
            compared += 1
    assert compared == 5 * 12 * 3
    # As many as there are shares, and one more of each in the key.
    assert len(marks) == compared + len(USUAL_MODELS)


def shape(mark: Circle | Outline) -> str:
    if isinstance(mark, Circle):
        return "disc" if mark.filled else "ring"
    if mark.filled or mark.grey:
        return "other"
    ys = sorted(y for _, y in mark.points)
    if len(mark.points) == 3:
        return "triangle up" if ys[1] - ys[0] < 1e-3 else "triangle down"
    if len(mark.points) == 4:
        return "square" if ys[1] - ys[0] < 1e-3 else "diamond"
    return "other"


def test_curves_run_through_the_distribution(page: Drawing, data: dict[str, Any]) -> None:
    """The axis words give the scale; the lines of each curve are found by their first point."""
    rows = [row for row in data["served"] if row["model"] == "adult-mean"]
    lines = page.lines
    for jaw in ("upper", "lower"):
        head = word_at(page, f"{jaw} jaw")
        left = head.start[0]
        (zero, end) = (
            min(
                (w for w in page.texts if w.text == text and w.middle[1] < head.middle[1]),
                key=lambda w: abs(w.middle[0] - x),
            )
            for text, x in (("0", left), ("4", left + 80))
        )
        x0, per_mm = zero.middle[0], (end.middle[0] - zero.middle[0]) / 4
        levels = [
            w.middle[1]
            for text in ("0", "100")
            for w in page.texts
            if w.text == text and 0 < left - w.end[0] < 3 and w.middle[1] < head.middle[1] + 1
        ]
        y0, high = min(levels), max(levels) - min(levels)
        for row in (row for row in rows if row["jaw"] == jaw):
            points = [(0.0, 0.0)] + [
                (0.1 * (n + 1), share) for n, share in enumerate(row["distribution"])
            ]
            placed = [(x0 + x * per_mm, y0 + share * high) for x, share in points]
            for start, stop in pairwise(placed):
                assert any(is_line(line, start, stop) for line in lines), (row["row"], start)


def is_line(line: Line, start: tuple[float, float], end: tuple[float, float]) -> bool:
    return (
        abs(line.start[0] - start[0]) < 0.05
        and abs(line.start[1] - start[1]) < 0.05
        and abs(line.end[0] - end[0]) < 0.05
        and abs(line.end[1] - end[1]) < 0.05
    )


def test_the_page_says_what_it_rests_on(page: Drawing, data: dict[str, Any]) -> None:
    for wording in (*NOTES, *DRAWING_CAUTIONS, RESPONSIBILITY, "all assumptions", "seed 5"):
        assert wording in page.text, wording
    assert data["command"] in page.text
    assert "worst hole off its tooth, mm" in page.text
    for jaw in ("upper", "lower"):
        assert f"{jaw} {100 * data['share_missed'][jaw]:.1f} %" in page.text
    for steps in data["size_steps"]:
        if not steps["enough"]:
            assert f"none: {100 * steps['share']:.1f} %" in page.text


def test_no_labels_meet_or_leave_the_paper(page: Drawing) -> None:
    check_texts_apart(page)


def check_texts_apart(page: Drawing) -> None:
    boxes = []
    for word in page.texts:
        (x0, y), (x1, _) = word.start, word.end
        boxes.append((x0, y - 0.21 * word.size, x1, y + 0.66 * word.size, word.text))
        assert 10 - 1e-3 <= x0 < x1 <= page.width - 10 + 1e-3, word.text
        assert 10 - 1e-3 <= y < page.height - 10
    for number, (left, low, right, high, text) in enumerate(boxes):
        for x0, y0, x1, y1, other in boxes[:number]:
            overlap = min(right, x1) - max(left, x0), min(high, y1) - max(low, y0)
            assert min(overlap) < 0.05, (text, other)


def test_eight_models_with_long_names_fit_on_letter_paper(tmp_path: Path) -> None:
    names = [f"{'a-model-with-a-rather-long-name':.38}-{n}" for n in range(8)]
    models = [
        load_model(written(tmp_path, changed(shipped(), 'name = "adult-mean"', f'name = "{name}"')))
        for name in names
    ]
    done = study(models, load_model("adult-mean"), 100, 2**63 - 1)
    (drawing,) = read_pdf(render_pdf(coverage_page(done, PAPERS["letter"])))
    assert (drawing.width, drawing.height) == pytest.approx((215.9, 279.4), abs=1e-3)
    check_texts_apart(drawing)
    for name in names:
        assert word_at(drawing, name)


def refusal(capsys: Capture, *arguments: str) -> str:
    assert run(["arch", "coverage", *arguments]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("sheetmark: error: ")
    assert captured.err.count("\n") == 1
    return captured.err


@pytest.mark.parametrize(
    ("arguments", "wording"),
    [
        (["nosuch"], "arch model 'nosuch': unknown"),
        (["age-8"], "arch model age-8: no tooth 17"),
        (["adult-mean", "adult-mean"], "named twice"),
        (["--population", "adult-small"], "tooth 1 has no sd_mm"),
        (["--population", "nosuch"], "arch model 'nosuch'"),
        (["--patients", "0"], "patients 0: must be 1 to 200000"),
        (["--patients", "200001"], "patients 200001: must be 1 to 200000"),
        (["--patients", "many"], "'many'"),
        (["--seed", "-1"], "seed -1: must be 0 to 9223372036854775807"),
        (["--seed", "9" * 30], "must be 0 to 9223372036854775807"),
        (["--teeth-correlation", "2"], "correlation teeth 2: must be 0 to 1"),
        (["--pair-correlation", "0.2"], "correlation pair 0.2: must be at least"),
        (["--arch-correlation", "nan"], "correlation arch nan: must be 0 to 1"),
        (["--tooth-arch-correlation", "1"], "correlation tooth-arch 1: must be at most 0.500"),
        (["-o", "coverage.png"], "output 'coverage.png': must end in .pdf"),
        (["-o", "coverage"], "output 'coverage': must end in .pdf"),
        (["--paper", "a3"], "paper 'a3': use one of a4, letter"),
        ([*FEW, "-o", "nosuch/c.pdf"], "cannot be written"),
    ],
)
def test_bad_options_give_one_line(
    capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    arguments: list[str], wording: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert wording in refusal(capsys, *arguments)
    assert list(tmp_path.iterdir()) == []


def test_nothing_else_loads_numpy() -> None:
    program = (
        "import sys; from sheetmark.cli.app import run; code = run(sys.argv[1:]); "
        "print(code, 'numpy' in sys.modules, 'scipy' in sys.modules, file=sys.stderr)"
    )

    def loaded(*arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, "-c", program, *arguments], capture_output=True, text=True, check=True
        )
        return done.stderr.splitlines()[-1]

    assert loaded("arch", "list") == "0 False False"
    assert loaded("arch", "coverage", "--help") == "0 False False"
    assert loaded("arch", "coverage", "adult-mean", "--patients", "10") == "0 True True"
