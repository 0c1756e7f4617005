"""Lists as practice systems export them: they print without a change, and no name is on a page."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from msgspec.structs import replace
from openpyxl import Workbook

from sheetmark.base.findings import InputError
from sheetmark.case.case import PROCEDURES
from sheetmark.cli.app import run
from sheetmark.day.columns import COLUMNS, LIST_ONLY
from sheetmark.day.dates import completed_years, read_date, slash_order
from sheetmark.day.decode import decoded
from sheetmark.day.headings import column_of
from sheetmark.day.list import Form, read_day
from sheetmark.day.reading import Reading, looks_like_a_name
from sheetmark.day.records import DayList
from sheetmark.day.remark import exceptions_in
from sheetmark.day.rows import plan_row
from sheetmark.day.teeth_cell import teeth_in, teeth_in_summary
from sheetmark.practice.list_terms import (
    LIST_COLUMNS,
    LIST_MEANINGS,
    ListHeading,
    ListWord,
)
from sheetmark.practice.settings import Practice
from tests.helpers.paths import ROOT
from tests.helpers.readback import read_pdf

Output = pytest.CaptureFixture[str]
LISTS = ROOT / "examples" / "lists"
DAY = date(2026, 11, 26)

# What each row of the two exports becomes: time, reference, tooth, procedure, age, what differs.
GERMAN = [
    ("08:30", "4711", "16 mod", "restoration", "42", None),
    ("08:45", "4712", "36", "root-canal", "55", "35 missing"),
    ("09:15", "4713", "75", "restoration", "6", None),
    ("09:45", "4714", "24", "cervical", "71", None),
    ("10:30", "4716", "11", "crown", "36", "21 implant"),
]
FRENCH = [
    ("8h30", "1201", "26", "restoration", "47", None),
    ("9h00", "1202", "85", "root-canal", "8", None),
    ("9h45", "1203", "46, 45", "restoration", "59", "47 missing"),
    ("10h30", "1205", "12", "crown", "31", None),
]
NAMES = ("Beispiel", "Muster", "Probe", "Exemple", "Bruno", "Angst", "1984", "1979", "Summe")


def listed(content: bytes | str, form: Form = "csv", how: Reading | None = None) -> DayList:
    data = content if isinstance(content, bytes) else content.encode()
    return read_day(data, "list", form, how=how)


def facts(day: DayList) -> list[tuple[str | None, ...]]:
    found: list[tuple[str | None, ...]] = []
    for row in day.rows:
        case = plan_row(row, Practice()).plan.case
        cells = row.cells
        found.append(
            (cells.get("time"), cells.get("reference"), cells["teeth"], case.procedure,
             cells.get("age"), cells.get("exceptions"))
        )  # fmt: skip
    return found


@pytest.mark.parametrize(("name", "rows"), [("tagesliste.csv", GERMAN), ("agenda.csv", FRENCH)])
def test_an_export_is_read_without_a_change(name: str, rows: list[tuple[str, ...]]) -> None:
    day = listed((LISTS / name).read_bytes())
    assert day.problems == ()
    assert facts(day) == rows
    assert day.day == DAY


@pytest.mark.parametrize(("name", "cases"), [("tagesliste.csv", 5), ("agenda.csv", 4)])
def test_an_export_prints_and_no_page_holds_a_name(
    name: str, cases: int, tmp_path: Path, capsys: Output
) -> None:
    path = tmp_path / "day.pdf"
    assert run(["day", str(LISTS / name), "-o", str(path)]) == 0
    text = "\n".join(page.text for page in read_pdf(path.read_bytes()))
    assert f"Thursday, 26 November 2026 · {cases} cases" in text
    assert not [word for word in NAMES if word in text]
    err = capsys.readouterr().err
    assert "columns not read: " in err
    assert "without a tooth skipped" in err
    assert not [word for word in NAMES if word in err]


def test_what_is_not_read_is_counted_and_named() -> None:
    day = listed((LISTS / "tagesliste.csv").read_bytes())
    assert day.notes == (
        "in Windows-1252",
        "1 line above the column names passed over",
        "columns not read: Patient, Zimmer",
        "2 rows without a tooth skipped",
    )
    (remark,) = day.remarks
    assert (remark.row, remark.column, remark.value) == (5, "remark", "")
    assert all("born" not in row.cells for row in day.rows)


# --- encodings --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("encoding", "named"),
    [
        ("utf-8", ""),
        ("utf-8-sig", ""),
        ("utf-16", "UTF-16"),
        ("utf-16-le", "UTF-16"),
        ("utf-16-be", "UTF-16"),
        ("cp1252", "Windows-1252"),
    ],
)
def test_encodings_are_distinguished(encoding: str, named: str) -> None:
    text = "Zähne;Âge\n16;7\n"
    assert decoded(text.encode(encoding), "list") == (text, named)


# --- spreadsheets and calendars ---------------------------------------------------------------


def workbook(fill: Callable[[Workbook], None]) -> bytes:
    book, file = Workbook(), io.BytesIO()
    fill(book)
    book.save(file)
    return file.getvalue()


def test_a_spreadsheet_is_the_same_list_as_its_csv() -> None:
    import csv
    from datetime import datetime, time

    text, _ = decoded((LISTS / "tagesliste.csv").read_bytes(), "")

    def fill(book: Workbook) -> None:
        notes = book.create_sheet("Liste")
        for line in csv.reader(io.StringIO(text), delimiter=";"):
            cells: list[object] = list(line)
            if len(line) > 6 and line[0].startswith("26."):
                cells[0], cells[2] = datetime(2026, 11, 26), int(line[2])
                cells[1] = time.fromisoformat(line[1])
            notes.append(cells)

    day = listed(workbook(fill), "xlsx")
    assert facts(day) == GERMAN
    assert day.notes[0] == "1 line above the column names passed over"


def test_hidden_rows_are_left_out_and_a_formula_without_a_value_is_a_problem() -> None:
    def fill(book: Workbook) -> None:
        sheet = book.active
        assert sheet is not None
        for cells in (("teeth", "reference"), (16, 1), (26, 2), ("=A2", 3)):
            sheet.append(cells)
        sheet.row_dimensions[3].hidden = True

    day = listed(workbook(fill), "xlsx")
    assert [row.cells for row in day.rows] == [
        {"teeth": "16", "reference": "1"},
        {"teeth": "=A2", "reference": "3"},
    ]
    assert day.notes == ("1 row hidden in the spreadsheet skipped",)


CALENDAR = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//invented//EN
{}END:VCALENDAR
"""


def entry(start: str, summary: str, *more: str) -> str:
    lines = ("BEGIN:VEVENT", f"UID:{summary}", f"DTSTART{start}", f"SUMMARY:{summary}", *more)
    return "".join(f"{line}\n" for line in (*lines, "END:VEVENT"))


def calendar(*entries: str) -> bytes:
    return CALENDAR.format("".join(entries)).replace("\n", "\r\n").encode()


def test_entries_of_a_calendar_hold_tooth_and_procedure() -> None:
    content = calendar(
        entry(";TZID=Europe/Berlin:20261126T100000", "Beispiel Anna: 26 Füllung\\, 30 min"),
        entry(":20261126T083000", "36 Wurzelkanalbehandlung"),
        entry(":20261126T090000", "Teambesprechung Raum 12"),
        entry(":20261126T110000", "45 Krone", "STATUS:CANCELLED"),
        entry(":20261126T113000", "46 Krone", "RRULE:FREQ=WEEKLY"),
        entry(":20261126T120000", "Zimmer 2: 14, 15 Füllung und 26 Krone"),
    )
    day = listed(content, "ics")
    assert [dict(row.cells) for row in day.rows] == [
        {"time": "08:30", "teeth": "36", "procedure": "root-canal"},
        {"time": "10:00", "teeth": "26", "procedure": "restoration"},
    ]
    assert day.notes == ("1 row without a tooth skipped", "1 row cancelled skipped")
    repeated, mixed = day.problems
    assert "a repeated entry" in repeated.advice
    assert (mixed.column, mixed.value) == ("summary", "")
    assert "numbers stand in several places" in mixed.advice


# --- days and ages ----------------------------------------------------------------------------

TWO_DAYS = "date;teeth\n2026-11-26;16\n2026-11-27;26\n2026-11-27;36\n"


def test_of_several_days_one_is_picked(tmp_path: Path, capsys: Output) -> None:
    with pytest.raises(InputError, match="holds 2 days, 2026-11-26, 2026-11-27; pick one"):
        listed(TWO_DAYS)
    day = listed(TWO_DAYS, how=Reading(on=date(2026, 11, 27)))
    assert [row.cells["teeth"] for row in day.rows] == ["26", "36"]
    assert day.notes == ("1 row of another day skipped",)
    path = tmp_path / "list.csv"
    path.write_text(TWO_DAYS)
    assert run(["day", str(path)]) == 2
    assert "(--date 2026-11-26)" in capsys.readouterr().err
    assert run(["day", str(path), "--date", "27.11.2026"]) == 0


@pytest.mark.parametrize(
    ("text", "order", "found"),
    [
        ("2026-11-05", "day first", date(2026, 11, 5)),
        ("5.11.2026", "month first", date(2026, 11, 5)),
        ("05.11.26 08:30", "day first", date(2026, 11, 5)),
        ("5/11/2026", "day first", date(2026, 11, 5)),
        ("11/5/2026", "month first", date(2026, 11, 5)),
        ("2026-11-05T08:30:00", "day first", date(2026, 11, 5)),
    ],
)
def test_dates(text: str, order: str, found: date) -> None:
    assert read_date(text, "day first" if order == "day first" else "month first") == found


@pytest.mark.parametrize("text", ["31.02.2026", "soon", "2026-13-01", "1.2", ""])
def test_no_dates(text: str) -> None:
    with pytest.raises(InputError, match="not a date"):
        read_date(text, "day first")


def test_one_date_says_which_number_is_the_day() -> None:
    assert slash_order(["03/04/2026", "25/04/2026"]) == "day first"
    assert slash_order(["03/04/2026", "04/25/2026"]) == "month first"
    assert slash_order(["03/04/2026"]) is None
    assert slash_order(["25/04/2026", "04/25/2026"]) is None
    day = listed("date;teeth\n03/04/2026;16\n")
    assert (day.day, day.notes) == (
        date(2026, 4, 3), ("dates such as 03/04/2026 read with the day first",)
    )  # fmt: skip
    letter = listed("date;teeth\n03/04/2026;16\n", how=Reading(practice=Practice(paper="letter")))
    assert letter.day == date(2026, 3, 4)


def test_a_birth_date_gives_the_age_on_the_day() -> None:
    assert completed_years(date(2020, 11, 27), DAY) == 5
    assert completed_years(date(2020, 11, 26), DAY) == 6
    text = "date;born;teeth\n26.11.2026;27.11.2020;75\n"
    (row,) = listed(text).rows
    assert row.cells == {"teeth": "75", "age": "5"}
    undated = "geb;Zahn\n27.11.2020;75\n"
    day = listed(undated, how=Reading(today=date(2026, 11, 27)))
    assert (day.rows[0].cells["age"], day.day) == ("6", date(2026, 11, 27))
    assert day.notes == ("ages are those of today, 2026-11-27",)
    for born, wording in (("27.11.20", "write all four"), ("2030-01-01", "an age of -4 years"),
                        ("x", "not a date")):  # fmt: skip
        (problem,) = listed(f"date;born;teeth\n26.11.2026;{born};75\n").problems
        assert wording in problem.advice
        assert problem.value == "", "a birth date stands on no page"
    assert listed("born;age;teeth\nx;6;75\n").rows[0].cells["age"] == "6"


# --- columns and words ------------------------------------------------------------------------


def test_the_practice_file_names_our_columns_and_procedures() -> None:
    assert set(LIST_COLUMNS) == {"ignored", *COLUMNS, *LIST_ONLY}
    assert set(LIST_MEANINGS) == {"skipped", *PROCEDURES}


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("TEETH", "teeth"),
        ("Zahn (FDI)", "teeth"),
        ("Zähne", "teeth"),
        ("Pieza", "teeth"),
        ("Uhrzeit", "time"),
        ("Fecha de nacimiento", "born"),
        ("Geb.-Datum", "born"),
        ("Patient", None),
        ("Zahnarzt", None),
        ("Name", None),
    ],
)
def test_headings_in_four_languages(heading: str, column: str | None) -> None:
    assert column_of(heading) == column


def test_own_headings_and_terms_win() -> None:
    own = replace(
        Practice(),
        list_headings=(ListHeading("Geplant", "procedure"), ListHeading("Zahn", "ignored"),
                       ListHeading("FDI", "teeth")),
        list_words=(ListWord("SKF", "restoration"), ListWord("PZR", "skipped")),
    )  # fmt: skip
    day = listed("zahn;fdi;geplant\nx;16;skf 2\ny;26;PZR\nz;36;Ex\n", how=Reading(practice=own))
    assert [row.cells["teeth"] for row in day.rows] == ["16", "36"]
    assert day.notes == ("columns not read: zahn", "1 row that need no sheet skipped")
    assert plan_row(day.rows[0], own).plan.case.procedure == "restoration"
    with pytest.raises(Exception, match=r"procedure 'Ex'.*use one of restoration"):
        plan_row(day.rows[1], own)


def test_a_slip_in_a_heading_is_questioned() -> None:
    day = listed("teeth;exeptions;Patient\n16;;x\n")
    assert day.doubts == ("column 'exeptions' is not read; did you mean exceptions?",)


def test_a_procedure_without_a_tooth_is_no_check_up() -> None:
    day = listed("teeth;procedure\n;Füllung\n;Kontrolle\n16;Füllung\n")
    (problem,) = day.problems
    assert (problem.row, problem.column) == (2, "teeth")
    assert "name the tooth" in problem.advice
    assert day.notes == ("1 row without a tooth skipped",)


def test_all_problems_of_a_row_come_at_once() -> None:
    (row,) = listed("time;teeth;procedure;age;access\n25:00;19;zzz;old;far\n").rows
    with pytest.raises(Exception, match="not a time") as caught:
        plan_row(row, Practice())
    problems = caught.value.problems  # type: ignore[attr-defined]
    assert {problem.column for problem in problems} == {
        "time", "teeth", "procedure", "age", "access"
    }  # fmt: skip


# --- cells ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "teeth"),
    [
        ("16 mod", "16"),
        ("16MOD", "16"),
        ("16-MO, 15-DO", "16, 15"),
        ("1.6", "16"),
        ("16.0", "16"),
        ("Zahn 16", "16"),
        ("16/15", "16 15"),
        ("16 und 15", "16 15"),
        ("16 + 15", "16 15"),
        ("16 rot", "16 rot"),
        ("116", "116"),
    ],
)
def test_teeth_with_what_stands_round_them(cell: str, teeth: str) -> None:
    assert teeth_in(cell, "iso") == teeth


def test_letters_are_teeth_in_other_notations() -> None:
    assert teeth_in("A B", "universal") == "A B"
    with pytest.raises(InputError, match="in ISO notation alone"):
        teeth_in_summary("3 filling", "universal")


@pytest.mark.parametrize(
    ("remark", "exceptions", "whole"),
    [
        ("17 fehlt", "17 missing", True),
        ("fehlt 17, Implantat 15", "17 missing; 15 implant", True),
        ("Brücke 14-16", "14-16 bridge", True),
        ("47 est absente.", "47 missing", True),
        ("falta 36; Angst", "36 missing", False),
        ("17 fehlt nicht", "", False),
        ("24 facial 1,5", "24 facial 1,5", True),
        ("Anna Beispiel", "", False),
        ("99 fehlt", "", False),
        ("16 Brücke", "", False),
    ],
)
def test_remarks_are_taken_only_where_every_word_is_understood(
    remark: str, exceptions: str, whole: bool
) -> None:
    assert exceptions_in(remark, "iso") == (exceptions, whole)


@pytest.mark.parametrize(
    ("reference", "name"),
    [
        ("4711", False),
        ("A-17", False),
        ("Chair 2", False),
        ("AB", False),
        ("red", False),
        ("Beispiel", True),
        ("Beispiel, Anna", True),
        ("MUSTER BERND", True),
        ("Anna Beispiel 1984", True),
    ],
)
def test_a_reference_that_looks_like_a_name(reference: str, name: bool) -> None:
    assert looks_like_a_name(reference) == name
    day = listed(f"teeth;reference\n16;{reference}\n")
    assert ("reference" not in day.rows[0].cells) == name
    assert [remark.value for remark in day.remarks] == ([""] if name else [])


# --- the commands beside it -------------------------------------------------------------------


def test_headings_and_terms_are_kept_in_the_practice_file(tmp_path: Path, capsys: Output) -> None:
    own, path = tmp_path / "own.toml", tmp_path / "list.csv"
    own.write_text('format = "sheetmark-practice/1"\n# ours\nname = "Clinic"\n')
    path.write_text("FDI;Was\n16;SKF\n26;Kontrolle\n")
    practice = ["--practice", str(own)]
    assert run(["day", str(path), *practice]) == 2
    assert 'map the one that holds the teeth: sheetmark day map --heading "HEADING=COLUMN"' in (
        capsys.readouterr().err
    )
    taught = ["--heading", "FDI=teeth", "--heading", "Was=procedure"]
    assert run(["day", "map", str(path), *taught, *practice]) == 0
    out = capsys.readouterr().out
    assert "FDI  teeth (your own)" in out
    assert "procedure 'SKF', in 1 rows, is not known" in out
    arguments = ["--word", "SKF=restoration", "--word", "Kontrolle=skipped"]
    assert run(["day", "map", *arguments, *practice]) == 0
    assert "# ours\n" in own.read_text()
    assert run(["day", str(path), *practice]) == 0
    assert "1 row that need no sheet skipped" in capsys.readouterr().err
    assert run(["day", "map", "--heading", "FDI:teeth", *practice]) == 2
    assert run(["day", "map", "--heading", "FDI=tooth", *practice]) == 2
    assert "did you mean teeth?" in capsys.readouterr().err


def test_a_template_opens_as_a_list(tmp_path: Path) -> None:
    path = tmp_path / "empty.csv"
    assert run(["day", "template", "-o", str(path)]) == 0
    text = path.read_text("utf-8-sig")
    assert text.strip().split(",") == list(COLUMNS)
    with pytest.raises(InputError, match="no case in it"):
        listed(path.read_bytes())


def test_a_thousand_rows_are_not_a_thousand_lines(tmp_path: Path, capsys: Output) -> None:
    path = tmp_path / "list.csv"
    path.write_text("time;teeth\n" + "8:30;19\n" * 40 + "8:30;16\n" * 60)
    assert run(["day", str(path)]) == 2
    out, err = capsys.readouterr()
    assert len(out.splitlines()) < 16
    assert len(err.splitlines()) < 16
    assert "… 30 more, which the tray plan lists" in err
    assert run(["day", str(path), "-v"]) == 2
    assert len(capsys.readouterr().err.splitlines()) > 40
