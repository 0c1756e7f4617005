"""TOML: a file as a checked record, with one clear line when it does not match; a value as text."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from sheetmark.base.file_kinds import name_of_kind, refuse_other_kinds
from sheetmark.base.files import read_file, shortened
from sheetmark.base.findings import QUOTED_CHARACTERS, InputError
from sheetmark.base.json_files import why_broken
from sheetmark.base.records import convert
from sheetmark.base.unfit import why_unfit

_Record = TypeVar("_Record")
# Guards against a file of another kind (assumptions): ours have under 20 kB, lines of under 200
# characters and tables four deep.
MOST_BYTES = 1_000_000
LINE_LIMIT = 20_000
DEPTH_LIMIT = 16


def read_toml(path: Path, shown: str, kind: type[_Record], holds: str = "") -> _Record:
    """The file as a record of the given kind; `shown` is its name in messages.

    Raises InputError as `load_toml` and `as_record` do.
    """
    return as_record(load_toml(path, shown, holds), shown, kind)


def load_toml(path: Path, shown: str, holds: str = "") -> dict[str, Any]:
    """The file as plain data.

    Raises InputError for a file that cannot be read or is too large, and as `toml_text` and
    `parse_toml` do.
    """
    return parse_toml(toml_text(read_file(path, shown, MOST_BYTES), shown, holds), shown)


def toml_text(content: bytes, shown: str, holds: str = "") -> str:
    """A file's text. Raises InputError for what is no UTF-8, and for a file of another kind than it
    should hold, one of `file_kinds`."""
    what = f"{name_of_kind(holds)} in TOML" if holds else "a TOML file"
    refuse_other_kinds(content, shown, (holds,) if holds else None, what, "choose one")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            f"{shown}: not UTF-8 text (byte {error.start}); save it as UTF-8"
        ) from error


def parse_toml(text: str, shown: str) -> dict[str, Any]:
    """Text as plain data; `shown` names the file.

    Raises InputError for broken TOML, with the line, and beyond the bounds: those of a line, of
    tables in tables, and the whole numbers that TOML itself asks a reader to take.
    """
    longest = max(map(len, text.splitlines()), default=0)
    if longest > LINE_LIMIT:
        raise InputError(
            f"{shown}: a line of {longest:,} characters, at most {LINE_LIMIT:,}; check that it is "
            f"the right file"
        )
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # a number too long to read is a ValueError
        why = shortened(why_broken(error), 4 * QUOTED_CHARACTERS)
        raise InputError(f"{shown}: broken TOML: {why}; correct that line") from error
    _check_bounds(data, shown)
    return data


def _check_bounds(data: dict[str, Any], shown: str) -> None:
    """In a loop, not by calls in calls: the depth may be any."""
    level: list[Any] = [data]
    for _ in range(DEPTH_LIMIT):
        inner: list[Any] = []
        for item in level:
            if isinstance(item, dict):
                inner += item.values()
            elif isinstance(item, list):
                inner += item
            elif isinstance(item, int) and not -(2**63) <= item < 2**63:
                raise InputError(
                    f"{shown}: a whole number of {item.bit_length()} bits, at most 64; correct it"
                )
        level = inner
    if level:
        raise InputError(
            f"{shown}: tables or lists within each other to more than {DEPTH_LIMIT} levels; "
            f"correct the keys"
        )


def as_record(data: object, shown: str, kind: type[_Record]) -> _Record:
    """Plain data as a record. Raises InputError, with the key, where it does not fit."""
    try:
        return convert(data, kind)
    except msgspec.ValidationError as error:
        why = why_unfit(str(error), data, kind, _short_value)
        raise InputError(f"{shown}: {why}") from error


def _short_value(value: object) -> str:
    return shortened(toml_value(value), QUOTED_CHARACTERS)


def toml_value(value: object) -> str:
    """A value as one line of TOML, numbers without needless digits."""
    match value:
        case bool():
            return "true" if value else "false"
        case float():
            # TOML tells 10 from 10.0; for us both are the same length.
            return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else repr(value)
        case str():
            # JSON escapes what TOML wants escaped, except this one control character. Half of a
            # surrogate pair is not valid in TOML, but a message may have to show it.
            text = json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
            return text.encode(errors="backslashreplace").decode()
        case Mapping():
            pairs = ", ".join(f"{key} = {toml_value(item)}" for key, item in value.items())
            return f"{{ {pairs} }}" if pairs else "{}"
        case list() | tuple():
            return f"[{', '.join(toml_value(item) for item in value)}]"
    return str(value)
