"""Dates as lists write them: 2026-11-26, 26.11.2026, 26/11/2026, 11/26/2026; a time may follow.

Between slashes the day or the month may come first. The list as a whole shows which: one date with
a number over 12 is enough.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import Literal

from sheetmark.base.findings import InputError

SlashOrder = Literal["day first", "month first"]

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ].*)?")
_POINTS = re.compile(r"(\d{1,2})[. ]\s?(\d{1,2})\.\s?(\d{2}|\d{4})(?: .*)?")
_SLASHES = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{2}|\d{4})(?: .*)?")
_ADVICE = "not a date; write it as 2026-11-26 or 26.11.2026"


def slash_order(texts: Iterable[str]) -> SlashOrder | None:
    """Which number of dates with slashes is the day; None where nothing in the list says so."""
    days = months = False
    for text in texts:
        if match := _SLASHES.fullmatch(text.strip()):
            days |= int(match[1]) > 12
            months |= int(match[2]) > 12
    if days == months:
        return None
    return "day first" if days else "month first"


def read_date(text: str, order: SlashOrder, *, four_digits: bool = False) -> date:
    """The date at the beginning of a text. Raises InputError where there is none.

    A year of two digits is one of this century; with `four_digits`, as for a birth date, it is
    refused.
    """
    text = text.strip()
    if match := _ISO.fullmatch(text):
        year, month, day = match[1], match[2], match[3]
    elif match := _POINTS.fullmatch(text):
        day, month, year = match[1], match[2], match[3]
    elif match := _SLASHES.fullmatch(text):
        first, second, year = match[1], match[2], match[3]
        day, month = (first, second) if order == "day first" else (second, first)
    else:
        raise InputError(_ADVICE)
    if len(year) == 2:
        if four_digits:
            raise InputError("the year has two digits; write all four")
        year = f"20{year}"
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        raise InputError(_ADVICE) from None


def completed_years(born: date, on: date) -> int:
    """The age in completed years on a day; below 0 for somebody not born yet."""
    return on.year - born.year - ((on.month, on.day) < (born.month, born.day))
