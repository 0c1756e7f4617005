"""The day's file as it comes out: every page read back, the tray plan, and what a bad row costs."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from pypdf import PdfReader

from sheetmark.cli import day as day_command
from sheetmark.cli.app import run
from sheetmark.day.list import read_day
from sheetmark.day.rows import plan_row
from sheetmark.day.tray import Clash, Visit, Wish, find_clashes, plan_day
from sheetmark.documents.case.overlay import overlay
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.documents.sets.day import tray_pages
from sheetmark.jobs.day import DayBook
from sheetmark.jobs.outputs import render_plan
from sheetmark.practice.settings import Practice
from sheetmark.practice.tray import Clamp
from sheetmark.render.long_pdf import LongPdf
from sheetmark.render.pdf_objects import PdfObjects
from sheetmark.typesetting.marks import Page, Text
from tests.helpers.page_check import check_page
from tests.helpers.paths import ROOT
from tests.helpers.readback import Drawing, read_first_page, read_pdf

Output = pytest.CaptureFixture[str]
EXAMPLE = ROOT / "examples" / "day.csv"
TWO = "time,reference,teeth\n8:30,A,16\n9:00,B,36\n"
BAD = "time,reference,teeth\n8:30,A,16\n8:45,B,19\n25:00,C,26\n9:00,D,36\n"


def made(folder: Path, text: str, *options: str, ending: str = "csv") -> tuple[int, bytes]:
    """The exit code and the file of a list."""
    path, out = folder / f"list.{ending}", folder / "day.pdf"
    path.write_text(text, "utf-8")
    code = run(["day", str(path), "-o", str(out), *options])
    return code, out.read_bytes() if out.exists() else b""


def data_of(text: str, practice: Practice | None = None) -> list[dict[str, Any]]:
    """The plan of every row, as its JSON."""
    rows = read_day(text.encode(), "list", "csv").rows
    plans = [plan_row(row, practice or Practice()).plan for row in rows]
    return [json.loads(render_plan(plan, "json")) for plan in plans]


def check_cautions(pages: Sequence[Drawing]) -> None:
    assert len(pages) > 0
    for page in pages:
        for caution in (*CAUTIONS, RESPONSIBILITY):
            assert caution in page.text


# ---- the pages ----


def test_each_case_of_the_example_is_true_to_its_plan(tmp_path: Path) -> None:
    text = EXAMPLE.read_text("utf-8")
    code, pdf = made(tmp_path, text)
    front, *pages = read_pdf(pdf)
    # What has no room below its sheet goes on on the case card.
    cases = [page for page in pages if "case card" not in page.text]
    data = data_of(text)
    assert code == 0
    assert len(cases) == len(data) > 5
    for page, plan in zip(cases, data, strict=True):
        check_page(page, plan)
        assert plan["case"]["reference"] in page.text
        assert plan["command"] in " ".join(page.text.split())
    for page, other in zip(cases, [*data[1:], data[0]], strict=True):
        with pytest.raises(AssertionError):
            check_page(page, other)
    check_cautions([front, *pages])


def test_a_long_list_keeps_every_mark_of_every_page(tmp_path: Path) -> None:
    """Many pages share forms and shapes; each is held against the PDF of the case alone."""
    teeth = [f"{quadrant}{position}" for quadrant in (1, 3) for position in range(1, 8)]
    rows = [f"{tooth};crown" for tooth in teeth]
    text = "teeth;procedure\n" + "\n".join(rows)
    code, pdf = made(tmp_path, text)
    pages = read_pdf(pdf)
    plans = [plan_row(row, Practice()).plan for row in read_day(text.encode(), "x", "csv").rows]
    assert code == 0
    assert len(pages) == 1 + len(plans) == 15
    for page, plan in zip(pages[1:], plans, strict=True):
        alone = read_first_page(render_plan(plan, "pdf"))
        assert len(page.found) == len(alone.found) > 50
        left = [_numbers(found) for found in page.found]
        for wording, numbers in map(_numbers, alone.found):
            near = [label for label in left if label[0] == wording and _near(label[1], numbers)]
            assert near, wording
            left.remove(near[0])
    forms = {
        name
        for page in PdfReader(tmp_path / "day.pdf").pages
        for name in page["/Resources"].get("/XObject", {})  # type: ignore[attr-defined]
    }
    assert any("shared" in name for name in forms)
    assert any("shape" in name for name in forms)


def _numbers(found: object) -> tuple[str, list[float]]:
    """A mark as text without its numbers, and the numbers."""
    number = r"-?\d+\.\d+(?:e-?\d+)?"
    return re.sub(number, "", repr(found)), [float(n) for n in re.findall(number, repr(found))]


def _near(some: list[float], others: list[float]) -> bool:
    return all(abs(a - b) < 0.001 for a, b in zip(some, others, strict=True))


def test_a_corrected_day_comes_out_of_its_printer_true(tmp_path: Path) -> None:
    practice = tmp_path / "practice.toml"
    practice.write_text(
        'format = "sheetmark-practice/1"\n[page]\nprinter = "hall"\n'
        '[[printers]]\nname = "hall"\nbar_x_mm = 149.4\nbar_y_mm = 150.6\n'
    )
    _, pdf = made(tmp_path, TWO, "--practice", str(practice))
    pages = read_pdf(pdf, printer=(149.4 / 150, 150.6 / 150))
    assert len(pages) == 3
    for page, plan in zip(pages[1:], data_of(TWO), strict=True):
        check_page(page, plan)
    assert all("Printer hall: " in page.text for page in pages)
    with pytest.raises(AssertionError):
        check_page(read_pdf(pdf)[1], data_of(TWO)[0])


@pytest.mark.parametrize(
    ("row", "behind"),
    [
        ("16;", 0),
        ('16 14;"15 missing; 13 partly-erupted; 12 broken-down; 11 rotated 60; 17 broken-down"', 2),
    ],
)
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_text_that_does_not_fit_goes_on_behind_their_case(
    row: str, behind: int, paper: Any, tmp_path: Path
) -> None:
    """What is said of one tooth fits on any page; what is said of five does not."""
    text = f"teeth;exceptions\n{row}\n"
    _, pdf = made(tmp_path, text, "--paper", paper, "--material", "nitrile")
    front, page, *further = read_pdf(pdf)
    (plan,) = data_of(text, Practice(paper=paper, material="nitrile"))
    check_page(page, plan)
    assert len(further) == behind
    assert ("! More on the next page." in page.text) is bool(behind)
    assert all("case card" in other.text for other in further)
    check_cautions([front, page, *further])


def test_cards_stand_behind_their_cases_and_page_one_counts_them(tmp_path: Path) -> None:
    _, pdf = made(tmp_path, TWO, "--cards")
    front, *pages = read_pdf(pdf)
    assert len(pages) == 4
    assert ["case card" in page.text for page in pages] == [False, True, False, True]
    rows = [word.text for word in front.texts if word.start[0] > 175 and word.text.isdigit()]
    assert rows == ["2", "4"]


def test_page_one_names_the_page_of_each_case(tmp_path: Path) -> None:
    """Many rows are left out, so that the cases stand on the second page of the tray plan."""
    cases = [f"case {number};16;\n" for number in range(4)]
    _, pdf = made(tmp_path, "reference;teeth;time\n" + 40 * "x;16;soon\n" + "".join(cases))
    first, second, *pages = read_pdf(pdf)
    assert "tray plan The day · 4 cases" in first.text
    assert "! More on the next page." in first.text
    assert "tray plan The day (continued)" in second.text
    named = [word.text for word in second.texts]
    assert len(pages) == 4
    for number, page in enumerate(pages):
        assert f"restoration · case {number} " in page.text
        at = named.index(f"case {number}")
        assert named[at - 2] == str(42 + number), "its row"
        assert named[at + 3] == str(number + 3), "its page"


def test_the_file_is_one_that_readers_take(tmp_path: Path) -> None:
    _, pdf = made(tmp_path, TWO)
    reader = PdfReader(tmp_path / "day.pdf", strict=True)
    assert len(reader.pages) == 3
    for page in reader.pages:
        assert [float(side) for side in page.mediabox] == pytest.approx([0, 0, 595.2756, 841.8898])
    root = reader.trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]
    assert reader.metadata is not None
    assert reader.metadata.subject == "sheetmark day list.csv"
    assert hash(pdf) == hash(made(tmp_path, TWO)[1]), "the same bytes again"


def test_csv_and_toml_give_the_same_pages(tmp_path: Path) -> None:
    toml = 'format = "sheetmark-day/1"\n' + "".join(
        f'[[case]]\ntime = {time}:00\nreference = "{name}"\nteeth = {teeth}\n'
        for time, name, teeth in (("08:30", "A", 16), ("09:00", "B", 36))
    )
    pages = read_pdf(made(tmp_path, TWO)[1])[1:]
    assert read_pdf(made(tmp_path, toml, ending="toml")[1])[1:] == pages
    assert len(pages) == 2


# ---- the tray ----


def wish(anchor: str, *labels: str) -> Wish:
    return Wish(anchor, (anchor,), labels)


def visit(row: int, time: str, *wishes: Wish) -> Visit:
    minute = None
    if time:
        hours, minutes = time.split(":")
        minute = 60 * int(hours) + int(minutes)
    return Visit(
        row=row,
        minute=minute,
        reference="",
        teeth="16",
        isos=("16",),
        procedure="restoration",
        sheet="152 x 152 mm, latex",
        wishes=wishes,
    )


def tray(**counts: int) -> tuple[Clamp, ...]:
    return tuple(Clamp(label, "molar", winged=True, count=n) for label, n in counts.items())


@pytest.mark.parametrize(
    ("visits", "counts", "expected"),
    [
        # One of it: ready again after just 60 minutes, not a minute before.
        ([("8:00", ["a"]), ("9:00", ["a"])], {"a": 1}, []),
        ([("8:00", ["a"]), ("8:59", ["a"])], {"a": 1}, [(1, "a", "9:00", "")]),
        # Two of it serve two at a time, and not a third.
        ([("8:00", ["a"]), ("8:10", ["a"]), ("9:00", ["a"])], {"a": 2}, []),
        (
            [("8:00", ["a"]), ("8:10", ["a"]), ("8:30", ["a"])],
            {"a": 2},
            [(2, "a", "9:00", "")],
        ),
        # The list's order is not that of the day.
        ([("8:30", ["a"]), ("8:00", ["a"])], {"a": 1}, [(0, "a", "9:00", "")]),
        # A wish that clashes takes nothing from a later one.
        ([("8:00", ["a"]), ("8:30", ["a"]), ("9:00", ["a"])], {"a": 1}, [(1, "a", "9:00", "")]),
        # What else fits and is free.
        ([("8:00", ["a"]), ("8:30", ["a", "b"])], {"a": 1, "b": 1}, [(1, "a", "9:00", "b")]),
        # But not what a case before or after it needs.
        (
            [("8:00", ["a"]), ("8:00", ["b"]), ("8:30", ["a", "b"])],
            {"a": 1, "b": 1},
            [(2, "a", "9:00", "")],
        ),
        (
            [("8:00", ["a"]), ("8:30", ["a", "b"]), ("9:29", ["b"])],
            {"a": 1, "b": 1},
            [(1, "a", "9:00", "")],
        ),
        (
            [("8:00", ["a"]), ("8:30", ["a", "b"]), ("9:30", ["b"])],
            {"a": 1, "b": 1},
            [(1, "a", "9:00", "b")],
        ),
        # The last one that is free is offered once.
        (
            [("8:00", ["a"]), ("8:30", ["a", "b"]), ("8:40", ["a", "b"])],
            {"a": 1, "b": 1},
            [(1, "a", "9:00", "b"), (2, "a", "9:00", "")],
        ),
        # Two anchors of one case, a case without a time, an anchor that nothing fits.
        ([("8:00", ["a"], ["a"])], {"a": 2}, []),
        ([("8:00", ["a"], ["a"])], {"a": 1}, [(0, "a", "9:00", "")]),
        ([("8:00", ["a"]), ("", ["a"]), ("8:10", [])], {"a": 1}, []),
    ],
)
def test_clashes(
    visits: list[tuple[Any, ...]],
    counts: dict[str, int],
    expected: list[tuple[int, str, str, str]],
) -> None:
    day = [
        visit(row, time, *(wish(f"anchor {n}", *labels) for n, labels in enumerate(wishes)))
        for row, (time, *wishes) in enumerate(visits)
    ]
    found = find_clashes(day, tray(**counts), 60)
    shown = [(c.row, c.label, f"{c.back // 60}:{c.back % 60:02}", c.instead) for c in found]
    assert shown == expected


@settings(max_examples=60, derandomize=True, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 200), st.permutations("abc")), max_size=14),
    st.fixed_dictionaries({label: st.integers(1, 3) for label in "abc"}),
    st.integers(1, 90),
)
def test_no_clamp_is_out_twice_and_nothing_offered_clashes(
    wishes: list[tuple[int, list[str]]], counts: dict[str, int], turn_round: int
) -> None:
    """Counted minute by minute: those that do not clash, and what is offered, never run out."""
    day = [
        replace(visit(row, ""), minute=minute, wishes=(wish("x", *labels),))
        for row, (minute, labels) in enumerate(wishes)
    ]
    clashes: dict[int, Clash] = {
        clash.row: clash for clash in find_clashes(day, tray(**counts), turn_round)
    }
    taken = [
        (minute, clashes[row].instead if row in clashes else labels[0])
        for row, (minute, labels) in enumerate(wishes)
    ]
    for minute in range(300):
        for label, count in counts.items():
            out = sum(t <= minute < t + turn_round for t, l in taken if l == label)  # noqa: E741
            assert out <= count
    for row, clash in clashes.items():
        minute = wishes[row][0]
        held = [
            t
            for other, (t, labels) in enumerate(wishes)
            if labels[0] == clash.label
            and other not in clashes
            and minute - turn_round < t <= minute
        ]
        assert len(held) == counts[clash.label], "it clashes only where all are out"
        assert clash.back == min(held) + turn_round


def test_page_one_is_the_tray_plan(tmp_path: Path, capsys: Output) -> None:
    code, pdf = made(tmp_path, EXAMPLE.read_text("utf-8"))
    front = read_first_page(pdf).text
    assert code == 0
    assert "The day · 9 cases" in front
    assert "7 152 x 152 mm, latex 1 127 x 127 mm, latex 1 152 x 152 mm, nitrile" in front
    # Wanted, in the tray, most at once, what it is.
    assert "7 4 5 molar winged 1 4 1 molar wingless 2 4 2 premolar winged" in front
    assert (
        "9:15 6 27 molar winged: all 4 are out, the next is ready at 9:30. Free: molar wing"
        in front
    )
    out, _ = capsys.readouterr()
    assert "clamps     7  molar winged (in tray: 4)" in out
    assert "clash at 9:15, row 6, tooth 27: molar winged (in tray: 4) not ready before 9:30" in out


def test_the_turn_round_time_is_the_practices(tmp_path: Path) -> None:
    practice = tmp_path / "practice.toml"
    for minutes, clash in ((45, False), (46, True)):
        practice.write_text(
            f'format = "sheetmark-practice/1"\ntray_turn_round_min = {minutes}\n'
            '[[tray]]\nlabel = "own"\nkind = "molar"\nwinged = true\n'
        )
        text = "time,teeth\n8:00,36\n8:45,36\n"
        front = read_first_page(made(tmp_path, text, "--practice", str(practice))[1]).text
        assert ("own: the only one is out, the next is ready at 8:46." in front) is clash
        assert ("No clamp is wanted again before it is ready." in front) is not clash
        assert f"A clamp is ready again {minutes} minutes after the time of its case." in front


def test_what_the_tray_plan_cannot_tell_it_says(tmp_path: Path) -> None:
    practice = tmp_path / "practice.toml"
    practice.write_text(
        'format = "sheetmark-practice/1"\n[[tray]]\nlabel = "own"\nkind = "molar"\nwinged = true\n'
    )
    text = "time,reference,teeth\n9:00,A,16\n,A,36\n8:00,B,11\n8:01,C,19\n8:02,C,11\n"
    front = read_first_page(made(tmp_path, text, "--practice", str(practice))[1]).text
    assert "! 1 case has no time, so clashes with other cases cannot be found." in front
    assert "4 – – ! none of the tray fits" in front
    assert "Of the cases with a time, no clamp is wanted again before it is ready." in front
    # Not C: the row above that had it has no page.
    assert "6 reference C" not in front
    assert "3 reference A the same as in row 2; check that both are meant" in front
    assert "4 time 8:00 earlier than a row above; the pages are in the order of the list" in front


# ---- rows that cannot be done ----


def test_a_bad_row_costs_its_own_page_and_stands_on_page_one(
    tmp_path: Path, capsys: Output
) -> None:
    code, pdf = made(tmp_path, BAD)
    assert code == 2
    front, *cases = read_pdf(pdf)
    data = data_of(TWO.replace("B,", "D,"))
    assert len(cases) == len(data) == 2
    for page, plan in zip(cases, data, strict=True):
        check_page(page, plan)
    assert "! Left out: 2 rows have no page Row Column Value What to do 3 teeth 19" in front.text
    assert "4 time 25:00 not a time of the day; write it as 8:30 or 14:05" in front.text
    _, err = capsys.readouterr()
    lines = err.splitlines()
    assert len(lines) == 3
    assert re.fullmatch(r"left out: .*list\.csv, row 3, teeth '19': tooth '19': not a .*", lines[0])
    assert "row 4, time '25:00': not a time of the day" in lines[1]
    assert lines[2].startswith("wrote ")


def test_a_value_that_no_page_can_write_is_shown_by_its_code(
    tmp_path: Path, capsys: Output
) -> None:
    code, pdf = made(tmp_path, "reference;teeth\n\u75c5;16\nA;36\n")
    assert code == 2
    front, *cases = read_pdf(pdf)
    assert len(cases) == 1
    assert "2 reference U+75C5 reference 'U+75C5': the font has no glyph for" in front.text
    assert "row 2, reference '\u75c5': reference '\u75c5': the font" in capsys.readouterr().err


@pytest.mark.parametrize("text", [BAD, "teeth\n19\n"])
def test_strict_or_all_bad_writes_nothing(text: str, tmp_path: Path, capsys: Output) -> None:
    out = tmp_path / "day.pdf"
    out.write_bytes(b"%PDF-1.7 an old file")
    code, content = made(tmp_path, text, *(["--strict"] if text == BAD else []))
    assert code == 2
    assert (
        content[:21] == b"%PDF-1.7 an old file"
    )  # short, since pytest compares long bytes at length
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day.pdf", "list.csv"]
    captured = capsys.readouterr()
    assert captured.out == ""
    *rows, last = captured.err.splitlines()
    assert len(rows) == (2 if text == BAD else 1)
    assert all("list.csv, row " in line for line in rows)
    assert last.endswith("nothing written")


def test_strict_without_a_bad_row_writes(tmp_path: Path) -> None:
    code, pdf = made(tmp_path, TWO, "--strict")
    assert code == 0
    assert len(read_pdf(pdf)) == 3


def test_a_full_disk_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    def full(self: PdfObjects, content: bytes) -> None:
        raise OSError(28, "No space left on device")

    out = tmp_path / "day.pdf"
    out.write_bytes(b"%PDF-1.7 an old file")
    monkeypatch.setattr(PdfObjects, "_put", full)
    code, content = made(tmp_path, TWO)
    assert (code, content[:21]) == (2, b"%PDF-1.7 an old file")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day.pdf", "list.csv"]
    assert "cannot be written (No space left on device)" in capsys.readouterr().err


def test_without_a_file_the_tray_is_listed(tmp_path: Path, capsys: Output) -> None:
    path = tmp_path / "list.csv"
    path.write_text(BAD)
    assert run(["day", str(path)]) == 2
    out, err = capsys.readouterr()
    assert "sheets     2  152 x 152 mm, latex" in out
    assert err.splitlines()[-1] == "no file written; add -o day.pdf"
    assert [found.name for found in tmp_path.iterdir()] == ["list.csv"]


def test_a_bar_is_for_long_lists_on_a_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[int] = []

    def track(_: object, rows: list[Any], **__: object) -> list[Any]:
        shown.append(len(rows))
        return rows

    monkeypatch.setattr("rich.progress.Progress.track", track)
    path = tmp_path / "list.csv"
    for terminal, rows, expected in ((False, 60, []), (True, 49, []), (True, 50, [50])):
        monkeypatch.setattr("sys.stderr.isatty", lambda terminal=terminal: terminal)
        path.write_text("teeth\n" + rows * "16\n")
        shown.clear()
        assert run(["day", str(path)]) == 0
        assert shown == expected
    assert run(["day", str(path), "-q"]) == 0
    assert shown == expected, "none with -q"
    assert day_command.LONG_LIST == 50


def test_pages_are_let_go_one_by_one(tmp_path: Path) -> None:
    """What a writer keeps does not hold the pages' own marks or streams."""
    (row,) = read_day(b"teeth\n16\n", "x", "csv").rows
    (page,) = overlay(plan_row(row, Practice()).plan, card=False).pages
    sizes = []
    with (tmp_path / "long.pdf").open("w+b") as file:
        pdf = LongPdf(file, (page.width, page.height), "x", "y")
        for _ in range(4):
            pdf.add(Page(page.width, page.height, page.marks))
            sizes.append(file.tell())
            assert all(known is None for known in _page_objects(pdf))
        pdf.finish()
    first, *_, last = (after - before for before, after in pairwise(sizes))
    assert last < first, "what pages share is written once"
    assert len(read_pdf((tmp_path / "long.pdf").read_bytes())) == 4


def _page_objects(pdf: LongPdf) -> list[object]:
    known = pdf._doc.idToObject
    found = [known[name] for name in known if name.startswith("Page")]
    assert found
    return found


def test_no_visits_make_no_tray(tmp_path: Path) -> None:
    day = plan_day([], Practice())
    assert (day.sheets, day.clamps, day.clashes) == ((), (), ())
    (page,) = tray_pages(day, [])
    assert [mark.name for mark in page.marks if mark.name == "tick-box"] == []


def test_what_is_laid_out_has_a_box_to_tick_and_the_plan_its_day(tmp_path: Path) -> None:
    """A box for each sheet, clamp and case, none for what is left out; a line for the date."""
    text = "date;teeth\n2026-11-26;16\n2026-11-26;36\n2026-11-26;19\n"
    for content, day in ((text, "Thursday, 26 November 2026 · 2 cases"), ("teeth\n16\n", "Date:")):
        rows = read_day(content.encode(), "list", "csv")
        book = DayBook("list", rows, Practice(), "sheetmark day list")
        book.lay_out()
        (page,) = tray_pages(book.day, [0] * len(book.visits))
        boxes = [mark for mark in page.marks if mark.name == "tick-box"]
        plan = book.day
        assert len(boxes) == len(plan.sheets) + len(plan.clamps) + len(plan.visits)
        texts = [mark for mark in page.marks if isinstance(mark, Text)]
        assert any(mark.text.startswith(day) for mark in texts)
        # 11 points are 3.9 mm.
        assert {mark.size for mark in texts if mark.name == "table-cell"} == {3.9}
