"""What is asked and looked at before the sheet goes on."""

from __future__ import annotations

from sheetmark.documents.case.order import clamped
from sheetmark.plan.plan import Plan

# Younger patients are shown and told what comes (assumption).
CHILD_BELOW_YEARS = 13


def before(plan: Plan) -> tuple[str, ...]:
    """Questions to the patient first, then what is made ready in the mouth."""
    lines = [
        _latex(plan),
        # Breathes through the nose: seen in print. What to do if not: common practice, no source.
        "Breathes freely through the nose? If not, tell the clinician: a breathing hole cut away "
        "from the teeth, or no sheet.",
        # Common practice, no source, as is all below.
        "Asthma (inhaler at hand), strong gag, fear of closed spaces? Tell the clinician. Agree "
        "on a hand sign to stop.",
        *(_child(plan) if is_child(plan) else []),
        *_numb(plan),
        "Contacts flossed, calculus off, edges smooth.",
        *([_tried_on(plan)] if clamped(plan) else []),
    ]
    return tuple(lines)


def is_child(plan: Plan) -> bool:
    """By the age, or by a primary tooth where no age is given."""
    age = plan.case.age
    if age is None:
        return any(tooth.primary for tooth in plan.isolation.row)
    return age < CHILD_BELOW_YEARS


def _latex(plan: Plan) -> str:
    """Ask about latex; known allergy: latex-free sheet and gloves (seen in print)."""
    if plan.practice.material == "latex":
        return (
            "Latex allergy? Then latex-free sheet and gloves, and an overlay made for that sheet."
        )
    return "Latex allergy? The sheet is latex-free; the gloves must be too."


def _numb(plan: Plan) -> list[str]:
    """Clamps and ligatures both press on the gum. Common practice, no source."""
    lesions_tied = any(not retractor.first for retractor in plan.retractors)
    ends_tied = plan.isolation.unclamped and plan.isolation.hold == "ligature"
    presses = [
        *(["clamp"] if clamped(plan) else []),
        *(["ligature"] if lesions_tied or ends_tied else []),
    ]
    return [f"Gum numb where the {' or '.join(presses)} goes?"] if presses else []


def _tried_on(plan: Plan) -> str:
    """Floss on the clamp before it goes in: seen in print. Tried on: common practice, no source."""
    each = "Clamp" if len(clamped(plan)) == 1 else "Each clamp"
    return f"{each} tried on, floss tied: must not rock."


def _child(plan: Plan) -> list[str]:
    """Common practice, no source."""
    lines = ["Tell, show, do, in short words: sheet “raincoat”, clamp “button”."]
    if len(plan.holes) > 1 and not plan.slots and plan.case.procedure != "root-canal":
        ends = plan.case.write(plan.isolation.row[:1]), plan.case.write(plan.isolation.row[-1:])
        lines.append(
            f"Little patience? Plan one slit {'-'.join(ends)}: quicker, but it leaks more."
        )
    return lines
