"""The practice file described for a form: each key with its label, its limits and its value.

All of it comes from the records of the file, so that a form asks for what the file takes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any, Literal, TypeAlias, get_args, get_origin

from msgspec import NODEFAULT, UNSET, inspect, structs, to_builtins

from sheetmark.base.toml import toml_value
from sheetmark.practice.file.describe import (
    bare,
    describe_limit,
    described,
    info_of,
    item_of,
    keys_of,
    section_of,
)
from sheetmark.practice.file.keys import PracticeFile
from sheetmark.practice.file.labels import heading_of, row_name
from sheetmark.practice.file.sections import Section
from sheetmark.practice.settings import NO_PRINTER

Kind = Literal["text", "number", "choice", "choice-or-number", "yes-no", "numbers", "texts", "pair"]
# What a field can hold; None: not stated.
Simple: TypeAlias = str | bool | int | float
Value: TypeAlias = Simple | list[Simple] | None

_UNITS = {"_mm": "mm", "_min": "minutes"}


# Dataclasses, unlike the other records: the page's endpoint gives them out through pydantic.


@dataclass(frozen=True, slots=True)
class FormField:
    """One key. `value` is what the file states, None where it leaves the key out; `default` is
    what holds then, None where there is none. Of a column, `key` is that within its row."""

    key: str
    label: str
    description: str
    limit: str
    kind: Kind
    required: bool
    whole: bool = False
    choices: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    unit: str = ""
    default: Value = None
    value: Value = None


@dataclass(frozen=True, slots=True)
class FormSection:
    """A table of the file, or the keys above all tables, whose key is empty."""

    key: str
    label: str
    fields: tuple[FormField, ...]


@dataclass(frozen=True, slots=True)
class FormRows:
    """A list of rows. `rows` is None where the file states none, so that the default holds."""

    key: str
    label: str
    description: str
    row: str
    columns: tuple[FormField, ...]
    default: list[dict[str, Value]]
    rows: list[dict[str, Value]] | None


@dataclass(frozen=True, slots=True)
class Form:
    """All keys of the file but its form: those above the tables, the tables, and the lists."""

    sections: tuple[FormSection, ...]
    lists: tuple[FormRows, ...]


def make_form(data: Mapping[str, Any]) -> Form:
    """The form with the values of a practice file's plain data, which may have problems."""
    printers = [row.get("name") for row in _stated_rows(data.get("printers")) or []]
    names = tuple(name for name in printers if isinstance(name, str))
    top, sections, lists = [], [], []
    for field in keys_of(PracticeFile):
        section, row = section_of(field.type), section_of(item_of(field.type))
        stated = data.get(field.name)
        if section:
            inner = stated if isinstance(stated, Mapping) else {}
            fields = tuple(
                _field(entry, f"{field.name}.{entry.name}", inner, printers=names)
                for entry in keys_of(section)
            )
            sections.append(FormSection(field.name, heading_of(section), fields))
        elif row:
            lists.append(_rows(field, row, stated))
        elif field.name != "format":
            top.append(_field(field, field.name, data))
    head = FormSection("", "The clinic", tuple(top))
    return Form((head, *sections), tuple(lists))


def _rows(field: structs.FieldInfo, form: type[Section], stated: object) -> FormRows:
    texts, rows = described(field), _stated_rows(stated)
    columns = tuple(_field(entry, entry.name, {}) for entry in keys_of(form))
    return FormRows(
        field.name,
        texts["title"],
        texts["description"],
        row_name(form),
        columns,
        [{key: _shown(v) for key, v in row.items()} for row in to_builtins(field.default)],
        None if rows is None else [{key: _shown(v) for key, v in row.items()} for row in rows],
    )


def _stated_rows(stated: object) -> list[Mapping[str, Any]] | None:
    if not isinstance(stated, list):
        return None
    return [row if isinstance(row, Mapping) else {} for row in stated]


def _field(
    field: structs.FieldInfo, key: str, stated: Mapping[str, Any], printers: tuple[str, ...] = ()
) -> FormField:
    texts, info = described(field), info_of(field.type)
    kind, choices, number = _kind(field.type)
    if key == "page.printer":
        kind, choices = "choice", (NO_PRINTER, *printers)
    default = None if field.default in (NODEFAULT, UNSET) else _shown(to_builtins(field.default))
    least, most = (number.ge, number.le) if number else (None, None)
    return FormField(
        key,
        texts["title"],
        texts["description"],
        describe_limit(field.type, field.name),
        kind,
        required=field.required,
        whole=isinstance(bare(info), inspect.IntType),
        choices=choices,
        least=least,
        most=most,
        unit=next((unit for end, unit in _UNITS.items() if field.name.endswith(end)), ""),
        default=default,
        value=_shown(stated.get(field.name)),
    )


_Number: TypeAlias = inspect.IntType | inspect.FloatType


def _kind(form: Any) -> tuple[Kind, tuple[str, ...], _Number | None]:
    """How a key is asked for, the words to choose from, and the number that bounds it."""
    info = bare(info_of(form))
    kind: Kind = "text"
    number: _Number | None = None
    match info:
        case inspect.LiteralType():
            kind = "choice"
        case inspect.BoolType():
            kind = "yes-no"
        case inspect.IntType() | inspect.FloatType():
            kind, number = "number", info
        case inspect.TupleType(items):
            kind, number = "pair", _number(items)
        case inspect.VarTupleType(item):
            number = _number((item,))
            kind = "numbers" if number else "texts"
        case inspect.UnionType(types):
            kind, number = "choice-or-number", _number(types)
    return kind, _choices(form), number


def _number(types: tuple[inspect.Type, ...]) -> _Number | None:
    kinds = (bare(entry) for entry in types)
    return next(
        (entry for entry in kinds if isinstance(entry, inspect.IntType | inspect.FloatType)), None
    )


def _choices(form: Any) -> tuple[str, ...]:
    """The words to choose from, in the order in which they are written down."""
    if get_origin(form) is Literal:
        return get_args(form)
    return next((choices for part in get_args(form) if (choices := _choices(part))), ())


def _shown(value: object) -> Value:
    """A value as a form can carry it; what it cannot, such as a date, as TOML writes it."""
    match value:
        case None | bool() | str() | int():
            return value
        case float() if isfinite(value):
            return value
        case list() | tuple() if not any(isinstance(item, list | Mapping) for item in value):
            return [item for item in map(_shown, value) if not isinstance(item, list | None)]
    return toml_value(value)
