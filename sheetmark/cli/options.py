"""The table of options as options of a command."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Sequence
from typing import Annotated, Any

import typer

from sheetmark.base.files import listed
from sheetmark.base.findings import InputError
from sheetmark.base.user_folder import practice_path
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.talk import detail, set_loudness
from sheetmark.plan.option_records import Choices, Kind, Option
from sheetmark.plan.options import OPTIONS, SETTING_OPTIONS, options

TeethArgument = Annotated[
    list[str], typer.Argument(metavar="TOOTH", help="Teeth to treat, such as 16 or 16,15.")
]

Force = Annotated[
    bool,
    typer.Option(
        "--force", help="Replace a file of another kind, a read-only one, or one that is read."
    ),
]

PdfOutput = Annotated[
    str, typer.Option("-o", "--output", metavar="FILE.pdf", help="File to write, a .pdf.")
]


def outputs_of(endings: Sequence[str]) -> Any:
    """The option for one or several files to write, each with one of these endings."""
    text = f"File to write: {listed(endings)}; repeatable."
    return typer.Option("-o", "--output", metavar="FILE", help=text)


def no_effect(flags: str, where: str, add: str = "") -> InputError:
    """An option that would do nothing; `add` is what it would serve, such as `-o case.dxf`."""
    otherwise = f", or add {add}" if add else ""
    return InputError(f"{flags}: has no effect {where}; leave it out{otherwise}")


def refuse_typed(taken: Iterable[Option], choices: Choices, where: str) -> None:
    """Raises InputError for the first of these options that was typed where none has an effect."""
    for option in taken:
        usual = list(option.usual) if option.kind == "texts" else option.usual
        if choices[option.name] != usual:
            raise no_effect(option.flags.replace("/", " or "), where)


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
    """Gives a command these options behind its own, then -q and -v.

    The command gets what was typed for `taken` as `choices`.
    """

    def decorate(command: Command) -> Command:
        own = [
            parameter
            for parameter in inspect.signature(command, eval_str=True).parameters.values()
            if parameter.name != "choices"
        ]

        def run(**typed: Any) -> None:
            set_loudness(quiet=typed.pop("quiet", False), verbose=typed.pop("verbose", False))
            choices = {option.name: typed.pop(option.parameter) for option in taken}
            if "practice" in choices:
                detail(f"practice file: {practice_path(choices['practice']) or 'none'}")
            command(**typed, choices=choices)

        parameters = [*own, *(_parameter(option) for option in taken), *_LOUDNESS]
        run.__doc__ = command.__doc__
        run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
        run.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
        return run

    return decorate


def _flag(name: str, letter: str, help_: str) -> inspect.Parameter:
    annotation = Annotated[bool, typer.Option(f"--{name}", f"-{letter}", help=help_)]
    keyword = inspect.Parameter.KEYWORD_ONLY
    return inspect.Parameter(name, keyword, default=False, annotation=annotation)


_LOUDNESS = (
    _flag("quiet", "q", "Warnings and errors only."),
    _flag("verbose", "v", "Also what was used, how long it took, and where a defect is."),
)


def _parameter(option: Option) -> inspect.Parameter:
    kind, usual = _TYPES[option.kind], option.usual
    names = option.offered or (lambda: option.choices)
    info = typer.Option(
        option.flags,
        help=option.help,
        metavar=option.metavar or None,
        parser=typed_number if option.kind == "number" else None,
        autocompletion=(lambda: list(names())) if option.choices or option.offered else None,
    )
    return inspect.Parameter(
        option.parameter,
        inspect.Parameter.KEYWORD_ONLY,
        default=list(usual) if option.kind == "texts" else usual,
        annotation=Annotated[kind if usual is not None else kind | None, info],
    )
