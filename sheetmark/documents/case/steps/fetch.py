"""What to lay out before the patient sits down, except the clamps.

What a set holds is common practice, no source.
"""

from __future__ import annotations

from sheetmark.documents.case.order import clamped, wedged_ends
from sheetmark.documents.case.steps.bridges import bridges
from sheetmark.plan.plan import Plan

SEALING = "caulk or sealing paste"
# Compound steadies a clamp that draws the gum back: common practice, no source.
STEADYING = "impression compound"


def fetch(plan: Plan) -> tuple[str, ...]:
    """A line for each item, or for items that are kept together."""
    root_canal = plan.case.procedure == "root-canal"
    lines = [
        "The overlay of this case, printed at 100 %",
        plan.practice.numerals(f"Sheet {plan.practice.stock_sheet.name}"),
        # Allergy: latex-free sheet and gloves, seen in print.
        *([] if plan.practice.material == "latex" else ["Latex-free gloves"]),
        "Punch, marker, scissors",
        "Frame, napkin under the sheet",
        f"Flat instrument{', forceps' if clamped(plan) else ''}",
        "Floss, water-based lubricant",
        "Saliva ejector, paper tissue",
        *(["Wedge or strips of sheet"] if wedged_ends(plan) else []),
        *([SEALING.capitalize()] if root_canal or bridges(plan) else []),
        *([STEADYING.capitalize()] if any(clamp.first for clamp in plan.retractors) else []),
        *(["Disinfectant; glasses and bib against the irrigant"] if root_canal else []),
    ]
    return tuple(lines)
