"""Changing a practice file in place: only what changes, with every remark kept."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any

from msgspec.structs import asdict

from sheetmark.base.findings import InputError
from sheetmark.base.records import convert
from sheetmark.base.toml import toml_value
from sheetmark.practice.file.check import (
    PracticeError,
    Unwritable,
    check_text,
    find_problems,
    parse_text,
    writable,
)
from sheetmark.practice.file.convert import numbered, to_practice
from sheetmark.practice.file.describe import item_of, keys_of
from sheetmark.practice.file.keys import PracticeFile
from sheetmark.practice.file.layout import edited, same
from sheetmark.practice.file.new_file import new_file
from sheetmark.practice.printer import Printer
from sheetmark.practice.settings import Practice

# The lists of rows of which there is none where a file says nothing.
_EMPTY_BY_DEFAULT = {
    field.name for field in keys_of(PracticeFile) if item_of(field.type) and field.default == ()
}
Row = Mapping[str, Any]


def store_printer(
    text: str | None, printer: Printer, file_name: str, unwritable: Unwritable = writable
) -> str:
    """A practice file's text with the printer's bars stored, and the printer in use.

    With no text there is no file yet, and a new one is written. Raises InputError for a text with
    a problem, and where the printer would make one.
    """
    before = Practice() if text is None else check_text(text, file_name).practice
    known = {other.name: other for other in before.printers}
    printers = [asdict(other) for other in (known | {printer.name: printer}).values()]
    values = {"printers": printers, "page.printer": printer.name}
    return store_settings(text, values, file_name, unwritable)


def remove_printer(text: str, name: str, file_name: str, unwritable: Unwritable = writable) -> str:
    """A practice file's text without that printer, and with none in use where it was in use.

    Raises InputError for a text with a problem, and where there is no printer of that name.
    """
    practice = check_text(text, file_name).practice
    left = [asdict(printer) for printer in practice.printers if printer.name != name]
    if len(left) == len(practice.printers):
        known = ", ".join(printer.name for printer in practice.printers) or "none"
        raise InputError(f"printer {name!r}: not in {file_name}; it has: {known}")
    values: dict[str, object] = {"printers": left}
    if practice.printer == name:
        values["page.printer"] = None
    return store_settings(text, values, file_name, unwritable)


def store_settings(
    text: str | None,
    values: Mapping[str, object],
    file_name: str,
    unwritable: Unwritable = writable,
) -> str:
    """A practice file's text with some of its settings changed.

    `values` holds what changes, by the keys that problems have: `name`, `page.margin_mm`, and all
    rows of `sheets`, `tray` or `printers`. None takes a key out, so that its default holds. With
    no text there is no file yet, and a new one is written.

    Raises PracticeError, with the lines of `sheetmark practice check`, where the changed file
    would have a problem, and InputError where its layout does not allow the change.
    """
    before = parse_text(new_file(Practice()) if text is None else text, file_name)
    wanted = _changed(before, values)
    problems = find_problems(wanted, unwritable)
    if problems:
        raise PracticeError(file_name, problems)
    if text is None:
        return new_file(to_practice(convert(wanted, PracticeFile)))
    if same(before, wanted):
        return text
    changed = edited(text, before, wanted)
    # Read back, so that nothing but what was asked for can have changed.
    if changed is None or not same(_full(tomllib.loads(changed)), _full(wanted)):
        by_hand = "; ".join(_by_hand(before, wanted))
        raise InputError(
            f"{file_name}: its layout does not allow a change in place; by hand: {by_hand}"
        )
    return changed


def _changed(before: Row, values: Mapping[str, object]) -> dict[str, Any]:
    wanted = deepcopy(dict(before))
    for key, value in values.items():
        head, dot, last = key.partition(".")
        table, name, new = wanted, key, _without_unset(value)
        # Where no table stands, a key of one is not known; and that is a problem of its own.
        if dot and isinstance(inner := wanted.get(head, {}), dict):
            table, name = inner, last
        if new is None or (new == [] and name in _EMPTY_BY_DEFAULT):
            table.pop(name, None)
        elif not same(table.get(name), new):
            table[name] = new
            wanted |= {head: table} if table is not wanted else {}
    if "punch.diameters_mm" in values and "punch.labels" not in values:
        _number_again(before.get("punch"), wanted.get("punch"))
    return wanted


def _number_again(before: object, punch: object) -> None:
    """Labels that only number the holes follow a punch of more or fewer holes."""
    if not (isinstance(before, dict) and isinstance(punch, dict)):
        return
    old, new = before.get("diameters_mm"), punch.get("diameters_mm")
    if not (isinstance(old, list) and isinstance(new, list)):
        return
    if punch.get("labels") == list(numbered(len(old))):
        punch["labels"] = list(numbered(len(new)))


def _full(data: Row) -> Row:
    """Plain data without tables that hold nothing, which a file need not have."""
    return {key: value for key, value in data.items() if value != {}}


def _without_unset(value: object) -> object:
    """Rows without the columns that are left out."""
    if not isinstance(value, list):
        return value
    return [
        {key: item for key, item in row.items() if item is not None}
        if isinstance(row, Mapping)
        else row
        for row in value
    ]


def _by_hand(before: Row, wanted: Row) -> Iterator[str]:
    for key in {**before, **wanted}:
        old, new = before.get(key), wanted.get(key)
        if isinstance(old, Mapping) or isinstance(new, Mapping):
            yield from (f"{key}.{line}" for line in _by_hand(old or {}, new or {}))
        elif new is None and old is not None:
            yield f"{key} left out"
        elif not same(old, new):
            yield f"{key} = {toml_value(new)}"
