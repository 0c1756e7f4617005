"""Findings: one table of codes, neutral texts, and each door's own terms for what to change."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import Any

import pytest
import typer

import sheetmark
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError
from sheetmark.cli.app import program
from sheetmark.cli.report import with_options
from sheetmark.desk.server.findings import problems_shown, with_fields

PACKAGE = Path(sheetmark.__file__).parent
SOURCES = sorted(PACKAGE.rglob("*.py"))


def names_used(source: str, record: str) -> set[str]:
    """The members of an enumeration that a source takes, such as `Code.NO_MORE`."""
    if record not in source:  # parsing it takes a hundred times as long
        return set()
    return {
        node.attr
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id == record
    }


@pytest.mark.parametrize("code", Code)
def test_each_code_is_explained_in_one_line_of_its_own(code: Code) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", code)
    assert code == code.name.lower().replace("_", "-")
    assert re.fullmatch(r"[A-Z][^.]{15,75}\.", code.meaning)
    assert [other for other in Code if other.meaning == code.meaning] == [code]


def test_each_code_is_used_and_none_is_made_up() -> None:
    used = set[str]().union(*(names_used(path.read_text("utf-8"), "Code") for path in SOURCES))
    assert used == set(Code.__members__)


def test_each_choice_to_change_is_used() -> None:
    used = set[str]()
    for path in SOURCES:
        if path.parts[-2:] != ("server", "findings.py"):
            used |= names_used(path.read_text("utf-8"), "Choice")
    assert used == set(Choice.__members__)


def test_each_choice_is_an_option_of_the_command_line() -> None:
    def options(command: Any) -> set[str]:
        own = {name for param in command.params for name in param.opts}
        return own.union(*map(options, getattr(command, "commands", {}).values()))

    known = options(typer.main.get_command(program()))
    assert {f"--{choice}" for choice in Choice} <= known


# These check options against each other, or start the desk: the page cannot come upon them.
OF_COMMANDS = {"jobs/choices.py", "desk/server/serve.py"}
REPORTS = ("Finding", "InputError", "Problem", "warn", "inform")


def reported(source: str) -> str:
    """Every text that a source puts into a finding or an error."""
    calls = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    found = [call for call in calls if ast.unparse(call.func).split(".")[-1] in REPORTS]
    parts = [part for call in found for part in ast.walk(call) if isinstance(part, ast.Constant)]
    return "\n".join(part.value for part in parts if isinstance(part.value, str))


def test_only_commands_name_options_in_what_they_report() -> None:
    found = {
        path.relative_to(PACKAGE).as_posix(): names
        for path in SOURCES
        if (names := re.findall(r"--[a-z]+", reported(path.read_text("utf-8"))))
    }
    assert {name for name in found if not name.startswith("cli/")} == OF_COMMANDS


@pytest.mark.parametrize(
    ("actions", "text"),
    [
        ((), "Too tight."),
        ((Action(Choice.ANCHOR),), "Too tight. (--anchor)"),
        ((Action(Choice.AGE), Action(Choice.ARCH)), "Too tight. (--age, --arch)"),
        ((Action(Choice.PRESENT, "18"),), "Too tight. (--present 18)"),
        ((Action(Choice.WITH, "18 present"),), 'Too tight. (--with "18 present")'),
        ((Action(Choice.Y_DOWN, drop=True),), "Too tight. (without --y-down)"),
    ],
)
def test_the_command_line_names_the_options(actions: tuple[Action, ...], text: str) -> None:
    assert with_options("Too tight.", actions) == text


def test_the_page_names_its_own_fields() -> None:
    actions = (Action(Choice.AGE), Action(Choice.WITH, "75 present"))
    assert with_fields("Too tight.", actions) == (
        "Too tight. (on this page: “Age”, “What is different”)"
    )
    assert with_fields("Too tight.", (Action(Choice.Y_DOWN),)) == "Too tight."
    error = InputError("one", "two", actions=actions[:1])
    assert problems_shown(error) == ["one", "two (on this page: “Age”)"]


def test_paper_names_neither() -> None:
    found = Finding(Code.ANCHOR_NOT_SOUND, "warning", "A.", "B.", actions=(Action(Choice.ANCHOR),))
    assert found.line == "A. B."
