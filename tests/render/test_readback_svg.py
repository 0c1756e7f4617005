"""The finished SVG, read on its own and measured against the plan's JSON and against the PDF."""

from __future__ import annotations

from math import dist

import pytest
from hypothesis import given, settings

from sheetmark.jobs.outputs import render_plan
from tests.helpers.named_cases import NAMED_CASES
from tests.helpers.page_check import TOLERANCE_MM, check_page
from tests.helpers.readback import (
    Circle,
    Found,
    Line,
    Outline,
    Point,
    Word,
    read_first_page,
    read_svg,
)
from tests.helpers.valid_cases import Sample, samples


@pytest.mark.parametrize("case", NAMED_CASES.values(), ids=NAMED_CASES.keys())
def test_named_cases_are_true_to_their_plan(case: Sample) -> None:
    check_page(read_svg(render_plan(case.plan, "svg")), case.data)


@settings(max_examples=50, derandomize=True, deadline=None)
@given(samples())
def test_every_mark_is_true_to_the_plan(case: Sample) -> None:
    check_page(read_svg(render_plan(case.plan, "svg")), case.data)


@settings(max_examples=50, derandomize=True, deadline=None)
@given(samples())
def test_pdf_and_svg_agree_mark_by_mark(case: Sample) -> None:
    pdf = read_first_page(render_plan(case.plan, "pdf"))
    svg = read_svg(render_plan(case.plan, "svg"))
    assert (pdf.width, pdf.height) == pytest.approx((svg.width, svg.height), abs=1e-3)
    assert len(pdf.found) == len(svg.found) > 30
    for mark, other in zip(pdf.found, svg.found, strict=True):
        agree(mark, other)


def agree(mark: Found, other: Found) -> None:
    """Raises AssertionError unless two marks are the same to 0.01 mm and one step of grey."""
    assert type(mark) is type(other)
    points, others = _points(mark), _points(other)
    assert len(points) == len(others)
    for a, b in zip(points, others, strict=True):
        assert dist(a, b) <= TOLERANCE_MM, (mark, other)
    assert _sizes(mark) == pytest.approx(_sizes(other), abs=TOLERANCE_MM)
    match mark, other:
        case Word(), Word():
            assert (mark.text, mark.bold) == (other.text, other.bold)
        case Line(), Line():
            assert mark.grey == pytest.approx(other.grey, abs=1 / 255)
        case (Circle() | Outline(), Circle() | Outline()):
            assert mark.filled == other.filled
            assert mark.grey == pytest.approx(other.grey, abs=1 / 255)


def _points(mark: Found) -> tuple[Point, ...]:
    match mark:
        case Circle(centre):
            return (centre,)
        case Outline(points):
            return points
        case Line(start, end) | Word(_, start, end):
            return (start, end)


def _sizes(mark: Found) -> tuple[float, ...]:
    match mark:
        case Circle(_, diameter, _, line):
            return (diameter, line)
        case Outline(line=line) | Line(line=line):
            return (line,)
        case Word(size=size):
            return (size,)


def _svg(
    inside: str, attributes: str = 'width="100mm" height="50mm" viewBox="0 0 100 50"'
) -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{inside}</svg>'.encode()


def test_the_reader_turns_y_and_anchors_text() -> None:
    drawing = read_svg(
        _svg(
            '<circle cx="10" cy="20" r="2" fill="black"/>'
            '<text x="30" y="40" font-size="4" font-weight="bold" text-anchor="middle" '
            'textLength="6" transform="rotate(-90,30,40)">ab</text>'
        )
    )
    disc, word = drawing.found
    assert disc == Circle((10, 30), 4, filled=True, line=0, grey=0)
    assert isinstance(word, Word)
    assert (word.text, word.bold, word.size) == ("ab", True, 4.48)
    assert word.start == pytest.approx((30, 7))
    assert word.end == pytest.approx((30, 13))


@pytest.mark.parametrize(
    "wrong",
    [
        _svg("", 'width="100mm" height="50mm" viewBox="0 0 100 51"'),
        _svg("", 'width="100mm" height="50mm" viewBox="1 0 100 50"'),
        _svg("", 'width="100mm" height="50mm" viewBox="0 0 100 50" transform="scale(2)"'),
        _svg('<g><circle cx="1" cy="1" r="1"/></g>'),
        _svg('<circle cx="1" cy="1" r="1" transform="scale(2)"/>'),
        _svg('<circle cx="1" cy="1" r="1" fill="rgb(9,8,9)"/>'),
    ],
)
def test_the_reader_refuses_what_it_cannot_vouch_for(wrong: bytes) -> None:
    with pytest.raises((AssertionError, KeyError)):
        read_svg(wrong)
