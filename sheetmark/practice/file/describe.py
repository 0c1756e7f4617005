"""A key of the practice file described for people: title, limits, examples."""

from __future__ import annotations

from typing import Annotated, Any, get_args, get_origin

from msgspec import inspect, structs

from sheetmark.practice.file.sections import Section


def limit_in_words(form: Any, key: str) -> str:
    """What the value of a key may be, in words; lengths by the ending of the key."""
    unit = " mm" if key.rpartition(".")[2].partition("[")[0].endswith("_mm") else ""
    return _in_words(inspect.type_info(form), unit)


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
    info = inspect.type_info(field.type)
    said = info.extra_json_schema if isinstance(info, inspect.Metadata) else None
    return dict(said or {})


def bare(info: inspect.Type) -> inspect.Type:
    """A type without what is said about it."""
    return info.type if isinstance(info, inspect.Metadata) else info


def _in_words(info: inspect.Type, unit: str) -> str:
    match bare(info):
        case inspect.LiteralType(values):
            words = " or ".join(str(value) for value in values)
        case inspect.IntType() as number:
            words = f"a whole number of {number.ge:g} to {number.le:g}"
        case inspect.FloatType() as number:
            words = f"a number of {number.ge:g} to {number.le:g}{unit}"
        case inspect.StrType() as text:
            low, high = text.min_length or 0, text.max_length
            words = f"text of {low} to {high} characters, one line, no space at an end"
        case inspect.TupleType(items):
            words = f"a list of {len(items)}, each {_in_words(items[0], unit)}"
        case inspect.VarTupleType(item):
            words = f"a list, each {_in_words(item, unit)}"
        case inspect.UnionType(types):
            words = ", or ".join(_in_words(one, unit or " mm") for one in types)
        case _:
            words = "true or false"
    return words
