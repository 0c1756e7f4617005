"""The table of an .ics file (RFC 5545): an entry a row, its summary the tooth and the procedure.

Nothing of an entry is read but its start, its summary and whether it was cancelled.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sheetmark.base.findings import InputError
from sheetmark.day.records import Problem
from sheetmark.day.tables import Table

CANCELLED = "cancelled"
_REPEATS = ("RRULE", "RDATE")


def calendar_table(content: bytes, shown: str) -> Table:
    """The entries by their start, numbered in that order.

    A repeated entry is a problem: on which days it falls is not worked out. Raises InputError for
    a file that is no calendar.
    """
    from icalendar import Calendar

    try:
        entries = [e for c in Calendar.from_ical(content, multiple=True) for e in c.walk("VEVENT")]
    except (ValueError, IndexError, KeyError) as error:
        raise InputError(
            f"{shown}: not a calendar file that can be read; export it again as .ics"
        ) from error
    timed = [(start, entry) for entry in entries if (start := _start(entry)) is not None]
    timed.sort(key=lambda pair: pair[0])
    rows, problems, cancelled = [], [], 0
    for number, ((day, clock), entry) in enumerate(timed, start=1):
        if str(entry.get("STATUS", "")).upper() == "CANCELLED":
            cancelled += 1
        elif any(name in entry for name in _REPEATS):
            advice = "a repeated entry, whose days are not worked out; enter it on its day"
            problems.append(Problem(row=number, column="date", value=day, advice=advice))
        else:
            summary = " ".join(str(entry.get("SUMMARY", "")).split())
            rows.append((number, (day, clock, summary)))
    return Table(
        headings=("date", "time", "summary"),
        rows=tuple(rows),
        problems=tuple(problems),
        skipped={CANCELLED: cancelled, "without a start": len(entries) - len(timed)},
    )


def _start(entry: Any) -> tuple[str, str] | None:
    """Day and time as the entry has them, in its own time zone; an entry of a whole day has no
    time."""
    try:
        start = entry.decoded("DTSTART")
    except (KeyError, ValueError):
        return None
    if isinstance(start, datetime):
        return start.date().isoformat(), start.strftime("%H:%M")
    return (start.isoformat(), "") if isinstance(start, date) else None
