"""A choice from a short list, by its name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from sheetmark.base.findings import InputError

_Choice = TypeVar("_Choice", bound=str)


def pick(what: str, name: str, choices: Sequence[_Choice]) -> _Choice:
    """The choice of that name, whatever its letter case.

    Raises InputError, which says `what` was to be chosen and lists the choices.
    """
    for choice in choices:
        if choice == name.lower():
            return choice
    raise InputError(f"{what} {name!r}: use one of {', '.join(choices)}")
