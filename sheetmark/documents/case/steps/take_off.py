"""The steps that take the sheet off, with what has to be counted."""

from __future__ import annotations

from collections.abc import Sequence

from sheetmark.anatomy.teeth import in_arch_order
from sheetmark.documents.case.order import clamped, strip_count, wedged_ends
from sheetmark.documents.case.steps.before import is_child
from sheetmark.documents.case.steps.bridges import bridges
from sheetmark.documents.case.steps.step import Step, for_patient
from sheetmark.plan.plan import Plan


def take_off(plan: Plan) -> tuple[Step, ...]:
    """The steps in their order. The source of each stands beside it."""
    strips = strip_count(plan)
    counted = [
        _many(number, what)
        for number, what in (
            (len(plan.holes), "hole"),
            (len(plan.slots), "slit"),
            (strips, "cut"),
        )
        if number
    ]
    anchors = plan.case.write(anchor.tooth for anchor in clamped(plan))
    retracted = [retractor.tooth for retractor in plan.retractors if retractor.first]
    sealed = plan.case.procedure == "root-canal" or bridges(plan)
    held = [
        *(["seal"] if sealed else []),
        *(["retracting clamp"] if retracted else []),
        *(["wedges, strips"] if wedged_ends(plan) else []),
        *(["ligatures"] if len(plan.holes) > 1 or plan.retractors else []),
    ]
    # A clamp on gum or bone injures, look afterwards: J Endod 2023, seen in print. Rinsing and
    # massage: common practice, no source.
    pressed = {*(anchor.tooth for anchor in clamped(plan)), *retracted}
    where = f" round {plan.case.write(in_arch_order(pressed))}" if pressed else ""
    steps = (
        # Common practice, no source.
        Step("ligatures-off", f"Rinse, suction.{_off(held)}"),
        # Cut the strips: Sturdevant, from memory. Stretched and counted: common practice.
        *([_cut(strips)] if strips else []),
        # Common practice, no source, as is the next.
        *([_clamps_off(anchors)] if anchors else []),
        Step(
            "frame-off",
            "Frame, sheet and napkin off together. Wipe the lips.",
            "Frame, sheet, napkin off. Wipe the lips.",
        ),
        # Spread the sheet, look for missing pieces: Sturdevant, from memory.
        Step("spread", f"Spread it: {', '.join(counted)}, no piece missing."),
        # Common practice, no source.
        Step(
            "piece-missing",
            "If a piece is missing, floss each contact, look in the mouth. Not found: tell the "
            "clinician. It may be swallowed or inhaled.",
        ),
        Step("look-at-gum", f"Rinse, suction. Look at the gum{where}. Massage it."),
    )
    return for_patient(steps, child=is_child(plan))


def _off(held: Sequence[str]) -> str:
    return f" {', '.join(held).capitalize()} off." if held else ""


def _clamps_off(anchors: str) -> Step:
    return Step(
        "clamp-off",
        f"Clamp off {anchors}: open the forceps no wider than needed, lift straight.",
        f"Clamp off {anchors}: forceps no wider than needed, lift straight.",
    )


def _cut(strips: int) -> Step:
    """Common practice, no source, but for the cutting itself."""
    which = {1: "the one strip", 2: "both strips"}.get(strips, f"all {strips} strips")
    return Step(
        "cut",
        f"Stretch the sheet outwards, a finger behind it: cut {which}. Count the cuts.",
        f"Stretch the sheet, a finger behind it: cut {which}. Count the cuts.",
    )


def _many(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
