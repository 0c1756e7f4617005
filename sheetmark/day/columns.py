"""The columns of a day's list: those of the options that have one, and two of its own."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

from sheetmark.base.findings import InputError
from sheetmark.base.numbers import with_point
from sheetmark.case.case import PROCEDURES
from sheetmark.case.terms import known_terms, meant, plain
from sheetmark.plan.option_records import Option
from sheetmark.plan.options import OPTIONS
from sheetmark.practice.list_terms import ListWord

# Each with its place, as in the table of options.
_OWN = {(1, "time"), (3, "teeth")}
_PLACED = _OWN | {(option.column.place, option.column.name) for option in OPTIONS if option.column}
COLUMNS = tuple(name for _, name in sorted(_PLACED))
# What lists from elsewhere may have as well; it becomes a time, an age, exceptions or teeth.
LIST_ONLY = ("date", "born", "remark", "summary")


def options_of(column: str) -> tuple[Option, ...]:
    """The options that a column holds; none for the list's own columns."""
    return tuple(o for o in OPTIONS if o.column is not None and o.column.name == column)


def choices_in(column: str, cell: str, own_terms: Sequence[ListWord] = ()) -> dict[str, Any]:
    """What a cell chooses, by the names of the options, as the command line would have it.

    `words` are the clinic's own. Raises InputError for a cell that chooses nothing that there is.
    """
    if column == "procedure":
        return {"for": procedure_in(cell, own_terms)}
    held = options_of(column)
    if len(held) > 1:
        return _shared(held, with_point(cell.lower()))
    return {option.name: _value(option, column, cell) for option in held}


def procedure_in(cell: str, own_terms: Sequence[ListWord] = ()) -> str:
    """The procedure that a cell names, in our words, the clinic's or another language's, or
    `skipped`. Raises InputError where it names none, or two."""
    name = "-".join(cell.lower().replace("_", " ").split())
    if name in PROCEDURES:
        return name
    own = {plain(word.word): str(word.means) for word in own_terms}
    found = meant(cell, {**known_terms("procedure"), **own})
    if len(found) > 1:
        raise InputError(f"may mean {' or '.join(sorted(found))}; write one of them")
    if not found:
        return _closest("procedure", cell, PROCEDURES)
    return next(iter(found))


def _value(option: Option, column: str, cell: str) -> Any:
    if option.choices:
        return _closest(column, cell, option.choices)
    if option.kind == "whole":
        return _whole_number(cell, option.column.wrong if option.column else "")
    return [with_point(cell)] if option.kind == "texts" else cell


def _shared(held: tuple[Option, ...], cell: str) -> dict[str, Any]:
    """A cell that several options share: the choices of some, and what is left for another."""
    names, found = cell.split(), {}
    for option in held:
        name = next((choice for choice in option.choices if choice in names), None)
        if name is not None:
            found[option.name] = name
    rest = "".join(name for name in names if name not in found.values()).removesuffix("mm")
    free = [option.name for option in held if not option.choices]
    return found | dict.fromkeys(free if rest else [], rest)


def _closest(what: str, cell: str, choices: tuple[str, ...]) -> str:
    """The choice that a cell names, whatever its letter case; a space stands for its dash."""
    name = "-".join(cell.lower().replace("_", " ").split())
    if name in choices:
        return name
    near = get_close_matches(name, choices, n=1)
    meant = f"did you mean {near[0]}" if near else f"use one of {', '.join(choices)}"
    raise InputError(f"not a {what}; {meant}")


def _whole_number(cell: str, wrong: str) -> int:
    """A spreadsheet may write the whole numbers of a column as 16.0."""
    whole = re.fullmatch(r"([+-]?\d{1,4})(?:[.,]0+)?", cell.strip(), re.ASCII)
    if whole is None:
        raise InputError(wrong)
    return int(whole[1])
