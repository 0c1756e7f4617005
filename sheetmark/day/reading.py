"""From a table to the rows of the day's list.

Only columns that are known are read. A birth date gives the age and goes no further; a reference
that looks like a name and a remark that is not understood stand on no page.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date

from msgspec import Struct, field

from sheetmark.base.findings import Action, Choice, InputError
from sheetmark.day.columns import procedure_in
from sheetmark.day.dates import SlashOrder, completed_years, read_date, slash_order
from sheetmark.day.headings import read_headings
from sheetmark.day.records import DayList, Problem, Row, RowError
from sheetmark.day.remark import exceptions_in
from sheetmark.day.tables import Table
from sheetmark.day.teeth_cell import teeth_in_summary
from sheetmark.practice.list_terms import SKIPPED
from sheetmark.practice.settings import Practice

NO_TOOTH = "without a tooth"
NOT_WANTED = "that need no sheet"
OTHER_DAY = "of another day"
_SLASH = re.compile(r"\d{1,2}/\d{1,2}/")
_DATED_TIME = re.compile(r"(\S*\d{4}\S*)[ T]+(\d{1,2}[:.h]\d{2}.*)")
_WORD = re.compile(r"[^\W\d_]{2,}")


class Reading(Struct, frozen=True, kw_only=True):
    """What a list is read with: the settings, the day that is wanted, and the present one.

    `on` picks the rows of one day. `today` is the day for which ages are worked out where the
    list names none; without either, birth dates cannot be used.
    """

    practice: Practice = field(default_factory=Practice)
    on: date | None = None
    today: date | None = None


def read_table(table: Table, shown: str, how: Reading) -> DayList:
    """The rows of a table; `shown` names the file.

    Raises InputError where a needed column is missing or two are one, and where the list holds
    several days and none is picked.
    """
    practice = how.practice
    headings = read_headings(shown, table.headings, practice.list_headings)
    cells = [(number, _by_column(headings.columns, row)) for number, row in table.rows]
    order, assumed = _slashes([row for _, row in cells], practice)
    day = _day_of([row for _, row in cells], order, how, shown)
    reader = _Reader(how, order, day)
    for number, row in cells:
        reader.take(number, row)
    ages_on = day or how.today if reader.ages else day
    return DayList(
        tuple(reader.rows),
        (*table.problems, *reader.problems),
        tuple(reader.unusable),
        table.remark_lines,
        remarks=tuple(reader.remarks),
        notes=(
            *_notes(table, headings.ignored, reader.skipped + Counter(table.skipped)),
            *([f"dates such as 03/04/2026 read with the {order}"] if assumed else []),
            *([f"ages are those of today, {ages_on}"] if reader.ages and not day else []),
        ),
        doubts=tuple(
            f"column {heading!r} is not read; did you mean {near}?"
            for heading, near in headings.doubtful
        ),
        day=ages_on,
    )


def looks_like_a_name(reference: str) -> bool:
    """Whether a reference may be a person's name: capitalised words, and no number beside one."""
    parts = _WORD.findall(reference)
    names = [word for word in parts if len(word) > 2 and (word.istitle() or word.isupper())]
    if any(letter.isdigit() for letter in reference):
        return len([word for word in names if word.istitle()]) > 1
    return any(word.istitle() for word in names) or len(names) > 1


def _by_column(columns: Sequence[str | None], row: Sequence[str]) -> dict[str, str]:
    cells: dict[str, str] = {}
    for column, cell in zip(columns, row, strict=False):
        if column and cell:
            cells[column] = f"{cells[column]}; {cell}" if column in cells else cell
    time = cells.get("time", "")
    if dated := _DATED_TIME.fullmatch(time):
        cells.setdefault("date", dated[1])
        cells["time"] = dated[2]
    return cells


def _slashes(rows: Sequence[Mapping[str, str]], practice: Practice) -> tuple[SlashOrder, bool]:
    """Which number of a date with slashes is the day, and whether that is only assumed."""
    dates = [row[name] for row in rows for name in ("date", "born") if name in row]
    found = slash_order(dates)
    # Letter paper is that of countries that write the month first (assumption).
    usual: SlashOrder = "month first" if practice.paper == "letter" else "day first"
    return found or usual, found is None and any(map(_SLASH.match, dates))


def _day_of(
    rows: Sequence[Mapping[str, str]], order: SlashOrder, how: Reading, shown: str
) -> date | None:
    days: set[date] = set()
    for row in rows:
        try:
            days |= {read_date(row["date"], order)} if "date" in row else set()
        except InputError:
            continue  # a problem of that row
    if how.on is not None or not days:
        return how.on
    if len(days) == 1:
        return days.pop()
    few = sorted(days)
    listed = ", ".join(map(str, few[:4])) + (", …" if len(few) > 4 else "")
    raise InputError(
        f"{shown}: it holds {len(few)} days, {listed}; pick one of them",
        actions=(Action(Choice.DATE, str(few[0])),),
    )


def _notes(table: Table, ignored: Sequence[str], skipped: Counter[str]) -> list[str]:
    lines = []
    if table.title_lines:
        lines.append(f"{_counted(table.title_lines, 'line')} above the column names passed over")
    if ignored:
        lines.append(f"columns not read: {', '.join(ignored)}")
    lines += [f"{_counted(count, 'row')} {why} skipped" for why, count in skipped.items() if count]
    return lines


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


class _Reader:
    """Reads rows one by one and keeps the result of each."""

    def __init__(self, how: Reading, order: SlashOrder, day: date | None) -> None:
        self._practice, self._today = how.practice, how.today
        self._order, self._day = order, day
        self.rows: list[Row] = []
        self.problems: list[Problem] = []
        self.unusable: list[Row] = []
        self.remarks: list[Problem] = []
        self.skipped: Counter[str] = Counter()
        self.ages = False

    def take(self, number: int, cells: dict[str, str]) -> None:
        row = Row(number, cells)
        try:
            if why := self._unwanted(row, cells):
                self.skipped[why] += 1
                return
            self._age(row, cells)
        except RowError as error:
            self.problems += error.problems
            cells.pop("remark", None)
            self._reference(row, cells)
            self.unusable.append(row)
            return
        self._reference(row, cells)
        self._remark(row, cells)
        self.rows.append(row)

    def _unwanted(self, row: Row, cells: dict[str, str]) -> str:
        """Why the row is skipped; empty where it is not. Takes date and summary out of it."""
        if not cells:
            return NO_TOOTH
        day, wrong_date = self._date(row, cells)
        if day not in (None, self._day):
            return OTHER_DAY
        if summary := cells.pop("summary", ""):
            self._summary(row, cells, summary)
        try:
            procedure = procedure_in(cells.get("procedure", ""), self._practice.list_words)
        except InputError:
            procedure = ""  # planning the row reports it, where it has teeth
        if procedure == SKIPPED:
            return NOT_WANTED
        if "teeth" not in cells and not procedure:
            return NO_TOOTH  # a check-up, or the total at the end
        if "teeth" not in cells:
            raise RowError(row.problem("teeth", "no tooth, but a procedure; name the tooth"))
        if wrong_date:
            raise RowError(wrong_date)
        return ""

    def _date(self, row: Row, cells: dict[str, str]) -> tuple[date | None, Problem | None]:
        """The row's date, or what is wrong with it; takes it out of the row."""
        if "date" not in cells:
            return None, None
        day, wrong = None, None
        try:
            day = read_date(cells["date"], self._order)
        except InputError as error:
            wrong = row.problem("date", str(error))
        del cells["date"]
        return day, wrong

    def _summary(self, row: Row, cells: dict[str, str], summary: str) -> None:
        try:
            teeth = teeth_in_summary(summary, self._practice.notation)
            if teeth:
                cells.setdefault("teeth", teeth)
                if "procedure" not in cells:
                    cells["procedure"] = procedure_in(summary, self._practice.list_words)
        except InputError as error:
            # The line may hold a name, so that no message repeats it.
            advice = str(error) if "procedure" not in str(error) else "no procedure is found in it"
            raise RowError(row.problem("summary", advice)) from None

    def _age(self, row: Row, cells: dict[str, str]) -> None:
        born = cells.pop("born", "")
        if not born or "age" in cells:
            return
        on = self._day or self._today
        try:
            day_of_birth = read_date(born, self._order, four_digits=True)
        except InputError as error:
            raise RowError(row.problem("born", str(error))) from None
        if on is None:
            raise RowError(row.problem("born", "the list names no day; add its date"))
        age = completed_years(day_of_birth, on)
        if not 0 <= age <= 120:
            advice = f"makes an age of {age} years on {on}; correct it"
            raise RowError(row.problem("born", advice))
        self.ages = True
        cells["age"] = str(age)

    def _reference(self, row: Row, cells: dict[str, str]) -> None:
        if looks_like_a_name(cells.get("reference", "")):
            del cells["reference"]
            advice = "looks like a name, so it stands on no page; use a number"
            self.remarks.append(row.problem("reference", advice))

    def _remark(self, row: Row, cells: dict[str, str]) -> None:
        remark = cells.pop("remark", "")
        if not remark:
            return
        stated, whole = exceptions_in(remark, self._practice.notation)
        if stated:
            cells["exceptions"] = "; ".join(filter(None, (cells.get("exceptions", ""), stated)))
        if not whole:
            advice = "not understood, so not used; read it in your own list"
            self.remarks.append(row.problem("remark", advice))
