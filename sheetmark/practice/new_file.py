"""Writing a new practice file: every key with its meaning, limits and default beside it."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import Any

from msgspec import NODEFAULT, UNSET, Struct, inspect, structs

from sheetmark.practice.file import (
    PracticeFile,
    PrinterRow,
    Section,
    SheetRow,
    from_practice,
    limit_in_words,
)
from sheetmark.practice.settings import Practice
from sheetmark.practice.toml import toml_value

_LINE_LENGTH = 96
_HEAD = (
    "The settings of one clinic. Lengths in mm. A key that is left out keeps its default.",
    "sheetmark practice check finds every problem; practice show prints what is in force.",
)


def new_file(practice: Practice) -> str:
    """The text of a practice file that holds the settings."""
    file = from_practice(practice)
    lines = [*(f"# {line}" for line in _HEAD), ""]
    fields = structs.fields(PracticeFile)
    for field in fields:
        value = getattr(file, field.name)
        if not isinstance(value, Struct | tuple):
            lines += [*_comment(field), f"{field.name} = {toml_value(value)}", ""]
        elif value == () != field.default:
            # Nothing at all must be said, or the default holds; and above every table.
            lines += [*_paragraph(_described(field)["description"]), f"{field.name} = []", ""]
    for field in fields:
        value = getattr(file, field.name)
        if isinstance(value, Section):
            lines += [*_paragraph(_doc(type(value))), f"[{field.name}]"]
            lines += [*_keys(value, explained=True), ""]
        elif isinstance(value, tuple) and (value or field.name in _ROWS):
            lines += [*_rows(field, value), ""]
    return "\n".join(lines).rstrip("\n") + "\n"


def _rows(field: structs.FieldInfo, rows: tuple[Section, ...]) -> Iterator[str]:
    """The tables of a list, the keys explained in the first; an example where there is none."""
    yield from _paragraph(_described(field)["description"])
    for number, row in enumerate(rows):
        if number:
            yield ""
        yield f"[[{field.name}]]"
        yield from _keys(row, explained=number == 0)
    if not rows:
        yield f"# [[{field.name}]]"
        for one in structs.fields(_ROWS[field.name]):
            yield from _comment(one)
            example = _described(one).get("examples", [one.default])[0]
            yield f"# {one.name} = {toml_value(example)}"


_ROWS: dict[str, type[Section]] = {"sheets": SheetRow, "printers": PrinterRow}


def _keys(section: Section, explained: bool) -> Iterator[str]:
    """Each key of a table; one that is not stated stands as a remark with an example."""
    for field in structs.fields(section):
        value = getattr(section, field.name)
        if explained:
            yield from _comment(field)
        if value is not UNSET:
            yield f"{field.name} = {toml_value(value)}"
        elif explained:
            yield f"# {field.name} = {toml_value(_described(field)['examples'][0])}"


def _comment(field: structs.FieldInfo) -> list[str]:
    limit = limit_in_words(field.type, field.name)
    default = f"; default {toml_value(field.default)}" if _has_default(field) else ""
    return _paragraph(f"{_described(field)['description']} ({limit}{default})")


def _has_default(field: structs.FieldInfo) -> bool:
    return field.default is not NODEFAULT and field.default is not UNSET


def _described(field: structs.FieldInfo) -> dict[str, Any]:
    info = inspect.type_info(field.type)
    said = info.extra_json_schema if isinstance(info, inspect.Metadata) else None
    return dict(said or {})


def _doc(section: type[Section]) -> str:
    return " ".join((section.__doc__ or "").split())


def _paragraph(words: str) -> list[str]:
    return [f"# {line}" for line in wrap(words, _LINE_LENGTH, break_on_hyphens=False)]
