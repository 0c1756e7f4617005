"""The table of options as options of a command."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Annotated, Any

import typer

from sheetmark.plan.option_records import Kind, Option
from sheetmark.plan.options import OPTIONS, SETTING_OPTIONS, options

TeethArgument = Annotated[list[str], typer.Argument(help="Teeth to treat, such as 16 or 16,15.")]

Force = Annotated[
    bool,
    typer.Option(
        "--force", help="Replace a file of another kind, a read-only one, or one that is read."
    ),
]

# What chooses a case and its settings, for commands that plan a single one.
CASE = tuple(option for option in OPTIONS if option.name != "shifted")
# What stands in for the practice file, for documents of many cases.
SETTINGS = tuple(
    option for option in OPTIONS if option in SETTING_OPTIONS or option.name == "practice"
)
PRACTICE = options("practice")

Command = Callable[..., None]
_TYPES: dict[Kind, Any] = {
    "text": str,
    "texts": list[str],
    "whole": int,
    "number": float,
    "flag": bool,
    "switch": bool,
}


def takes(*taken: Option) -> Callable[[Command], Command]:
    """Gives a command these options behind its own; it gets what was typed as `choices`."""

    def decorate(command: Command) -> Command:
        own = [
            parameter
            for parameter in inspect.signature(command, eval_str=True).parameters.values()
            if parameter.name != "choices"
        ]

        def run(**typed: Any) -> None:
            choices = {option.name: typed.pop(option.parameter) for option in taken}
            command(**typed, choices=choices)

        parameters = [*own, *(_parameter(option) for option in taken)]
        run.__doc__ = command.__doc__
        run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
        run.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
        return run

    return decorate


def _parameter(option: Option) -> inspect.Parameter:
    kind, usual = _TYPES[option.kind], option.usual
    names = option.offered or (lambda: option.choices)
    info = typer.Option(
        option.flag or f"--{option.name}",
        help=option.help,
        autocompletion=(lambda: list(names())) if option.choices or option.offered else None,
    )
    return inspect.Parameter(
        option.parameter,
        inspect.Parameter.KEYWORD_ONLY,
        default=list(usual) if option.kind == "texts" else usual,
        annotation=Annotated[kind if usual is not None else kind | None, info],
    )
