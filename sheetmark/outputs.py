"""A plan as bytes in each format that a file name's ending can ask for."""

from __future__ import annotations

import json

from sheetmark.findings import InputError
from sheetmark.plan import Plan

FORMATS = ("pdf", "svg", "json")


def render_plan(plan: Plan, form: str, *, card: bool = False) -> bytes:
    """The plan as `pdf`, `svg` or `json`. The SVG holds the first page; the PDF holds all, with
    the correction of the printer in use.

    With `card` the drawings show the case card alone; the JSON is the same.
    Raises InputError for another format, and for text that the font cannot write.
    """
    if form == "json":
        return (json.dumps(plan.as_json(), indent=1, ensure_ascii=False) + "\n").encode()
    if form not in FORMATS:
        raise InputError(f"format {form!r}: unknown; use {', '.join(FORMATS)}")
    # Loaded here so that a JSON plan needs no drawing library.
    from sheetmark.documents.card import card as card_alone
    from sheetmark.documents.overlay import overlay

    document = card_alone(plan) if card else overlay(plan)
    if form == "svg":
        from sheetmark.render.svg import render_svg

        return render_svg(document)
    from sheetmark.documents.correction import corrected
    from sheetmark.render.pdf import render_pdf

    return render_pdf(corrected(document, plan.practice))
