"""Remarks of a CSV file: lines that start with #, above the heading and nowhere else.

Below the heading such a line is a row: `#3` is a tooth and `#101` a reference.
"""

from __future__ import annotations

from collections.abc import Iterable


def below_remarks(lines: Iterable[tuple[int, str]]) -> tuple[int, list[tuple[int, str]]]:
    """How many remarks the numbered lines begin with, and the lines below them."""
    rest = list(lines)
    count = next(
        (i for i, (_, line) in enumerate(rest) if not line.lstrip().startswith("#")), len(rest)
    )
    return count, rest[count:]


def remarks_counted(count: int) -> str:
    """The count in words; empty where there are none."""
    if not count:
        return ""
    return (
        f"{count} line{'s' * (count > 1)} above the column names read as remark{'s' * (count > 1)}"
    )
