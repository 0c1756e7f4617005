"""A finding for each tooth that is different.

What a bridge, an implant or a broken crown asks of the clinician is common practice, no source;
the gumline hole is Sturdevant (from memory); a gap kept and a pontic skipped are textbooks (from
memory).
"""

from __future__ import annotations

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding, Severity
from sheetmark.case.case import Case, ToothState
from sheetmark.case.exceptions import state_prose
from sheetmark.plan.isolation import Isolation

_LESION = "Its hole is one size larger, facial of the arch, and further from each neighbour."
_ADVICE: tuple[tuple[str, Severity, str], ...] = (
    ("pontic", "warning", "No hole. Floss does not pass between splinted teeth: {pontic}."),
    ("implant", "info", "Keep clamp and floss off the gum around it."),
    ("partly_erupted", "warning", "The sheet may slip off it."),
    (
        "broken_down",
        "warning",
        "Little crown is left to hold the sheet: consider {broken_down}.",
    ),
    ("abutment", "info", "Floss does not pass on the side of the bridge."),
    ("lesion", "info", _LESION),
)


def remarks(case: Case, isolation: Isolation) -> tuple[Finding, ...]:
    """The findings about the teeth that the case describes, those of the other jaw included."""
    jaw = case.treat[0].jaw
    here = [state for state in case.special if state.tooth.jaw == jaw]
    elsewhere = [state.tooth for state in case.special if state.tooth.jaw != jaw]
    findings = [*_cervical(case, isolation), *_grouped(case, here, isolation)]
    if elsewhere:
        findings.append(
            Finding(
                Code.OTHER_JAW,
                "info",
                f"{case.write(elsewhere)}: in the other jaw, so without effect here.",
                field="with",
            )
        )
    return tuple(findings)


def _cervical(case: Case, isolation: Isolation) -> list[Finding]:
    """The procedure makes each treated tooth one with a lesion, whatever is noted of it."""
    teeth = [tooth for tooth in isolation.treated if not case.state(tooth).lesion]
    if case.procedure != "cervical" or not teeth:
        return []
    return [Finding(Code.TOOTH_STATE, "info", f"{case.write(teeth)} lesion.", _LESION, field="for")]


def _grouped(case: Case, states: list[ToothState], isolation: Isolation) -> list[Finding]:
    """One finding for all teeth that share state and advice."""
    groups: dict[tuple[str, Severity, str], list[Tooth]] = {}
    for state in states:
        remark = _remark(state, case) if _concerns(state, isolation) else _outside(state)
        groups.setdefault(remark, []).append(state.tooth)
    return [
        Finding(Code.TOOTH_STATE, severity, f"{case.write(teeth)} {state}.", advice, field="with")
        for (state, severity, advice), teeth in groups.items()
    ]


def _concerns(state: ToothState, isolation: Isolation) -> bool:
    """Whether the tooth stands in the row or, as a pontic, beside it."""
    row = isolation.row
    low, high = row[0].along, row[-1].along
    if state.pontic:
        low, high = low - 1 or -1, high + 1 or 1
    return low <= state.tooth.along <= high


def _outside(state: ToothState) -> tuple[str, Severity, str]:
    return state_prose(state), "info", "Outside the row."


def _remark(state: ToothState, case: Case) -> tuple[str, Severity, str]:
    """The tooth's state, how serious it is, and what to do."""
    ways = _ways(state, case)
    points = [
        (severity, advice.format(**ways))
        for field, severity, advice in _ADVICE
        if getattr(state, field)
    ]
    if state.missing:
        points.append(("info", _gap(state)))
    if state.moved:
        points.append(("info", "Its hole moves with it."))
    elif state.rotated_deg:
        points.append(("info", "Its hole stays at its centre."))
    severity: Severity = "warning" if any(s == "warning" for s, _ in points) else "info"
    return state_prose(state), severity, " ".join(advice for _, advice in points)


def _ways(state: ToothState, case: Case) -> dict[str, str]:
    """What may be done at a pontic and a broken crown.

    A slit that is planned there is not advised again, and for a root canal none is without a seal.
    """
    planned = any(
        min(slit.start.along, slit.end.along)
        <= state.tooth.along
        <= max(slit.start.along, slit.end.along)
        for slit in case.slits
    )
    if planned:
        return {"pontic": "seal under the pontic", "broken_down": "a build-up"}
    sealed = " with its seal" if case.procedure == "root-canal" else ""
    return {
        "pontic": "plan a slit or a ligature, and a seal under the pontic",
        "broken_down": f"a build-up, or a slit{sealed}",
    }


def _gap(state: ToothState) -> str:
    if state.gap_mm is None:
        return "No hole; the gap stays."
    return (
        "No hole; the gap is closed." if state.gap_mm == 0 else "No hole; the gap is as measured."
    )
