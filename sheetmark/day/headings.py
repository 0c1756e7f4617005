"""Which column each heading of a list is: by its own name, the clinic's, or a known word."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches

from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.case.terms import known_terms, plain
from sheetmark.day.columns import COLUMNS, LIST_ONLY
from sheetmark.day.records import shortened
from sheetmark.practice.list_terms import IGNORED, ListHeading

_IN_BRACKETS = re.compile(r"\s*[(\[][^)\]]*[)\]]\s*$")
# Of these a list may have two, which are read together.
_JOINED = ("remark",)
_WITH_TEETH = ("teeth", "summary")


class HeadingError(InputError):
    """Headings from which the columns cannot be known; the clinic may map them."""


class Headings(Struct, frozen=True):
    """The column of each heading, None where it is not read."""

    columns: tuple[str | None, ...]
    ignored: tuple[str, ...]
    """The headings that are not read, as they stand in the list."""
    doubtful: tuple[tuple[str, str], ...]
    """Those of them that look like a slip, each with the column that may be meant."""


def column_of(heading: str, own: Sequence[ListHeading] = ()) -> str | None:
    """The column that a heading is, `ignored` where the clinic says so, None where unknown."""
    terms = known_terms("heading")
    for text in (heading, _IN_BRACKETS.sub("", heading)):
        name = plain(text)
        for known in own:
            if plain(known.heading) == name:
                return known.column
        if name in (*COLUMNS, *LIST_ONLY):
            return name
        if name in terms:
            return terms[name]
    return None


def is_head(headings: Sequence[str], own: Sequence[ListHeading] = ()) -> bool:
    """Whether a line of a file can be that of the headings: one of them holds the teeth."""
    return any(column_of(heading, own) in _WITH_TEETH for heading in headings)


def read_headings(shown: str, headings: Sequence[str], own: Sequence[ListHeading] = ()) -> Headings:
    """The column of each heading.

    Raises InputError where no heading is that of the teeth, and where two are of one column.
    """
    columns = [column_of(heading, own) if heading else None for heading in headings]
    if not any(column in _WITH_TEETH for column in columns):
        raise HeadingError(_no_teeth(shown, headings))
    for column in dict.fromkeys(filter(None, columns)):
        found = [h for h, c in zip(headings, columns, strict=True) if c == column]
        if len(found) > 1 and column not in (*_JOINED, IGNORED):
            names = " and ".join(repr(shortened(heading)) for heading in found)
            raise HeadingError(
                f"{shown}: columns {names} are both read as {column}; "
                f"remove one, or map one of them as ignored"
            )
    ignored = tuple(
        heading
        for heading, column in zip(headings, columns, strict=True)
        if heading and column in (None, IGNORED)
    )
    return Headings(
        tuple(None if column == IGNORED else column for column in columns),
        ignored,
        tuple(
            (heading, near[0])
            for heading, column in zip(headings, columns, strict=True)
            if heading and column is None
            if (near := get_close_matches(plain(heading), COLUMNS, n=1, cutoff=0.8))
        ),
    )


def _no_teeth(shown: str, headings: Sequence[str]) -> str:
    names = ", ".join(repr(shortened(heading)) for heading in headings[:12] if heading)
    terms = ["teeth", *(w for w, column in known_terms("heading").items() if column == "teeth")]
    near = [h for h in headings if get_close_matches(plain(h), terms, n=1, cutoff=0.75)]
    meant = f" (is it {near[0]!r}?)" if near else ""
    return (
        f"{shown}: column teeth is missing, the headings are {names}{meant}; "
        f"name it teeth, or map the one that holds the teeth"
    )
