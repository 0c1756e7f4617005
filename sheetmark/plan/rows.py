"""The named rules for the row of teeth that comes through the sheet. Knows no millimetres.

textbook: a molar with one tooth behind it and two in front (seen in print); a premolar with two
    behind it, so that a molar carries the clamp, and two in front (Sturdevant, from memory;
    Summitt, from memory); a canine from the first molar of its side to the opposite lateral incisor
    (Sturdevant, from memory); incisors from first premolar to first premolar (Davis 1917, seen in
    print).
short: one behind and two in front for premolars as well, and canines like incisors: the fewest
    holes (common practice, no source).
wide: as textbook at the back, and in front to the opposite lateral incisor: more room and a flatter
    sheet (common practice, no source).

Under any of them a full arch runs from second molar to second molar, a root canal treatment
isolates one tooth (Davis 1917, seen in print), and the row for a cervical lesion reaches back to
the first molar, so that the anchor's clamp does not meet that of the lesion (assumption).
"""

from __future__ import annotations

from sheetmark.anatomy.teeth import SIDES, Side, Tooth, in_arch_order
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding
from sheetmark.base.row_rules import RowRule
from sheetmark.case.case import Case
from sheetmark.plan.mouth import Mouth

IN_FRONT = 2
LATERAL_INCISOR = 2
FIRST_PREMOLAR = 4
FIRST_MOLAR = 6
SECOND_MOLAR = 7

_NO_END: dict[Side, Code] = {"right": Code.NO_RIGHT_END, "left": Code.NO_LEFT_END}


def rule_row(
    case: Case, mouth: Mouth, treated: tuple[Tooth, ...], rule: RowRule, findings: list[Finding]
) -> tuple[Tooth, ...]:
    """The row for the treated teeth; adds a finding for what this mouth cannot give."""
    needed = {*treated, *case.anchors}
    if case.procedure == "full-arch":
        for side in SIDES:
            needed.update(_full_end(case, mouth, side, findings))
    elif case.procedure != "root-canal":
        for tooth in treated:
            needed.update(_round(case, mouth, tooth, rule, findings))
    ends = in_arch_order(needed)
    row = mouth.between(ends[0], ends[-1])
    return _with_more(case, mouth, row, findings) if case.more else row


def _round(
    case: Case, mouth: Mouth, tooth: Tooth, rule: RowRule, findings: list[Finding]
) -> tuple[Tooth, ...]:
    """The teeth that the rule wants round one treated tooth."""
    canine = tooth.tooth_class == "canine"
    back_end = FIRST_MOLAR if case.procedure == "cervical" else FIRST_PREMOLAR
    if tooth.tooth_class == "incisor" or (canine and rule == "short"):
        return tuple(t for side in SIDES for t in _end(mouth, side, back_end, findings))
    front = _in_front(case, mouth, tooth, findings)
    if canine or rule == "wide":
        front = (*front, *_to_opposite_lateral(mouth, tooth))
    if canine:
        return (*_end(mouth, tooth.side, FIRST_MOLAR, findings), *front)
    back = _behind(mouth, tooth, rule)
    if case.procedure == "cervical" and tooth.position < FIRST_MOLAR:
        back = (*back, *_end(mouth, tooth.side, FIRST_MOLAR, findings))
    return (*back, *front)


def _behind(mouth: Mouth, tooth: Tooth, rule: RowRule) -> tuple[Tooth, ...]:
    count = 2 if tooth.tooth_class == "premolar" and rule != "short" else 1
    return mouth.behind(tooth)[:count]


def _in_front(case: Case, mouth: Mouth, tooth: Tooth, findings: list[Finding]) -> tuple[Tooth, ...]:
    in_front = mouth.in_front(tooth, IN_FRONT)
    if len(in_front) < IN_FRONT:
        findings.append(
            Finding(
                Code.FEW_IN_FRONT,
                "warning",
                f"Fewer than {IN_FRONT} teeth in front of {case.write([tooth])}.",
                "Hold the front of the sheet another way.",
                field="missing",
                value=len(in_front),
                limit=IN_FRONT,
            )
        )
    return in_front


def _to_opposite_lateral(mouth: Mouth, tooth: Tooth) -> tuple[Tooth, ...]:
    """The opposite incisors, as far as they stand: no row reaches past the lateral for them."""
    return tuple(t for t in mouth.teeth if t.side != tooth.side and t.position <= LATERAL_INCISOR)


def _end(mouth: Mouth, side: Side, position: int, findings: list[Finding]) -> tuple[Tooth, ...]:
    """The end of a row on one side: the nearest tooth from that position on, else the rearmost."""
    teeth = mouth.side(side)
    code = _NO_END[side]
    no_back_tooth = not any(t.position >= FIRST_PREMOLAR for t in teeth)
    if no_back_tooth and not any(finding.code == code for finding in findings):
        findings.append(
            Finding(
                code,
                "warning",
                f"No premolar or molar on the patient's {side} to hold the sheet.",
                "Decide how to hold that end of the sheet.",
                field="missing",
            )
        )
    return tuple([t for t in teeth if t.position >= position][:1] or teeth[-1:])


def _full_end(case: Case, mouth: Mouth, side: Side, findings: list[Finding]) -> tuple[Tooth, ...]:
    row = [t for t in mouth.side(side) if t.position <= SECOND_MOLAR]
    end = row[-1] if row else None
    if end is None or end.position < SECOND_MOLAR:
        findings.append(
            Finding(
                Code.SHORT_ARCH,
                "warning",
                f"No second molar on the patient's {side}"
                + (f": the row ends at {case.write([end])}." if end else ", nor any other tooth."),
                "Check that the end of the row can carry a clamp.",
                field="missing",
            )
        )
    return (end,) if end else ()


def _with_more(
    case: Case, mouth: Mouth, row: tuple[Tooth, ...], findings: list[Finding]
) -> tuple[Tooth, ...]:
    """The row with more teeth in front. A row round back teeth stays on its side of the mouth."""
    if row[0].side != row[-1].side:
        findings.append(
            Finding(
                Code.NO_MORE,
                "warning",
                "No teeth added in front: the row already crosses the midline.",
                "To make the row longer, name the teeth to expose.",
                field="more",
                value=case.more,
                actions=(Action(Choice.EXPOSE),),
            )
        )
        return row
    mesial = row[-1] if row[0].side == "right" else row[0]
    added = mouth.in_front(mesial, case.more)
    if not all(tooth.front for tooth in case.treat):
        added = tuple(tooth for tooth in added if tooth.side == mesial.side)
    if len(added) < case.more:
        findings.append(
            Finding(
                Code.FEW_MORE,
                "warning",
                f"Only {len(added)} of {case.more} teeth could be added in front: no more stand "
                "on that side of the mouth.",
                "To go on across the midline, name the teeth to expose.",
                field="more",
                value=case.more,
                limit=len(added),
                actions=(Action(Choice.EXPOSE),),
            )
        )
    return in_arch_order({*row, *added})
