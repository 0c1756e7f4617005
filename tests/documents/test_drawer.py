"""The drawer set, read back: every situation there once, each page true to a plan of its own."""

from __future__ import annotations

import re
from functools import cache
from math import dist
from pathlib import Path
from typing import Any, cast

import pytest

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.teeth import Notation
from sheetmark.cli.app import run
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.documents.sets.drawer import drawer
from sheetmark.practice.settings import Practice
from sheetmark.render.pdf import render_pdf
from tests.helpers.cases import LOWER, UPPER, json_of, mirror
from tests.helpers.commands import assert_refused
from tests.helpers.page_check import check_page, discs, label_of
from tests.helpers.readback import Drawing, read_first_page, read_pdf

PROCEDURES = ("restoration", "crown", "root-canal", "full-arch")
JAWS = [[iso for iso in chart if iso[1] != "8"] for chart in (UPPER, LOWER)]


@cache
def pages(
    paper: str = "a4", notation: Notation = "iso", *, both: bool = False
) -> tuple[tuple[Drawing, ...], tuple[Drawing, ...]]:
    """The index and the sheets of the usual set."""
    practice = Practice(paper=cast(Any, paper), notation=notation)
    document, _ = drawer([load_model("adult-mean")], practice, both_notations=both)
    read = read_pdf(render_pdf(document))
    index = tuple(page for page in read if "not to scale: index only" in page.text)
    return index, read[len(index) :]


def row_of(iso: str, procedure: str) -> list[str]:
    """The usual row by the published rules, in an adult mouth without gaps or third molars."""
    (jaw,) = (jaw for jaw in JAWS if iso in jaw)
    if procedure == "root-canal":
        return [iso]
    if procedure == "full-arch":
        return jaw
    at, p = jaw.index(iso), int(iso[1])
    if p <= 2:
        return [tooth for tooth in jaw if int(tooth[1]) <= 4]
    # Behind, where they stand: the first molar for a canine, two for a premolar, one for a molar.
    # In front: the opposite lateral incisor for a canine, else two.
    behind, ahead = {3: (3, 4), 4: (2, 2), 5: (2, 2)}.get(p, (1, 2))
    back, front = (behind, ahead) if at < 7 else (ahead, behind)
    return jaw[max(at - back, 0) : at + front + 1]


def teeth_of(page: Drawing) -> list[str]:
    """The teeth in the page's table, from left to right."""
    heads = [word for word in page.texts if word.text == "Tooth"]
    row = [w for w in page.texts if w.bold and abs(w.middle[1] - heads[0].middle[1]) < 1.0]
    row = [
        word for word in row if word.size == pytest.approx(4.8, abs=0.01) and word.text.isdigit()
    ]
    return [word.text for word in sorted(row, key=lambda word: word.middle[0])]


def served(page: Drawing) -> str:
    return page.text.partition(" Serves ")[2].partition(" Take care ")[0]


def plan_for(row: list[str]) -> dict[str, Any]:
    """The plan of any case with that row, as the set shows it: no tooth marked as treated."""
    cases = [(iso, p) for jaw in JAWS for iso in jaw for p in PROCEDURES if row_of(iso, p) == row]
    plan = json_of(cases[0][0], procedure=cast(Any, cases[0][1]))
    assert plan["isolated"] == row
    for hole in plan["holes"]:
        hole["role"] = "anchor" if hole["role"] == "anchor" else "exposed"
    return plan | {"treated": []}


def test_every_tooth_and_procedure_is_served_by_one_page() -> None:
    """By the table's row and by what the page says it serves; no page serves nothing."""
    _, sheets = pages()
    by_row = {tuple(teeth_of(page)): page for page in sheets}
    assert len(by_row) == len(sheets) == 52
    rows = set()
    for jaw in JAWS:
        for iso in jaw:
            for procedure in PROCEDURES:
                row = tuple(row_of(iso, procedure))
                wording = served(by_row[row])
                rows.add(row)
                line = re.search(
                    rf"{procedure.replace('-', ' ')}[^:]*: ([^:]*?)(?= \w+:| !|$)", wording
                )
                assert line, f"{procedure} {iso}: {wording}"
                named = line[1]
                assert iso in named or "any of its teeth" in named, f"{procedure} {iso}: {wording}"
    assert rows == by_row.keys()


@pytest.mark.parametrize(("paper", "notation"), [("a4", "iso"), ("letter", "palmer")])
def test_every_sheet_is_true_to_its_plan(paper: str, notation: Notation) -> None:
    _, sheets = pages(paper, notation)
    drawn = [page for page in sheets if "(continued)" not in page.text]
    _, named = pages()
    assert len(drawn) == len(named) == 52
    for page, same in zip(drawn, named, strict=True):
        plan = plan_for(teeth_of(same))
        practice = Practice(paper=cast(Any, paper))
        _on_paper(plan, practice, notation)
        check_page(page, plan)


def _on_paper(plan: dict[str, Any], practice: Practice, notation: str) -> None:
    width, height = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[practice.paper]
    middle = [width / 2, height - 20 - plan["sheet"]["height_mm"] / 2]
    plan["page"] |= {"width_mm": width, "height_mm": height, "sheet_centre_mm": middle}
    plan["case"]["notation"] = notation


def test_left_and_right_are_two_pages_and_none_is_turned_over() -> None:
    """Each page's mirror image is a page of its own, with its own teeth, R still at the left."""
    _, sheets = pages()
    by_row = {tuple(teeth_of(page)): page for page in sheets}
    pairs = 0
    for row, page in by_row.items():
        other = by_row[tuple(mirror(iso) for iso in reversed(row))]
        here = sorted(_holes(page))
        there = sorted((210 - x, y, d) for x, y, d in _holes(other))
        assert len(here) == len(row)
        for first, twin in zip(here, there, strict=True):
            assert first == pytest.approx(twin, abs=0.02)
        pairs += other is not page
        sides = {w.text: w.middle[0] for w in page.texts if w.text in ("R", "L") and w.size > 6}
        assert sides["R"] < 105 < sides["L"]
    assert pairs == 52 - 4, "all but the two fronts and the two full arches"


def _holes(page: Drawing) -> list[tuple[float, float, float]]:
    on_sheet = [d for d in discs(page) if d.centre[1] > 297 - 20 - 152 and d.diameter != 1.0]
    return [(*d.centre, d.diameter) for d in on_sheet if abs(d.diameter - 2.4) > 1e-3]


def test_both_notations_stand_at_every_hole() -> None:
    """Without its second numbers each page is the plain one; these belong to the nearest hole."""
    _, sheets = pages(both=True)
    assert len(sheets) == 52
    for page in sheets:
        row = teeth_of(page)
        plan = plan_for(row)
        second = [w for w in page.texts if w.text.startswith("#")]
        rest = tuple(mark for mark in page.found if mark not in second)
        check_page(Drawing(page.width, page.height, rest), plan)
        middle = plan["page"]["sheet_centre_mm"]
        centres = {
            h["tooth"]: (middle[0] + h["x_mm"], middle[1] + h["y_mm"]) for h in plan["holes"]
        }
        assert len(second) == len(row)
        for word in second:
            iso = min(centres, key=lambda tooth: dist(centres[tooth], word.middle))
            assert word.text == f"#{label_of(iso, 'universal')}", row


def test_the_index_names_every_sheet_once_and_is_no_scale() -> None:
    index, sheets = pages()
    heads = [w.text for page in index for w in page.texts if w.text.startswith("sheet ")]
    first = len(index)
    assert heads == [f"sheet {n} · page {first + n}" for n in range(1, len(sheets) + 1)]
    for number, page in enumerate(sheets, start=1):
        assert f"sheet {number} of 52 · page {first + number} · 1:1" in page.text
    for page in index:
        assert "this bar is" not in page.text
        assert "1:1" not in page.text
    assert "Moorrees" in index[0].text


def test_every_page_carries_the_cautions() -> None:
    index, sheets = pages("letter", "palmer")
    assert len(index) >= 2
    for page in (*index, *sheets):
        for wording in (*CAUTIONS, RESPONSIBILITY):
            assert wording in page.text
        assert all(w.start[0] >= 9.99 and w.end[0] <= 215.9 - 9.99 for w in page.texts)


def test_the_file_is_written_with_its_recipe_and_again_the_same(tmp_path: Path) -> None:
    arguments = ["--arch", "age-8", "--for", "restoration", "--notation", "universal"]
    for name in ("a.pdf", "b.pdf"):
        assert run(["drawer", "-o", str(tmp_path / name), *arguments]) == 0
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
    first = read_first_page((tmp_path / "a.pdf").read_bytes())
    recipe = "sheetmark drawer --arch age-8 --for restoration --notation universal"
    assert f"· {recipe}" in first.text


def test_what_cannot_be_done_is_left_out_and_reported(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Spread by 5 mm a tooth, a full arch is too near the edges of a small sheet."""
    path = tmp_path / "small.pdf"
    small = ["--sheet", "80", "--ease", "5"]
    assert (
        run(["drawer", "-o", str(path), *small, "--for", "full-arch", "--for", "root-canal"]) == 0
    )
    error = capsys.readouterr().err
    index = [p for p in read_pdf(path.read_bytes()) if "index only" in p.text]
    text = " ".join(page.text for page in index)
    for jaw in JAWS:
        wording = f"eft out: adult-mean, full arch of {', '.join(jaw)}: sheet 80 x 80: a hole"
        assert wording in error
        assert wording in text
    assert "root canal of" not in error
    assert run(["drawer", "-o", str(tmp_path / "none.pdf"), *small, "--for", "full-arch"]) == 2
    assert "drawer: no situation can be done" in capsys.readouterr().err
    assert not (tmp_path / "none.pdf").exists()


@pytest.mark.parametrize(
    ("arguments", "wording"),
    [
        (["-o", "x.svg"], "must end in .pdf"),
        (["-o", "x.pdf", "--arch", "no-such"], "no-such"),
        (["-o", "x.pdf", "--for", "dance"], "use one of restoration"),
        (["-o", "x.pdf", "--both-notations", "--notation", "palmer"], "leave out one of them"),
        (["-o", "x.pdf", "--sheet", "300"], "too large at true scale"),
        (["-o", "no/such/folder/x.pdf"], "cannot be written"),
        ([], "--output"),
    ],
)
def test_bad_input_is_one_line(
    arguments: list[str],
    wording: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert_refused(["drawer", *arguments], wording, tmp_path, capsys)
