"""What the clinic might choose instead, from what it has."""

from __future__ import annotations

from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.base.findings import InputError, NoAnswerError
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Sheet


def smaller_sheet(plan: Plan, model: ArchModel) -> Sheet | None:
    """The largest stocked sheet that is smaller than the one in use, of the same material.

    Only for a row with a primary tooth: 127 mm is for children and front teeth (seen in print).
    None where none is stocked, and where the case cannot be laid on it.
    """
    if not any(tooth.primary for tooth in plan.isolation.row):
        return None
    practice, now = plan.practice, plan.sheet
    smaller = [
        kept
        for kept in practice.stock
        if kept.material == practice.material
        and kept.sheet.width_mm < now.width_mm
        and kept.sheet.height_mm < now.height_mm
    ]
    for kept in sorted(smaller, key=lambda kept: -kept.sheet.width_mm):
        try:
            make_plan(plan.case, model, replace(practice, sheet=kept.sheet))
        except (InputError, NoAnswerError):
            continue
        return kept.sheet
    return None
