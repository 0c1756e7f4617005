"""A choice from a short list, by its name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import TypeVar

from sheetmark.base.findings import Action, Choice, InputError

_Choice = TypeVar("_Choice", bound=str)


def pick(
    what: str,
    name: str,
    choices: Sequence[_Choice],
    choice: Choice | None = None,
    meant: Iterable[str] = (),
) -> _Choice:
    """The choice of that name, whatever its letter case.

    Raises InputError, which says `what` was to be chosen and lists the choices; `choice` is what to
    change then, where its name is not `what`. `meant` are choices that the name may stand for;
    without any, the nearest in spelling is offered.
    """
    for known in choices:
        if known == name.lower():
            return known
    near = sorted(meant) or get_close_matches(name.lower(), choices, n=1)
    hint = f"did you mean {' or '.join(near)}? " if near else ""
    raise InputError(
        f"{what} {name!r}: {hint}use one of {', '.join(choices)}",
        actions=() if choice is None else (Action(choice),),
    )
