"""Findings and problems as the page shows them: with its own fields for what can be changed."""

from __future__ import annotations

from collections.abc import Sequence

from pydantic import BaseModel

from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding, InputError, Severity, warnings_first
from sheetmark.practice.file.check import PracticeError, Problem
from sheetmark.practice.file.labels import labelled
from sheetmark.practice.settings import Practice

# What a choice is called on the page; choices that the page does not offer are left out.
FIELDS: dict[Choice, str] = {
    Choice.AGE: "Age",
    Choice.ANCHOR: "Clamp this tooth",
    Choice.ARCH: "Arch",
    Choice.BASE: "Start from",
    Choice.EASE: "Settings, Ease",
    Choice.EXPOSE: "Only these come through",
    Choice.FOR: "Procedure",
    Choice.JAW: "Jaw",
    Choice.NOTATION: "Numbers",
    Choice.PRESENT: "Stands here",
    Choice.SHEET: "Sheet",
    Choice.SIZING: "Settings, Sizing rule",
    Choice.SLIT: "One slot from here to",
    Choice.WITH: "What is different",
}


class FindingShown(BaseModel):
    """A finding as one text: what was found, what to do, and the page's fields to do it in."""

    code: Code
    severity: Severity
    text: str


def findings_shown(findings: Sequence[Finding], practice: Practice) -> list[FindingShown]:
    """Warnings first, with the practice's decimal sign."""
    return [
        FindingShown(
            code=finding.code,
            severity=finding.severity,
            text=with_fields(practice.numerals(finding.line), finding.actions),
        )
        for finding in warnings_first(findings)
    ]


def problems_shown(error: InputError) -> list[str]:
    """The lines of an error in the page's terms."""
    if isinstance(error, PracticeError):
        return [problem_shown(error.name, problem) for problem in error.found]
    *before, last = error.problems
    return [*before, with_fields(last, error.actions)]


def problem_shown(file: str, problem: Problem) -> str:
    """A problem of the practice file under the label of its field."""
    return f"{file}: {labelled(problem)}"


def with_fields(line: str, actions: Sequence[Action]) -> str:
    """The line and, in brackets, the page's fields that its actions change."""
    names = list(dict.fromkeys(FIELDS[a.choice] for a in actions if a.choice in FIELDS))
    if not names:
        return line
    quoted = ", ".join(f"“{name}”" for name in names)
    return f"{line} (on this page: {quoted})"
