"""Numbers as people type them: with a decimal point or a decimal comma."""

from __future__ import annotations

import re

_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")


def with_point(text: str) -> str:
    """The text with its decimal commas as points."""
    return _DECIMAL_COMMA.sub(".", text)


def read_number(text: str) -> float:
    """A number such as 0.5 or 0,5. Raises ValueError for any other text."""
    return float(with_point(text.strip()))
