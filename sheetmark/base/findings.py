"""What goes wrong and what is worth saying: findings travel with a plan, errors stop it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["info", "warning"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something the person at the chair should know about one plan.

    `message` says what was found, `advice` what to do about it; both name teeth in the
    practice's notation. `value` and `limit` are in mm or as a ratio, where there are such.
    """

    code: str
    severity: Severity
    message: str
    advice: str = ""
    field: str = ""
    value: float | None = None
    limit: float | None = None

    @property
    def line(self) -> str:
        return f"{self.message} {self.advice}".strip()


class InputError(ValueError):
    """Input that cannot be used. Each problem is one line: what, value, limit, what to do."""

    def __init__(self, *problems: str) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


class NoAnswerError(RuntimeError):
    """A computation found no answer. The message says which, and how far it came."""
