"""The practice file described for a form: every key once, with the limits of the file itself."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

import pytest
from hypothesis import given, settings

from sheetmark.practice.file.check import find_problems
from sheetmark.practice.file.form import FormField, make_form
from sheetmark.practice.file.keys import schema
from sheetmark.practice.file.new_file import new_file
from sheetmark.practice.settings import CORNERS, NUMBERS, PAPERS, THICKNESSES_MM, Practice
from sheetmark.practice.tray import DEFAULT_TRAY
from tests.helpers.practice_files import EXAMPLE, example_data, practices

BARE: dict[str, Any] = {"format": "sheetmark-practice/1"}


def fields_of(data: dict[str, Any]) -> dict[str, FormField]:
    return {field.key: field for section in make_form(data).sections for field in section.fields}


def columns_of(name: str) -> dict[str, FormField]:
    (found,) = (rows for rows in make_form(BARE).lists if rows.key == name)
    return {column.key: column for column in found.columns}


def everything() -> Iterator[FormField]:
    yield from fields_of(BARE).values()
    for name in ("sheets", "tray", "printers"):
        yield from columns_of(name).values()


def test_every_key_of_the_file_is_in_the_form_once() -> None:
    definitions = schema()["$defs"]
    top = definitions["PracticeFile"]["properties"]
    wanted = []
    for name, field in top.items():
        reference = next(
            (part for part in [field, *field.get("allOf", [])] if "$ref" in part), None
        )
        if reference:
            inner = definitions[reference["$ref"].rpartition("/")[2]]["properties"]
            wanted += [f"{name}.{key}" for key in inner]
        elif "items" not in field and name != "format":
            wanted.append(name)
    assert list(fields_of(BARE)) == wanted
    assert len(wanted) > 20
    rows = {
        "sheets": "SheetRow",
        "tray": "ClampRow",
        "list_headings": "ListHeadingRow",
        "list_words": "ListWordRow",
        "printers": "PrinterRow",
    }
    assert [found.key for found in make_form(BARE).lists] == list(rows)
    for name, row in rows.items():
        assert list(columns_of(name)) == list(definitions[row]["properties"])


def test_every_field_has_text_of_its_own() -> None:
    form = make_form(BARE)
    groups = [section.fields for section in form.sections] + [rows.columns for rows in form.lists]
    assert len(groups) == 15
    for group in groups:
        labels = [field.label for field in group]
        assert all(labels)
        assert len(set(labels)) == len(labels)
        assert all(field.description and field.limit for field in group)
    headings = [section.label for section in form.sections] + [rows.label for rows in form.lists]
    assert len(set(headings)) == len(headings)
    assert all(not heading.endswith(".") for heading in headings)


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("name", ("text", (), None, None, "", "")),
        ("notation", ("choice", ("iso", "universal", "palmer"), None, None, "", "iso")),
        ("numbers", ("choice", NUMBERS, None, None, "", "point")),
        ("tray_turn_round_min", ("number", (), 1, 1440, "minutes", 60)),
        ("page.paper", ("choice", tuple(PAPERS), None, None, "", "a4")),
        ("page.margin_mm", ("number", (), 10, 40, "mm", 10)),
        ("page.printer", ("choice", ("none",), None, None, "", "none")),
        ("punch.diameters_mm", ("numbers", (), 0.3, 5, "mm", [0.5, 1, 1.5, 2, 2.5, 2.6])),
        ("punch.labels", ("texts", (), None, None, "", [])),
        ("holes.share_of_break", ("number", (), 0.1, 0.95, "", 0.6)),
        ("placement.shift", ("yes-no", (), None, None, "", True)),
        ("placement.upper_edge_above_incisal_mm", ("pair", (), 0, 100, "mm", [15.0, 30.0])),
        ("check.tolerance_mm", ("number", (), 0.5, 5, "mm", 2)),
        ("marks.corner", ("choice", CORNERS, None, None, "", "upper-left")),
    ],
)
def test_a_field_has_the_kind_and_limits_of_its_key(key: str, expected: tuple[Any, ...]) -> None:
    field = fields_of(BARE)[key]
    found = (field.kind, field.choices, field.least, field.most, field.unit, field.default)
    assert found == expected
    assert field.value is None
    assert not field.required


def test_columns_have_the_kinds_of_their_keys() -> None:
    thickness = columns_of("sheets")["thickness"]
    assert thickness.kind == "choice-or-number"
    assert thickness.choices == tuple(THICKNESSES_MM)
    assert (thickness.least, thickness.most) == (0.1, 0.5)
    tray = columns_of("tray")
    assert {key: column.kind for key, column in tray.items()} == {
        "label": "text",
        "kind": "choice",
        "winged": "yes-no",
        "jaws": "choice",
        "version": "choice",
        "span_mm": "pair",
        "secondary": "yes-no",
        "cervical": "yes-no",
        "jaws_towards_gum": "yes-no",
        "count": "number",
        "retired": "yes-no",
    }
    assert [key for key, column in tray.items() if column.required] == ["label", "kind", "winged"]
    assert tray["count"].whole
    assert not columns_of("printers")["bar_x_mm"].whole


def test_the_limits_are_those_that_the_check_holds_to() -> None:
    """The least and the most are accepted, a thousandth beyond is not."""
    # Which two keys are held against each other is told apart from their own limits.
    base = BARE | {"placement": {"hole_to_edge_mm": 70, "hole_to_edge_refused_mm": 15}}
    tried = 0
    for field in fields_of(BARE).values():
        if field.kind != "number" or field.least is None or field.most is None:
            continue
        head, dot, last = field.key.partition(".")
        for edge, step in ((field.least, -1), (field.most, 1)):
            for value, wrong in (
                (edge, False),
                (edge + step * (1 if field.whole else 0.001), True),
            ):
                number = int(value) if field.whole else value
                data = copy.deepcopy(base)
                (data.setdefault(head, {}) if dot else data)[last or head] = number
                if last == "hole_to_edge_mm":
                    del data["placement"]["hole_to_edge_refused_mm"]
                problems = [problem.line for problem in find_problems(data)]
                assert any(field.limit in line for line in problems) == wrong, (field.key, value)
                tried += 1
    assert tried > 40


@settings(max_examples=30, derandomize=True, deadline=None)
@given(practices())
def test_the_form_shows_what_the_file_states_and_only_that(practice: Practice) -> None:
    data = tomllib.loads(new_file(practice))
    form = make_form(data)
    shown: dict[str, Any] = {"format": data["format"]}
    for section in form.sections:
        for field in section.fields:
            assert field.value is not None
            table = shown.setdefault(section.key, {}) if section.key else shown
            table[field.key.rpartition(".")[2]] = field.value
    shown |= {rows.key: rows.rows for rows in form.lists if rows.rows is not None}
    assert shown == data
    json.dumps(asdict(form), allow_nan=False)


def test_what_is_not_stated_stays_unset_beside_its_default() -> None:
    form = make_form(BARE)
    assert all(field.value is None for section in form.sections for field in section.fields)
    assert {rows.key: rows.rows for rows in form.lists} == {
        "sheets": None,
        "tray": None,
        "list_headings": None,
        "list_words": None,
        "printers": None,
    }
    (tray,) = (rows for rows in form.lists if rows.key == "tray")
    assert [row["label"] for row in tray.default] == [clamp.label for clamp in DEFAULT_TRAY]


def test_the_printers_to_choose_from_are_those_of_the_file() -> None:
    assert fields_of(example_data())["page.printer"].choices == ("none", "front-desk")


def test_a_file_with_problems_still_makes_a_form() -> None:
    text = """
    name = nan
    numbers = 2026-01-01
    page = 7
    sheets = [3, { width_mm = [[1]], height_mm = inf }]
    tray = "none"
    printers = [{ name = 4 }, { name = "x" }]
    [punch]
    diameters_mm = [nan, 1, [2]]
    labels = [{ a = 1 }]
    """
    form = make_form(tomllib.loads(text))
    json.dumps(asdict(form), allow_nan=False)
    fields = {field.key: field for section in form.sections for field in section.fields}
    assert fields["name"].value == "nan"
    assert fields["numbers"].value == "2026-01-01"
    assert fields["page.margin_mm"].value is None
    assert fields["page.printer"].choices == ("none", "x")
    assert [rows.rows for rows in form.lists][:2] == [
        [{}, {"width_mm": "[[1]]", "height_mm": "inf"}],
        None,
    ]


def test_the_example_file_by_hand() -> None:
    fields = fields_of(tomllib.loads(EXAMPLE.read_text("utf-8")))
    assert fields["name"].value == "Example practice"
    assert fields["page.margin_mm"].value == 10
    assert fields["punch.labels"].value == ["I", "II", "III", "IV", "V", "VI"]
