"""Plain data as a checked record, safe where threads share the first use of a record.

msgspec builds what it knows of a type at its first conversion. Two threads that do so at once end
the process, so conversions wait for each other; they hold the interpreter's own lock all the same.
"""

from __future__ import annotations

from threading import Lock
from typing import TypeVar

import msgspec

_Record = TypeVar("_Record")
_converting = Lock()


def convert(data: object, kind: type[_Record]) -> _Record:
    """The data as a record of the kind. Raises msgspec.ValidationError where it does not fit."""
    with _converting:
        return msgspec.convert(data, kind)
