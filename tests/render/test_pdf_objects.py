"""A file of packed objects is read by others: each object under its number, to the last byte."""

from __future__ import annotations

from io import BytesIO

import pypdf
import pytest

from sheetmark.render import pdf_objects
from sheetmark.render.pdf_objects import PdfObjects


def written(count: int, monkeypatch: pytest.MonkeyPatch) -> pypdf.PdfReader:
    """A page with a stream, and so many texts as further objects, five to a pack."""
    monkeypatch.setattr(pdf_objects, "_PACKED", 5)
    file = BytesIO()
    objects = PdfObjects(file, b"%PDF-1.7\n")
    objects.add(1, b"<< /Type /Catalog /Pages 2 0 R >>")
    objects.add(2, b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>")
    objects.add(3, b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] /Contents 4 0 R >>")
    objects.add(4, b"<< /Length 5 >>\nstream\n0 0 m\nendstream\n")
    number = 5
    for text in range(count):
        objects.add(number, b"(text %d)" % text)
        number += 1
        if objects.full:
            objects.pack(number)
            number += 1
    objects.pack(number)
    objects.finish(number + 1, [b"/Root 1 0 R"])
    return pypdf.PdfReader(file, strict=True)


@pytest.mark.parametrize("count", [0, 1, 2, 3, 7, 40])
def test_every_object_is_found_under_its_number(
    count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    reader = written(count, monkeypatch)
    (page,) = reader.pages
    contents = page.get_contents()
    assert contents is not None
    assert contents.get_data().strip() == b"0 0 m"
    numbers = reader.xref_objStm.keys() - {1, 2, 3}
    found = [str(reader.get_object(number)) for number in sorted(numbers)]
    assert found == [f"text {text}" for text in range(count)]
