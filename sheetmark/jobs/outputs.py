"""A plan as bytes in each format that a file name's ending can ask for."""

from __future__ import annotations

from collections.abc import Sequence

from sheetmark.base.findings import InputError
from sheetmark.base.json_files import json_bytes, schema_name
from sheetmark.documents.case.stencil import PEN_MM, stencil
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from sheetmark.typesetting.cutting import Stencil
from sheetmark.typesetting.marks import Document

PLANS_FORMAT = "sheetmark-plans/1"
FORMATS = ("pdf", "svg", "json", "dxf", "cut.svg")
# The ending .cut.svg is for a cutter, .svg alone for people.
STENCIL_ENDINGS = (".dxf", ".cut.svg")
DRAWING_ENDINGS = (".pdf", ".svg")
ENDINGS = tuple(f".{form}" for form in FORMATS)


def render_plan(
    plan: Plan,
    form: str,
    *,
    card: bool = False,
    pen_mm: float = PEN_MM,
    kerf_mm: float = 0.0,
) -> bytes:
    """The plan as `pdf`, `svg` or `json`, or its stencil for a cutter as `dxf` or `cut.svg`.

    The SVG holds the first page; the PDF holds all, with the correction of the printer in use.

    With `card` the drawings show the case card alone; the JSON is the same. `pen_mm` is the
    diameter of the stencil's holes and `kerf_mm` the width that the cutter takes away.
    Raises InputError for another format, and for text that the font cannot write.
    """
    if form == "json":
        return json_bytes(plan_json(plan))
    if form not in FORMATS:
        raise InputError(f"format {form!r}: unknown; use {', '.join(FORMATS)}")
    if form in ("dxf", "cut.svg"):
        return _cut(stencil(plan, pen_mm, kerf_mm), form)
    document = _document(plan, card=card)
    if form == "pdf":
        from sheetmark.documents.correction import corrected

        document = corrected(document, plan.practice)
    return render_drawing(document, form)


def render_drawing(document: Document, form: str) -> bytes:
    """A document as `svg`, its first page alone, or as `pdf`."""
    if form == "svg":
        from sheetmark.render.svg import render_svg

        return render_svg(document)
    from sheetmark.render.pdf import render_pdf

    return render_pdf(document)


def render_plans(
    plans: Sequence[Plan],
    form: str,
    *,
    card: bool = False,
    pen_mm: float = PEN_MM,
    kerf_mm: float = 0.0,
) -> bytes:
    """One plan as `render_plan` has it; of several one PDF with the pages of each, or one JSON.

    Raises InputError for a drawing of several plans, and as `render_plan` does.
    """
    if len(plans) == 1:
        return render_plan(plans[0], form, card=card, pen_mm=pen_mm, kerf_mm=kerf_mm)
    if form == "json":
        return json_bytes(
            {
                "$schema": schema_name(PLANS_FORMAT),
                "format": PLANS_FORMAT,
                "plans": [plan_json(plan) for plan in plans],
            }
        )
    if form != "pdf":
        teeth = " ".join(plan.case.write(plan.case.treat) for plan in plans)
        raise InputError(
            f".{form} of {teeth}: it holds one sheet, and two jaws need two; write a pdf, or name "
            f"the teeth of one jaw at a time"
        )
    from sheetmark.documents.correction import corrected

    documents = [_document(plan, card=card) for plan in plans]
    whole = Document(
        " / ".join(document.title for document in documents),
        "; ".join(plan.command for plan in plans),
        tuple(page for document in documents for page in document.pages),
    )
    return render_drawing(corrected(whole, plans[0].practice), form)


def _document(plan: Plan, *, card: bool) -> Document:
    # Loaded here so that a JSON plan needs no drawing library.
    from sheetmark.documents.case.card import card as card_alone
    from sheetmark.documents.case.overlay import overlay
    from sheetmark.documents.parts import check_reference

    check_reference(plan)
    return card_alone(plan) if card else overlay(plan)


def _cut(shapes: Stencil, form: str) -> bytes:
    if form == "dxf":
        from sheetmark.render.dxf import render_dxf

        return render_dxf(shapes)
    from sheetmark.render.cutting_svg import render_cutting_svg

    return render_cutting_svg(shapes)
