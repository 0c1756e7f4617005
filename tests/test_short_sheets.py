"""Sheets shorter than the 100 mm bar beside them: bar, words and sheet keep clear of each other."""

from __future__ import annotations

import pytest

from sheetmark.case import Case
from sheetmark.documents.marks import Line, Page, Text
from sheetmark.documents.overlay import overlay
from sheetmark.plan import make_plan
from sheetmark.practice.settings import Practice, Sheet
from tests.cases import teeth


def page_of(height_mm: float) -> Page:
    practice = Practice(sheet=Sheet(120.0, height_mm))
    return overlay(
        make_plan(Case(treat=teeth("36"), procedure="root-canal"), None, practice)
    ).pages[0]


def upright_bar(page: Page) -> Line:
    (bar,) = [mark for mark in page.marks if isinstance(mark, Line) and mark.name == "bar-y"]
    return bar


@pytest.mark.parametrize("height_mm", [80.0, 97.0, 100.0, 103.0, 127.0])
def test_the_upright_bar_keeps_clear_of_words_and_of_the_other_bar(height_mm: float) -> None:
    page = page_of(height_mm)
    bar = upright_bar(page)
    low, high = sorted((bar.start[1], bar.end[1]))
    assert high - low == pytest.approx(100.0)
    (across,) = [mark for mark in page.marks if isinstance(mark, Line) and mark.name == "bar-x"]
    assert across.start[1] - high > 3.0, "the ticks of both reach 1.5 mm towards each other"
    below = [mark for mark in page.marks if isinstance(mark, Text) and mark.name == "title"]
    below += [mark for mark in page.marks if isinstance(mark, Text) and "check both" in mark.text]
    assert len(below) == 2
    for words in below:
        assert words.at[1] + words.size < low - 1.5


@pytest.mark.parametrize("height_mm", [100.0, 127.0, 152.0])
def test_beside_a_long_enough_sheet_the_bar_stands_at_its_middle(height_mm: float) -> None:
    bar = upright_bar(page_of(height_mm))
    # Paper 297, margin 10, strip of the other bar 10 (assumptions of the page).
    middle = 297.0 - 20.0 - height_mm / 2
    assert (bar.start[1] + bar.end[1]) / 2 == pytest.approx(middle)
