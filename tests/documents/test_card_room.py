"""The case card keeps its room: nothing stands on anything else, and long words find a place."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.teeth import NOTATIONS
from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.documents.case.card import card
from sheetmark.documents.case.steps.before import before
from sheetmark.documents.case.steps.place import place
from sheetmark.documents.case.steps.take_off import take_off
from sheetmark.practice.settings import (
    PaperName,
)
from sheetmark.practice.tray import Clamp
from sheetmark.typesetting.lettering import text_width, wrapped
from sheetmark.typesetting.marks import Document, Line, Page, Text
from sheetmark.typesetting.paragraphs import Column, Paragraph, flow, set_blocks
from tests.helpers.cards import (
    ALL_UPPER,
    CASES,
    MANY_STATES,
    box,
    case_plan,
    faults,
    page_texts,
    plan_for,
    squeezed,
)
from tests.helpers.cases import few


def card_faults(document: Document) -> list[str]:
    """On every page but that a last one may hold few words and no table."""
    found = []
    for page in document.pages:
        tables = [m for m in page.marks if isinstance(m, Line) and m.name == "table"]
        shown = page if tables else replace(page, marks=(*page.marks, *_a_rule_below(page)))
        found += list(faults(shown))
    return found


def _a_rule_below(page: Page) -> tuple[Line]:
    """Stands in the margin, where it meets nothing."""
    return (Line(PagePoint(20.0, 5.0), PagePoint(page.width - 20.0, 5.0), 0.1, "table"),)


@pytest.mark.parametrize(("kind", "paper"), CASES)
def test_nothing_stands_on_anything_else(kind: str, paper: PaperName) -> None:
    assert card_faults(card(case_plan(kind, paper))) == []


@given(
    st.sampled_from(NOTATIONS),
    st.sampled_from(["a4", "letter"]),
    st.lists(st.sampled_from(ALL_UPPER.split(",")), min_size=1, max_size=5, unique=True),
    st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=200),
    st.sampled_from(["", "W" * 60, "a long reference of some words for this one chair"]),
    st.integers(0, 14),
)
@few
def test_any_case_keeps_its_room_and_its_text(
    notation: Any, paper: PaperName, anchors: list[str], label: str, reference: str, states: int
) -> None:
    kinds: tuple[Any, ...] = ("molar", "premolar", "front")
    plan = plan_for(
        ALL_UPPER,
        tuple(Clamp(f"{kind}{label}", kind, winged=True, count=2) for kind in kinds),
        paper,
        notation=notation,
        anchors=",".join(anchors),
        reference=reference,
        states=MANY_STATES[:states],
    )
    document = card(plan)
    assert card_faults(document) == []
    shown = "".join(page_texts(page) for page in document.pages)
    for clamp in plan.clamps:
        if clamp.first:
            assert squeezed(clamp.first.label) in shown
    steps = (step.text for step in (*place(plan), *take_off(plan)))
    for line in (*before(plan), *steps, *(finding.line for finding in plan.findings)):
        assert squeezed(line) in shown


def test_a_label_longer_than_a_page_goes_on_on_the_next() -> None:
    label = "".join(f"{number:05d}" for number in range(1500))
    plan = plan_for("16", (Clamp(label, "molar", winged=True),))
    document = card(plan)
    assert len(document.pages) > 2
    assert card_faults(document) == []
    shown = "".join(
        mark.text
        for page in document.pages
        for mark in page.marks
        if isinstance(mark, Text) and mark.name == "fetch"
    )
    assert squeezed(label) in squeezed(shown)


def test_a_label_that_no_font_can_write_is_refused() -> None:
    with pytest.raises(InputError, match="no glyph for '日'"):
        card(plan_for("16", (Clamp("日", "molar", winged=True),)))


COLUMN = Column(left=10.0, top=110.0, width=60.0, bottom=10.0)


def test_a_heading_never_ends_a_column() -> None:
    line = Paragraph("line")
    room = COLUMN.below(COLUMN.bottom + 3 * line.height(60.0))
    fits, _, none = set_blocks([line, Paragraph("head", with_next=True), line], room)
    assert [mark.text for mark in fits if isinstance(mark, Text)] == ["line", "head", "line"]
    assert none == ()
    head, long = Paragraph("head", with_next=True), Paragraph("word " * 40)
    marks, y, left = set_blocks([line, head, long], room)
    assert [mark.text for mark in marks if isinstance(mark, Text)] == ["line"]
    assert left == (head, long)
    assert y == pytest.approx(room.top - line.height(60.0))


def test_a_column_is_filled_to_its_bottom_and_not_below() -> None:
    lines = [Paragraph(f"line {number}") for number in range(60)]
    marks, lowest, left = flow(lines, COLUMN.halves(6.0))
    texts = [mark for mark in marks if isinstance(mark, Text)]
    assert [mark.text for mark in texts] + [
        line.text for line in left if isinstance(line, Paragraph)
    ] == [line.text for line in lines]
    assert 0 < len(left) < 60
    assert min(box(mark).low for mark in texts) >= COLUMN.bottom
    assert lowest - COLUMN.bottom < lines[0].height(27.0)
    assert {round(mark.at[0], 6) for mark in texts} == {10.0, 43.0}


def test_a_paragraph_longer_than_a_column_goes_on_in_the_next() -> None:
    wording = [f"w{number}" for number in range(500)]
    marks, _, left = flow([Paragraph(" ".join(wording), lead="7", indent_mm=7.0)], [COLUMN] * 3)
    texts = [mark for mark in marks if isinstance(mark, Text)]
    assert [mark.text for mark in texts if mark.name == "note-lead"] == ["7"]
    (rest,) = left
    assert isinstance(rest, Paragraph)
    shown = " ".join(mark.text for mark in texts if mark.name == "note")
    assert f"{shown} {rest.text}".split() == wording
    assert {mark.at[0] for mark in texts if mark.name == "note"} == {17.0}


def test_a_word_wider_than_its_column_is_broken_where_it_must_be() -> None:
    assert wrapped("WWW", 10.0, 5.0) == ("W", "W", "W")
    for width in (12.0, 25.0, 60.0):
        lines = wrapped("a " + "wW" * 40 + " b", 4.0, width)
        assert squeezed("".join(lines)) == "a" + "wW" * 40 + "b"
        assert all(text_width(line, 4.0) <= width for line in lines)
        # No line but those round the long word's ends has room for one letter more.
        assert all(text_width(f"{line}W", 4.0) > width for line in lines[1:-1])
