"""The keys of the practice file as the settings form calls them."""

from __future__ import annotations

import re
from typing import Any

from msgspec import structs

from sheetmark.practice.file.check import Problem
from sheetmark.practice.file.describe import described, item_of, keys_of, section_of
from sheetmark.practice.file.keys import PracticeFile

_PART = re.compile(r'([\w-]+|"(?:[^"\\]|\\.)*")(?:\[(\d+)\])?')


def row_name(row: type) -> str:
    """What one row of a list is called: `clamp` for a `ClampRow`."""
    return row.__name__.removesuffix("Row").lower()


def heading_of(section: type) -> str:
    """A section's heading: the one sentence of its docstring."""
    return " ".join((section.__doc__ or "").split()).rstrip(".")


def label_of(key: str) -> str:
    """A key in the form's terms: `tray[8].winged` is `Clamp 8, Winged`; unknown ones quoted."""
    form: Any = PracticeFile
    parts = []
    for name, number in _PART.findall(key):
        fields = {field.name: field for field in keys_of(form)} if form else {}
        label, form = _part(fields[name], number) if name in fields else (f"“{name}”", None)
        parts.append(label)
    return ", ".join(parts)


def _part(field: structs.FieldInfo, number: str) -> tuple[str, Any]:
    """One part of a key as a label, and the table that it opens, if any."""
    section, row = section_of(field.type), section_of(item_of(field.type))
    if section:
        return heading_of(section), section
    title = str(described(field)["title"])
    if row and number:
        return f"{row_name(row).capitalize()} {number}", row
    return (f"{title}, entry {number}" if number else title), None


def labelled(problem: Problem) -> str:
    """A problem as one line that names the form's field in place of the file's key."""
    value = f" ({problem.shown_value})" if problem.shown_value else ""
    return f"{label_of(problem.key)}{value}: {problem.limit}; {problem.advice}"
