"""The handouts, read back and measured: the twins of their goldens.

What they show is worked out a second time from the published tables or from the plan's JSON,
never by the code that draws them.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise, product
from math import dist, pi
from pathlib import Path
from statistics import fmean, pstdev
from typing import Any, get_args

import pytest
from shapely import LinearRing, LineString, Polygon, box
from shapely import Point as ShapelyPoint

from sheetmark.anatomy.teeth import Notation, Tooth
from sheetmark.base.findings import InputError, NoAnswerError
from sheetmark.case.case import Case
from sheetmark.cli.app import run
from sheetmark.cli.handout import HANDOUTS as NAMES
from sheetmark.documents.case.sheet import draw_sheet
from sheetmark.documents.case.steps import place, remove
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
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
from tests.helpers import arch_by_hand as by_hand
from tests.helpers.cases import LOWER, UPPER, json_of, plan_of, run_json
from tests.helpers.golden_pages import HANDOUTS, handout_pdf
from tests.helpers.holes_by_hand import diameter, perimeter
from tests.helpers.page_check import (
    _check_bracket,
    _Sheet,
    check_arch,
    check_bars,
    check_cross,
    check_discs,
    check_numbers,
    check_outline,
    check_sides,
    discs,
    label_of,
)
from tests.helpers.paths import ROOT
from tests.helpers.readback import Circle, Drawing, Line, Outline, Point, Word, read_pdf

# One process, since the pages and the solved membranes of one test serve the others.
pytestmark = pytest.mark.xdist_group("membrane")

MODELS = ROOT / "arch_models"
CROWNS = tomllib.loads((MODELS / "crowns.toml").read_text("utf-8"))
MEAN = tomllib.loads((MODELS / "adult-mean.toml").read_text("utf-8"))


@cache
def pages(name: str, paper: Any = "a4", notation: Notation = "iso") -> tuple[Drawing, ...]:
    practice = Practice(paper=paper, notation=notation)
    return read_pdf(handout_pdf(name, practice, **HANDOUTS[name]))


def middle_of(line: Line) -> Point:
    return ((line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2)


def mean_of(points: Sequence[Point]) -> Point:
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))


# What holds for all of them.


def test_every_name_of_the_command_has_a_golden() -> None:
    assert list(NAMES) == list(HANDOUTS)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", HANDOUTS)
def test_every_page_has_its_foot_and_keeps_its_margins(name: str, paper: str) -> None:
    width, height = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
    for page in pages(name, paper):
        assert (page.width, page.height) == pytest.approx((width, height), abs=0.01)
        for words in (*CAUTIONS, RESPONSIBILITY, "Sources", f"sheetmark handout {name}"):
            assert words in page.text, words
        assert re.search(r"seen in print|memory|secondary|common practice|standard", page.text)
        xs, ys = zip(*(point for one in page.found for point in _points(one)), strict=True)
        assert min(xs) >= 9.99
        assert max(xs) <= width - 9.99
        assert min(ys) >= 9.99
        assert max(ys) <= height - 9.99


def _points(one: object) -> list[Point]:
    match one:
        case Circle(centre, size):
            (x, y), r = centre, size / 2
            return [(x - r, y - r), (x + r, y + r)]
        case Line(start, end) | Word(_, start, end):
            return [start, end]
        case Outline(points):
            return list(points)
    raise AssertionError(one)


@pytest.mark.parametrize("name", HANDOUTS)
def test_words_keep_off_words(name: str) -> None:
    """No two lines of text run into each other; on a letter page, which has the least room."""
    for page in pages(name, "letter"):
        level = [w for w in page.words if abs(w.start[1] - w.end[1]) < 1e-6]
        boxes = [(w.start[0], w.start[1], w.end[0], w.start[1] + 0.66 * w.size) for w in level]
        assert len(boxes) > 20
        for number, a in enumerate(boxes):
            for other, b in zip(level[number + 1 :], boxes[number + 1 :], strict=True):
                apart = a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]
                assert apart, f"{level[number].text!r} runs into {other.text!r}"


@pytest.mark.parametrize("name", HANDOUTS)
def test_true_scale_has_its_bars_and_no_other_page_has(name: str) -> None:
    for page in pages(name):
        true = any(word.text == "1:1" for word in page.words)
        said = [word for word in page.words if word.text == "this bar is 100 mm"]
        assert len(said) == (2 if true else 0)
        long = [one for one in page.lines if abs(dist(one.start, one.end) - 100) < 0.01]
        for word in said:
            assert any(dist(middle_of(line), word.middle) < 4 for line in long)
        assert true or any("scale" in word.text for word in page.words if word.size > 5)


# Arch map.


@pytest.mark.parametrize("notation", ["iso", "universal", "palmer"])
def test_the_arch_map_numbers_every_tooth_where_it_stands(notation: Notation) -> None:
    """Crowns as far apart as in the plan's JSON, each around its own number."""
    (page,) = pages("arch-map", notation=notation)
    crowns = [one for one in page.outlines if len(one.points) > 20]
    assert len(crowns) == 32
    numbers = [word for word in page.words if word.bold and word.size < 4 and word.middle[1] > 120]
    for tooth, chart in (("16", UPPER), ("36", LOWER)):
        centres = json_of(tooth)["arch"]["centres_mm"]
        assert sorted(centres) == sorted(chart)
        jaw = [mean_of(c.points) for c in crowns if (mean_of(c.points)[1] > 195) == (tooth == "16")]
        (x, y), (x0, y0) = mean_of(jaw), mean_of([tuple(at) for at in centres.values()])
        for iso in chart:
            planned = (centres[iso][0] + x - x0, centres[iso][1] + y - y0)
            at = min(jaw, key=lambda found: dist(found, planned))
            assert at == pytest.approx(planned, abs=0.02), iso
            word = min(numbers, key=lambda w: dist(w.middle, at))
            assert word.text == label_of(iso, notation)
            # Palmer's bracket moves the number a little off the middle.
            assert dist(word.middle, at) < 0.8
            if notation == "palmer":
                _check_bracket(page, word, iso)


def test_the_arch_map_writes_each_pitch_as_it_is() -> None:
    """Thirty pitches, each at its own pair, to the rounding of one digit."""
    (page,) = pages("arch-map")
    crowns = [mean_of(one.points) for one in page.outlines if len(one.points) > 20]
    figures = [w for w in page.words if re.fullmatch(r"\d+\.\d", w.text) and w.size < 3.1]
    assert len(figures) == 30
    pairs = set()
    for word in figures:
        one, other = sorted(crowns, key=lambda at: dist(at, word.middle))[:2]
        pairs.add(frozenset((one, other)))
        assert abs(dist(one, other) - float(word.text)) <= 0.051, word.text
    assert len(pairs) == 30
    # The published widths lie behind them: half sums, within the chord's 0.25.
    widths = [row["mm"] for row in MEAN["upper"]["mesiodistal"]]
    written = sorted(float(w.text) for w in figures if w.middle[1] > 195)
    half_sums = [(a + b) / 2 for a, b in pairwise(widths)] * 2 + [widths[0]]
    assert written == pytest.approx(sorted(half_sums), abs=0.25)


def test_the_arch_map_writes_the_widths_of_the_table() -> None:
    (page,) = pages("arch-map")
    figures = [float(w.text) for w in page.words if w.size == pytest.approx(3.2, abs=0.01)]
    given = [MEAN[jaw]["centre_widths"][n]["mm"] for jaw in ("upper", "lower") for n in (0, 2)]
    assert given == [31.75, 45.3, 23.95, 42.35]
    assert figures == pytest.approx(given, abs=0.051)


# Numbering.


@pytest.mark.parametrize("own", ["iso", "universal", "palmer"])
def test_the_three_notations_stand_above_each_other(own: Notation) -> None:
    """Column by column by the published formulas; each system once a tooth, brackets and all."""
    (page,) = pages("numbering", notation=own)
    numbers = [w for w in page.words if w.size == pytest.approx(4.9, abs=0.01)]
    assert len(numbers) == 3 * 52
    middle = 0.5 * (min(w.start[0] for w in numbers) + max(w.end[0] for w in numbers))
    rows: dict[int, list[Word]] = {}
    tops = sorted((w.middle[1] for w in numbers), reverse=True)
    grouped: list[float] = []
    for y in tops:
        if not grouped or grouped[-1] - y > 3:
            grouped.append(y)
    assert len(grouped) == 12
    for word in numbers:
        at = min(range(12), key=lambda n: abs(grouped[n] - word.middle[1]))
        rows.setdefault(at, []).append(word)
    order = ("palmer", "universal", "iso", "iso", "universal", "palmer")
    for at in range(12):
        primary, lower = at >= 6, at % 6 >= 3
        notation = order[at % 6]
        row = sorted(rows[at], key=lambda w: w.middle[0])
        block, last = (4, 5) if primary else (0, 8)
        right, left = (4 + block, 3 + block) if lower else (1 + block, 2 + block)
        isos = [f"{right}{p}" for p in range(last, 0, -1)]
        isos += [f"{left}{p}" for p in range(1, last + 1)]
        assert [w.text for w in row] == [label_of(iso, notation) for iso in isos]
        assert all(
            (w.middle[0] < middle) == (iso[0] in "1458") for w, iso in zip(row, isos, strict=True)
        )
        if notation == "palmer":
            for word, iso in zip(row, isos, strict=True):
                _check_bracket(page, word, iso)
    name = {"iso": "ISO 3950", "universal": "Universal", "palmer": "Palmer"}[own]
    assert f"This practice writes {name}" in page.text
    assert sum(w.bold for w in page.words if w.text == name) == 4


def test_the_numbers_of_two_systems_are_counted() -> None:
    iso = {f"{q}{p}" for q in range(1, 5) for p in range(1, 9)}
    both = sorted(iso & {str(n) for n in range(1, 33)}, key=int)
    assert both == [*map(str, range(11, 19)), *map(str, range(21, 29)), "31", "32"]
    (page,) = pages("numbering")
    assert f"{len(both)} numbers are a tooth in ISO 3950 and another one in Universal" in page.text


# Exercise.


def asked(page: Drawing) -> tuple[str, str, list[str]]:
    """Tooth, procedure and gaps, read from the page's title."""
    title = next(w.text for w in page.words if w.text.startswith(("Exercise", "Key")))
    found = re.fullmatch(r".* · (\d\d), ([a-z ]+?)(?:, (\d\d) missing)?", title)
    assert found, title
    return found[1], found[2].replace(" ", "-"), [found[3]] if found[3] else []


@pytest.mark.parametrize(("cases", "seed"), [(2, 4), (6, 1), (5, 11)])
def test_the_key_is_what_the_rules_and_tables_give(cases: int, seed: int) -> None:
    """Row, anchors, hole sizes and places from the data files alone, by `arch_by_hand`."""
    found = read_pdf(handout_pdf("exercise", cases=cases, seed=seed))
    assert len(found) == 2 * cases
    seen = set()
    for blank, key in zip(found[::2], found[1::2], strict=True):
        iso, procedure, missing = asked(key)
        assert asked(blank) == (iso, procedure, missing)
        seen.add((iso, procedure, *missing))
        row, anchors = by_hand.row(iso, procedure, missing)
        stand = by_hand.centres(by_hand.jaw_of(iso))
        holes = [stand[tooth] for tooth in row]
        x, y = by_hand.middle(row, holes)
        sheet = (105.0, 297 - 20 - 76)
        rings = [
            c for c in key.circles if not c.filled and c.diameter == pytest.approx(4, abs=0.01)
        ]
        rings = [c for c in rings if c.line == pytest.approx(0.25, abs=0.01)]
        assert len(rings) == len(row)
        for tooth, (hx, hy) in zip(row, holes, strict=True):
            planned = (sheet[0] + hx - x, sheet[1] + hy - y)
            ring = min(rings, key=lambda one: dist(one.centre, planned))
            assert ring.centre == pytest.approx(planned, abs=0.02), f"{iso} {procedure}: {tooth}"
            disc = min(discs(key), key=lambda one: dist(one.centre, planned))
            assert disc.centre == pytest.approx(planned, abs=0.02)
            assert disc.diameter == pytest.approx(by_hand.hole_mm(tooth, anchors), abs=0.01)
            number = [w for w in key.words if w.text == tooth and w.middle[1] > 297 - 20 - 152]
            assert any(dist(w.middle, planned) < 9 for w in number)
        assert f"Isolated: {', '.join(row)}" in key.text
        assert f"Anchors: {', '.join(anchors)}" in key.text
        across = f"{abs(round(x))} mm to the patient's {'left' if x > 0 else 'right'}"
        assert (across if round(x) else "on the midline") in key.text
        jaw = "upper" if y > 0 else "lower"
        up = f"{abs(round(y))} mm towards the {jaw} jaw"
        assert (up if round(y) else "half way between the jaws") in key.text
    assert len(seen) == cases, "no two cases alike"


def test_a_blank_sheet_lies_under_its_key_and_gives_nothing_away() -> None:
    for blank, key in zip(pages("exercise")[::2], pages("exercise")[1::2], strict=True):
        iso, procedure, missing = asked(key)
        plan = json_of(iso, procedure=procedure, missing=",".join(missing))
        sheet = _Sheet(plan)
        for page in (blank, key):
            check_outline(page, sheet)
            check_cross(page, sheet)
            check_bars(page, sheet)
            check_sides(page, sheet, plan)
        check_arch(key, sheet, plan)
        check_discs(key, sheet, plan)
        plain = [w for w in key.words if "missing" not in w.text or not sheet.holds(w.middle)]
        check_numbers(_with_words(key, plain), sheet, plan)
        on_sheet = [disc for disc in discs(blank) if sheet.holds(disc.centre)]
        assert len(on_sheet) == 2, "the two dots"
        assert not [c for c in blank.circles if not c.filled]
        words = {w.text for w in blank.words if sheet.holds(w.middle)}
        assert words == {"R", "L", "nose"}
        assert not [o for o in blank.outlines if o.grey > 0]


def _with_words(page: Drawing, words: Sequence[Word]) -> Drawing:
    marks = [one for one in page.found if not isinstance(one, Word) or one in words]
    return Drawing(page.width, page.height, tuple(marks))


def test_a_seed_is_a_seed() -> None:
    first = handout_pdf("exercise", cases=3, seed=5)
    assert first == handout_pdf("exercise", cases=3, seed=5)
    titles = {
        seed: [asked(p) for p in read_pdf(handout_pdf("exercise", cases=3, seed=seed))]
        for seed in (5, 6)
    }
    assert titles[5] != titles[6]


# Why the middle moves.


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
        figures = [w for w in page.words if w.size == pytest.approx(4.2, abs=0.01)]
        for line in lines:
            length = f"{dist(line.start, line.end):.1f}"
            word = min(figures, key=lambda w: dist(w.middle, _along(line, w)))
            assert word.text == length
            assert length in page.text.partition("each edge, mm:")[2]
            numbers = [w for w in page.words if w.size == pytest.approx(4.8, abs=0.01)]
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
    written = [w.text for w in together.words if w.size == pytest.approx(3.2, abs=0.01)]
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
    written = [float(w.text.split()[1]) for w in page.words if w.text.startswith("Unevenness 0")]
    between = [
        (float(found[1]), float(found[2]))
        for w in page.words
        if (found := re.fullmatch(r"(.*) to (.*) N at a point of the frame\.", w.text))
    ]
    report = report_on(make_plan(Case(treat=(Tooth(1, 6),))))
    strains = [report.strains[placed] for placed in get_args(Placed)]
    newton_mm = max(high for _, high in between) / max(lengths)
    for number, strain in enumerate(strains):
        row = lengths[12 * number : 12 * (number + 1)]
        assert pstdev(row) / fmean(row) == pytest.approx(written[number], abs=0.006)
        assert strain.evenness == pytest.approx(written[number], abs=0.0051)
        low, high = between[number]
        assert min(row) * newton_mm == pytest.approx(low, abs=0.015)
        assert max(row) * newton_mm == pytest.approx(high, abs=0.015)
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
        said = " ".join(page.text.split())
        assert "Left out: lips, cheeks, friction" in said
        assert "For comparing placements, not clinical forces." in said
        assert "Treloar" in said
    for page in (centred, rule):
        assert "nevenness" not in page.text, "nothing computed stands here"
    assert "Unevenness of the computed pull at the frame: 0.20 here, 0.38 by the rule" in even.text
    assert "The sheet's middle (cross) lies 7 mm to the patient's right, 9 mm" in even.text


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
def test_a_pull_that_cannot_be_computed_is_said_and_nothing_is_written(
    error: type[NoAnswerError],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fails(*_: object) -> None:
        raise error("the sheet found no equilibrium in 80 steps")

    monkeypatch.setattr(membrane_report, "best_placement", fails)
    assert run(["handout", "why-the-middle-moves", "-o", str(tmp_path / "x.pdf")]) == 1
    said = capsys.readouterr().err
    assert said == "sheetmark: no answer: the sheet found no equilibrium in 80 steps\n"
    assert not list(tmp_path.iterdir())


@pytest.mark.usefixtures("coarse_membrane")
def test_where_the_rule_is_the_most_even_it_is_said(tmp_path: Path) -> None:
    path = tmp_path / "x.pdf"
    assert run(["handout", "why-the-middle-moves", "--tooth", "11", "-o", str(path)]) == 0
    page = read_pdf(path.read_bytes())[0]
    assert "The most even place found is the rule's own." in " ".join(page.text.split())
    written = [w.text for w in page.words if w.text.startswith("Unevenness 0")]
    assert written[1] == written[2] != written[0]


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("rule", "pulls more evenly than the centred one"),
        ("best", "pulls more evenly than the centred one"),
        ("centred", "pulls about as evenly as the centred one"),
    ],
)
def test_what_the_model_cannot_tell_apart_is_called_alike(
    rule: Placed, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    report = report_on(make_plan(Case(treat=(Tooth(1, 6),))))
    strains = report.strains | {"rule": report.strains[rule]}
    monkeypatch.setattr(membrane_report, "report_on", lambda _: replace(report, strains=strains))
    page = read_pdf(handout_pdf("why-the-middle-moves"))[0]
    said = " ".join(page.text.split())
    assert words in said
    assert "Differences in unevenness under 0.03 say nothing." in said


def test_a_rule_that_pulls_less_evenly_is_said_to(monkeypatch: pytest.MonkeyPatch) -> None:
    report = report_on(make_plan(Case(treat=(Tooth(1, 6),))))
    strains = report.strains | {"centred": report.strains["best"]}
    monkeypatch.setattr(membrane_report, "report_on", lambda _: replace(report, strains=strains))
    page = read_pdf(handout_pdf("why-the-middle-moves"))[0]
    assert "pulls less evenly than the centred one" in " ".join(page.text.split())


@pytest.mark.parametrize("name", [name for name in HANDOUTS if name != "why-the-middle-moves"])
def test_other_handouts_load_no_membrane(name: str, tmp_path: Path) -> None:
    program = (
        "import sys; from sheetmark.cli.app import run; "
        f"assert run(['handout', {name!r}, '-o', {str(tmp_path / 'x.pdf')!r}]) == 0; "
        "print([m for m in sys.modules if m.split('.')[0] in ('numpy', 'scipy', 'shapely') "
        "or 'membrane' in m])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip().splitlines()[-1] == "[]"


def _nearly(point: Point, places: Sequence[Point]) -> list[Point]:
    return [point for at in places if dist(at, point) < 0.01]


def _along(line: Line, word: Word) -> Point:
    """The line's point nearest to a word."""
    (x0, y0), (x1, y1) = line.start, line.end
    x, y = word.middle
    length = (x1 - x0) ** 2 + (y1 - y0) ** 2
    share = min(max(((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length, 0.1), 0.95)
    return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))


# Hole size.

PUNCH = (0.5, 1.0, 1.5, 2.0, 2.5, 2.6)


def test_the_strip_of_holes_is_of_true_size() -> None:
    (page,) = pages("hole-size")
    labels = {w.text: w for w in page.words if w.size == pytest.approx(4.4, abs=0.01) and w.bold}
    assert sorted(labels) == ["1", "2", "3", "4", "5", "6"]
    for position, mm in enumerate(PUNCH, start=1):
        word = labels[str(position)]
        disc = min(discs(page), key=lambda d: dist(d.centre, word.middle))
        assert disc.centre[0] == pytest.approx(word.middle[0], abs=0.05)
        assert disc.diameter == pytest.approx(mm, abs=0.01)
        below = [
            w for w in page.words if w.text == f"{mm:g}" and abs(w.start[1] - word.start[1]) < 12
        ]
        assert min(abs(w.middle[0] - word.middle[0]) for w in below) < 0.05


def test_the_plot_shows_the_stretch_of_each_hole_and_the_hole_to_take() -> None:
    """Read off the axis as a person reads it; the perimeters from the tables, by many sides."""
    (page,) = pages("hole-size")
    ticks = {int(w.text[2:]): w.middle[0] for w in page.words if re.fullmatch(r"× \d", w.text)}
    assert sorted(ticks) == list(range(2, 10))
    step = (ticks[9] - ticks[2]) / 7

    def read_off(x: float) -> float:
        return 2 + (x - ticks[2]) / step

    (limit,) = (w for w in page.words if w.text == "limit 5.75")
    assert read_off(limit.middle[0]) == pytest.approx(0.6 * 9.58, abs=0.02)
    dots = [d for d in discs(page) if d.diameter == pytest.approx(1.5, abs=1e-3)]
    dots = [d for d in dots if d.centre[1] < limit.middle[1]]
    rows = {w.text: w for w in page.words if re.fullmatch(r"\d\d, \d\d", w.text)}
    assert len(rows) == 14
    shown = 0
    for jaw, sides in (("upper", (1, 2)), ("lower", (4, 3))):
        for p in range(1, 8):
            y = rows[f"{sides[0]}{p}, {sides[1]}{p}"].middle[1]
            wide = MEAN[jaw]["mesiodistal"][p - 1]["mm"]
            (deep,) = (c["labiolingual_mm"] for c in CROWNS[jaw] if c["tooth"] == str(p))
            wanted = [perimeter(wide, deep) / (pi * d) for d in PUNCH]
            here = sorted(read_off(d.centre[0]) for d in dots if abs(d.centre[1] - y) < 0.2)
            assert here == pytest.approx(sorted(s for s in wanted if s <= 9.58), abs=0.02)
            shown += len(here)
            chosen, up = diameter(wide, deep), diameter(wide, deep, larger=1)
            rings = [c for c in page.circles if not c.filled and abs(c.centre[1] - y) < 0.2]
            squares = [
                mean_of(o.points)
                for o in page.outlines
                if len(o.points) == 4 and not o.filled and abs(mean_of(o.points)[1] - y) < 0.2
            ]
            assert [read_off(c.centre[0]) for c in rings] == pytest.approx(
                [wanted[PUNCH.index(chosen)]], abs=0.02
            )
            assert [read_off(x) for x, _ in squares] == pytest.approx(
                [wanted[PUNCH.index(up)]], abs=0.02
            )
    assert shown == len(dots) > 60


# Steps.


def test_every_step_stands_below_a_drawing_of_its_own() -> None:
    """Winged, wingless and off: all steps of the card, in order, each with marks above it."""
    winged, wingless, off = pages("steps")
    plan = plan_of("16")
    assert [page.words[-1].text != "" for page in (winged, wingless, off)] == [True] * 3
    for page, steps in ((winged, place(plan)), (off, remove(plan))):
        leads = [w for w in page.words if w.bold and w.size == pytest.approx(3.3, abs=0.01)]
        assert [w.text for w in leads] == [str(n) for n in range(1, len(steps) + 1)]
        text = " ".join(w.text for w in page.words if w.size == pytest.approx(3.3, abs=0.01))
        for number, step in enumerate(steps, start=1):
            assert f"{number} {step}" in text
    for page, wings in ((winged, True), (wingless, False)):
        leads = [w for w in page.words if w.bold and w.size == pytest.approx(3.3, abs=0.01)]
        for lead in leads:
            marks = [one for one in page.found if not isinstance(one, Word)]
            above = [
                one
                for one in marks
                if lead.start[0] - 3 < _points(one)[0][0] < lead.start[0] + 45
                and lead.start[1] < _points(one)[0][1] < lead.start[1] + 46
            ]
            assert len(above) >= 4, lead.text
        quads = [o for o in page.outlines if len(o.points) == 4 and o.line > 0.39 and not o.filled]
        assert bool(quads) == wings, "wings on the winged page alone"


def test_the_drawings_are_made_of_the_model_s_crowns() -> None:
    """The bare row of the last page: pitches as in the plan, at one and the same scale."""
    _, _, off = pages("steps")
    plan = json_of("16")
    places = [tuple(plan["arch"]["centres_mm"][iso]) for iso in ("17", "16", "15", "14")]
    pitches = [dist(a, b) for a, b in pairwise(places)]
    crowns = [mean_of(o.points) for o in off.outlines if len(o.points) == 28 and o.grey == 0]
    by_panel: dict[int, list[Point]] = {}
    for x, y in sorted({(round(x, 3), round(y, 3)) for x, y in crowns}, key=lambda at: at[1]):
        by_panel.setdefault(int((x - 10) // 48.5) + 10 * (y > 225), []).append((x, y))
    whole = [row for row in by_panel.values() if len(row) == 4]
    assert len(whole) >= 4
    for row in whole:
        drawn = [dist(a, b) for a, b in pairwise(row)]
        scale = drawn[0] / pitches[0]
        assert drawn == pytest.approx([scale * pitch for pitch in pitches], abs=0.02)


# The command.


def test_the_list_names_every_handout(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["handout", "list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == list(HANDOUTS)


@pytest.mark.usefixtures("coarse_membrane")
@pytest.mark.parametrize("name", HANDOUTS)
def test_the_command_writes_it_with_its_recipe(name: str, tmp_path: Path) -> None:
    path = tmp_path / "x.pdf"
    assert run(["handout", name, "-o", str(path), "--arch", "adult-male", "--paper", "letter"]) == 0
    read = read_pdf(path.read_bytes())
    assert read
    for page in read:
        assert page.width == pytest.approx(215.9, abs=0.01)
        recipe = f"sheetmark handout {name} --arch adult-male --paper letter"
        assert recipe in page.text


def test_the_recipe_makes_the_same_file_again(tmp_path: Path) -> None:
    """Also where settings come from options that only some handouts heed."""
    path, again = tmp_path / "x.pdf", tmp_path / "y.pdf"
    options = ["--ease", "0.5", "--no-shift", "--sheet", "127", "--notation", "universal"]
    exercise = ["--cases", "1", "--seed", "3", "--tolerance", "2.5"]
    assert run(["handout", "exercise", *exercise, *options, "-o", str(path)]) == 0
    first, *_ = read_pdf(path.read_bytes())
    recipe = next(w.text for w in first.words if " · sheetmark handout" in w.text)
    assert run([*recipe.partition(" · sheetmark ")[2].split(), "-o", str(again)]) == 0
    assert again.read_bytes() == path.read_bytes()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["maps", "-o", "x.pdf"], "'maps': unknown; use arch-map"),
        (["arch-map", "-o", "x.svg"], "must end in .pdf"),
        (["arch-map"], "no file to write; add -o arch-map.pdf"),
        (["exercise", "-o", "x.pdf", "--cases", "0"], "cases 0: must be 1 to 50"),
        (["exercise", "-o", "x.pdf", "--cases", "51"], "cases 51: must be 1 to 50"),
        (["exercise", "-o", "x.pdf", "--seed", "-1"], "seed -1: must be 0 to"),
        (["exercise", "-o", "x.pdf", "--tolerance", "nan"], "tolerance nan mm: must be 1.5 to 5"),
        (["exercise", "-o", "x.pdf", "--cases", "two"], "--cases"),
        (["numbering", "-o", "x.pdf", "--seed", "3"], "--seed: has no meaning for the handout"),
        (["why-the-middle-moves", "-o", "x.pdf", "--tooth", "99"], "tooth '99': not a tooth"),
        (["why-the-middle-moves", "-o", "x.pdf", "--tooth", "18"], "third molars count as absent"),
        (["hole-size", "-o", "x.pdf", "--arch", "none"], "none"),
        (["steps", "-o", "no/such/x.pdf"], "cannot be written"),
    ],
)
def test_bad_input_is_one_line(
    arguments: list[str],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["handout", *arguments]) == 2
    error = capsys.readouterr().err.strip()
    assert words in error
    assert len(error.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
