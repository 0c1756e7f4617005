"""`sheetmark arch list` and `sheetmark arch show`. Lengths in mm."""

from __future__ import annotations

import re
from itertools import pairwise
from math import dist
from pathlib import Path

import pytest

from sheetmark.anatomy.arch_model import load_model, model_names
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.sources import MEANING
from sheetmark.cli.app import run
from tests.helpers.commands import heavy_modules_loaded_by
from tests.helpers.model_files import changed, shipped, with_curve, written

every_model = pytest.mark.parametrize("name", model_names())
Capture = pytest.CaptureFixture[str]


def output(capsys: Capture, *arguments: str) -> str:
    assert run(["arch", *arguments]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    return captured.out


def refusal(capsys: Capture, *arguments: str) -> str:
    """The one line on stderr of a command that must fail with the input's exit code."""
    assert run(["arch", *arguments]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("sheetmark: error: ")
    assert captured.err.count("\n") == 1
    return captured.err.removeprefix("sheetmark: error: ").rstrip("\n")


def blocks(text: str) -> dict[str, list[str]]:
    """The lines of what `show` prints by their heading, without it; jaws as `upper: width`."""
    found: dict[str, list[str]] = {}
    jaw = heading = ""
    for line in text.splitlines():
        if re.fullmatch(r"(upper|lower) jaw", line):
            jaw = line.split()[0]
        elif not line.startswith("  "):
            jaw, heading = "", line
            found[heading] = []
        elif re.match(r"  (tooth|pitch|width|depth|curve|out of reach)\b", line):
            heading = f"{jaw}: {' '.join(line.split())}"
            found[heading] = []
        else:
            found[heading].append(line.strip())
    return found


def block(text: str, jaw: Jaw, beginning: str) -> list[list[str]]:
    lines = [rows for head, rows in blocks(text).items() if head.startswith(f"{jaw}: {beginning}")]
    assert len(lines) == 1
    return [line.split(maxsplit=4) for line in lines[0]]


def test_list_names_each_model_with_its_title(capsys: Capture) -> None:
    lines = output(capsys, "list").splitlines()
    assert [line.split(maxsplit=1) for line in lines] == [
        [name, load_model(name).title] for name in model_names()
    ]
    assert {"adult-mean", "adult-male", "adult-female"} <= {line.split()[0] for line in lines}


@every_model
@pytest.mark.parametrize("jaw", JAWS)
def test_show_prints_every_width_with_source_and_flag(capsys: Capture, name: str, jaw: Jaw) -> None:
    model = load_model(name)
    rows = block(output(capsys, "show", name), jaw, "tooth width SD source, flag")
    assert [row[0] for row in rows] == list(model.jaw(jaw).row)
    for tooth, mm, sd_mm, source, flag_and_note in rows:
        width, _ = model.width(jaw, tooth)
        assert float(mm) == width.mm
        assert sd_mm == (f"{width.sd_mm:.2f}" if width.sd_mm else "-")
        assert source == f"{width.source},"
        note = f" ({width.note})" if width.note else ""
        assert flag_and_note == width.flag + note


@every_model
@pytest.mark.parametrize("jaw", JAWS)
def test_show_prints_pitches_widths_and_depths_as_laid(
    capsys: Capture, name: str, jaw: Jaw
) -> None:
    model = load_model(name)
    text = output(capsys, "show", name)
    arch = build_arch(model, jaw)
    half = [place for place in arch.places if place.tooth.side == "left"]
    row = model.jaw(jaw).row

    midline, *pitches = block(text, jaw, "pitch between neighbouring gum-line centres (derived")
    assert midline[:4] == [f"{row[0]}-{row[0]}", "across", "the", "midline"]
    assert float(midline[4]) == pytest.approx(2 * half[0].centre[0], abs=0.0051)
    assert [pitch[0] for pitch in pitches] == [f"{first}-{other}" for first, other in pairwise(row)]
    for pitch, (first, other) in zip(pitches, pairwise(half), strict=True):
        assert float(pitch[1]) == pytest.approx(dist(first.centre, other.centre), abs=0.0051)

    widths = block(text, jaw, "tooth given SD laid source, flag")
    assert [width[0] for width in widths] == [w.tooth for w in model.jaw(jaw).centre_widths]
    laid = {place.tooth.slot: 2 * place.centre[0] for place in half}
    for (tooth, given, sd_mm, shown, source), stated in zip(
        widths, model.jaw(jaw).centre_widths, strict=True
    ):
        assert float(given) == pytest.approx(stated.mm, abs=0.0051)
        assert sd_mm == (f"{stated.sd_mm:.2f}" if stated.sd_mm else "-")
        assert source.startswith(f"{stated.source}, {stated.flag}")
        if tooth in laid:
            assert float(shown) == pytest.approx(laid[tooth], abs=0.0051)
        else:
            assert shown == "-"  # a tooth still to come

    depths = block(text, jaw, "tooth gum line contacts")
    assert [depth[0] for depth in depths] == list(row)
    for depth, place in zip(depths, half, strict=True):
        for shown, point in zip(depth[1:], (place.centre, place.contact), strict=True):
            expected = abs(arch.incisal_y_mm - point.y)
            assert float(shown) == pytest.approx(expected, abs=0.0051)


@every_model
def test_show_spells_out_every_source_and_flag_it_names(capsys: Capture, name: str) -> None:
    text = output(capsys, "show", name)
    listed = dict(line.split(": ", 1) for line in blocks(text)["Sources"])
    named = set(re.findall(r"([\w-]+), (?:S2?|M|D|assumption)\b", text.split("\nSources")[0]))
    assert len(named) >= 2
    assert named <= set(listed)
    assert load_model(name).sources.items() <= listed.items()
    assert gum_line_table().sources.items() <= listed.items()
    for flag, wording in MEANING.items():
        assert f"{flag} {wording}" in text


def test_show_gives_the_source_of_a_row_that_another_model_lends(
    capsys: Capture, tmp_path: Path
) -> None:
    own = shipped("age-6")
    (line,) = [line for line in own.splitlines(keepends=True) if line.startswith("moorrees-1957 =")]
    path = written(tmp_path, changed(own, line, ""))
    assert "moorrees-1957" not in load_model(path).sources
    listed = blocks(output(capsys, "show", path))["Sources"]
    assert f"moorrees-1957: {load_model('primary').sources['moorrees-1957']}" in listed


def test_show_takes_a_file(capsys: Capture, tmp_path: Path) -> None:
    path = written(tmp_path, shipped())
    assert output(capsys, "show", path) == output(capsys, "show", "adult-mean")


def test_show_names_the_curve_of_an_older_file(capsys: Capture, tmp_path: Path) -> None:
    text = output(capsys, "show", written(tmp_path, with_curve()))
    (line,) = [line for line in text.splitlines() if line.startswith("  curve ")]
    assert line == "  curve sixth-order: a = 1.31304e-07, b = 0.0237094; moorrees-1957, D"
    assert "  curve " not in output(capsys, "show", "adult-mean")


def test_show_names_the_width_that_the_teeth_cannot_reach(capsys: Capture, tmp_path: Path) -> None:
    text = output(capsys, "show", written(tmp_path, changed(shipped(), "mm = 35.65", "mm = 30.65")))
    (line,) = [line for line in text.splitlines() if "out of reach" in line]
    assert line == "  out of reach of these teeth: tooth 4, laid 1.59 wider"


def test_an_unknown_model_is_one_line(capsys: Capture) -> None:
    line = refusal(capsys, "show", "adult-meen")
    assert line.startswith("arch model 'adult-meen': unknown; use ")
    assert "adult-mean" in line


def test_a_broken_model_file_is_one_line(capsys: Capture, tmp_path: Path) -> None:
    path = written(tmp_path, changed(shipped(), "mm = 8.59", "mm = 80"))
    assert refusal(capsys, "show", path).startswith(
        f"{path}: upper.mesiodistal[0].mm = 80: must be at most 16; "
    )


def test_a_curve_that_ends_before_the_teeth_is_one_line(capsys: Capture, tmp_path: Path) -> None:
    # The lower jaw fails: nothing of the upper one is printed first.
    beta = 'form = "beta"\nwidth_mm = 50\ndepth_mm = 30\nsource = "moorrees-1957"\nflag = "M"\n'
    path = written(tmp_path, f"{shipped()}\n[lower.curve]\n{beta}")
    assert refusal(capsys, "show", path).startswith("arch curve: it ends 25.0 mm from the midline")


def test_a_file_name_with_a_line_break_stays_one_line(capsys: Capture) -> None:
    assert "cannot be read" in refusal(capsys, "show", "no\nsuch.toml")


def test_show_lays_the_teeth_on_another_form_and_names_its_curve(capsys: Capture) -> None:
    text = output(capsys, "show", "adult-mean", "--curve", "catenary")
    curves = [line for line in text.splitlines() if line.startswith("  curve catenary: a_mm = ")]
    assert len(curves) == 2
    assert all(line.endswith("; musich-ackerman-1973, D") for line in curves)
    assert "Musich & Ackerman 1973" in text.split("\nSources")[1]
    # The form cannot carry all widths: what it gives stands beside what is given.
    rows = {row[0]: row for row in block(text, "upper", "tooth given SD laid source, flag")}
    given, shown = float(rows["3"][1]), float(rows["3"][3])
    assert given == 31.75
    assert shown == pytest.approx(29.27, abs=0.006)
    assert not [row for row in block(text, "upper", "tooth width SD source, flag") if row[0] == "8"]


def test_show_without_another_form_loads_no_numbers() -> None:
    assert heavy_modules_loaded_by(["arch", "show", "adult-mean"]) == set()
