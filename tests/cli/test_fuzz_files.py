"""Damaged files of every kind: done or bad input, never a defect of ours. More: `tests.fuzz`."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from tests.helpers.damaged_files import GOOD, KINDS, check_file, damage, damaged

Changes = list[tuple[float, int, bytes]]


@pytest.mark.parametrize("kind", KINDS)
def test_damaged_files_are_input(kind: str) -> None:
    @settings(max_examples=40, derandomize=True, deadline=None)
    @given(damage)
    def check(changes: Changes) -> None:
        check_file(kind, damaged(GOOD[kind], changes))

    check()
