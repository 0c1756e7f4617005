"""What the clinic's own lists call columns and procedures, where we do not know their words."""

from __future__ import annotations

from typing import Literal, get_args

from msgspec import Struct

# The columns that a list may have, as `day.columns` has them, which a test compares.
ListColumn = Literal[
    "ignored",
    "time",
    "date",
    "reference",
    "teeth",
    "procedure",
    "notation",
    "age",
    "born",
    "arch",
    "exceptions",
    "remark",
    "summary",
    "access",
    "sheet",
    "measure",
]
# The procedures, as `case.case` has them; `skipped` is a row that needs no sheet.
ListMeaning = Literal["skipped", "restoration", "crown", "root-canal", "cervical", "full-arch"]
IGNORED: ListColumn = "ignored"
SKIPPED: ListMeaning = "skipped"
LIST_COLUMNS: tuple[ListColumn, ...] = get_args(ListColumn)
LIST_MEANINGS: tuple[ListMeaning, ...] = get_args(ListMeaning)


class ListHeading(Struct, frozen=True):
    """A heading of the clinic's lists, and the column that it is read as."""

    heading: str
    column: ListColumn


class ListWord(Struct, frozen=True):
    """What stands in the clinic's lists for a procedure, and which one it is."""

    word: str
    means: ListMeaning
