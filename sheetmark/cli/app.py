"""The program `sheetmark`: its commands, and how errors reach a person."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import Annotated, NoReturn

import typer
from typer import TyperException

from sheetmark.base.extras import not_installed
from sheetmark.base.findings import InputError, NoAnswerError
from sheetmark.base.version import __version__

DONE, DEFECT, BAD_INPUT = 0, 1, 2

COMMANDS = (
    "overlay",
    "day",
    "drawer",
    "handout",
    "desk",
    "strain",
    "arch",
    "case",
    "practice",
    "printer",
    "check",
)


def _show_version(wanted: bool) -> None:
    if wanted:
        print(f"sheetmark {__version__}")
        raise typer.Exit


def _top(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_show_version, is_eager=True, help="Show the version and exit."
        ),
    ] = False,
) -> None:
    """True-scale marking overlays for the dental dam."""


def program(names: Sequence[str] = COMMANDS) -> typer.Typer:
    """The program with these commands only: an overlay must not wait for all the others to load."""
    app = typer.Typer(name="sheetmark", rich_markup_mode=None, pretty_exceptions_enable=False)
    app.callback()(_top)
    for name in names:
        _add(app, name)
    return app


def _add(app: typer.Typer, name: str) -> None:
    match name:
        case "overlay":
            from sheetmark.cli import overlay

            app.command(name)(overlay.command)
        case "day":
            from sheetmark.cli import day

            app.command(name)(day.command)
        case "drawer":
            from sheetmark.cli import drawer

            app.command(name)(drawer.command)
        case "handout":
            from sheetmark.cli import handout

            app.command(name)(handout.command)
        case "desk":
            from sheetmark.cli import desk

            app.command(name)(desk.command)
        case "strain":
            from sheetmark.cli import strain

            app.command(name)(strain.command)
        case _:
            _add_group(app, name)


def _add_group(app: typer.Typer, name: str) -> None:
    match name:
        case "arch":
            from sheetmark.cli import arch

            app.add_typer(arch.app, name=name)
        case "case":
            from sheetmark.cli import case

            app.add_typer(case.app, name=name)
        case "practice":
            from sheetmark.cli import practice

            app.add_typer(practice.app, name=name)
        case "printer":
            from sheetmark.cli import printer

            app.add_typer(printer.app, name=name)
        case "check":
            from sheetmark.cli import check

            app.add_typer(check.app, name=name)
        case _:
            raise AssertionError(f"no command {name!r}")


def main(arguments: list[str] | None = None) -> NoReturn:
    """Run the command line and exit: 0 done, 1 a defect of ours, 2 the input."""
    sys.exit(run(arguments))


def run(arguments: list[str] | None = None) -> int:
    """Run the command line; one line per problem on stderr; the exit code."""
    typed = sys.argv[1:] if arguments is None else arguments
    names = typed[:1] if typed and typed[0] in COMMANDS else COMMANDS
    try:
        code = program(names)(arguments, prog_name="sheetmark", standalone_mode=False)
        sys.stdout.flush()
        return code if isinstance(code, int) else DONE
    except (BrokenPipeError, SystemExit):  # the reader has gone; typer may make it an exit
        _drop_output()
        return DONE
    except (InputError, TyperException, typer.Abort, OSError) as error:
        for problem in _problems(error):
            _say(problem)
        if isinstance(error, OSError):
            _drop_output()
        return BAD_INPUT
    except NoAnswerError as error:
        _say(f"no answer: {error}")
        return DEFECT
    except ModuleNotFoundError as error:
        missing = not_installed(error)
        _say(f"error: {missing}" if missing else _defect(error))
        return BAD_INPUT if missing else DEFECT
    except Exception as error:  # noqa: BLE001  the last resort: a defect, in one line
        _say(_defect(error))
        return DEFECT


def _defect(error: Exception) -> str:
    return f"defect in sheetmark {__version__}: {type(error).__name__}: {error}; please report it"


def _problems(error: Exception) -> list[str]:
    if isinstance(error, InputError):
        from sheetmark.cli.report import with_options

        *before, last = error.problems
        return [f"error: {problem}" for problem in (*before, with_options(last, error.actions))]
    if isinstance(error, TyperException):
        return [f"error: {error.format_message().rstrip('.')}; see --help"]
    if isinstance(error, OSError):  # files are dealt with where they are written: this is stdout
        reason = error.strerror or error
        return [f"error: output: {reason}; check where it goes and its free space"]
    return ["stopped"]


def _drop_output() -> None:
    """Drop what could not be written, or the interpreter tries again when it ends."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _say(text: str) -> None:
    """One line on stderr; letters that would move the cursor are shown as in Python source."""
    line = " ".join(text.split())
    safe = "".join(c if c.isprintable() else repr(c)[1:-1] for c in line)
    print(f"sheetmark: {safe}", file=sys.stderr)
