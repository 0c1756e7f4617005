"""The finished PDF, opened with a reader of its own and measured against the plan's JSON."""

from __future__ import annotations

from io import BytesIO
from math import cos, radians, sin

import pytest
from hypothesis import given, settings
from pdfminer.pdfinterp import PDFPageInterpreter
from reportlab.pdfgen.canvas import Canvas

from sheetmark.jobs.outputs import render_plan
from sheetmark.practice.printer import Printer
from sheetmark.practice.settings import Practice
from tests.helpers.corpus import Mouth, mouths
from tests.helpers.named_cases import NAMED_CASES
from tests.helpers.page_check import check_page, discs
from tests.helpers.page_operators import QuickInterpreter
from tests.helpers.readback import POINT_MM, Circle, Line, read_first_page, read_pdf
from tests.helpers.valid_cases import Sample, sample, samples

MM = 1 / POINT_MM


@pytest.mark.parametrize("case", NAMED_CASES.values(), ids=NAMED_CASES.keys())
def test_named_cases_are_true_to_their_plan(case: Sample) -> None:
    page = read_first_page(render_plan(case.plan, "pdf"))
    check_page(page, case.data)


@pytest.mark.parametrize("mouth", mouths(), ids=lambda mouth: mouth.name)
def test_odd_mouths_are_true_to_their_plan(mouth: Mouth) -> None:
    plan = mouth.plan()
    page = read_first_page(render_plan(plan, "pdf"))
    check_page(page, Sample(plan).data)


@settings(max_examples=50, derandomize=True, deadline=None)
@given(samples())
def test_every_mark_is_true_to_the_plan(case: Sample) -> None:
    page = read_first_page(render_plan(case.plan, "pdf"))
    check_page(page, case.data)


@pytest.mark.parametrize("bars", [(149.4, 150.6), (147.3, 152.9)])
def test_a_corrected_page_comes_out_of_its_printer_true(bars: tuple[float, float]) -> None:
    """Read as the printer puts it down, every mark is where the plan has it; on no other one."""
    printer = Printer("hall", *bars)
    case = sample("16", Practice(printers=(printer,), printer="hall"))
    pdf = render_plan(case.plan, "pdf")
    page = read_first_page(pdf, printer=(bars[0] / 150, bars[1] / 150))
    check_page(page, case.data)
    assert "Printer hall: " in page.text
    for other in ((1.0, 1.0), (bars[1] / 150, bars[0] / 150)):
        with pytest.raises(AssertionError):
            check_page(read_first_page(pdf, printer=other), case.data)


@settings(max_examples=20, derandomize=True, deadline=None)
@given(samples())
def test_further_pages_hold_text_only(case: Sample) -> None:
    first, *further = read_pdf(render_plan(case.plan, "pdf"))
    for page in further:
        assert (page.width, page.height) == (first.width, first.height)
        assert not page.circles
        assert not page.outlines
        assert page.texts


def test_the_holes_of_one_case_by_hand() -> None:
    """A twin without the check's own code: 36 alone, on its sheet, under nothing else."""
    case = NAMED_CASES["root canal"]
    (hole,) = case.data["holes"]
    page = read_first_page(render_plan(case.plan, "pdf"))
    left, top = (210 - 152) / 2, 297 - 20  # sheet in the middle, 20 mm below the paper's edge
    on_sheet = [
        disc for disc in discs(page) if top - 152 < disc.centre[1] < top and disc.centre[0] > left
    ]
    dots = [disc for disc in on_sheet if abs(disc.centre[1] - (top - 10)) < 0.01]
    assert sorted(round(dot.centre[0], 2) for dot in dots) == [93.0, 117.0]
    (disc,) = (disc for disc in on_sheet if disc not in dots)
    assert disc.centre[0] - 105 == pytest.approx(hole["x_mm"], abs=0.01)
    assert disc.centre[1] - (top - 76) == pytest.approx(hole["y_mm"], abs=0.01)
    assert disc.diameter == pytest.approx(hole["diameter_mm"], abs=0.01)


def drawn(draw: object, *, width_mm: float = 210, height_mm: float = 297) -> bytes:
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=(width_mm * MM, height_mm * MM), pageCompression=0)
    assert callable(draw)
    draw(canvas)
    canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def test_the_reader_follows_every_matrix() -> None:
    """Marks under shifts, turns and scales are found where they land on the paper."""

    def draw(canvas: Canvas) -> None:
        canvas.translate(50 * MM, 40 * MM)
        canvas.saveState()
        canvas.rotate(30)
        canvas.scale(2, 2)
        canvas.setLineWidth(0.25 * MM)
        canvas.circle(10 * MM, 0, 3 * MM, stroke=1, fill=0)
        canvas.restoreState()
        canvas.line(0, 0, 20 * MM, 0)

    (page,) = read_pdf(drawn(draw))
    ring, line = page.found
    assert isinstance(ring, Circle)
    assert isinstance(line, Line)
    turn = radians(30)
    assert ring.centre == pytest.approx((50 + 20 * cos(turn), 40 + 20 * sin(turn)), abs=1e-3)
    assert ring.diameter == pytest.approx(12, abs=1e-3)
    assert ring.line == pytest.approx(0.5, abs=1e-3)
    assert not ring.filled
    assert line.start == pytest.approx((50, 40), abs=1e-3)
    assert line.end == pytest.approx((70, 40), abs=1e-3)


def test_the_reader_finds_what_pdfminers_own_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Which knows every token of a PDF, and takes twice the time."""
    case = sample("36", notation="palmer", reference="x (1)\\2")
    pdf = render_plan(case.plan, "pdf")
    quick = read_pdf(pdf)
    monkeypatch.setattr(QuickInterpreter, "execute", PDFPageInterpreter.execute)
    assert read_pdf(pdf) == quick


@pytest.mark.parametrize("content", ["<< /A 1 >> BDC", "<00> Tj", "[1 2", "7", "1 2 % 3", "1a l"])
def test_the_reader_refuses_what_it_does_not_know(content: str) -> None:
    buffer = BytesIO()
    canvas = Canvas(buffer)
    canvas._code.append(content)
    canvas.save()
    with pytest.raises(AssertionError):
        read_pdf(buffer.getvalue())


def test_the_reader_measures_turned_text() -> None:
    def draw(canvas: Canvas) -> None:
        canvas.translate(100 * MM, 50 * MM)
        canvas.rotate(90)
        canvas.setFont("Courier", 10 * MM)
        canvas.drawString(0, 0, "ab")

    (page,) = read_pdf(drawn(draw))
    (word,) = page.texts
    assert word.text == "ab"
    assert word.start == pytest.approx((100, 50), abs=1e-3)
    # Each letter of this face is 0.6 of its size wide.
    assert word.end == pytest.approx((100, 62), abs=1e-3)
    assert word.size == pytest.approx(10, abs=1e-3)
    assert word.middle == pytest.approx((100 - 3.3, 56), abs=1e-3)


@pytest.mark.parametrize("wrong", ["squeezed", "clipped", "dashed"])
def test_the_reader_refuses_what_it_cannot_vouch_for(wrong: str) -> None:
    def draw(canvas: Canvas) -> None:
        if wrong == "squeezed":
            canvas.scale(1.01, 1)
        elif wrong == "dashed":
            canvas.setDash(3, 3)
        else:
            path = canvas.beginPath()
            path.rect(0, 0, 10 * MM, 10 * MM)
            canvas.clipPath(path)
        canvas.circle(50 * MM, 50 * MM, 10 * MM)

    with pytest.raises(AssertionError):
        read_pdf(drawn(draw))
