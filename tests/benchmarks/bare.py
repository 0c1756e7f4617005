"""Display lists drawn with ReportLab alone, as a script without sheetmark would: the yardstick.

Run as `python bare.py LIST.json OUT.pdf` it is a whole process that imports reportlab alone.
Lengths are points, worked out beforehand.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Mapping
from io import BytesIO
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas


def register(fonts: Mapping[str, str]) -> None:
    for name, path in fonts.items():
        pdfmetrics.registerFont(TTFont(name, path))


def draw(width: float, height: float, pages: Iterable[Iterable[Any]]) -> bytes:
    buffer = BytesIO()
    canvas = Canvas(
        buffer, pagesize=(width, height), pdfVersion=(1, 7), invariant=1, pageCompression=1
    )
    for page in pages:
        for kind, *rest in page:
            _DRAW[kind](canvas, *rest)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _disc(canvas: Canvas, x: float, y: float, radius: float) -> None:
    canvas.setFillGray(0)
    canvas.circle(x, y, radius, stroke=0, fill=1)


def _ring(canvas: Canvas, x: float, y: float, radius: float, width: float) -> None:
    canvas.setStrokeGray(0)
    canvas.setLineWidth(width)
    canvas.circle(x, y, radius, stroke=1, fill=0)


def _line(canvas: Canvas, x0: float, y0: float, x1: float, y1: float, width: float) -> None:
    canvas.setStrokeGray(0)
    canvas.setLineWidth(width)
    canvas.line(x0, y0, x1, y1)


def _polygon(
    canvas: Canvas, points: list[tuple[float, float]], width: float, grey: float, filled: int
) -> None:
    canvas.setStrokeGray(grey)
    canvas.setFillGray(grey)
    canvas.setLineWidth(width)
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    path.close()
    canvas.drawPath(path, stroke=1, fill=filled)


def _text(canvas: Canvas, matrix: list[float], font: str, size: float, wording: str) -> None:
    text = canvas.beginText()
    text.setFont(font, size)
    text.setFillGray(0)
    text.setTextTransform(*matrix)
    text.textOut(wording)
    canvas.drawText(text)


_DRAW: dict[str, Callable[..., None]] = {
    "disc": _disc,
    "ring": _ring,
    "line": _line,
    "polygon": _polygon,
    "text": _text,
}


if __name__ == "__main__":
    with open(sys.argv[1], encoding="utf-8") as file:  # noqa: PTH123  as a bare script would
        page_list = json.load(file)
    register(page_list["fonts"])
    with open(sys.argv[2], "wb") as out:  # noqa: PTH123
        out.write(draw(page_list["width"], page_list["height"], page_list["pages"]))
