"""Reading a TOML file into a checked record: one clear line when it is not what it should be."""

from __future__ import annotations

import tomllib
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TypeVar

import msgspec

from sheetmark.findings import InputError

_Record = TypeVar("_Record")


def read_toml(path: Path | Traversable, shown: str, kind: type[_Record]) -> _Record:
    """The file as a record of the given kind; `shown` is its name in messages.

    Raises InputError for a file that cannot be read, is no UTF-8, is broken TOML (with the line),
    or does not fit the record (with the key).
    """
    try:
        return msgspec.convert(tomllib.loads(path.read_bytes().decode("utf-8-sig")), kind)
    except OSError as error:
        raise InputError(f"{shown}: cannot be read ({error.strerror}); check the path") from error
    except UnicodeDecodeError as error:
        raise InputError(
            f"{shown}: not UTF-8 text (byte {error.start}); save it as UTF-8"
        ) from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(f"{shown}: broken TOML: {error}; correct that line") from error
    except msgspec.ValidationError as error:
        what, _, where = str(error).partition(" - at `$.")
        key = where.rstrip("`") or "top level"
        raise InputError(f"{shown}: {key}: {what}; correct or add that key") from error
    except ValueError as error:
        raise InputError(f"{shown!r}: not a file name; check the path") from error
