"""The private parts of ReportLab that our PDFs are made with: a change in them fails here first."""

from __future__ import annotations

from collections.abc import Callable
from inspect import signature
from io import BytesIO

import pytest
from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas


@pytest.fixture
def canvas() -> Canvas:
    """A canvas with one page, one form and one registered object of each sort on it."""
    canvas = Canvas(BytesIO(), invariant=1, pageCompression=1)
    canvas.beginForm("shape-1", -1, -1, 1, 1)
    canvas.endForm()
    canvas.doForm("shape-1")
    canvas.showPage()
    return canvas


def test_the_preamble_of_a_page_is_made_where_ours_takes_its_place(canvas: Canvas) -> None:
    assert "Tf" in canvas._preamble, "it names a font that is not embedded"
    canvas._preamble = ""
    canvas._make_preamble()
    assert "Tf" in canvas._preamble


def test_a_document_knows_its_objects_by_name_and_number(canvas: Canvas) -> None:
    doc = canvas._doc
    (page,) = doc.Pages.pages
    assert doc.idToObject[page.__InternalName__] is page
    assert doc.numberToId[1] in doc.idToObject
    assert doc.objectcounter == len(doc.numberToId)
    assert page.stream
    form = doc.idToObject[pdfdoc.xObjectName("shape-1")]
    assert form.compression
    assert form.stream is not None
    assert doc.delayedFonts == []
    assert doc.encrypt.prepare(doc) is None
    assert doc.invariant == 1


@pytest.mark.parametrize(
    ("part", "parameters"),
    [
        (pdfdoc.PDFStream, {"content", "filters"}),
        (pdfdoc.PDFObjectReference, {"name"}),
        (pdfdoc.PDFObjectReference.format, {"self", "document"}),
        (pdfdoc.PDFDocument.Reference, {"self", "obj", "name"}),
        (pdfdoc.format, {"element", "document", "toplevel"}),
        (pdfdoc.PDFOutlines.prepare, {"self", "document", "canvas"}),
    ],
)
def test_what_a_file_is_written_with_takes_what_we_give(
    part: Callable[..., object], parameters: set[str]
) -> None:
    assert parameters <= signature(part).parameters.keys()


def test_a_files_head_is_a_list_of_bytes() -> None:
    head = pdfdoc.PDFFile((1, 7)).strings
    assert b"".join(head).startswith(b"%PDF-1.7")
