"""A number on the command line, with a decimal point or a decimal comma."""

from __future__ import annotations

import typer

from sheetmark.base.numbers import read_number


def typed_number(text: str | float) -> float:
    """What an option reads; its usual value comes as a number.

    Raises typer.BadParameter, which names the option.
    """
    try:
        return read_number(str(text))
    except ValueError:
        raise typer.BadParameter(f"{text!r} is not a number; write it as 0.5 or 0,5") from None
