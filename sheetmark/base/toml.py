"""TOML: a file as a checked record, with one clear line when it does not match; a value as text."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from sheetmark.base.findings import InputError
from sheetmark.base.records import convert

_Record = TypeVar("_Record")


def read_toml(path: Path | Traversable, shown: str, kind: type[_Record]) -> _Record:
    """The file as a record of the given kind; `shown` is its name in messages.

    Raises InputError as `load_toml` and `as_record` do.
    """
    return as_record(load_toml(path, shown), shown, kind)


def load_toml(path: Path | Traversable, shown: str) -> dict[str, Any]:
    """The file as plain data.

    Raises InputError for a file that cannot be read, is no UTF-8, or is broken TOML, with the
    line.
    """
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise InputError(f"{shown}: cannot be read ({error.strerror}); check the path") from error
    except UnicodeDecodeError as error:
        raise InputError(
            f"{shown}: not UTF-8 text (byte {error.start}); save it as UTF-8"
        ) from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(f"{shown}: broken TOML: {error}; correct that line") from error
    except ValueError as error:
        raise InputError(f"{shown!r}: not a file name; check the path") from error


def as_record(data: object, shown: str, kind: type[_Record]) -> _Record:
    """Plain data as a record. Raises InputError, with the key, where it does not fit."""
    try:
        return convert(data, kind)
    except msgspec.ValidationError as error:
        what, _, where = str(error).partition(" - at `$.")
        key = where.rstrip("`") or "top level"
        raise InputError(f"{shown}: {key}: {what}; correct or add that key") from error


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
