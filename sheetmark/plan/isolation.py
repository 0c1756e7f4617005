"""Which teeth come through the sheet, and which of them hold it. Knows no millimetres.

The rules for the row stand in `plan.rows`, those for the anchors in `plan.anchors`, each with its
source. Root canal treatment clamps the treated tooth (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from sheetmark.anatomy.teeth import Tooth, in_arch_order
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding, InputError
from sheetmark.base.row_rules import DEFAULT_HOLD, DEFAULT_ROW, Hold, RowRule
from sheetmark.case.case import Case, Run
from sheetmark.plan.anchors import anchor_findings, row_ends, sound_anchors
from sheetmark.plan.mouth import Mouth
from sheetmark.plan.rows import FIRST_PREMOLAR, rule_row

Role = Literal["anchor", "treated", "exposed"]
RuleUsed = Literal[RowRule, "named-teeth", "root-canal", "full-arch"]

_INSTEAD: dict[RuleUsed, str] = {
    "named-teeth": "as named",
    "root-canal": "as for a root canal",
    "full-arch": "a full arch",
}


class Isolation(Struct, frozen=True, kw_only=True):
    """Which teeth come through the sheet. Every list runs from the patient's right to the left."""

    row: tuple[Tooth, ...]
    """The isolated teeth."""
    rule: RuleUsed
    """What chose the row: a named rule, the procedure, or the person who named the teeth."""
    anchors: tuple[Tooth, ...]
    """Those of the row that hold the sheet."""
    clamped: tuple[Tooth, ...]
    """Those of the anchors that carry a clamp; `hold` holds the others."""
    hold: Hold
    """What holds anchors that carry no clamp."""
    treated: tuple[Tooth, ...]
    """Those of the row that are treated."""
    mouth: tuple[Tooth, ...]
    """All teeth that really stand in this jaw."""
    findings: tuple[Finding, ...]
    """What a person should know of the row."""

    @property
    def unclamped(self) -> tuple[Tooth, ...]:
        """The anchors that are held without a clamp."""
        return tuple(tooth for tooth in self.anchors if tooth not in self.clamped)

    def role(self, tooth: Tooth) -> Role:
        """An anchor that is treated is an anchor."""
        if tooth in self.anchors:
            return "anchor"
        return "treated" if tooth in self.treated else "exposed"


def isolate(
    case: Case,
    arch_teeth: Sequence[Tooth],
    model: str,
    *,
    rule: RowRule = DEFAULT_ROW,
    usual_rule: RowRule = DEFAULT_ROW,
    hold: Hold = DEFAULT_HOLD,
    usual_hold: Hold = DEFAULT_HOLD,
) -> Isolation:
    """The row of teeth for the case, out of the teeth of the arch model's jaw.

    `rule` is the named rule for the row; `hold` is what holds anchors that are front teeth or first
    premolars; `usual_rule` and `usual_hold` are these where nobody chose for this case. Raises
    InputError for a tooth to treat or expose that this mouth does not have.
    """
    mouth = Mouth(case, arch_teeth, model)
    treated = in_arch_order(set(case.treat))
    for tooth in treated:
        mouth.check(tooth, "to treat")
    findings: list[Finding] = []
    for tooth in case.anchors:
        mouth.check(tooth, "as an anchor")
    row = _exposed(case, mouth) if case.expose else rule_row(case, mouth, treated, rule, findings)
    held = treated if case.procedure == "root-canal" else row
    # Teeth that a person named stay as they are: no other tooth joins them.
    among = row if case.expose else mouth.teeth
    anchors = in_arch_order(set(case.anchors)) or sound_anchors(
        case, mouth, row_ends(held), among, findings
    )
    if not case.expose:
        row = _as_held(mouth, row, anchors, treated)
    clamped = tuple(t for t in anchors if hold == "clamp" or _needs_clamp(case, t))
    used = _rule_used(case, rule)
    return Isolation(
        row=row,
        rule=used,
        anchors=anchors,
        clamped=clamped,
        hold=hold,
        treated=treated,
        mouth=mouth.teeth,
        findings=(
            *findings,
            *anchor_findings(case, mouth, anchors),
            *_row_rule(rule, usual_rule, used),
            *_hold(case, anchors, clamped, hold, usual_hold),
        ),
    )


def _rule_used(case: Case, rule: RowRule) -> RuleUsed:
    if case.expose:
        return "named-teeth"
    match case.procedure:
        case "root-canal" | "full-arch" as procedure:
            return procedure
        case _:
            return rule


def _exposed(case: Case, mouth: Mouth) -> tuple[Tooth, ...]:
    row: set[Tooth] = set()
    for item in case.expose:
        if isinstance(item, Run):
            for end in (item.start, item.end):
                if case.state(end).real:
                    mouth.check(end, "to expose")
            row.update(mouth.between(item.start, item.end))
        else:
            mouth.check(item, "to expose")
            row.add(item)
    left_out = in_arch_order({*case.treat, *case.anchors} - row)
    if left_out:
        raise InputError(
            f"tooth {case.write(left_out)}: treated or an anchor, but not among the teeth "
            f"to expose; add it there"
        )
    return in_arch_order(row)


def _as_held(
    mouth: Mouth, row: tuple[Tooth, ...], anchors: tuple[Tooth, ...], treated: tuple[Tooth, ...]
) -> tuple[Tooth, ...]:
    """The row out to its anchors. Nothing is exposed behind the last anchor or treated tooth."""
    ends = in_arch_order({row[0], row[-1], *anchors})
    last = {
        anchor.side: max(t.position for t in (*anchors, *treated) if t.side == anchor.side)
        for anchor in anchors
    }
    return tuple(
        tooth
        for tooth in mouth.between(ends[0], ends[-1])
        if tooth.position <= last.get(tooth.side, tooth.position)
    )


def _needs_clamp(case: Case, tooth: Tooth) -> bool:
    """Whether only a clamp can hold the sheet on this tooth (common practice, no source)."""
    return case.procedure == "root-canal" or tooth.position > FIRST_PREMOLAR


def _row_rule(chosen: RowRule, usual: RowRule, used: RuleUsed) -> list[Finding]:
    """Which rule chose the row, where it is not the usual one or not the chosen one."""
    if used in ("short", "wide"):
        return [Finding(Code.ROW_RULE, "info", f"Row of teeth: by the {used} rule.", field="row")]
    if chosen in (used, usual):
        return []
    return [
        Finding(
            Code.ROW_RULE_UNUSED,
            "info",
            f"Row of teeth: {_INSTEAD[used]}, not by the {chosen} rule.",
            field="row",
        )
    ]


def _hold(
    case: Case,
    anchors: tuple[Tooth, ...],
    clamped: tuple[Tooth, ...],
    hold: Hold,
    usual_hold: Hold,
) -> list[Finding]:
    """What holds the row, where it is not a clamp or not what was chosen."""
    if hold == "clamp":
        return []
    held = case.write(tooth for tooth in anchors if tooth not in clamped)
    if held:
        message, code = f"{held}: held by a {hold}, without a clamp.", Code.HELD_WITHOUT_CLAMP
        advice = "Where it does not hold, take a clamp."
    elif hold == usual_hold:
        # The practice's own way is for front rows only, so that nothing was asked for in vain.
        return []
    else:
        message, code = f"{case.write(clamped)}: clamp, no {hold}.", Code.HOLD_UNUSED
        advice = (
            "Only front teeth and first premolars are held without one, and none for a root canal."
        )
    return [Finding(code, "info", message, advice, field="hold")]
