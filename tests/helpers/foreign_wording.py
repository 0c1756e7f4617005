"""What a page must not say: options of the command line, and keys of a file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

_OPTION = re.compile(r"--[a-z][a-z-]*")
# A row of a list such as `tray[8]`, and a key that ends in its unit.
_KEY = re.compile(r"\w+\[\d+\]|\w+_mm\b")
# A recipe is meant to be a command line; a key leads a problem to its field and is not shown.
_NOT_READ = {"command", "key", "svg", "picture", "model", "landmarks"}


def foreign(text: str) -> list[str]:
    """Every option and key in a text."""
    return [match[0] for form in (_OPTION, _KEY) for match in form.finditer(text)]


def texts(answer: Any, key: str = "") -> Iterator[str]:
    """Every text in an endpoint's answer that a person may read."""
    if isinstance(answer, dict):
        for name, item in answer.items():
            yield from texts(item, name)
    elif isinstance(answer, list):
        for item in answer:
            yield from texts(item, key)
    elif isinstance(answer, str) and key not in _NOT_READ:
        yield answer
