"""What a plan reports and what stops it: findings, errors, and what a person can change.

Texts are neutral: they name no command-line option, no field of a page and no key of a file. What
to change is an `Action`, which each door puts into its own terms; paper leaves it out.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from enum import StrEnum
from typing import Literal

from msgspec import Struct

from sheetmark.base.codes import Code

Severity = Literal["info", "warning"]

QUOTED_CHARACTERS = 80
# A value in quotes, which no letter touches as it does an apostrophe, or an endless word.
_LONG_QUOTE = re.compile(
    rf"(?<!\w)(['\"`])((?:\\.|(?!\1)[^\\]){{{QUOTED_CHARACTERS + 1},}})\1(?!\w)"
    rf"|([\w-]{{{QUOTED_CHARACTERS + 1},}})",
    re.DOTALL,
)


class Choice(StrEnum):
    """A choice that a person can change. The value is the option's name, without dashes."""

    AGE = "age"
    ANCHOR = "anchor"
    ARCH = "arch"
    BASE = "base"
    DATE = "date"
    EASE = "ease"
    EXPOSE = "expose"
    FOR = "for"
    FORCE = "force"
    JAW = "jaw"
    NOTATION = "notation"
    PRESENT = "present"
    SHEET = "sheet"
    SIZING = "sizing"
    SLIT = "slit"
    WITH = "with"
    Y_DOWN = "y-down"


class Action(Struct, frozen=True):
    """Something to try: a choice to change, and the value to give it.

    `value` is as the choice takes it, teeth in the case's notation; empty leaves it to the person.
    `drop` means to take the choice back.
    """

    choice: Choice
    value: str = ""
    drop: bool = False


class Finding(Struct, frozen=True):
    """Something about one plan or fitted arch that the person at the chair should know."""

    code: Code
    """What was found."""
    severity: Severity
    """Whether it warns or only informs."""
    message: str
    """What was found, neutral, with teeth in the practice's notation."""
    advice: str = ""
    """What to do about it, likewise; may be empty."""
    field: str = ""
    """What it is about: a choice, or the jaw of a fitted arch; may be empty."""
    value: float | None = None
    """In mm, a ratio or a count, as the code has it."""
    limit: float | None = None
    """In the unit of `value`."""
    actions: tuple[Action, ...] = ()
    """What a person can change."""

    @property
    def line(self) -> str:
        """Message and advice as one line."""
        return f"{self.message} {self.advice}".strip()


def warnings_first(findings: Sequence[Finding]) -> list[Finding]:
    """Warnings, then the rest, each in their own order."""
    return sorted(findings, key=lambda finding: finding.severity != "warning")


class InputError(ValueError):
    """Input that cannot be used. Each problem is one line: what, value, limit, what to do.

    `actions` are what to change, for an error of one problem.
    """

    def __init__(self, *problems: str, actions: Sequence[Action] = ()) -> None:
        lines = tuple(map(with_short_quotes, problems))
        super().__init__("\n".join(lines))
        self.problems = lines
        self.actions = tuple(actions)


def on_a_line(text: str) -> str:
    """Text on one line; letters that would move the cursor are shown as in Python source."""
    line = " ".join(text.split())
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in line)


def with_short_quotes(line: str) -> str:
    """A line in which no value is quoted with more characters than a person reads."""
    return _LONG_QUOTE.sub(_cut, line)


def _cut(found: re.Match[str]) -> str:
    mark = found[1] or ""
    return f"{mark}{(found[2] or found[3])[: QUOTED_CHARACTERS - 1]}…{mark}"


class NoAnswerError(RuntimeError):
    """A computation found no answer. The message says which, and how far it came."""
