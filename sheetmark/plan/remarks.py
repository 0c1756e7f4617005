"""What to say about each tooth that is different: in plain words.

What a bridge, an implant or a broken crown asks of the clinician is common practice, no source;
the gumline hole is Sturdevant (from memory); a gap kept and a pontic skipped are textbooks (from
memory).
"""

from __future__ import annotations

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import Finding, Severity
from sheetmark.case.case import Case, ToothState
from sheetmark.case.exceptions import state_words
from sheetmark.plan.isolation import Isolation

_ADVICE: tuple[tuple[str, Severity, str], ...] = (
    (
        "pontic",
        "warning",
        "No hole. Splinted teeth take no floss between them: plan a slit, a ligature or sealing "
        "under the pontic.",
    ),
    ("implant", "info", "Keep clamp and floss off the tissue round it."),
    ("partly_erupted", "warning", "The sheet may slip off it."),
    ("broken_down", "warning", "Little crown holds the sheet: consider a slit, or build it up."),
    ("abutment", "info", "Splinted: floss does not pass on the side of the bridge."),
    ("lesion", "info", "Hole facial of the line, more room to each neighbour, one hole up."),
)
_RISKY_ANCHOR = {
    "partly_erupted": "partly erupted",
    "broken_down": "broken down",
    "implant": "an implant crown",
}


def remarks(case: Case, isolation: Isolation) -> tuple[Finding, ...]:
    """A finding for every tooth of the case's jaw of which something was said."""
    jaw = case.treat[0].jaw
    here = [state for state in case.special if state.tooth.jaw == jaw]
    elsewhere = [state.tooth for state in case.special if state.tooth.jaw != jaw]
    findings = _grouped(case, here)
    findings += [
        Finding(
            "risky-anchor",
            "warning",
            f"Anchor {case.write([state.tooth])} is {words}.",
            "Choose another with --anchor, or make sure that it holds a clamp.",
            field="anchor",
        )
        for state in here
        for field, words in _RISKY_ANCHOR.items()
        if state.tooth in isolation.anchors and getattr(state, field)
    ]
    if elsewhere:
        findings.append(
            Finding(
                "other-jaw",
                "info",
                f"{case.write(elsewhere)}: in the other jaw, of no effect here.",
                field="with",
            )
        )
    return tuple(findings)


def _grouped(case: Case, states: list[ToothState]) -> list[Finding]:
    """One finding for all teeth of which the same is to be said."""
    groups: dict[tuple[str, Severity, str], list[Tooth]] = {}
    for state in states:
        groups.setdefault(_remark(state), []).append(state.tooth)
    return [
        Finding("tooth-state", severity, f"{case.write(teeth)} {words}.", advice, field="with")
        for (words, severity, advice), teeth in groups.items()
    ]


def _remark(state: ToothState) -> tuple[str, Severity, str]:
    """What is said of a tooth, how grave it is, and what to do."""
    said = [(severity, advice) for field, severity, advice in _ADVICE if getattr(state, field)]
    if state.missing:
        said.append(("info", _gap(state)))
    if state.moved:
        said.append(("info", "Its hole follows it."))
    elif state.rotated_deg:
        said.append(("info", "Its hole stays at its centre."))
    severity: Severity = "warning" if any(s == "warning" for s, _ in said) else "info"
    return ", ".join(state_words(state)), severity, " ".join(advice for _, advice in said)


def _gap(state: ToothState) -> str:
    if state.gap_mm is None:
        return "No hole; the gap stays."
    return "No hole; the gap is closed." if state.gap_mm == 0 else "No hole; the gap as measured."
