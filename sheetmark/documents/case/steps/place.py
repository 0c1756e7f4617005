"""The steps from a punched sheet to a sealed row of teeth.

The source of each step stands beside it; "seen in print" and "from memory" are how sure we are.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from sheetmark.anatomy.teeth import Tooth, in_arch_order
from sheetmark.documents.case.order import (
    clamped,
    clamps_in_turn,
    open_ends,
    strip_count,
    wedged_ends,
)
from sheetmark.documents.case.steps.before import is_child
from sheetmark.documents.case.steps.bridges import Bridge, bridges
from sheetmark.documents.case.steps.fetch import SEALING, STEADYING
from sheetmark.documents.case.steps.step import Step, StepName, for_patient
from sheetmark.plan.clamps import AnchorClamps, together
from sheetmark.plan.plan import Plan
from sheetmark.practice.tray import Clamp

_RETRACT = "{}, floss tied to it, over the sheet; its jaw just past the lesion. Steady it with {}."
_TIE_BACK = "tie a floss ligature just past the lesion, towards the root."


def place(plan: Plan) -> tuple[Step, ...]:
    """The steps in their order, which depends on clamps, procedure and the practice."""
    steps = (*_ready(plan), *_on(plan), *_sealed(plan), _last_look(plan))
    return for_patient(steps, child=is_child(plan))


def _ready(plan: Plan) -> list[Step]:
    treated = plan.case.write(plan.isolation.treated)
    check = f"Check {treated} against record and X-ray. Mark the tooth before the sheet goes on."
    holes = "hole" if len(plan.holes) == 1 else "holes"
    return [
        # The wrong tooth is easily taken under the sheet: common practice, no source.
        *([Step("check-tooth", check)] if plan.case.procedure == "root-canal" else []),
        # Common practice, no source.
        Step(
            "lubricate",
            f"Lubricate the {holes}, tooth side, and the lips.",
            f"Lubricate {holes} and lips.",
        ),
    ]


def _on(plan: Plan) -> list[Step]:
    """Clamps, frame and strips.

    The frame before the strips are worked through: Sturdevant, from memory. Or after: the
    practice chooses. A row without a clamp has sheet and frame go in first. What has no source
    named is common practice, no source.
    """
    first, *later = clamps_in_turn(plan) or (None,)
    strips = [
        *([_over_the_others(first, plan)] if len(plan.holes) > 1 else []),
        *(_later_clamp(anchor, plan) for anchor in later if anchor),
        _floss(plan),
    ]
    frame = [_frame(plan), *_fold(plan)]
    both = [*frame, *strips] if plan.practice.frame == "frame-first" else [*strips, *frame]
    return [*(_first_clamp(first, plan) if first else []), *both]


def _sealed(plan: Plan) -> list[Step]:
    """The row made tight. Common practice, no source, unless a source is named."""
    several = len(plan.holes) > 1
    creeps = Step(
        "ligature",
        "Where the sheet creeps up, tie a floss ligature.",
        "Sheet creeps up? Tie a floss ligature.",
    )
    return [
        *(_bridge(bridge, plan) for bridge in bridges(plan)),
        *_hold_ends(plan),
        _turn_in("the teeth", "each") if several else _turn_in("the tooth", "it"),
        *([creeps] if several else []),
        *_retract(plan),
        *_root_canal(plan),
    ]


def _turn_in(teeth: str, each: str) -> Step:
    return Step(
        "turn-in",
        f"Dry {teeth}. Turn the edge inward round {each} with the flat instrument.",
        f"Dry {teeth}. Turn the edge in.",
    )


def _first_clamp(anchor: AnchorClamps, plan: Plan) -> list[Step]:
    """How sheet and clamp go in: common practice, no source, unless a source is named."""
    tooth, clamp = plan.case.write([anchor.tooth]), anchor.first
    if clamp is None:
        return [_no_clamp(tooth)]
    # Floss tied to the clamp before it goes in: seen in print. Both holes, since a clamp breaks
    # at its bow: common practice, no source.
    which = "the clamp" if len(clamped(plan)) == 1 else "each clamp"
    tie = Step(
        "tie-floss",
        f"Floss through both holes of {which}; its end stays outside the mouth.",
        f"Floss through both holes of {which}, end outside the mouth.",
    )
    # A clamp on gum injures: J Endod 2023, seen in print.
    rest = "Jaws on the tooth, not on the gum. It must not rock."
    bows = _bows(clamp)
    if clamp.winged:
        return [
            tie,
            Step(
                "hook-wings", f"Hook the clamp for {tooth} by its wings into its hole{_bow(clamp)}."
            ),
            Step(
                "set-together",
                f"With the forceps set sheet and clamp on {tooth} together. {rest}",
                f"Set sheet and clamp on {tooth}. {rest}",
            ),
            Step(
                "off-wings", "Sheet off the wings with the flat instrument.", "Sheet off the wings."
            ),
        ]
    return [
        tie,
        Step(
            "clamp-alone",
            f"With the forceps set the clamp on {tooth}{_bow(clamp)}. {rest}",
            f"Clamp on {tooth}{_bow(clamp)}. {rest}",
        ),
        Step(
            "draw-over",
            f"Draw hole {tooth} over the {bows}, then over each jaw. "
            f"(Or {bows} through the hole first, then both on the tooth.)",
            f"Hole {tooth} over the {bows}, then over each jaw.",
        ),
    ]


def _no_clamp(tooth: str, name: StepName = "no-clamp") -> Step:
    return Step(name, f"{tooth}: no clamp of the tray fits. Decide how to hold the sheet here.")


def _bow(clamp: Clamp) -> str:
    """The bow points to the back: common practice, no source. A double bow has no such side."""
    return "" if clamp.kind == "front" else ", bow to the back"


def _bows(clamp: Clamp) -> str:
    return "bows" if clamp.kind == "front" else "bow"


def _frame(plan: Plan) -> Step:
    frame = "frame on" if clamped(plan) else "sheet on the frame"
    return Step(
        "frame",
        f"Napkin under the sheet, {frame}, its curve along the chin. Stretch left to right, hardly "
        "up and down.",
        f"Napkin, {frame}, curve along the chin. Stretch sideways.",
    )


def _fold(plan: Plan) -> list[Step]:
    """Nostrils free: Black 1908, seen in print."""
    if plan.fold_line_mm is None:
        return []
    return [Step("fold", "Fold the upper edge down along the line. Nostrils free.")]


def _over_the_others(first: AnchorClamps | None, plan: Plan) -> Step:
    which = "the other teeth" if first else "the teeth"
    if strip_count(plan) == 0:
        return Step("slip-over", f"Draw the slit over {which}.")
    return Step(
        "slip-over",
        f"Slip the sheet over {which}, one by one.",
        f"Sheet over {which}, one by one.",
    )


def _later_clamp(anchor: AnchorClamps, plan: Plan) -> Step:
    """A further clamp goes over the sheet: common practice, no source."""
    tooth, clamp = plan.case.write([anchor.tooth]), anchor.first
    if clamp is None:
        return _no_clamp(tooth, "later-clamp")
    return Step("later-clamp", f"Clamp for {tooth} over the sheet{_bow(clamp)}.")


def _floss(plan: Plan) -> Step:
    """Common practice, no source, as is what to do where the sheet sticks."""
    if len(plan.holes) == 1:
        text = f"Floss the sheet past the contacts of {plan.case.write(plan.isolation.row)}."
    elif strip_count(plan) == 0:
        text = "Floss the sheet past the contacts at both ends."
    else:
        text = "Floss the sheet past each contact."
    around = [bridge.ends(plan) for bridge in bridges(plan)]
    if around:
        text = f"{text.removesuffix('.')}, but not inside the bridge {', '.join(around)}."
    return Step(
        "floss",
        f"{text} Do not force it. If it will not pass, take it off, floss and try again.",
        f"{text} Do not force it. Stuck? Off, floss, try again.",
    )


def _bridge(bridge: Bridge, plan: Plan) -> Step:
    """A pontic is skipped or a slit is cut: textbooks, from memory. The rest: common practice."""
    text = f"Bridge {bridge.ends(plan)}: no strip passes between its teeth."
    if bridge.open_strip:
        text += " Cut a slit, or tie the sheet down under the pontic."
    pontics = plan.case.write(bridge.pontics)
    seal = f" Seal under pontic {pontics} with {SEALING}." if pontics else ""
    return Step("bridge", f"{text}{seal}")


def _hold_ends(plan: Plan) -> list[Step]:
    """Common practice, no source."""
    ligated = [tooth for tooth in open_ends(plan) if tooth not in wedged_ends(plan)]
    holds = {"floss ligature round the neck": ligated, "wedge or strip": wedged_ends(plan)}
    return [
        Step("hold-end", f"Hold the sheet at {plan.case.write(ends)}: {hold}.")
        for hold, ends in holds.items()
        if ends
    ]


def _retract(plan: Plan) -> list[Step]:
    """The gum drawn back from a treated lesion: common practice, no source."""
    steps = []
    for lesions in together(plan.retractors):
        teeth, clamp = [lesion.tooth for lesion in lesions], lesions[0].first
        how = (
            _RETRACT.format(clamp.label, STEADYING) + _clear_of(teeth, plan) if clamp else _TIE_BACK
        )
        each = ", one at a time" if len(teeth) > 1 else ""
        steps.append(Step("retract", f"{plan.case.write(teeth)}{each}: {how}"))
    return steps


def _clear_of(lesions: Sequence[Tooth], plan: Plan) -> str:
    """A clamp on the tooth beside the lesion must not meet the one that draws its gum back."""
    carry = {anchor.tooth for anchor in clamped(plan)}
    beside = {
        other
        for pair in pairwise(plan.isolation.row)
        for tooth, other in (pair, pair[::-1])
        if tooth in lesions and other in carry
    }
    return f" Clear of the clamp on {plan.case.write(in_arch_order(beside))}." if beside else ""


def _root_canal(plan: Plan) -> list[Step]:
    """A sheet for every root canal: ESE 2006, seen in print. These steps: common practice.

    The seal is tested before the disinfectant comes: through a leak it would reach the mouth, and
    water and caulk after it would undo it.
    """
    if plan.case.procedure != "root-canal":
        return []
    return [
        Step(
            "test-seal",
            f"Test the seal with water. If it leaks, dry it, seal with {SEALING}, test again.",
        ),
        Step("disinfect", "Wipe tooth, clamp and sheet round it with disinfectant."),
        Step(
            "irrigate",
            "Irrigate only behind a tight sheet. A leak: stop, rinse, seal, test and disinfect "
            "again.",
        ),
    ]


def _last_look(plan: Plan) -> Step:
    """Nostrils free: Black 1908, seen in print. The rest: common practice, no source."""
    marks = plan.practice.marks
    if marks.kind == "two-dots":
        # The dash tells a mirrored sheet, whose holes and dots may look right.
        way_up = "both dots up and facing you, dash at the patient's left"
    else:
        way_up = f"corner hole up at the patient's {marks.corner.removeprefix('upper-')}"
    return Step("last-look", f"Saliva ejector in. Check: {way_up}, nose free.")
