"""The table of options: each is declared once, and every door takes its form from there."""

from __future__ import annotations

import inspect
import shlex
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import fields

from sheetmark.anatomy.teeth import Notation, read_list
from sheetmark.case.case import Case
from sheetmark.case.file import read_case, write_case
from sheetmark.cli import day, drawer, handout, overlay, strain
from sheetmark.desk.server.case_query import CaseQuery
from sheetmark.plan.choices import case_with, settings_with
from sheetmark.plan.make import make_plan
from sheetmark.plan.option_records import CaseOption, Option, SettingOption
from sheetmark.plan.options import CASE_OPTIONS, OPTIONS, PAGE_OPTIONS, SETTING_OPTIONS, options
from sheetmark.practice.settings import Practice

# A choice other than the usual one for every option that a recipe repeats.
TYPED: dict[str, Any] = {
    "notation": "universal",
    "for": "crown",
    "expose": ["1-6"],
    "more": 2,
    "missing": ["1"],
    "present": ["16"],
    "with": ["6 facial 1.5"],
    "anchor": ["2"],
    "slit": ["3-4"],
    "access": "tight",
    "age": 30,
    "measure": ["row 5-2 35.2; 3 10"],
    "sheet": "127",
    "paper": "letter",
    "punch": "0.5,1,1.5,2,2.5",
    "material": "nitrile",
    "row": "wide",
    "hold": "ligature",
    "sizing": "two-size",
    "ease": 0.25,
    "reference": "A 17",
    "shifted": False,
}
NOT_REPEATED = {"case", "arch", "practice", "printer", "shift", "no-shift"}


def parameters(command: object) -> dict[str, inspect.Parameter]:
    assert callable(command)
    return dict(inspect.signature(command).parameters)


def test_names_and_fields_are_given_once() -> None:
    for values in (
        [option.name for option in OPTIONS],
        [option.parameter for option in OPTIONS],
        [option.field for option in CASE_OPTIONS],
        [option.field for option in SETTING_OPTIONS],
    ):
        assert len(values) == len(set(values))
    assert set(TYPED) | NOT_REPEATED == {option.name for option in OPTIONS}
    assert {option.field for option in CASE_OPTIONS} < {field.name for field in fields(Case)}
    assert {option.field for option in SETTING_OPTIONS} < {f.name for f in fields(Practice)}


def test_every_option_reaches_its_doors() -> None:
    names = {option.parameter for option in OPTIONS}
    assert names - set(parameters(overlay.command)) == {"shifted"}
    assert names - set(parameters(strain.command)) == {"shift", "no_shift", "shifted", "printer"}
    settings = {option.parameter for option in SETTING_OPTIONS} | {"practice"}
    for command in (day.plan, drawer.command, handout.command):
        assert settings <= set(parameters(command))
    aliases = {field.alias for field in CaseQuery.model_fields.values()} - {None}
    assert aliases == {option.name for option in PAGE_OPTIONS}


@pytest.mark.parametrize("option", CASE_OPTIONS, ids=lambda option: option.name)
def test_a_choice_of_the_case_comes_back_from_its_recipe(option: CaseOption) -> None:
    notation: Notation = "universal"
    blank = Case(treat=read_list(["3"], notation), notation=notation)
    assert not option.write(blank)
    case = case_with(blank.treat, {option.name: TYPED[option.name]}, notation)
    assert getattr(case, option.field) != getattr(blank, option.field)
    text = option.write(case)
    again: Any = [text] if option.kind == "texts" else text
    if option.kind == "whole":
        again = int(text)
    assert case_with(blank.treat, {option.name: again}, notation) == case


@pytest.mark.parametrize("option", CASE_OPTIONS, ids=lambda option: option.name)
def test_a_choice_of_the_case_comes_back_from_its_file(option: CaseOption, tmp_path: Path) -> None:
    chosen = {"notation": "universal", option.name: TYPED[option.name]}
    case = case_with(read_list(["3"], "universal"), chosen, "universal")
    path = tmp_path / "case.toml"
    path.write_text(write_case(case), "utf-8")
    assert read_case(path) == case


@pytest.mark.parametrize("option", SETTING_OPTIONS, ids=lambda option: option.name)
def test_a_setting_that_was_chosen_is_in_the_recipe(option: SettingOption) -> None:
    if option.name == "printer":
        return  # its correction is no part of a plan
    practice = settings_with(Practice(), {option.name: TYPED[option.name]})
    assert getattr(practice, option.field) != getattr(Practice(), option.field)
    case = Case(treat=read_list(["16"], "iso"), notation=practice.notation)
    wording = shlex.split(make_plan(case, practice=practice).command)
    if option.name == "shifted":
        assert "--no-shift" in wording
    else:
        assert wording[wording.index(f"--{option.name}") + 1] == str(TYPED[option.name])


def test_what_is_not_chosen_changes_nothing() -> None:
    nothing = {option.name: option.usual for option in OPTIONS}
    practice = Practice()
    assert settings_with(practice, nothing) == practice
    treat = read_list(["16"], "iso")
    assert case_with(treat, nothing, "iso") == Case(treat=treat)


def test_options_are_named_as_they_stand() -> None:
    assert [option.name for option in options("sheet", "for")] == ["for", "sheet"]
    with pytest.raises(AssertionError):
        options("nosuch")


def test_a_new_option_is_on_the_command_line_from_its_entry_alone() -> None:
    from sheetmark.cli.options import takes

    seen: list[Any] = []

    @takes(Option(name="new-one", help="New.", kind="number"))
    def command(name: str, *, choices: Any) -> None:
        seen.append((name, choices))

    assert list(parameters(command)) == ["name", "new_one", "quiet", "verbose"]
    command(name="x", new_one=1.5)
    assert seen == [("x", {"new-one": 1.5})]
