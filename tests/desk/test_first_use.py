"""The first requests of a page that has just opened, all at once, with threads that take turns far
more often than they do by themselves: no start ends the process."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from tests.helpers.many_starts import MANY_RECORDS, MANY_SERVERS, codes
from tests.helpers.paths import ROOT


@pytest.mark.skipif(not hasattr(os, "fork"), reason="Windows forks no process")
@pytest.mark.parametrize(("script", "count"), [(MANY_SERVERS, 6), (MANY_RECORDS, 60)])
def test_no_start_ends_the_process(script: str, count: int, tmp_path: Path) -> None:
    assert codes(script, tmp_path, str(count)) == [0] * count


def test_every_conversion_goes_through_the_one_that_waits() -> None:
    made = re.compile(r"msgspec\.(convert|json\.decode|toml\.decode|yaml\.decode)\(|Decoder\(")
    found = [
        path.relative_to(ROOT).as_posix()
        for path in sorted((ROOT / "sheetmark").rglob("*.py"))
        if made.search(path.read_text("utf-8"))
    ]
    assert found == ["sheetmark/base/records.py"]
