"""The day's list as it is read: every form a spreadsheet gives it, and what is wrong with it."""

from __future__ import annotations

import contextlib
import csv
import io
import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import data_folder, named_model
from sheetmark.anatomy.teeth import read
from sheetmark.base.findings import InputError
from sheetmark.case.case import ToothState
from sheetmark.cli.app import run
from sheetmark.day.columns import COLUMNS
from sheetmark.day.list import MOST_BYTES, Form, read_day, repeated_references
from sheetmark.day.records import Problem, Row, RowError
from sheetmark.day.rows import CELL_LIMIT, DayCase, plan_row
from sheetmark.day.tables import LINE_LIMIT
from sheetmark.fitting.measures import read_measures
from sheetmark.jobs.day import DayBook
from sheetmark.practice.settings import Practice, Sheet, StockSheet

Output = pytest.CaptureFixture[str]
PRACTICE = Practice()
TOML = 'format = "sheetmark-day/1"\n'


def rows_of(text: str | bytes, form: str = "csv") -> list[dict[str, str]]:
    content = text if isinstance(text, bytes) else text.encode()
    day = read_day(content, "list", "toml" if form == "toml" else "csv")
    assert day.problems == ()
    return [dict(row.cells) for row in day.rows]


def planned(cells: str, names: str = "teeth", practice: Practice = PRACTICE) -> DayCase:
    """The one row of a list set apart by semicolons."""
    (row,) = read_day(f"{names}\n{cells}".encode(), "list", "csv").rows
    return plan_row(row, practice)


def problem(cells: str, names: str = "teeth", practice: Practice = PRACTICE) -> Problem:
    with pytest.raises(RowError) as caught:
        planned(cells, names, practice)
    return caught.value.problems[0]


def refusal(content: str | bytes, form: str = "csv") -> str:
    """The one line with which a whole list is refused."""
    with pytest.raises(InputError) as caught:
        rows_of(content, form)
    (line,) = caught.value.problems
    assert "\n" not in line
    return line


TWO = [
    {"time": "8:30", "teeth": "16 15", "exceptions": "13 facial 1,5"},
    {"time": "9:00", "teeth": "36"},
]


@pytest.mark.parametrize(
    "text",
    [
        'time,teeth,exceptions\n8:30,16 15,"13 facial 1,5"\n9:00,36,\n',
        "time;teeth;exceptions\n8:30;16 15;13 facial 1,5\n9:00;36;\n",
        "time\tteeth\texceptions\n8:30\t16 15\t13 facial 1,5\n9:00\t36\n",
        "TIME;Teeth; exceptions \r\n8:30; 16 15 ;13 facial 1,5\r\n9:00;36;\r\n",
        "exceptions;teeth;time\r13 facial 1,5;16 15;8:30\r;36;9:00\r",
        "\ufefftime;teeth;exceptions\n8:30;16 15;13 facial 1,5\n9:00;36;\n",
        "sep=;\r\ntime;teeth;exceptions\r\n8:30;16 15;13 facial 1,5\r\n9:00;36;\r\n",
        "# day\n\ntime;teeth;exceptions;;\n8:30;16 15;13 facial 1,5;;\n;;;;\n9:00;36;;;\n;;;;\n",
        '"time";"teeth";"exceptions"\n"8:30";"16 15";"13 facial 1,5"\n"9:00";"36";""\n',
    ],
)
def test_every_form_of_the_same_list(text: str) -> None:
    assert rows_of(text) == TWO


def test_the_same_list_as_toml() -> None:
    text = (
        f'{TOML}[[case]]\ntime = 08:30:00\nTeeth = [16, 15]\nexceptions = ["13 facial 1,5"]\n'
        '[[case]]\ntime = "9:00"\nteeth = 36\nreference = ""\n'
    )
    assert rows_of(text, "toml") == [TWO[0] | {"time": "08:30"}, TWO[1]]


def test_a_single_column_needs_no_separator() -> None:
    assert rows_of("teeth\n16,15\n36\n") == [{"teeth": "16,15"}, {"teeth": "36"}]


def test_rows_are_numbered_as_a_spreadsheet_counts_them() -> None:
    day = read_day(b"# day\nteeth\n16\n\n36\n", "list", "csv")
    assert [row.number for row in day.rows] == [3, 5]


@pytest.mark.parametrize(
    ("head", "line", "cells"),
    [
        ("teeth;reference", "#3;101", {"teeth": "#3", "reference": "101"}),
        ("reference;teeth", "#101;16", {"reference": "#101", "teeth": "16"}),
        ("reference,teeth", '"#101",16', {"reference": "#101", "teeth": "16"}),
        ("reference\tteeth", " #101\t16", {"reference": "#101", "teeth": "16"}),
        ("teeth", "# 16 comes later", {"teeth": "# 16 comes later"}),
    ],
)
def test_no_row_below_the_heading_is_a_remark(head: str, line: str, cells: dict[str, str]) -> None:
    day = read_day(f"# Monday\n{head}\n{line}\n".encode(), "list", "csv")
    assert [dict(row.cells) for row in day.rows] == [cells]
    assert (day.remark_lines, day.problems) == (1, ())


def test_every_line_is_a_row_a_problem_or_a_counted_remark() -> None:
    above = ["# Monday", "sep=;", " # room 2", ""]
    below = ["#3;101", "", "# not today;", '"16;x', "#;", ";;;", "17"]
    text = "\n".join([*above, "teeth;reference", *below])
    day = read_day(text.encode(), "list", "csv")
    assert day.remark_lines == 2
    assert [row.number for row in day.rows] == [6, 8, 10, 12]
    assert [problem.row for problem in day.problems] == [9]


def test_a_tooth_with_its_number_sign_is_planned_in_universal_only() -> None:
    universal = plan_row(Row(2, {"teeth": "#3", "notation": "universal"}), Practice())
    assert universal.plan.case.treat == (read("16", "iso"),)
    for notation in ("iso", "palmer"):
        with pytest.raises(RowError, match=f"'#16'.* not a tooth in {notation}"):
            plan_row(Row(2, {"teeth": "#16", "notation": notation}), Practice())


def test_remarks_are_counted_to_the_person(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("day.csv").write_text("# Monday\n# room 2\nteeth\n#3\n16\n", "utf-8")
    assert run(["day", "day.csv"]) == 2
    err = capsys.readouterr().err
    assert "day.csv: 2 lines above the column names read as remarks\n" in err
    assert "left out: day.csv, row 4, teeth '#3'" in err


def test_the_columns_stand_in_the_order_that_people_know() -> None:
    assert ", ".join(COLUMNS) == (
        "time, reference, teeth, procedure, notation, age, arch, exceptions, access, sheet, measure"
    )


def test_the_help_names_every_column(capsys: Output) -> None:
    assert run(["day", "--help"]) == 0
    wording = capsys.readouterr().out.replace(",", " ").split()
    assert set(COLUMNS) <= set(wording[wording.index("Columns:") :])


def test_every_column_reaches_the_plan() -> None:
    names = ";".join(COLUMNS)
    done = planned(
        "14:05;101;UL6;Root Canal;PALMER;30;adult-male;"
        '"UL5 missing; UL4 facial 1,5";Tight;140,5x130;"row UL4-UL7 35,2; UL6 10"',
        names,
    )
    case = done.plan.case
    assert done.minute == 14 * 60 + 5
    assert (case.reference, case.procedure, case.notation) == ("101", "root-canal", "palmer")
    assert (case.age, case.access, done.plan.arch.model) == (30, "tight", "adult-male")
    assert case.treat == (read("26", "iso"),)
    assert case.states == (
        ToothState(read("25", "iso"), missing=True),
        ToothState(read("24", "iso"), facial_mm=1.5),
    )
    assert done.plan.sheet == Sheet(140.5, 130.0)
    assert case.measures == read_measures(["row 24-27 35.2", "26 10"], "iso")
    assert done.plan.arch_text == "adult-male, measured"


def test_only_teeth_must_be_there_and_the_practice_has_the_rest() -> None:
    practice = replace(PRACTICE, notation="universal")
    done = planned("3", practice=practice)
    assert done.minute is None
    assert done.plan.case.treat == (read("16", "iso"),)
    assert done.plan.practice == practice
    assert planned("16.0").plan.case.treat == (read("16", "iso"),)
    assert planned("75;6.0", "teeth;age").plan.arch.model == "age-6"


@pytest.mark.parametrize(
    ("text", "minute"),
    [
        ("8:30", 510),
        ("08:30", 510),
        ("08:30:00", 510),
        ("8.30", 510),
        ("8h30", 510),
        ("8:30 AM", 510),
        ("8:30 p.m.", 1230),
        ("12:15 am", 15),
        ("12:15 pm", 735),
        ("0:00", 0),
        ("23:59", 1439),
    ],
)
def test_times(text: str, minute: int) -> None:
    assert planned(f"{text};16", "time;teeth").minute == minute


@pytest.mark.parametrize(
    ("text", "size", "material"),
    [
        ("127", (127, 127), "nitrile"),
        ("152 latex", (152, 152), "latex"),
        ("152 x 140 mm latex", (152, 140), "latex"),
        ("latex", (152, 152), "latex"),
        ("", (127, 127), "nitrile"),
    ],
)
def test_a_sheet_is_completed_from_the_stock(
    text: str, size: tuple[float, float], material: str
) -> None:
    stock = (StockSheet(Sheet(127, 127), "nitrile"), StockSheet(Sheet(152, 152), "latex"))
    practice = replace(PRACTICE, stock=stock, sheet=stock[0].sheet, material="nitrile")
    plan = planned(f"11;{text}", "teeth;sheet", practice).plan
    assert (plan.sheet, plan.practice.material) == (Sheet(*size), material)


BAD_ROWS = [
    ("8:75;16", "time;teeth", "time", "8:75", "not a time of the day; write it as 8:30 or 14:05"),
    ("13:00 pm;16", "time;teeth", "time", "13:00 pm", "not a time of the day"),
    ("soon;16", "time;teeth", "time", "soon", "not a time of the day"),
    ("19", "teeth", "teeth", "19", "not a tooth in iso notation"),
    ("16 36", "teeth", "teeth", "16 36", "both jaws in one case"),
    ("16;crowns", "teeth;procedure", "procedure", "crowns", "did you mean crown"),
    ("16;zzz", "teeth;procedure", "procedure", "zzz", "use one of restoration, crown"),
    ("16;fdi", "teeth;notation", "notation", "fdi", "use one of iso, universal, palmer"),
    ("16;narrow", "teeth;access", "access", "narrow", "use one of normal, tight"),
    ("16;seven", "teeth;age", "age", "seven", "write completed years, such as 7"),
    ("16;7.5", "teeth;age", "age", "7.5", "write completed years, such as 7"),
    ("16;130", "teeth;age", "age", "130", "must be 0 to 120 completed years"),
    ("16;-3", "teeth;age", "age", "-3", "must be 0 to 120 completed years"),
    ("16;1", "teeth;age", "age", "1", "no arch model for it"),
    ("16;giant", "teeth;arch", "arch", "giant", "unknown"),
    ("16;no.toml", "teeth;arch", "arch", "no.toml", "cannot be read"),
    ("16;15 mising", "teeth;exceptions", "exceptions", "15 mising", "did you mean missing"),
    ("16;16 missing", "teeth;exceptions", "exceptions", "16 missing", "as missing and as treated"),
    ("16;20", "teeth;sheet", "sheet", "20", "each side must be 80 to 300 mm"),
    ("16;big", "teeth;sheet", "sheet", "big", "not a size; use 152, 127"),
    ("16;250", "teeth;sheet", "sheet", "250", "too large at true scale by"),
    ("16;" + 61 * "x", "teeth;reference", "reference", 59 * "x" + "…", "at most 60 characters"),
    ("16;" + 501 * "x", "teeth;reference", "reference", 59 * "x" + "…", f"at most {CELL_LIMIT};"),
    ("=A1;A", "teeth;reference", "teeth", "=A1", "a formula, not a value; paste it as a value"),
    ("16;+1+cmd", "teeth;reference", "reference", "+1+cmd", "a formula, not a value"),
    ("16;-2+3", "teeth;reference", "reference", "-2+3", "a formula, not a value"),
    ("16;@sum(1)", "teeth;reference", "reference", "@sum(1)", "a formula, not a value"),
]


@pytest.mark.parametrize(("cells", "names", "column", "value", "advice"), BAD_ROWS)
def test_a_bad_row_names_its_column_and_what_to_do(
    cells: str, names: str, column: str, value: str, advice: str
) -> None:
    found = problem(cells, names)
    assert (found.row, found.column, found.value) == (2, column, value)
    assert advice in found.advice
    assert "\n" not in found.line


@pytest.mark.parametrize("value", ["-3", "+3", "-2,5", "+1.5e2"])
def test_a_number_with_a_sign_is_a_value_and_no_formula(value: str) -> None:
    assert planned(f"16;{value}", "teeth;reference").plan.case.reference == value


@pytest.mark.parametrize(
    ("line", "advice"),
    [
        ('16;"A1', "close every quote on its own line"),
        ('16;"101"x', "close every quote on its own line"),
        ("16;101;extra", "a cell stands in no column; correct that line"),
        ("16;101;", "a cell stands in no column; correct that line"),
    ],
)
def test_a_broken_line_costs_one_row_only(line: str, advice: str) -> None:
    day = read_day(f"teeth;reference\n{line}\n36;B\n".encode(), "list", "csv")
    assert [(row.number, row.cells["teeth"]) for row in day.rows] == [(3, "36")]
    (found,) = day.problems
    assert found.row == 2
    assert advice in found.advice


def test_an_unquoted_decimal_comma_says_how_to_write_it() -> None:
    day = read_day(b"teeth,exceptions\n16,13 facial 1,5\n", "list", "csv")
    assert "a decimal comma needs quotes or semicolons" in day.problems[0].advice


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", "list: empty; the first line names the columns time, reference, teeth"),
        (b"\xef\xbb\xbf\n\n", "list: empty; "),
        (b"sep=;\n", "list: empty; "),
        (b"teeth;time\n", "list: no case in it; add a line below the column names for each"),
        (
            b"tooths;time\n16;\n",
            "column teeth is missing, the headings are 'tooths', 'time' (is it",
        ),
        (b"teeth;Teeth\n16;16\n", "columns 'teeth' and 'Teeth' are both read as teeth; remove one"),
        (b"Zahn;tooth\n16;16\n", "columns 'Zahn' and 'tooth' are both read as teeth; remove one"),
        (b"time;reference\n8:30;A\n", "column teeth is missing, the headings are 'time', 'refer"),
        (b"16;36\n", "column teeth is missing, the headings are '16', '36'; name it teeth, or map"),
        (b"teeth\n;\n", "list: no case in it; add a line"),
        (b"teeth;time\n;8:30\n", "list: no case in it (1 row without a tooth skipped); add a line"),
        (b'"teeth;time\n16;\n', "line 1: not CSV"),
        (b"\xff\xfet\0e", "line 1 is not UTF-16 text"),
        (b"teeth\n16 \x81\n", "line 2 is not UTF-8 text (byte 9)"),
        (b"teeth;reference\n16;M\xc3\xbcll\n36;M\xfcll\n", "line 3 is not UTF-8 text (byte 29)"),
        (b"teeth\n16\0\n", "not a text file (it holds NUL)"),
        (10_000_000 * b"1", f"line 1 has 10,000,000 characters, the most is {LINE_LIMIT:,}"),
        (b"teeth\n" + 5_000_000 * b"1;", "line 2 has 10,000,000 characters"),
        (b"teeth\n" + MOST_BYTES * b"\n", "more than 16 MB, too large for a day's list"),
    ],
    ids=lambda value: value[:30] if isinstance(value, str) else None,
)
def test_a_list_that_is_none_is_refused_in_one_line(content: bytes, expected: str) -> None:
    line = refusal(content)
    assert line.startswith("list: ")
    assert expected in line


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", 'list: empty; write format = "sheetmark-day/1"'),
        ("x =", "list: broken TOML: "),
        ('format = "day"\n', "list: format is 'day'; write format ="),
        ("[[case]]\nteeth = 16\n", "list: format is missing; write format ="),
        (TOML, "list: no case in it; add a table [[case]] for each"),
        (f"{TOML}[[cases]]\nteeth = 16\n", "key 'cases' is not known, the nearest is case"),
        (f"{TOML}case = 1\n", "case must be tables; write [[case]]"),
    ],
)
def test_toml_that_is_no_list_is_refused_in_one_line(text: str, expected: str) -> None:
    assert expected in refusal(text, "toml")


@pytest.mark.parametrize(
    ("key", "column", "advice"),
    [
        ('tooths = "16"', "tooths", "not a known key; the nearest is teeth"),
        ('teeth = 16\nTeeth = "15"', "teeth", "given twice; leave one out"),
        ("teeth = true", "teeth", "must be text or a number"),
        ("teeth = [[16], {a = 1}]", "teeth", "must be text or a number"),
    ],
)
def test_a_bad_table_costs_one_case_only(key: str, column: str, advice: str) -> None:
    text = f"{TOML}[[case]]\n{key}\n[[case]]\nteeth = 36\n"
    day = read_day(text.encode(), "list", "toml")
    assert [row.number for row in day.rows] == [2]
    (found,) = day.problems
    assert (found.row, found.column) == (1, column)
    assert advice in found.advice


def test_repeated_references_are_worth_a_look() -> None:
    day = read_day(b"teeth;reference\n16;A\n36;\n46;B\n26;A\n11;\n", "list", "csv")
    (found,) = repeated_references(day.rows)
    assert (found.row, found.column, found.value) == (5, "reference", "A")
    assert "the same as in row 2" in found.advice


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (["day", "LIST.xls"], "must end in .csv, .tsv, .txt, .xlsx, .ics or .toml"),
        (["day", "none.csv"], "cannot be read"),
        (["day", "a\0.csv"], "not a file name"),
        (["day", "LIST.csv", "-o", "day.svg"], "must end in .pdf"),
        (["day", "LIST.csv", "--paper", "a3"], "use one of a4, letter"),
    ],
)
def test_a_command_that_cannot_be_done(
    arguments: list[str], expected: str, capsys: Output, tmp_path: Path
) -> None:
    path = tmp_path / "LIST.csv"
    path.write_text("teeth\n16\n")
    wording = [str(path) if word == "LIST.csv" else word for word in arguments]
    assert run(wording) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert expected in err


# Cells that a person or a spreadsheet may leave, good and bad, for any column.
CELLS = st.one_of(
    st.sampled_from(
        [
            *("16", "16 15", "36;37", "UR6", "75", "8:30", "25:00", "8,30", "iso", "palmer"),
            *("crown", "root canal", "7", "-3", "7.0", "adult-male", "..toml", "no.toml", "a\0b"),
            *("15 missing", "15 gap 3,5; 13 rotated 1e999", "24-26 bridge", "tight", "127"),
            *("152 nitrile", "1e999", "nan", "=1+1", "@x", "-", "+", "٣", "病", "x" * 600),
        ]
    ),
    st.text(st.characters(codec="utf-8"), max_size=8),
)


@settings(max_examples=30, derandomize=True, deadline=None)
@given(
    st.lists(st.sampled_from(COLUMNS[:2] + COLUMNS[3:]), max_size=4, unique=True),
    st.lists(st.lists(CELLS, min_size=5, max_size=5), min_size=1, max_size=3),
    st.sampled_from([";", ",", "\t"]),
)
def test_whatever_stands_in_a_list_is_done_or_reported(
    others: list[str], rows: list[list[str]], separator: str
) -> None:
    """Through the command to the finished pages: never a defect. The first row can be done."""
    names = ["teeth", *others]
    text = io.StringIO()
    writer = csv.writer(text, delimiter=separator)
    writer.writerows([names, ["16"], *(row[: len(names)] for row in rows)])
    content = text.getvalue().replace("\0", "").encode()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.csv"
        path.write_bytes(content)
        screen = io.StringIO()
        with contextlib.redirect_stderr(screen), contextlib.redirect_stdout(io.StringIO()):
            code = run(["day", str(path), "-o", str(Path(folder) / "day.pdf")])
        written = sorted(found.name for found in Path(folder).iterdir())
    assert code in (0, 2), screen.getvalue()
    event(f"exit code {code}, {'written' if len(written) == 2 else 'not written'}")
    assert code == 2 or written == ["day.pdf", "list.csv"]
    if code == 2 and len(written) == 2:
        assert "left out: " in screen.getvalue()


@settings(max_examples=60, derandomize=True, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=60), st.binary(max_size=60).map(lambda rest: b"teeth;age\n" + rest)
    ),
    st.sampled_from(["csv", "toml"]),
)
def test_whatever_bytes_a_file_holds_it_is_read_or_refused(content: bytes, form: Form) -> None:
    try:
        day = read_day(content, "list", form)
    except InputError:
        return
    assert day.rows or day.problems


def test_a_list_from_elsewhere_names_models_and_never_a_file(tmp_path: Path) -> None:
    """The file is a good model: taken by name alone it is a row's problem, and is not read."""
    model = tmp_path / "ours.toml"
    model.write_text((data_folder() / "adult-large.toml").read_text("utf-8"), "utf-8")
    (row,) = read_day(f"teeth;arch\n16;{model}".encode(), "list", "csv").rows
    assert plan_row(row, PRACTICE).plan.arch.model == "adult-large"
    with pytest.raises(RowError) as caught:
        plan_row(row, PRACTICE, named_model)
    assert caught.value.problems[0].column == "arch"
    advice = caught.value.problems[0].advice
    assert re.search(r"unknown; use .*adult-large.*[^.]$", advice)
    assert "file" not in advice
    (row,) = read_day(b"teeth;arch\n16;adult-large", "list", "csv").rows
    assert plan_row(row, PRACTICE, named_model).plan.arch.model == "adult-large"


def test_a_book_lays_out_what_it_would_write() -> None:
    """A reference that the font cannot write has no page: found by laying out, not by planning."""
    rows = read_day("teeth,reference\n16,A\n26,\u6b6f\n".encode(), "list.csv", "csv")
    planned_only, laid_out = (DayBook("list.csv", rows, PRACTICE, "") for _ in range(2))
    planned_only.plan()
    laid_out.lay_out()
    assert [visit.row for visit in planned_only.day.visits] == [2, 3]
    assert [visit.row for visit in laid_out.day.visits] == [2]
    (left_out,) = laid_out.day.left_out
    assert (left_out.row, left_out.column) == (3, "reference")
    laid_out.check()
    laid_out.strict = True
    with pytest.raises(InputError, match=r"list\.csv, row 3, reference .*\n.*nothing written"):
        laid_out.check()
