"""Pages as PNG for slides, drawn by PDFium from the finished PDF."""

from __future__ import annotations

from io import BytesIO

_POINTS_PER_INCH = 72.0
DOTS_PER_INCH = 200.0


def render_pngs(pdf: bytes) -> tuple[bytes, ...]:
    """A PNG of each page, DOTS_PER_INCH, white paper."""
    # Loaded here: only the extra `slides` brings it.
    from pypdfium2 import PdfDocument

    pictures = []
    document = PdfDocument(pdf)
    try:
        for page in document:
            picture = page.render(scale=DOTS_PER_INCH / _POINTS_PER_INCH).to_pil()
            content = BytesIO()
            picture.save(content, "PNG", dpi=(DOTS_PER_INCH, DOTS_PER_INCH))
            pictures.append(content.getvalue())
    finally:
        document.close()
    return tuple(pictures)
