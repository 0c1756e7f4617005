"""The table of an .xlsx file: the first worksheet that has a column for teeth."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time
from io import BytesIO
from typing import TYPE_CHECKING, Any

from sheetmark.base.findings import InputError
from sheetmark.day.headings import HeadingError
from sheetmark.day.tables import TITLE_LINES, IsHead, Table

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

# Guards against a file that is no list (assumptions).
_MOST_UNPACKED = 100_000_000
_MOST_ROWS = 20_000
_MOST_COLUMNS = 200
HIDDEN = "hidden in the spreadsheet"


def spreadsheet_table(content: bytes, shown: str, is_head: IsHead) -> Table:
    """The table of the first worksheet with a line of headings among its first lines.

    A row that a filter hides is left out and counted. Raises InputError for a file that is no
    spreadsheet, and where no worksheet has a column for teeth.
    """
    plain, values = _opened(content, shown)
    for name in values.sheetnames:
        written, sheet = plain[name], values[name]
        if not hasattr(sheet, "iter_rows"):  # a chart on a sheet of its own
            continue
        rows = list(_rows(written, sheet))
        for at, (_, cells) in enumerate(rows[:TITLE_LINES]):
            if is_head(cells):
                return _table(sheet, rows, at)
    raise HeadingError(
        f"{shown}: no worksheet has a column teeth; "
        f"name it teeth, or map the one that holds the teeth"
    )


def _opened(content: bytes, shown: str) -> tuple[Any, Any]:
    """The workbook with its formulas, and with the values that they had when it was saved."""
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            unpacked = sum(part.file_size for part in packed.infolist())
        if unpacked <= _MOST_UNPACKED:
            return load_workbook(BytesIO(content)), load_workbook(BytesIO(content), data_only=True)
    except Exception as error:  # the reader has no error of its own for a broken file
        raise InputError(
            f"{shown}: no spreadsheet, or broken; open the list in its own program and save it "
            f"again as .xlsx or as CSV"
        ) from error
    raise InputError(
        f"{shown}: {unpacked // 1_000_000} MB when unpacked, the most is "
        f"{_MOST_UNPACKED // 1_000_000} MB; save the list alone"
    )


def _rows(written: Worksheet, sheet: Worksheet) -> Iterator[tuple[int, tuple[str, ...]]]:
    last, width = min(sheet.max_row, _MOST_ROWS), min(sheet.max_column, _MOST_COLUMNS)
    for number in range(1, last + 1):
        cells = tuple(
            _text(sheet.cell(number, column).value, written.cell(number, column).value)
            for column in range(1, width + 1)
        )
        if any(cells):
            yield number, cells


def _text(value: object, written: object) -> str:
    """A cell as a CSV file would hold it; a formula that was never computed as it is written."""
    match value:
        case None:
            return str(written).strip() if written is not None else ""
        case datetime():
            bare = value.time() == time()
            return value.strftime("%Y-%m-%d" if bare else "%Y-%m-%d %H:%M")
        case date():
            return value.isoformat()
        case time():
            return value.strftime("%H:%M")
        case float() if value.is_integer():
            return str(int(value))
        case _:
            return " ".join(str(value).split())


def _table(sheet: Worksheet, rows: Sequence[tuple[int, tuple[str, ...]]], at: int) -> Table:
    below = rows[at + 1 :]
    seen = [row for row in below if not sheet.row_dimensions[row[0]].hidden]
    return Table(
        headings=rows[at][1],
        rows=tuple(seen),
        title_lines=at,
        skipped={HIDDEN: len(below) - len(seen)},
    )
