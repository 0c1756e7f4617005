"""`sheetmark day template`: an empty list to fill in."""

from __future__ import annotations

from typing import Annotated

import typer

from sheetmark.base.files import outputs, write_all
from sheetmark.cli.options import PRACTICE, Force, takes
from sheetmark.cli.talk import note
from sheetmark.day.columns import COLUMNS
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.plan.option_records import Choices

# Spreadsheets take a file without it for one of their system's own encoding.
_BYTE_ORDER_MARK = "\ufeff"


@takes(*PRACTICE)
def command(
    output: Annotated[
        str, typer.Option("-o", "--output", metavar="FILE.csv", help="File to write, a .csv.")
    ],
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Write an empty list, with its columns named, for a spreadsheet or an editor."""
    read = files_read(choices)
    (path,) = outputs([output], (".csv",), kind="empty list", read=read, force=force)
    separator = ";" if practice_chosen(choices).numbers == "comma" else ","
    content = f"{_BYTE_ORDER_MARK}{separator.join(COLUMNS)}\r\n".encode()
    write_all({path: content}, read=read, force=force)
    note(f"wrote {path}; only teeth must be filled in")
