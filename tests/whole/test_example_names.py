"""Names in the examples that a dental reader must not take for something else.

A1 to D4 are tooth shades, single letters A to T primary teeth (Universal), and a practice that
sounds real would be somebody's.
"""

from __future__ import annotations

import csv
import re
import tomllib

from tests.helpers.paths import ROOT

EXAMPLES = ROOT / "examples"
SHADE = re.compile(r"[A-D][1-5](\.5)?")
PRIMARY_TOOTH = re.compile(r"[A-Ta-t]")


def test_no_reference_reads_as_a_tooth_shade() -> None:
    with (EXAMPLES / "day.csv").open(encoding="utf-8", newline="") as file:
        references = [row["reference"] for row in csv.DictReader(file, delimiter=";")]
    assert references
    assert [name for name in references if SHADE.fullmatch(name)] == []


def test_no_label_of_the_punch_reads_as_a_primary_tooth() -> None:
    punch = tomllib.loads((EXAMPLES / "practice.toml").read_text("utf-8"))["punch"]
    assert len(punch["labels"]) == len(punch["diameters_mm"])
    # The first of the Roman figures I to VI is read as one by those that follow it.
    assert punch["labels"][:2] == ["I", "II"]
    assert not any(PRIMARY_TOOTH.fullmatch(label) for label in punch["labels"][1:])


def test_the_practice_is_nobody_s() -> None:
    practice = tomllib.loads((EXAMPLES / "practice.toml").read_text("utf-8"))
    assert practice["name"] == "Example practice"
