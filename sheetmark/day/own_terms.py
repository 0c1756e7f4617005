"""Teaching a practice's own headings and words, and finding those that are not known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from msgspec.structs import replace

from sheetmark.base.findings import InputError
from sheetmark.case.terms import plain
from sheetmark.day.columns import procedure_in
from sheetmark.day.headings import column_of
from sheetmark.day.tables import Table
from sheetmark.practice.list_terms import ListHeading, ListWord
from sheetmark.practice.settings import Practice


def taught(
    practice: Practice, headings: Sequence[ListHeading], terms: Sequence[ListWord]
) -> Practice:
    """The settings with these in place of what was known of the same heading or word."""
    all_headings = {plain(known.heading): known for known in (*practice.list_headings, *headings)}
    all_terms = {plain(known.word): known for known in (*practice.list_words, *terms)}
    return replace(
        practice, list_headings=tuple(all_headings.values()), list_words=tuple(all_terms.values())
    )


def unknown_terms(table: Table, practice: Practice) -> Counter[str]:
    """What stands as procedure in rows with a tooth and is not understood, and how often."""
    columns = [column_of(heading, practice.list_headings) for heading in table.headings]
    unknown: Counter[str] = Counter()
    for _, cells in table.rows:
        row = dict(zip(columns, cells, strict=False))
        text = row.get("procedure", "")
        if text and row.get("teeth"):
            try:
                procedure_in(text, practice.list_words)
            except InputError:
                unknown[text] += 1
    return unknown
