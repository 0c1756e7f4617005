"""Why plain data does not fit a record, in plain words: msgspec words it for programmers."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from difflib import get_close_matches
from typing import Any

_KINDS = {
    "array": "a list",
    "bool": "true or false",
    "date": "a date",
    "datetime": "a date with a time",
    "float": "a number",
    "int": "a whole number",
    "null": "nothing",
    "object": "a table of keys",
    "str": "text",
    "time": "a time",
}
_BOUNDS = {">=": "at least", "<=": "at most", ">": "more than", "<": "less than"}
_TOP = "top level"
_WHERE = re.compile(r" - at `(?:key` in `)?\$(.*)`$")
_STEP = re.compile(r"\.([^.\[\]]+)|\[(\d+)\]|\[\.\.\.\]")
_FIELD = re.compile(r"Object (contains unknown|missing required) field `(.*)`")
_EXPECTED = re.compile(r"Expected `([^`]*)`(?: (of length )?(>=|<=|>|<)? ?([^\s,]+))?(?:, got .*)?")


def why_unfit(message: str, data: object, kind: Any, written: Callable[[object], str]) -> str:
    """One line: the key and its value as `written`, the limit, what to do. `message` is msgspec's
    for the data, which should have been of the kind."""
    found = _WHERE.search(message)
    where = found[1] if found else ""
    steps = [name or (int(at) if at else None) for name, at in _STEP.findall(where)]
    what, key = _WHERE.sub("", message), where.lstrip(".")
    if field := _FIELD.fullmatch(what):
        name = ".".join(filter(None, (key, field[2])))
        if field[1].startswith("missing"):
            return f"{name}: missing; add it"
        return f"{name}: not a known key; {_known(field[2], _keys(_at(kind, steps)))}"
    value = _value(data, steps)
    is_plain = isinstance(value, str | int | float)
    head = f"{key or _TOP} = {written(value)}" if is_plain else key or _TOP
    if what.startswith("Invalid "):
        choices = _choices(_at(kind, steps)) or _tags(_at(kind, steps[:-1]))
        return f"{head}: must be {' or '.join(choices)}; {_nearest(value, choices)}"
    limit = _limit(what) or _description(_at(kind, steps)) or "not in the form of this key"
    return f"{head}: {limit}; correct it"


def _limit(what: str) -> str:
    """What a value must be; empty where only a pattern tells. A message of another sort than is
    known stays as it is."""
    if "matching regex" in what:
        return ""
    found = _EXPECTED.fullmatch(what)
    if found is None:
        return what
    names = [_KINDS.get(name, name) for name in found[1].split(" | ") if name != "null"]
    if not found[4]:
        return f"must be {' or '.join(dict.fromkeys(names))}"
    bound, number = _BOUNDS.get(found[3] or "", ""), f"{float(found[4]):g}"
    if not found[2]:
        return f"must be {bound} {number}"
    if (bound, number) == ("at least", "1"):
        return "must not be empty"
    unit = "characters" if found[1] == "str" else "entries"
    return " ".join(filter(None, ("must have", bound, number, unit)))


def _value(data: Any, steps: Sequence[str | int | None]) -> Any:
    """What stands at a place; None where the place is not told."""
    for step in steps:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _at(kind: Any, steps: Sequence[str | int | None]) -> list[Any]:
    """The types that may stand at a place."""
    from msgspec import inspect

    found: list[Any] = [inspect.type_info(kind)]
    for step in steps:
        found = [inner for form in _bare(found) for inner in _inside(form, step)]
    return found


def _inside(form: Any, step: str | int | None) -> Iterator[Any]:
    from msgspec import inspect

    match form:
        case inspect.StructType(fields=fields) | inspect.TypedDictType(fields=fields):
            yield from (field.type for field in fields if field.encode_name == step)
        case inspect.DictType(value_type=inner):
            yield inner
        case inspect.TupleType(item_types=items) if isinstance(step, int) and step < len(items):
            yield items[step]
        case inspect.VarTupleType(item_type=inner) | inspect.ListType(item_type=inner):
            yield inner


def _bare(forms: Iterable[Any]) -> Iterator[Any]:
    """The types without what is said about them, each of several that may be."""
    from msgspec import inspect

    for form in forms:
        match form:
            case inspect.Metadata(type=inner):
                yield from _bare([inner])
            case inspect.UnionType(types=types):
                yield from _bare(types)
            case _:
                yield form


def _keys(forms: Iterable[Any]) -> list[str]:
    return [field.encode_name for form in _bare(forms) for field in getattr(form, "fields", ())]


def _choices(forms: Iterable[Any]) -> list[str]:
    return [str(value) for form in _bare(forms) for value in getattr(form, "values", ())]


def _tags(forms: Iterable[Any]) -> list[str]:
    """What tells the records that may stand there from each other."""
    return [str(form.tag) for form in _bare(forms) if getattr(form, "tag", None) is not None]


def _description(forms: Iterable[Any]) -> str:
    """What the first type that has a description must be by it."""
    texts = [getattr(form, "extra_json_schema", None) or {} for form in forms]
    found = next((text["description"] for text in texts if "description" in text), "")
    return f"must be {found[0].lower()}{found[1:]}" if found else ""


def _known(name: str, keys: Sequence[str]) -> str:
    near = get_close_matches(name, keys, n=1)
    return f"did you mean {near[0]}?" if near else f"use one of {', '.join(keys)}"


def _nearest(value: object, choices: Sequence[str]) -> str:
    near = get_close_matches(str(value).lower(), choices, n=1)
    return f"did you mean {near[0]}?" if near else "correct it"
