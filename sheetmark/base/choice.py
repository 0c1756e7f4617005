"""A choice from a short list, by its name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from sheetmark.base.findings import Action, Choice, InputError

_Choice = TypeVar("_Choice", bound=str)


def pick(what: str, name: str, choices: Sequence[_Choice], choice: Choice | None = None) -> _Choice:
    """The choice of that name, whatever its letter case.

    Raises InputError, which says `what` was to be chosen and lists the choices; `choice` is what to
    change then, where its name is not `what`.
    """
    for known in choices:
        if known == name.lower():
            return known
    raise InputError(
        f"{what} {name!r}: use one of {', '.join(choices)}",
        actions=() if choice is None else (Action(choice),),
    )
