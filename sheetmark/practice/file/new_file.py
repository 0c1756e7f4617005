"""Writing a new practice file: every key with its meaning, limits and default beside it."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from msgspec import NODEFAULT, UNSET, Struct, structs

from sheetmark.base.toml import toml_value
from sheetmark.practice.file.convert import from_practice
from sheetmark.practice.file.describe import describe_limit, described, item_of, keys_of, section_of
from sheetmark.practice.file.keys import PracticeFile
from sheetmark.practice.file.sections import Section
from sheetmark.practice.settings import Practice

_LINE_LENGTH = 96
_HEAD = (
    "The settings of one clinic. Lengths in mm. A key that is left out keeps its default.",
    "sheetmark practice check finds every problem; practice show prints what is in force.",
)


def new_file(practice: Practice) -> str:
    """The text of a practice file that holds the settings."""
    file = from_practice(practice)
    lines = [*(f"# {line}" for line in _HEAD), ""]
    fields = keys_of(PracticeFile)
    for field in fields:
        value = getattr(file, field.name)
        if not isinstance(value, Struct | tuple):
            lines += [*_comment(field), f"{field.name} = {toml_value(value)}", ""]
        elif value == () != field.default:
            # Nothing at all must be said, or the default holds; and above every table.
            lines += [*_paragraph(described(field)["description"]), f"{field.name} = []", ""]
    for field in fields:
        value = getattr(file, field.name)
        if isinstance(value, Section):
            lines += [*_paragraph(_doc(type(value))), f"[{field.name}]"]
            lines += [*_keys(value, remarks=True), ""]
        elif isinstance(value, tuple) and (value or field.default == ()):
            lines += [*_rows(field, value), ""]
    return "\n".join(lines).rstrip("\n") + "\n"


def _rows(field: structs.FieldInfo, rows: tuple[Section, ...]) -> Iterator[str]:
    """The tables of a list, the keys explained in the first; an example where there is none."""
    yield from _paragraph(described(field)["description"])
    if not rows:
        yield from example_row(field)
    for number, row in enumerate(rows):
        if number:
            yield ""
        yield f"[[{field.name}]]"
        yield from _keys(row, remarks=number == 0)


def example_row(field: structs.FieldInfo) -> list[str]:
    """A row of a list in remarks, each key explained."""
    form = section_of(item_of(field.type))
    assert form is not None, "a list of rows"
    keys = (line for key in keys_of(form) for line in explained(key, stated=False))
    return [f"# [[{field.name}]]", *keys]


def explained(field: structs.FieldInfo, *, stated: bool) -> list[str]:
    """The remark on a key; where that is not stated, with an example."""
    example = described(field).get("examples", [field.default])[0]
    line = [] if stated else [f"# {field.name} = {toml_value(example)}"]
    return [*_comment(field), *line]


def _keys(section: Section, remarks: bool) -> Iterator[str]:
    """Each key of a table; one that is not stated stands as a remark with an example."""
    for field in keys_of(section):
        value = getattr(section, field.name)
        if remarks:
            yield from explained(field, stated=value is not UNSET)
        if value is not UNSET:
            yield f"{field.name} = {toml_value(value)}"


def _comment(field: structs.FieldInfo) -> list[str]:
    limit = describe_limit(field.type, field.name)
    default = f"; default {toml_value(field.default)}" if _has_default(field) else ""
    return _paragraph(f"{described(field)['description']} ({limit}{default})")


def _has_default(field: structs.FieldInfo) -> bool:
    return field.default is not NODEFAULT and field.default is not UNSET


def _doc(section: type[Section]) -> str:
    return " ".join((section.__doc__ or "").split())


def _paragraph(text: str) -> list[str]:
    return [f"# {line}" for line in wrap(text, _LINE_LENGTH, break_on_hyphens=False)]
