"""The handouts, read back and measured: the twins of their goldens.

What they show is worked out a second time from the published tables or from the plan's JSON,
never by the code that draws them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from math import dist, pi
from pathlib import Path

import pytest

from sheetmark.anatomy.teeth import Notation
from sheetmark.cli.app import run
from sheetmark.documents.case.steps.place import place
from sheetmark.documents.case.steps.sheet import prepare_sheet
from sheetmark.documents.case.steps.take_off import take_off
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.documents.handouts.names import HANDOUTS as NAMES
from tests.helpers import arch_by_hand as by_hand
from tests.helpers.cases import LOWER, UPPER, json_of, plan_of
from tests.helpers.commands import assert_refused
from tests.helpers.golden_pages import HANDOUTS, handout_pdf
from tests.helpers.handout_pages import CROWNS, MEAN, mean_of, middle_of, pages, points_of
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
from tests.helpers.readback import Drawing, Point, Word, read_first_page, read_pdf

# What holds for all of them.


def test_every_name_of_the_command_has_a_golden() -> None:
    assert list(NAMES) == list(HANDOUTS)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", HANDOUTS)
def test_every_page_has_its_foot_and_keeps_its_margins(name: str, paper: str) -> None:
    width, height = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
    for page in pages(name, paper):
        assert (page.width, page.height) == pytest.approx((width, height), abs=0.01)
        for wording in (*CAUTIONS, RESPONSIBILITY, "Sources", f"sheetmark handout {name}"):
            assert wording in page.text, wording
        assert re.search(r"seen in print|memory|secondary|common practice|standard", page.text)
        xs, ys = zip(*(point for mark in page.found for point in points_of(mark)), strict=True)
        assert min(xs) >= 9.99
        assert max(xs) <= width - 9.99
        assert min(ys) >= 9.99
        assert max(ys) <= height - 9.99


@pytest.mark.parametrize("name", HANDOUTS)
def test_labels_keep_off_labels(name: str) -> None:
    """No two lines of text run into each other; on a letter page, which has the least room."""
    for page in pages(name, "letter"):
        level = [w for w in page.texts if abs(w.start[1] - w.end[1]) < 1e-6]
        boxes = [(w.start[0], w.start[1], w.end[0], w.start[1] + 0.66 * w.size) for w in level]
        assert len(boxes) > 20
        for number, a in enumerate(boxes):
            for other, b in zip(level[number + 1 :], boxes[number + 1 :], strict=True):
                apart = a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]
                assert apart, f"{level[number].text!r} runs into {other.text!r}"


@pytest.mark.parametrize("name", HANDOUTS)
def test_true_scale_has_its_bars_and_no_other_page_has(name: str) -> None:
    for page in pages(name):
        true = any(word.text == "1:1" for word in page.texts)
        labels = [word for word in page.texts if word.text == "this bar is 100 mm"]
        assert len(labels) == (2 if true else 0)
        long = [bar for bar in page.lines if abs(dist(bar.start, bar.end) - 100) < 0.01]
        for word in labels:
            assert any(dist(middle_of(line), word.middle) < 4 for line in long)
        assert true or any("scale" in word.text for word in page.texts if word.size > 5)


# Arch map.


@pytest.mark.parametrize("notation", ["iso", "universal", "palmer"])
def test_the_arch_map_numbers_every_tooth_where_it_stands(notation: Notation) -> None:
    """Crowns as far apart as their contacts in the plan's JSON, each around its own number."""
    (page,) = pages("arch-map", notation=notation)
    crowns = [outline for outline in page.outlines if len(outline.points) > 20]
    assert len(crowns) == 32
    numbers = [word for word in page.texts if word.bold and word.size < 4 and word.middle[1] > 120]
    for tooth, chart in (("16", UPPER), ("36", LOWER)):
        contacts = json_of(tooth)["arch"]["contacts_mm"]
        assert sorted(contacts) == sorted(chart)
        jaw = [mean_of(c.points) for c in crowns if (mean_of(c.points)[1] > 195) == (tooth == "16")]
        (x, y), (x0, y0) = mean_of(jaw), mean_of([tuple(at) for at in contacts.values()])
        for iso in chart:
            planned = (contacts[iso][0] + x - x0, contacts[iso][1] + y - y0)
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
    crowns = [mean_of(outline.points) for outline in page.outlines if len(outline.points) > 20]
    named: dict[Point, str] = {}
    pitches: dict[frozenset[str], float] = {}
    for tooth, chart in (("16", UPPER), ("36", LOWER)):
        arch = json_of(tooth)["arch"]
        jaw = sorted(crown for crown in crowns if (crown[1] > 195) == (tooth == "16"))
        by_side = sorted(chart, key=lambda iso: arch["contacts_mm"][iso][0])
        named |= dict(zip(jaw, by_side, strict=True))
        pitches |= {
            frozenset(pair): dist(*(arch["centres_mm"][iso] for iso in pair))
            for pair in pairwise(chart)
        }
    figures = [w for w in page.texts if re.fullmatch(r"\d+\.\d", w.text) and w.size < 3.1]
    assert len(figures) == 30
    pairs = set()
    for word in figures:
        pair = frozenset(
            named[at] for at in sorted(crowns, key=lambda at: dist(at, word.middle))[:2]
        )
        pairs.add(pair)
        assert abs(pitches[pair] - float(word.text)) <= 0.051, word.text
    assert pairs == set(pitches)
    # The published widths lie behind them: half sums, times 0.95 in front (roots stand closer than
    # crowns) and 0.96 to 1.06 behind.
    widths = [row["mm"] for row in MEAN["upper"]["mesiodistal"]]
    shares = (0.95, 0.95, 0.96, 1.06, 1.0, 0.97, 1.0)
    half_sums = [s * (a + b) / 2 for s, (a, b) in zip(shares, pairwise(widths), strict=True)] * 2
    written = sorted(float(w.text) for w in figures if w.middle[1] > 195)
    assert written == pytest.approx(sorted([*half_sums, 0.95 * widths[0]]), abs=0.06)


def test_the_arch_map_writes_the_widths_of_the_table() -> None:
    (page,) = pages("arch-map")
    figures = [float(w.text) for w in page.texts if w.size == pytest.approx(3.2, abs=0.01)]
    given = [MEAN[jaw]["centre_widths"][n]["mm"] for jaw in ("upper", "lower") for n in (0, 2)]
    assert given == [31.75, 45.3, 23.95, 42.35]
    assert figures == pytest.approx(given, abs=0.051)


# Numbering.


@pytest.mark.parametrize("own", ["iso", "universal", "palmer"])
def test_the_three_notations_stand_above_each_other(own: Notation) -> None:
    """Column by column by the published formulas; each system once a tooth, brackets and all."""
    (page,) = pages("numbering", notation=own)
    numbers = [w for w in page.texts if w.size == pytest.approx(4.9, abs=0.01)]
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
    assert sum(w.bold for w in page.texts if w.text == name) == 4


def test_the_numbers_of_two_systems_are_counted() -> None:
    iso = {f"{q}{p}" for q in range(1, 5) for p in range(1, 9)}
    both = sorted(iso & {str(n) for n in range(1, 33)}, key=int)
    assert both == [*map(str, range(11, 19)), *map(str, range(21, 29)), "31", "32"]
    (page,) = pages("numbering")
    shared = f"{len(both)} numbers are a tooth in ISO 3950 and another tooth in Universal"
    assert shared in page.text


# Exercise.


def task_of(page: Drawing) -> tuple[str, str, list[str]]:
    """Tooth, procedure and gaps, read from the page's title."""
    title = next(w.text for w in page.texts if w.text.startswith(("Exercise", "Key")))
    found = re.fullmatch(r".* · (\d\d), ([a-z ]+?)(?:, (\d\d) missing)?", title)
    assert found, title
    return found[1], found[2].replace(" ", "-"), [found[3]] if found[3] else []


@pytest.mark.parametrize(("cases", "seed"), [(2, 4), (6, 1), (5, 11)])
def test_the_key_is_what_the_rules_and_tables_give(cases: int, seed: int) -> None:
    """Row, anchors, hole sizes and places from the data files alone, by `arch_by_hand`."""
    found = read_pdf(handout_pdf("exercise", cases=cases, seed=seed))
    seen = set()
    for blank, key in zip(found[:cases], found[-cases:], strict=True):
        iso, procedure, missing = task_of(key)
        assert task_of(blank) == (iso, procedure, missing)
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
            ring = min(rings, key=lambda circle: dist(circle.centre, planned))
            assert ring.centre == pytest.approx(planned, abs=0.02), f"{iso} {procedure}: {tooth}"
            disc = min(discs(key), key=lambda circle: dist(circle.centre, planned))
            assert disc.centre == pytest.approx(planned, abs=0.02)
            assert disc.diameter == pytest.approx(by_hand.hole_mm(tooth, anchors), abs=0.01)
            number = [w for w in key.texts if w.text == tooth and w.middle[1] > 297 - 20 - 152]
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
    found = pages("exercise")
    for blank, key in zip(found[:2], found[-2:], strict=True):
        iso, procedure, missing = task_of(key)
        plan = json_of(iso, procedure=procedure, missing=",".join(missing))
        sheet = _Sheet(plan)
        for page in (blank, key):
            check_outline(page, sheet)
            check_cross(page, sheet)
            check_bars(page, sheet)
            check_sides(page, sheet, plan)
        check_arch(key, sheet, plan)
        check_discs(key, sheet, plan)
        plain = [w for w in key.texts if "missing" not in w.text or not sheet.holds(w.middle)]
        check_numbers(_with_texts(key, plain), sheet, plan)
        on_sheet = [disc for disc in discs(blank) if sheet.holds(disc.centre)]
        assert len(on_sheet) == 2, "the two dots"
        assert not [c for c in blank.circles if not c.filled and sheet.holds(c.centre)]
        wording = {w.text for w in blank.texts if sheet.holds(w.middle)}
        assert wording == {"R", "L", "nose"}
        assert not [o for o in blank.outlines if o.grey > 0]


def _with_texts(page: Drawing, wordings: Sequence[Word]) -> Drawing:
    marks = [mark for mark in page.found if not isinstance(mark, Word) or mark in wordings]
    return Drawing(page.width, page.height, tuple(marks))


def test_a_seed_is_a_seed() -> None:
    first = handout_pdf("exercise", cases=3, seed=5)
    assert first == handout_pdf("exercise", cases=3, seed=5)
    titles = {
        seed: [task_of(p) for p in read_pdf(handout_pdf("exercise", cases=3, seed=seed))[:3]]
        for seed in (5, 6)
    }
    assert titles[5] != titles[6]


# Hole size.

PUNCH = (0.5, 1.0, 1.5, 2.0, 2.5, 2.6)


def test_the_strip_of_holes_is_of_true_size() -> None:
    (page,) = pages("hole-size")
    labels = {w.text: w for w in page.texts if w.size == pytest.approx(4.4, abs=0.01) and w.bold}
    assert sorted(labels) == ["1", "2", "3", "4", "5", "6"]
    for position, mm in enumerate(PUNCH, start=1):
        word = labels[str(position)]
        disc = min(discs(page), key=lambda d: dist(d.centre, word.middle))
        assert disc.centre[0] == pytest.approx(word.middle[0], abs=0.05)
        assert disc.diameter == pytest.approx(mm, abs=0.01)
        below = [
            w for w in page.texts if w.text == f"{mm:g}" and abs(w.start[1] - word.start[1]) < 12
        ]
        assert min(abs(w.middle[0] - word.middle[0]) for w in below) < 0.05


def test_the_plot_shows_the_stretch_of_each_hole_and_the_hole_to_take() -> None:
    """Read off the axis as a person reads it; the perimeters from the tables, by many sides."""
    (page,) = pages("hole-size")
    ticks = {int(w.text[2:]): w.middle[0] for w in page.texts if re.fullmatch(r"× \d", w.text)}
    assert sorted(ticks) == list(range(2, 10))
    step = (ticks[9] - ticks[2]) / 7

    def read_off(x: float) -> float:
        return 2 + (x - ticks[2]) / step

    (limit,) = (w for w in page.texts if w.text == "limit 5.75")
    assert read_off(limit.middle[0]) == pytest.approx(0.6 * 9.58, abs=0.02)
    dots = [d for d in discs(page) if d.diameter == pytest.approx(1.5, abs=1e-3)]
    dots = [d for d in dots if d.centre[1] < limit.middle[1]]
    rows = {w.text: w for w in page.texts if re.fullmatch(r"\d\d, \d\d", w.text)}
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
    assert [page.texts[-1].text != "" for page in (winged, wingless, off)] == [True] * 3
    for page, steps in ((winged, (*prepare_sheet(plan), *place(plan))), (off, take_off(plan))):
        leads = [w for w in page.texts if w.bold and w.size == pytest.approx(3.3, abs=0.01)]
        assert [w.text for w in leads] == [str(n) for n in range(1, len(steps) + 1)]
        text = " ".join(w.text for w in page.texts if w.size == pytest.approx(3.3, abs=0.01))
        for number, step in enumerate(steps, start=1):
            assert f"{number} {step.text}" in text
    for page, wings in ((winged, True), (wingless, False)):
        leads = [w for w in page.texts if w.bold and w.size == pytest.approx(3.3, abs=0.01)]
        for lead in leads:
            marks = [mark for mark in page.found if not isinstance(mark, Word)]
            above = [
                mark
                for mark in marks
                if lead.start[0] - 3 < points_of(mark)[0][0] < lead.start[0] + 45
                and lead.start[1] < points_of(mark)[0][1] < lead.start[1] + 46
            ]
            assert len(above) >= 4, lead.text
        quads = [o for o in page.outlines if len(o.points) == 4 and o.line > 0.39 and not o.filled]
        assert bool(quads) == wings, "wings on the winged page alone"


def test_the_drawings_are_made_of_the_model_s_crowns() -> None:
    """The bare row of the last page: crowns as far apart as in the plan, at one scale."""
    _, _, off = pages("steps")
    plan = json_of("16")
    places = [tuple(plan["arch"]["contacts_mm"][iso]) for iso in ("17", "16", "15", "14")]
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
    first = read_first_page(path.read_bytes())
    recipe = next(w.text for w in first.texts if " · sheetmark handout" in w.text)
    assert run([*recipe.partition(" · sheetmark ")[2].split(), "-o", str(again)]) == 0
    assert again.read_bytes() == path.read_bytes()


@pytest.mark.parametrize(
    ("arguments", "wording"),
    [
        (["maps", "-o", "x.pdf"], "'maps': use one of arch-map"),
        (["arch-map", "-o", "x.json"], "must end in .pdf, .svg or .png"),
        (
            ["exercise", "-o", "x.json", "--find-faults"],
            "leave out the faults to find or the .json",
        ),
        (["exercise", "-o", "x.json", "--sheet", "100"], "of a sheet from 127 x 127 mm"),
        (["exercise", "-o", "x.pdf", "--topic", "braces"], "topic 'braces': use one of usual"),
        (["exercise", "-o", "x.pdf", "--level", "4"], "level 4: must be 1 to 3"),
        (["exercise", "-o", "x.pdf", "--key", "x.pdf"], "name another file"),
        (["exercise", "-o", "x.pdf", "--list", "d.csv", "--cases", "2"], "beside own cases"),
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
    wording: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert_refused(["handout", *arguments], wording, tmp_path, capsys)
