"""The steps from the bare sheet to clean holes, before the patient sits down."""

from __future__ import annotations

from sheetmark.documents.case.order import slits
from sheetmark.documents.case.steps.step import Step
from sheetmark.plan.plan import Plan


def prepare_sheet(plan: Plan) -> tuple[Step, ...]:
    """The sheet marked, punched and looked at. The source of each step stands beside it."""
    return (
        _mark(plan),
        _punch(plan),
        *_slits(plan),
        # A ragged hole tears: Davis 1917, seen in print. A new sheet: common practice, no source.
        Step(
            "look-at-holes",
            "Stretch the sheet, look at each hole. Not clean all round? Take a new sheet.",
        ),
    )


def _mark(plan: Plan) -> Step:
    """Dull side to the operator: seen in print. The rest: common practice, no source."""
    marks = "both dots, dash" if plan.practice.marks.kind == "two-dots" else "the corner hole"
    if plan.practice.stock_sheet.see_through:
        text = f"Lay the sheet on the overlay, dull side up. Mark the discs, the cross, {marks}."
    else:
        text = f"Lay the overlay on the sheet's dull side. Press through discs, cross, {marks}."
    return Step("mark", text)


def _punch(plan: Plan) -> Step:
    """One position of the wheel at a time: common practice, no source."""
    leave, corner = "Leave cross, dots and dash.", ""
    if plan.practice.marks.kind == "corner-hole":
        leave, corner = "Leave the cross.", ", then the corner hole"
    if len(plan.holes) == 1:
        tooth = plan.case.write(plan.isolation.row)
        return Step("punch", f"Punch one hole, that of {tooth}{corner}. {leave}")
    return Step("punch", f"Punch the holes in the order of the table{corner}. {leave}")


def _slits(plan: Plan) -> list[Step]:
    """Both end holes, then the cut between: common practice, no source."""
    return [
        Step(
            "slit",
            f"Slit {slit}: both end holes first, then cut from one to the other.",
        )
        for slit in slits(plan)
    ]
