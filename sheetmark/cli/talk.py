"""How much a command writes on the way: -q only what needs a person, -v also what it used.

What was asked for goes to stdout by `print` at any loudness, warnings and errors to stderr.
"""

from __future__ import annotations

import sys
from contextvars import ContextVar
from typing import Literal

Loudness = Literal["quiet", "usual", "verbose"]

_LOUDNESS: ContextVar[Loudness] = ContextVar("loudness", default="usual")


def set_loudness(*, quiet: bool = False, verbose: bool = False) -> None:
    """From here on this command is as loud as its options ask; -v wins over -q."""
    _LOUDNESS.set("verbose" if verbose else "quiet" if quiet else "usual")


def is_quiet() -> bool:
    """Whether -q was given."""
    return _LOUDNESS.get() == "quiet"


def is_verbose() -> bool:
    """Whether -v was given."""
    return _LOUDNESS.get() == "verbose"


def table(text: str) -> None:
    """A line of a table that stands beside a file; on stdout, unless quiet."""
    if not is_quiet():
        print(text)


def note(text: str) -> None:
    """A line on what was done; on stderr, unless quiet."""
    if not is_quiet():
        print(text, file=sys.stderr)


def detail(text: str) -> None:
    """A line on what was used; on stderr, with -v alone."""
    if is_verbose():
        print(text, file=sys.stderr)
