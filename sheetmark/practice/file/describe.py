"""A key of the practice file described for people: title, limits, examples."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, get_args, get_origin

from msgspec import Struct, inspect, structs

from sheetmark.practice.file.sections import Section
from sheetmark.practice.file.values import COLOUR_PATTERN


@cache
def keys_of(table: type[Struct]) -> tuple[structs.FieldInfo, ...]:
    """The keys of a table or a row, which msgspec would read from its source each time."""
    return structs.fields(table)


@cache
def info_of(form: Any) -> inspect.Type:
    """What msgspec knows of the form of a key."""
    return inspect.type_info(form)


def describe_limit(form: Any, key: str) -> str:
    """What the value of a key may be, in words; lengths by the ending of the key."""
    unit = " mm" if key.rpartition(".")[2].partition("[")[0].endswith("_mm") else ""
    return _limit(info_of(form), unit)


def section_of(form: Any) -> type[Section] | None:
    """The table that a key's value is, if it is one."""
    return form if isinstance(form, type) and issubclass(form, Section) else None


def item_of(form: Any) -> Any:
    """The type of the entries of a list of any length, else None."""
    while get_origin(form) is Annotated:
        form = get_args(form)[0]
    entries = get_args(form)
    return entries[0] if get_origin(form) is tuple and entries[-1] is Ellipsis else None


def described(field: structs.FieldInfo) -> dict[str, Any]:
    """What is said about a key: title, description, examples."""
    info = info_of(field.type)
    texts = info.extra_json_schema if isinstance(info, inspect.Metadata) else None
    return dict(texts or {})


def bare(info: inspect.Type) -> inspect.Type:
    """A type without what is said about it."""
    return info.type if isinstance(info, inspect.Metadata) else info


def _limit(info: inspect.Type, unit: str) -> str:
    match bare(info):
        case inspect.LiteralType(values):
            limit = " or ".join(str(value) for value in values)
        case inspect.IntType() as number:
            limit = f"a whole number of {number.ge:g} to {number.le:g}"
        case inspect.FloatType() as number:
            limit = f"a number of {number.ge:g} to {number.le:g}{unit}"
        case inspect.StrType() as text:
            low, high = text.min_length or 0, text.max_length
            limit = f"text of {low} to {high} characters, one line, no space at an end"
            if text.pattern == COLOUR_PATTERN:
                limit = "a colour as #rrggbb, in small letters"
        case inspect.TupleType(items):
            limit = f"a list of {len(items)}, each {_limit(items[0], unit)}"
        case inspect.VarTupleType(item):
            limit = f"a list, each {_limit(item, unit)}"
        case inspect.UnionType(types):
            limit = ", or ".join(_limit(kind, unit or " mm") for kind in types)
        case _:
            limit = "true or false"
    return limit
