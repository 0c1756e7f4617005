"""`sheetmark practice tray`: the clinic's clamps from a CSV into its practice file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from sheetmark.base.files import read_file
from sheetmark.cli.options import PRACTICE, takes
from sheetmark.cli.practice_change import change_practice
from sheetmark.cli.talk import note, table
from sheetmark.plan.option_records import Choices

_MOST_BYTES = 1_000_000


@takes(*PRACTICE)
def command(
    clamps: Annotated[
        str, typer.Argument(metavar="CLAMPS.csv", help="A row for each sort of clamp.")
    ],
    *,
    choices: Choices,
) -> None:
    """Put the clamps of a CSV into the practice file, in place of those that it has.

    Columns: label (your own name), kind (molar, premolar, front, primary-molar), winged (yes, no),
    and where wanted jaws, version, span_mm (7 - 10,5), secondary, cervical, jaws_towards_gum,
    count, retired.
    """
    from sheetmark.jobs.tray_list import read_tray_list

    rows, ignored = read_tray_list(read_file(Path(clamps), clamps, _MOST_BYTES), clamps)
    path = change_practice(choices["practice"], {"tray": rows})
    for row in rows:
        table(f"{row.get('count', 1):>3}  {row['label']}")
    if ignored:
        note(f"{clamps}: columns not read: {', '.join(ignored)}")
    note(f"wrote {path}")
