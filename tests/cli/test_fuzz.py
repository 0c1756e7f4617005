"""Arbitrary argument lists thrown at the command: done or bad input, never a defect of ours."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from sheetmark.cli import overlay
from tests.helpers.wild_arguments import (
    after_a_command,
    aimed,
    chaos,
    check,
    nearly_right,
    outcome,
)


@settings(max_examples=40, derandomize=True, deadline=None)
@given(chaos)
def test_anything_at_all(arguments: list[str]) -> None:
    check(arguments)


@settings(max_examples=50, derandomize=True, deadline=None)
@given(after_a_command)
def test_a_command_and_anything(arguments: list[str]) -> None:
    check(arguments)


@settings(max_examples=120, derandomize=True, deadline=None)
@given(nearly_right)
def test_a_case_with_options_right_or_wrong(arguments: list[str]) -> None:
    check(arguments)


@settings(max_examples=120, derandomize=True, deadline=None)
@given(aimed)
def test_one_option_with_an_odd_value(arguments: list[str]) -> None:
    check(["overlay", "16", *arguments])


def test_an_outcome_is_seen_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    assert outcome(["overlay", "16", "-o", "case.pdf"])[0] == 0
    assert outcome(["overlay", "16", "--sheet", "nan"])[0] == 2

    def broken(_: str) -> None:
        raise RuntimeError("broken")

    monkeypatch.setattr(overlay, "practice_chosen", broken)
    code, out, err = outcome(["overlay", "16", "--sheet", "127"])
    assert (code, out) == (1, "")
    assert "RuntimeError: broken" in err
