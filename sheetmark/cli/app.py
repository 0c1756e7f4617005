"""The program `sheetmark`: its commands, and how errors reach a person."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from importlib import import_module
from time import perf_counter
from traceback import print_exception
from typing import Annotated, NoReturn

import typer
from typer import TyperException

from sheetmark.base.extras import not_installed
from sheetmark.base.findings import InputError, NoAnswerError, on_a_line, with_short_quotes
from sheetmark.base.version import LINE, __version__
from sheetmark.cli.examples import epilog
from sheetmark.cli.stopped import Stopped
from sheetmark.cli.talk import detail, is_verbose, set_loudness

DONE, DEFECT, BAD_INPUT = 0, 1, 2
# What a shell expects of a program that Ctrl-C ended; typer answers with it.
INTERRUPTED = 130
_STOPPED = "stopped; nothing half written"
_HELP: tuple[list[str], ...] = ([], ["-h"], ["--help"])

# Each command stands in the module of its name. The first line of its help stands here, so that the
# list of commands loads none.
COMMANDS = {
    "overlay": "Plan one case: its overlay at true scale, and the case card.",
    "day": "Plan the day's list: its tray, then a page for each case.",
    "drawer": "Write a page for each usual situation, to print once and keep.",
    "handout": "Write a teaching page, true to scale where it shows a sheet.",
    "desk": "Open the chairside page: click the tooth, see the sheet, print.",
    "strain": "How the sheet is stretched: pull at the frame, rims, strips.",
    "arch": "Arch models: list them, show one, make your own.",
    "case": "Case files.",
    "practice": "The clinic's own settings, in one file.",
    "printer": "The printer's test page and its correction.",
    "check": "What was punched: each hole's error from a photograph.",
    "schema": "Print the JSON schema of a kind of JSON file that is written.",
    "help": "Explain a term of the pages in plain words.",
}


def _show_version(wanted: bool) -> None:
    if wanted:
        print(LINE)
        raise typer.Exit


def _top(
    context: typer.Context,
    _version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_show_version, is_eager=True, help="Show the version and exit."
        ),
    ] = False,
) -> None:
    """True-scale marking overlays for the dental dam."""
    _help_alone(context)


def _help_alone(context: typer.Context) -> None:
    """A group without a command shows its help."""
    if context.invoked_subcommand is None:
        print(context.get_help())


def program(names: Iterable[str] = COMMANDS) -> typer.Typer:
    """The program with these commands only: an overlay must not wait for all the others to load."""
    app = _empty_program()
    for name in names:
        _add(app, name)
    return app


def _listing() -> typer.Typer:
    """The program for its own help: it names its commands and loads none."""
    app = _empty_program()
    for name, line in COMMANDS.items():
        app.command(name, help=line)(_not_called)
    return app


def _not_called() -> None:
    raise AssertionError("the list of commands runs none")


def _empty_program() -> typer.Typer:
    app = typer.Typer(
        name="sheetmark",
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback(invoke_without_command=True, epilog=epilog(""))(_top)
    return app


def _wanted(typed: Sequence[str]) -> typer.Typer:
    """The program, with no more loaded than these words and a shell's completion take."""
    if typed and typed[0] in COMMANDS:
        return program(typed[:1])
    completing = "_SHEETMARK_COMPLETE" in os.environ
    return _listing() if list(typed) in _HELP and not completing else program()


def _add(app: typer.Typer, name: str) -> None:
    """Load the command's module, which has its name, and add its command or its group."""
    module = import_module(f"sheetmark.cli.{name}")
    if isinstance(group := getattr(module, "app", None), typer.Typer):
        _add_group(app, name, group)
    else:
        _add_command(app, name, module.command)


def _add_command(app: typer.Typer, name: str, command: Callable[..., None]) -> None:
    app.command(name, epilog=epilog(name))(command)


def _add_group(app: typer.Typer, name: str, group: typer.Typer) -> None:
    for command in group.registered_commands:
        command.epilog = epilog(f"{name} {command.name}")
    app.add_typer(
        group,
        name=name,
        help=group.info.help,
        cls=group.info.cls,
        callback=_help_alone,
        invoke_without_command=True,
        epilog=epilog(name),
    )


def main(arguments: list[str] | None = None) -> NoReturn:
    """Run the command line and exit: 0 done, 1 a defect of ours, 2 the input; 130 stopped by
    Ctrl-C, 143 by SIGTERM, 129 by SIGHUP."""
    sys.exit(run(arguments))


def run(arguments: list[str] | None = None) -> int:
    """Run the command line; one line per problem on stderr; the exit code."""
    begun = perf_counter()
    set_loudness()
    typed = sys.argv[1:] if arguments is None else arguments
    try:
        code = _wanted(typed)(arguments, prog_name="sheetmark", standalone_mode=False)
        sys.stdout.flush()
    except (Exception, KeyboardInterrupt, Stopped, SystemExit) as error:  # noqa: BLE001  the last
        return _failed(error)
    if code == INTERRUPTED:
        _say(_STOPPED)
    detail(f"took {perf_counter() - begun:.1f} s")
    return code if isinstance(code, int) else DONE


def _failed(error: BaseException) -> int:
    """Write what went wrong, a line for each problem; the exit code."""
    error = _stop_behind(error) or error
    match error:
        case BrokenPipeError() | SystemExit():  # the reader has gone; typer may make it an exit
            _drop_output()
            return DONE
        case KeyboardInterrupt():  # while the command is loaded, before typer looks after it
            _say(_STOPPED)
            return INTERRUPTED
        case Stopped():
            _say(_STOPPED)
            return 128 + error.number
        case InputError() | TyperException() | typer.Abort() | OSError():
            for problem in _problems(error):
                _say(problem)
            if isinstance(error, OSError):
                _drop_output()
            return BAD_INPUT
        case NoAnswerError():
            _say(f"no answer: {error}")
        case ModuleNotFoundError() if missing := not_installed(error):
            _say(f"error: {missing}")
            return BAD_INPUT
        case _:
            _say(_defect(error))
            if is_verbose():
                print_exception(error)
    return DEFECT


def _stop_behind(error: BaseException) -> Stopped | None:
    """The stop that a library took for a failure of its own, and raised as another error."""
    before: BaseException | None = error
    while before is not None and not isinstance(before, Stopped):
        before = before.__context__
    return before


def _defect(error: BaseException) -> str:
    return f"defect in sheetmark {__version__}: {type(error).__name__}: {error}; please report it"


def _problems(error: Exception) -> list[str]:
    if isinstance(error, InputError):
        from sheetmark.cli.report import with_options

        *before, last = error.problems
        return [f"error: {problem}" for problem in (*before, with_options(last, error.actions))]
    if isinstance(error, TyperException):
        message = with_short_quotes(error.format_message().rstrip("."))
        return [f"error: {message}; see --help"]
    if isinstance(error, OSError):  # files are dealt with where they are written: this is stdout
        reason = error.strerror or error
        return [f"error: output: {reason}; check where it goes and its free space"]
    return [_STOPPED]


def _drop_output() -> None:
    """Drop what could not be written, or the interpreter tries again when it ends."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _say(text: str) -> None:
    """One line on stderr."""
    print(f"sheetmark: {on_a_line(text)}", file=sys.stderr)
