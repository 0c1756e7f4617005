"""A PDF of any number of pages, written page by page: none of them stays in memory.

ReportLab draws each page as it does for `render_pdf` and knows the file's objects; here each
object goes to the file as soon as it is complete, and only its place is remembered. What stands
alike on many pages, and each shape that many of them show, is stored once as a form.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from io import BytesIO
from itertools import starmap
from typing import Any, BinaryIO

from msgspec import Struct
from msgspec.structs import replace
from reportlab.pdfbase import pdfdoc

from sheetmark.base.frames import PagePoint
from sheetmark.render.pdf import POINTS_PER_MM, begin_page, draw_mark, new_canvas
from sheetmark.render.pdf_links import add_links, add_outline, begin_bookmark
from sheetmark.render.pdf_objects import PdfObjects
from sheetmark.typesetting.marks import BLACK, Disc, Document, Mark, Page, Polygon, Ring

# A form of fewer marks saves nothing; of more forms than these, few are used again.
_LEAST_SHARED = 20
_MOST_FORMS = 12
# A form that holds less than this of what two neighbouring pages share makes way for a better one.
_GOOD_SHARE = 0.9
# A polygon of so many corners is worth a form of its own; the number of forms bounds the memory.
_LEAST_CORNERS = 12
_MOST_SHAPES = 2000
_NO_RESOURCES = pdfdoc.PDFDictionary({})
_DIGITS = 6  # of a mm: a nanometre tells no two shapes apart


def render_long_pdf(document: Document) -> bytes:
    """A document of many pages as `render_pdf` has it, with what they share in it once."""
    buffer, first = BytesIO(), document.pages[0]
    size = (first.width, first.height)
    pdf = LongPdf(buffer, size, document.title, document.recipe, document.correction)
    for page in document.pages:
        pdf.add(page)
    pdf.finish()
    return buffer.getvalue()


class LongPdf:
    """Pages of one size in mm, written to a file as they are added. Nothing but `finish` makes
    the file whole."""

    def __init__(
        self,
        file: BinaryIO,
        size: tuple[float, float],
        title: str,
        recipe: str,
        correction: tuple[float, float] = (1.0, 1.0),
    ) -> None:
        self._size = size
        self._correction = correction
        self._canvas = new_canvas(file, *size, title, recipe)
        self._doc: Any = self._canvas._doc
        self._shared = _Shared()
        self._shapes: dict[tuple[Mark, bytes], str] = {}
        self._written: set[str] = set()
        self._titles: list[tuple[str, str]] = []
        self._objects = PdfObjects(file, b"".join(pdfdoc.PDFFile(self._doc._pdfVersion).strings))

    def add(self, page: Page) -> None:
        """Draw a page and write it to the file."""
        assert (page.width, page.height) == self._size, "one page size in one file"
        self._titles.append(begin_bookmark(self._canvas, page, len(self._titles) + 1))
        form = self._shared.form_for(page.marks)
        marks = page.marks
        if form is not None:
            marks = tuple(mark for mark in marks if mark not in form.members)
            if form.fresh:
                self._add_form(form.name, form.marks)
                form.fresh = False
        self._draw(page, [self._placed(mark) for mark in marks], form.name if form else "")
        kept = self._doc.Pages.pages
        drawn = kept[-1]
        drawn.Contents = pdfdoc.PDFStream(content=drawn.stream, filters=[pdfdoc.PDFZCompress])
        self._write(drawn.__InternalName__)
        self._write(drawn.Contents.__InternalName__)
        kept[-1] = pdfdoc.PDFObjectReference(drawn.__InternalName__)

    def finish(self, in_front: int = 0) -> None:
        """Write the rest of the file. The last `in_front` pages become the first."""
        doc = self._doc
        pages = doc.Pages.pages
        split = len(pages) - in_front
        pages[:] = [*pages[split:], *pages[:split]]
        add_outline(self._canvas, [*self._titles[split:], *self._titles[:split]])
        # As ReportLab's own document does it before it formats all objects at once.
        for font in doc.delayedFonts:
            font.addObjects(doc)
        doc.info.invariant = doc.invariant
        doc.info.digest(doc.signature)
        catalog, info = doc.Reference(doc.Catalog), doc.Reference(doc.info)
        doc.Outlines.prepare(doc, self._canvas)
        if doc.Outlines.ready < 0:
            doc.Catalog.Outlines = None
        doc.encrypt.prepare(doc)
        number = 1
        while number in doc.numberToId:  # writing an object may call for further ones
            self._write(doc.numberToId[number])
            number += 1
        number = self._pack() + 1
        about = (b"/Root " + catalog.format(doc), b"/Info " + info.format(doc), b"/ID " + doc.ID())
        self._objects.finish(number, about)

    def _draw(self, page: Page, marks: Sequence[Mark | _Placed], form: str) -> None:
        canvas = self._canvas
        begin_page(canvas, page, self._correction)
        for mark in marks:
            if isinstance(mark, _Placed):
                canvas.saveState()
                canvas.translate(mark.at[0] * POINTS_PER_MM, mark.at[1] * POINTS_PER_MM)
                canvas.doForm(mark.form)
                canvas.restoreState()
            else:
                draw_mark(canvas, mark)
        if form:
            canvas.doForm(form)
        add_links(canvas, page, POINTS_PER_MM)
        canvas.showPage()

    def _placed(self, mark: Mark) -> Mark | _Placed:
        """A circle or a shape of many corners as a form and its place; others as they are."""
        shape: Disc | Ring | Polygon
        corners: list[float] = []
        if isinstance(mark, Disc | Ring):
            x, y = mark.centre
            shape = replace(mark, centre=PagePoint(0.0, 0.0), name="")
        elif isinstance(mark, Polygon) and len(mark.points) >= _LEAST_CORNERS:
            x, y = mark.points[0]
            shape = replace(mark, points=(), name="")
            corners = [
                round(mm, _DIGITS) + 0.0 for px, py in mark.points for mm in (px - x, py - y)
            ]
        else:
            return mark
        key = (shape, array("d", corners).tobytes())
        name = self._shapes.get(key)
        if name is None:
            if len(self._shapes) == _MOST_SHAPES:
                return mark
            name = self._shapes[key] = f"shape-{len(self._shapes) + 1}"
            if corners:
                points = zip(corners[::2], corners[1::2], strict=True)
                shape = replace(shape, points=tuple(starmap(PagePoint, points)))
            self._add_form(name, [shape], _reach(shape))
        return _Placed(name, PagePoint(x, y))

    def _add_form(self, name: str, marks: Iterable[Mark], reach: float | None = None) -> None:
        """Draw and write a form as large as a page, or that reaches so far from its origin."""
        canvas = self._canvas
        if reach is None:
            canvas.beginForm(name)
        else:
            far = reach * POINTS_PER_MM
            canvas.beginForm(name, -far, -far, far, far)
        for mark in marks:
            draw_mark(canvas, mark)
        canvas.endForm()
        full_name = pdfdoc.xObjectName(name)
        drawn = self._doc.idToObject[full_name]
        drawn.Contents = pdfdoc.PDFStream(content=drawn.stream)
        if reach is not None:
            drawn.Resources = _NO_RESOURCES  # a shape holds no text
        self._write(full_name)

    def _write(self, name: str) -> None:
        """An object to the file, once; then only its place is kept."""
        doc = self._doc
        if name in self._written:
            return
        number, _ = doc.idToObjectNumberAndVersion[name]
        self._objects.add(number, pdfdoc.format(doc.idToObject[name], doc, toplevel=1))
        doc.idToObject[name] = None
        self._written.add(name)
        if self._objects.full:
            self._pack()

    def _pack(self) -> int:
        """Write what waits as an object of its own, and say its number."""
        doc, name = self._doc, f"packed-{self._doc.objectcounter}"
        doc.Reference(None, name)
        self._written.add(name)
        number: int = doc.idToObjectNumberAndVersion[name][0]
        self._objects.pack(number)
        return number


class _Placed(Struct, frozen=True):
    """A form and where its origin stands on the page, mm."""

    form: str
    at: PagePoint


class _Form(Struct):
    """Marks that are drawn once for many pages; `fresh` until it is in the file."""

    name: str
    marks: tuple[Mark, ...]
    members: frozenset[Mark]
    fresh: bool = True


class _Shared:
    """Finds what neighbouring pages have in common."""

    def __init__(self) -> None:
        self._forms: list[_Form] = []
        self._before: frozenset[Mark] = frozenset()

    def form_for(self, marks: Iterable[Mark]) -> _Form | None:
        """The largest form of which all stands on the page; None where none is worth it.

        A form is drawn last on its page, so that no grey may be in it: black over grey looks the
        same as in the order of the marks, where the grey comes first.
        """
        here = dict.fromkeys(mark for mark in marks if not _is_grey(mark))
        fitting = (form for form in self._forms if form.members <= here.keys())
        best = max(fitting, key=lambda form: len(form.marks), default=None)
        common = tuple(mark for mark in here if mark in self._before)
        self._before = frozenset(here)
        worth = max(_LEAST_SHARED, len(best.marks) / _GOOD_SHARE if best else 0)
        if len(common) >= worth and len(self._forms) < _MOST_FORMS:
            best = _Form(f"shared-{len(self._forms) + 1}", common, frozenset(common))
            self._forms.append(best)
        return best


def _reach(shape: Mark) -> float:
    """How far a shape's ink is from its origin at most, mm: what lies beyond is cut off."""
    match shape:
        case Disc(_, diameter):
            return diameter
        case Ring(_, diameter, width):
            return diameter + width
        case Polygon(points, width):
            return max(abs(mm) for point in points for mm in point) + width
    raise AssertionError(f"no shape: {shape}")


def _is_grey(mark: Mark) -> bool:
    return isinstance(mark, Polygon) and mark.grey != BLACK
