"""Which teeth come through the sheet, and which of them hold it. Knows no millimetres.

The rules are common practice, no source, where no other source is named:
a posterior tooth has at least one tooth behind it and two in front (also seen in print); front
teeth are isolated first premolar to first premolar (Davis 1917, seen in print); a root canal
treatment isolates one tooth (Davis 1917, seen in print); more holes in front make seating easier.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sheetmark.anatomy.teeth import Side, Tooth, in_arch_order
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError
from sheetmark.case.case import Case, Run

Role = Literal["anchor", "treated", "exposed"]

IN_FRONT = 2
FIRST_PREMOLAR = 4
SECOND_MOLAR = 7

_NO_END: dict[Side, Code] = {"right": Code.NO_RIGHT_END, "left": Code.NO_LEFT_END}


@dataclass(frozen=True, slots=True, kw_only=True)
class Isolation:
    """Which teeth come through the sheet. Every list runs from the patient's right to the left."""

    row: tuple[Tooth, ...]
    """The isolated teeth."""
    anchors: tuple[Tooth, ...]
    """Those of the row that hold the sheet."""
    treated: tuple[Tooth, ...]
    """Those of the row that are treated."""
    mouth: tuple[Tooth, ...]
    """All teeth that really stand in this jaw."""
    findings: tuple[Finding, ...]
    """What a person should know of the row."""

    def role(self, tooth: Tooth) -> Role:
        """An anchor that is treated is an anchor."""
        if tooth in self.anchors:
            return "anchor"
        return "treated" if tooth in self.treated else "exposed"


def isolate(case: Case, arch_teeth: Sequence[Tooth], model: str) -> Isolation:
    """The row of teeth for the case, out of the teeth of the arch model's jaw.

    Raises InputError for a tooth to treat or expose that this mouth does not have.
    """
    mouth = _Mouth(case, arch_teeth, model)
    treated = in_arch_order(set(case.treat))
    for tooth in treated:
        mouth.check(tooth, "to treat")
    findings: list[Finding] = []
    for tooth in case.anchors:
        mouth.check(tooth, "as an anchor")
    row = _exposed(case, mouth) if case.expose else _span(case, mouth, treated, findings)
    anchors = in_arch_order(set(case.anchors)) or _anchors(row)
    return Isolation(
        row=row,
        anchors=anchors,
        treated=treated,
        mouth=mouth.teeth,
        findings=tuple(findings),
    )


class _Mouth:
    """The teeth that really stand in this jaw, in arch order, with ways to walk along them."""

    def __init__(self, case: Case, arch_teeth: Sequence[Tooth], model: str) -> None:
        self.case, self.arch_teeth, self.model = case, tuple(arch_teeth), model
        self.teeth = tuple(t for t in in_arch_order(arch_teeth) if case.state(t).stands)

    def check(self, tooth: Tooth, purpose: str) -> None:
        name = self.case.write([tooth])
        if tooth not in self.arch_teeth:
            kind = "primary" if tooth.primary else "permanent"
            raise InputError(
                f"tooth {name} {purpose}: arch model {self.model} has no such {kind} tooth here; "
                f"give the age, choose another arch model, or mark the tooth as present",
                actions=(
                    Action(Choice.AGE),
                    Action(Choice.ARCH),
                    Action(Choice.WITH, f"{name} present"),
                ),
            )
        if tooth not in self.teeth:
            raise InputError(
                f"tooth {name} {purpose}: third molars count as absent; mark it as present",
                actions=(Action(Choice.PRESENT, name),),
            )

    def behind(self, tooth: Tooth) -> Tooth | None:
        """The nearest real tooth further back on the same side."""
        further = [t for t in self.side(tooth.side) if t.position > tooth.position]
        return min(further, key=lambda t: t.position, default=None)

    def side(self, side: Side) -> list[Tooth]:
        return [t for t in self.teeth if t.side == side]

    def in_front(self, tooth: Tooth, count: int) -> tuple[Tooth, ...]:
        """Up to `count` real teeth towards the midline, and on across it."""
        at = self.teeth.index(tooth)
        if tooth.side == "right":
            return self.teeth[at + 1 : at + 1 + count]
        return self.teeth[max(0, at - count) : at][::-1]

    def between(self, start: Tooth, end: Tooth) -> tuple[Tooth, ...]:
        low, high = sorted((start.along, end.along))
        return tuple(t for t in self.teeth if low <= t.along <= high)


def _exposed(case: Case, mouth: _Mouth) -> tuple[Tooth, ...]:
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


def _span(
    case: Case, mouth: _Mouth, treated: tuple[Tooth, ...], findings: list[Finding]
) -> tuple[Tooth, ...]:
    needed = {*treated, *case.anchors}
    if case.procedure == "full-arch":
        for side in ("right", "left"):
            needed.update(_full_end(case, mouth, side, findings))
    elif case.procedure != "root-canal":
        for tooth in treated:
            needed.update(
                _round_front(mouth, findings)
                if tooth.front
                else _round_posterior(case, mouth, tooth, findings)
            )
    ends = in_arch_order(needed)
    row = mouth.between(ends[0], ends[-1])
    return _with_more(case, mouth, row, findings) if case.more else row


def _round_posterior(
    case: Case, mouth: _Mouth, tooth: Tooth, findings: list[Finding]
) -> tuple[Tooth, ...]:
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
    behind = mouth.behind(tooth)
    if behind is None:
        findings.append(
            Finding(
                Code.NO_TOOTH_BEHIND,
                "warning",
                f"No tooth behind {case.write([tooth])}, so it is itself the anchor.",
                "The clamp sits on the tooth to treat: check that it leaves room to work.",
                field="treat",
            )
        )
        return in_front
    return (behind, *in_front)


def _round_front(mouth: _Mouth, findings: list[Finding]) -> tuple[Tooth, ...]:
    ends = []
    for side in ("right", "left"):
        teeth = sorted(mouth.side(side), key=lambda t: t.position)
        back = [t for t in teeth if t.position >= FIRST_PREMOLAR]
        code = _NO_END[side]
        if not back and not any(finding.code == code for finding in findings):
            findings.append(
                Finding(
                    code,
                    "warning",
                    f"No premolar or molar on the patient's {side} to hold the sheet.",
                    "Decide how to hold that end of the sheet.",
                    field="missing",
                )
            )
        ends += back[:1] or teeth[-1:]
    return tuple(ends)


def _full_end(case: Case, mouth: _Mouth, side: Side, findings: list[Finding]) -> tuple[Tooth, ...]:
    row = [t for t in mouth.side(side) if t.position <= SECOND_MOLAR]
    end = max(row, key=lambda t: t.position, default=None)
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
    case: Case, mouth: _Mouth, row: tuple[Tooth, ...], findings: list[Finding]
) -> tuple[Tooth, ...]:
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
    if len(added) < case.more:
        findings.append(
            Finding(
                Code.FEW_MORE,
                "warning",
                f"Only {len(added)} of {case.more} teeth could be added in front.",
                "There are no more on that side of the row.",
                field="more",
                value=case.more,
                limit=len(added),
            )
        )
    return in_arch_order({*row, *added})


def _anchors(row: tuple[Tooth, ...]) -> tuple[Tooth, ...]:
    """The rearmost tooth of a row on one side; both ends of a row that crosses the midline.

    An end on an incisor carries a clamp only where nothing behind it would hold the sheet.
    """
    ends = (row[0], row[-1])
    rearmost = max(tooth.position for tooth in ends)
    if ends[0].side == ends[1].side:
        return (next(tooth for tooth in ends if tooth.position == rearmost),)
    return tuple(
        tooth for tooth in ends if tooth.position == rearmost or tooth.tooth_class != "incisor"
    )
