"""Exercises: what a class is asked, what its teacher reads, and that a machine marks the pages."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import combinations
from math import dist
from pathlib import Path
from random import Random

import pypdf
import pytest
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.frames import PagePoint
from sheetmark.case.case import Case
from sheetmark.case.file import write_case
from sheetmark.checking.drawn import mark_page
from sheetmark.checking.exercise import exercise_json, read_exercise
from sheetmark.checking.photo import read_photo
from sheetmark.cli.app import run
from sheetmark.documents.handouts.exercise import ExerciseSet, Wish, exercise_set
from sheetmark.documents.handouts.exercise_cases import TOPICS, Topic
from sheetmark.documents.handouts.exercise_faults import plant
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.practice.settings import PaperName, Practice
from sheetmark.render.pdf import render_pdf
from sheetmark.render.png import render_pngs
from sheetmark.typesetting.marks import Document, Line, Mark, Page, Text
from tests.helpers.page_areas import areas

LESSON = Lesson(load_model("adult-mean"), Practice(), "sheetmark handout exercise")


@cache
def made(topic: Topic = "usual", level: int = 2, faults: bool = False) -> ExerciseSet:
    wish = Wish(count=5, seed=2, topic=topic, level=level, find_faults=faults)
    return exercise_set(LESSON, wish)


def text_of(page: Page) -> str:
    return " ".join(mark.text for mark in page.marks if isinstance(mark, Text))


@pytest.mark.parametrize("count", [1, 2, 3])
def test_no_key_is_on_the_back_of_a_question(count: int, tmp_path: Path) -> None:
    path = tmp_path / "exercise.pdf"
    assert run(["handout", "exercise", "--cases", str(count), "-o", str(path)]) == 0
    found = pypdf.PdfReader(path)
    heads = ["Key ·" in page.extract_text() for page in found.pages]
    first = heads.index(True)
    assert first >= count
    assert first % 2 == 0, "the first key begins a paper"
    assert all(heads[first:])
    assert found.root_object["/ViewerPreferences"]["/Duplex"] == "/Simplex"  # type: ignore[index]


def test_the_key_goes_into_a_file_of_its_own(tmp_path: Path) -> None:
    typed = ["handout", "exercise", "--key", str(tmp_path / "key.pdf")]
    assert run([*typed, "-o", str(tmp_path / "questions.pdf")]) == 0
    questions, keys = (pypdf.PdfReader(tmp_path / f"{n}.pdf").pages for n in ("questions", "key"))
    assert len(questions) == 3
    assert not any("Key" in page.extract_text() for page in questions)
    assert "overview of 3" in keys[0].extract_text()
    assert len(keys) == 4


@pytest.mark.parametrize("topic", TOPICS)
def test_cases_are_of_their_topic_and_level(topic: Topic) -> None:
    for level in (1, 2, 3):
        cases = [exercise.plan.case for exercise in made(topic, level).cases]
        assert len(set(cases)) == 5
        assert all(len(case.treat) == (2 if level == 3 else 1) for case in cases)
        if level == 1:
            assert {case.procedure for case in cases} == {"restoration"}
        for case in cases:
            match topic:
                case "fronts":
                    assert case.treat[0].position <= 3
                case "gaps":
                    assert case.missing
                case "bridge":
                    assert [state.pontic for state in case.states].count(True) == 1
                case "children":
                    assert case.age is not None
                    assert case.treat[0].primary
                case _:
                    assert case.age is None


@pytest.mark.parametrize("level", [1, 2, 3])
def test_each_planted_fault_is_named_and_none_else_is_there(level: int) -> None:
    exercise = made("usual", level, faults=True)
    for case, page in zip(exercise.cases, exercise.questions, strict=True):
        assert 1 <= len(case.faults) <= level
        assert case.shown != case.plan
        assert "Faults are planted on this page. Never mark a sheet from it." in text_of(page)
        assert "this bar is" not in text_of(page), "not at true scale, so nobody marks from it"
        assert not any(fault in text_of(page) for fault in case.faults)
    for case, page in zip(exercise.cases, exercise.keys[-5:], strict=True):
        assert all(fault in text_of(page) for fault in case.faults)
        assert "this bar is" not in text_of(page)


@pytest.mark.parametrize("topic", TOPICS)
def test_a_page_with_faults_to_find_says_that_it_is_marked_by_eye(topic: Topic) -> None:
    for page in made(topic, 3, faults=True).questions:
        assert "A photograph of this page cannot be checked." in text_of(page)


def test_every_kind_of_fault_is_planted_and_shows() -> None:
    kinds: Counter[str] = Counter()
    for seed in range(40):
        for case in made("usual", 2).cases[:2]:
            shown, faults = plant(case.plan, Random(seed), 1)
            (fault,) = faults
            kinds[" ".join(fault.split()[:2])] += 1
            _check_shown(case.plan, shown, fault)
    assert len(kinds) >= 6, kinds


def _check_shown(plan, shown, fault: str) -> None:  # type: ignore[no-untyped-def]
    """The words against the two plans themselves."""
    right = {hole.tooth: hole for hole in plan.holes}
    if "missing" in fault:
        assert len(shown.holes) == len(plan.holes) - 1
        return
    pairs = [(right[hole.tooth], hole) for hole in shown.holes]
    moved = [new for old, new in pairs if old.centre_mm != new.centre_mm]
    if "wrong side" in fault:
        assert all(old.centre_mm.x == pytest.approx(-new.centre_mm.x) for old, new in pairs)
    elif "too close" in fault:
        (shifted,) = moved
        assert (
            min(dist(shifted.centre_mm, h.centre_mm) for h in shown.holes if h is not shifted) < 5
        )
    elif "too small" in fault:
        assert sum(old.hole != new.hole for old, new in pairs) == 1
    elif "moved away" in fault:
        assert shown.shift_mm.x == -plan.shift_mm.x
        assert len(moved) == len(pairs)
    elif "lower edge" in fault:
        assert all(y < 0 for _, y in shown.orientation_marks_mm)
    else:
        assert "The anchor is" in fault
        assert sum(old.role != new.role for old, new in pairs) == 2


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_written_over_anything_else(paper: PaperName) -> None:
    lesson = replace(LESSON, practice=Practice(paper=paper))
    exercise = exercise_set(lesson, Wish(count=2, seed=4, topic="bridge", level=3))
    for page in (*exercise.questions, *exercise.keys):
        labels = [mark for mark in areas(page) if mark.is_text]
        for first, other in combinations(labels, 2):
            assert not first.area.intersects(other.area), (first.mark, other.mark)


def test_the_key_says_whose_rules_it_follows_and_what_else_is_right() -> None:
    for page in made().keys[1:]:
        assert "Follows this program's rules: row textbook" in text_of(page)
        assert "(assumption). Other schools teach otherwise." in text_of(page)
        assert "All crosses may be off alike: the middle may lie" in text_of(page)


@pytest.mark.parametrize("topic", ["usual", "fronts"])
def test_the_key_lets_the_middle_lie_on_the_treated_side(topic: Topic) -> None:
    exercise = made(topic)
    sides = set()
    for case, page in zip(exercise.cases, exercise.keys[1:], strict=True):
        across = text_of(page).partition("may lie ")[2].partition(" and ")[0]
        if case.plan.case.procedure == "full-arch":
            assert "right to" in across
            continue
        (side,) = {tooth.side for tooth in case.plan.isolation.treated}
        sides.add(side)
        assert f"mm {side}" in across
        assert {"left", "right"} & set(across.split()) == {side}
    assert sides


def test_a_drawn_page_is_marked_by_its_file() -> None:
    """The printed page itself with crosses in it, as a scan: printed ink is no cross."""
    exercise = made("gaps", 1)
    file = read_exercise(exercise_json(exercise.for_check), "exercise.json")
    case, page = exercise.cases[2], exercise.questions[2]
    places = [case.plan.to_page(hole.centre_mm) for hole in case.plan.holes]
    first, *rest = places
    drawn = [_cross(PagePoint(first.x + 3.5, first.y)), *map(_cross, rest)]
    marked = replace(page, marks=(*page.marks, *(mark for cross in drawn for mark in cross)))
    (scan,) = render_pngs(render_pdf(Document("", "", (marked,))))
    done = mark_page(read_photo(scan, "scan.png"), file)
    assert done.page.name == case.title
    assert done.straight
    assert done.extra == ()
    assert [hole.mark for hole in done.holes] == ["out of place", *["in place"] * len(rest)]


def _cross(at: PagePoint) -> list[Mark]:
    ends = [(PagePoint(at.x - 2, at.y - 2 * s), PagePoint(at.x + 2, at.y + 2 * s)) for s in (-1, 1)]
    return [Line(start, end, 0.5, "cross") for start, end in ends]


def test_the_tolerance_is_the_practices_until_another_is_chosen() -> None:
    strict = replace(LESSON, practice=Practice(tolerance_mm=1.6))
    assert exercise_set(strict, Wish(count=1)).for_check.tolerance_mm == 1.6
    assert exercise_set(strict, Wish(count=1, tolerance_mm=2.5)).for_check.tolerance_mm == 2.5
    assert exercise_set(LESSON, Wish(count=1)).for_check.tolerance_mm == 2.0


def test_the_recipe_repeats_the_practices_tolerance(tmp_path: Path) -> None:
    practice = tmp_path / "practice.toml"
    practice.write_text('format = "sheetmark-practice/1"\n[check]\ntolerance_mm = 1.6\n')
    path, again = tmp_path / "x.pdf", tmp_path / "y.pdf"
    typed = ["handout", "exercise", "--cases", "1", "-o"]
    assert run([*typed, str(path), "--practice", str(practice)]) == 0
    assert run([*typed, str(again), "--tolerance", "1.6"]) == 0
    assert path.read_bytes() == again.read_bytes()


def test_own_cases_come_from_files_without_their_references(tmp_path: Path) -> None:
    day = tmp_path / "day.csv"
    day.write_text("time,reference,teeth\n8:00,R-17,26\n9:00,R-18,46\n", "utf-8")
    case = tmp_path / "one.toml"
    written = write_case(Case(treat=(Tooth(1, 3),), reference="R-19"))
    case.write_text(written, "utf-8")
    path = tmp_path / "own.pdf"
    typed = ["handout", "exercise", "--list", str(day), "--case", str(case), "-o", str(path)]
    assert run(typed) == 0
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    assert all(f"Exercise {n} of 3" in text for n in (1, 2, 3))
    assert all(f"· {tooth}, restoration" in text for tooth in ("13", "26", "46"))
    assert "R-1" not in text


def test_a_handout_becomes_a_picture_a_page(tmp_path: Path) -> None:
    outputs = ["-o", str(tmp_path / "x.svg"), "-o", str(tmp_path / "x.png")]
    assert run(["handout", "exercise", "--cases", "1", *outputs]) == 0
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == [f"x-{n}.{form}" for n in (1, 2, 3, 4) for form in ("png", "svg")]
    assert run(["handout", "numbering", "-o", str(tmp_path / "one.png")]) == 0
    assert (tmp_path / "one.png").read_bytes().startswith(b"\x89PNG")
