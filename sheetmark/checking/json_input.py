"""Reading our own JSON files back, which anybody may have changed."""

from __future__ import annotations

import json
from collections.abc import Callable
from math import isfinite
from typing import Any, TypeVar

from sheetmark.base.findings import InputError
from sheetmark.base.json_files import why_broken

_Made = TypeVar("_Made")
# A plan has 20 kB, the largest exercise some 100 kB; guards against a file of another kind
# (assumption).
MOST_BYTES = 4_000_000


def read_json(
    data: bytes,
    name: str,
    *,
    what: str,
    file_format: str,
    advice: str,
    make: Callable[[dict[str, Any]], _Made],
) -> _Made:
    """What `make` makes of a file of ours; `what` it holds and `advice` are for the refusal.

    Raises InputError for a file of another format, and where `make` raises KeyError, TypeError,
    ValueError or IndexError.
    """
    try:
        found = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise InputError(f"{name}: no JSON ({why_broken(error)}); {advice}") from error
    if not isinstance(found, dict) or found.get("format") != file_format:
        raise InputError(f"{name}: no {what} of the format {file_format}; {advice}")
    try:
        return make(found)
    except (KeyError, TypeError, ValueError, IndexError) as error:
        why = f"key {error}" if isinstance(error, KeyError) else str(error)
        raise InputError(f"{name}: not a whole {what} ({why}); {advice}") from error


def number_in(value: Any, low: float = -1000.0, high: float = 1000.0) -> float:
    """A finite number within limits; ValueError for any other."""
    number = float(value)
    if not (isfinite(number) and low <= number <= high):
        raise ValueError(f"number {value!r}")
    return number
