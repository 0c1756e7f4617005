"""Elements of an SVG say what was put into them, whatever its characters."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from sheetmark.render.svg_elements import element, escaped, svg_file

NASTY = ("a < b > c & d", "\"quoted\" 'too'", "&amp; ]]> <!--", "äß 🦷 …", " two  blanks ", "")


@pytest.mark.parametrize("text", [*NASTY, "tab\tline\nfeed\rreturn"])
def test_an_attribute_is_read_as_it_was_given(text: str) -> None:
    assert ElementTree.fromstring(element("a", {"b": text})).get("b") == text


@pytest.mark.parametrize("text", NASTY)
def test_text_is_read_as_it_was_given(text: str) -> None:
    assert (ElementTree.fromstring(element("a", {}, escaped(text))).text or "") == text


@pytest.mark.parametrize("text", NASTY)
def test_a_file_is_read_with_its_title_and_recipe(text: str) -> None:
    root = ElementTree.fromstring(svg_file({"width": "1mm"}, text, text, [element("g", {})]))
    assert [(part.text or "") for part in root[:2]] == [text, text]
    assert [part.tag.partition("}")[2] for part in root] == ["title", "desc", "defs", "g"]


def test_attributes_stand_in_one_order() -> None:
    first, second = {"y": 1.0, "data-name": "x"}, {"data-name": "x", "y": 1.0}
    assert element("a", first) == element("a", second) == '<a data-name="x" y="1.0" />'
