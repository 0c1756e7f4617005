"""The practice file's form: settings to TOML and back, its schema, the remarks of a new one."""

from __future__ import annotations

import copy
import json
import math
import tomllib
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.cli.app import run
from sheetmark.practice.file.check import check_text, find_problems
from sheetmark.practice.file.new_file import new_file
from sheetmark.practice.settings import THICKNESSES_MM, Practice, StockSheet
from sheetmark.practice.stock import read_stock, write_stock
from tests.helpers.practice_files import EXAMPLE, example_data, practices, stocks

few = settings(max_examples=60, derandomize=True, deadline=None)


@few
@given(practices())
def test_a_new_file_holds_the_settings_that_were_written(practice: Practice) -> None:
    checked = check_text(new_file(practice), "practice.toml")
    assert checked.practice.origin is not None
    assert checked.practice.origin.practice == practice
    assert replace(checked.practice, origin=None) == practice


def test_a_file_with_nothing_but_its_form_keeps_every_default() -> None:
    checked = check_text('format = "sheetmark-practice/1"', "practice.toml")
    assert replace(checked.practice, origin=None) == Practice()
    assert checked.stated == {"format"}


def test_the_example_file_by_hand() -> None:
    """A twin of the reader, value by value, without its own types."""
    practice = check_text(EXAMPLE.read_text("utf-8"), EXAMPLE.name).practice
    assert (practice.name, practice.numbers, practice.notation) == (
        "Example practice",
        "comma",
        "iso",
    )
    assert (practice.sheet.width_mm, practice.sheet.height_mm) == (152, 152)
    assert practice.material == "latex"
    assert [kept.thickness_mm for kept in practice.stock] == [0.20, 0.15, 0.20]
    assert practice.punch.label(practice.punch.position(2.0)) == "IV"
    assert practice.marks.kind == "corner-hole"
    assert practice.printer_in_use is not None
    assert practice.printer_in_use.correction == pytest.approx((1.0040161, 0.9986684))


def test_thickness_names_are_the_usual_thicknesses() -> None:
    """Thin 0.15 to extra heavy 0.30 from a secondary source; the page says the mm with the word."""
    for word, mm in (
        ("thin", 0.15),
        ("medium", 0.20),
        ("heavy", 0.25),
        ("extra-heavy", 0.30),
    ):
        data = example_data()
        data["sheets"][0]["thickness"] = word
        assert not find_problems(data)
        assert THICKNESSES_MM[word] == mm  # type: ignore[index]
        (kept,) = read_stock(f"152 {word}")
        assert kept.thickness_mm == mm
        assert kept.name == f"152 x 152 mm, latex, {word.replace('-', ' ')} {mm:g} mm"


@few
@given(stocks())
def test_stock_in_plain_text_is_read_back(stock: tuple[StockSheet, ...]) -> None:
    assert read_stock(write_stock(stock)) == stock


def schema_of(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    assert run(["practice", "schema"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    schema: dict[str, Any] = json.loads(out)
    return schema


def test_the_schema_is_one_and_the_example_fits_it(capsys: pytest.CaptureFixture[str]) -> None:
    schema = schema_of(capsys)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(example_data())


# Values that no, some or many keys take.
VALUES = st.sampled_from(
    [
        *(-1, 0, 1, 2, 10, 12, 41, 150, 1e9, 0.2, 0.5, math.inf, True, False),
        *("", "x", "a4", "latex", "none", "comma", "upper-left", " x", "a\nb", 41 * "y"),
        *([], [1, 2], [0.5, 99], ["A"], {}, {"x": 1}),
    ]
)


@st.composite
def changed(draw: st.DrawFn) -> dict[str, Any]:
    """The example's data with some values changed, keys taken away or added, at any depth."""
    data = example_data()
    for _ in range(draw(st.integers(1, 3))):
        table: Any = data
        while True:
            key = draw(st.sampled_from(sorted(table)) if table else st.just("nothing"))
            inner = table.get(key)
            if isinstance(inner, list) and inner and isinstance(inner[0], dict):
                inner = draw(st.sampled_from(inner))
            if not (isinstance(inner, dict) and draw(st.booleans())):
                break
            table = inner
        change = draw(st.sampled_from(["value", "gone", "new"]))
        if change == "gone":
            table.pop(key, None)
        else:
            table[key if change == "value" else f"{key}s"] = copy.deepcopy(draw(VALUES))
    return data


def test_check_and_schema_agree_on_what_is_a_practice_file() -> None:
    """The outside validator, by the schema alone, against our own walk, over random data.

    What must hold between keys stands in no schema: there our walk may find more.
    """
    schema = json.loads(json.dumps(_schema()))
    outside = jsonschema.Draft202012Validator(schema)
    seen = {"good": 0, "bad": 0}

    @settings(max_examples=300, derandomize=True, deadline=None)
    @given(changed())
    def agree(data: dict[str, Any]) -> None:
        single = [p.line for p in find_problems(data) if not any(w in p.line for w in _BETWEEN)]
        fits = outside.is_valid(data)
        assert fits == (not single), single
        seen["good" if fits else "bad"] += 1

    agree()
    assert min(seen.values()) > 20, seen


# What must hold between keys, in the words of the problem.
_BETWEEN = (
    "this word means no printer",
    "from is larger than to",
    "labels for",
    "stands twice",
    "the same as",
    "store that printer",
    "must be at most the distance kept from hole to edge",
    "belongs to jaws",
    "where jaws are",
    "too large at true scale",
    "needs a punch",
)


def _schema() -> dict[str, Any]:
    from sheetmark.practice.file.keys import schema

    return schema()


def test_a_new_file_explains_every_key_of_the_schema() -> None:
    """Each key stands in the file with a remark above it that tells its limits."""
    lines = new_file(Practice()).splitlines()
    tables = {**_schema()["$defs"]}
    seen = 0
    for name, table in tables.items():
        for key, field in table["properties"].items():
            if "$ref" in field or "$ref" in str(field.get("items")):
                continue
            at = [i for i, line in enumerate(lines) if line.lstrip("# ").startswith(f"{key} = ")]
            assert at, f"{name}.{key} is not in a new file"
            remarks = [_remark_above(lines, number) for number in at]
            assert any(field["description"] in remark for remark in remarks), f"{name}.{key}"
            seen += 1
    assert seen > 35


def _remark_above(lines: list[str], number: int) -> str:
    remark: list[str] = []
    while lines[number - 1].startswith("# ") and " = " not in lines[number - 1]:
        number -= 1
        remark.insert(0, lines[number][2:])
    return " ".join(remark)


def test_figures_carry_their_source_and_flag() -> None:
    text = " ".join(line.lstrip("# ") for line in new_file(Practice()).splitlines())
    for key, source in (
        ("diameters_mm", "ISO 16635-1:2013"),
        ("diameters_mm", "catalogue summary, seen in print"),
        ("diameters_mm", "the list itself is an assumption"),
        ("thickness", "seen in a secondary source), or in mm."),
        ("material", "Jariyapongpaiboon et al., J Dept Med Serv, seen in print"),
        ("share_of_break", "(assumption)"),
        ("ease_mm", "Black 1908 (seen in print)"),
        ("lesion_facial_mm", "(Sturdevant, from memory)"),
        ("kind", "(both common practice, no source)"),
        ("corner", "(common practice, no source)"),
        ("secondary", "(common practice, no source)"),
        ("cervical", "(common practice, no source)"),
        ("jaws_towards_gum", "(common practice, no source)"),
        ("version", "(common practice, no source)"),
    ):
        before = text.partition(f" {key} = ")[0]
        assert source in before[-420:], f"{key}: {source}"


def test_the_example_is_what_the_commands_write(tmp_path: Any) -> None:
    path = tmp_path / "practice.toml"
    made = [
        *("practice", "init", "-o", str(path), "--yes", "--name", "Example practice"),
        *("--numbers", "comma", "--sheet", "152 latex medium", "--sheet", "127 latex thin"),
        *("--sheet", "152 nitrile medium", "--punch", "0.5,1,1.5,2,2.5,2.6"),
        *("--labels", "I,II,III,IV,V,VI", "--marks", "corner-hole", "--corner", "upper-left"),
    ]
    assert run(made) == 0
    stored = ["printer", "set", "--practice", str(path), "--name", "front-desk"]
    assert run([*stored, "--x", "149.4", "--y", "150.2"]) == 0
    assert path.read_bytes() == EXAMPLE.read_bytes()
    assert tomllib.loads(path.read_text("utf-8")) == example_data()
