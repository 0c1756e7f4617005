"""A plan as the PDF that goes to the printer: which of its pages, and how many copies."""

from __future__ import annotations

from typing import Literal

from msgspec.structs import replace

from sheetmark.documents.case.card import card
from sheetmark.documents.case.overlay import overlay
from sheetmark.documents.correction import corrected
from sheetmark.documents.parts import check_reference
from sheetmark.plan.plan import Plan
from sheetmark.render.pdf import render_pdf

Part = Literal["both", "overlay", "card"]
MOST_COPIES = 20  # of one case (assumption)


def print_plan(plan: Plan, part: Part, copies: int = 1) -> bytes:
    """The overlay, the case card or both, set by set for each copy, for the printer in use.

    The overlay alone still takes a second page where its text does not fit on its first.
    Raises InputError for text that the font cannot write.
    """
    check_reference(plan)
    document = card(plan) if part == "card" else overlay(plan, card=part == "both")
    copied = replace(document, pages=document.pages * copies)
    return render_pdf(corrected(copied, plan.practice))
