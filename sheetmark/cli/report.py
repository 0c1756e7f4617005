"""How findings and errors read on the command line: with the options that change them."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence

from sheetmark.base.findings import Action, Finding
from sheetmark.cli.talk import is_quiet
from sheetmark.practice.settings import Practice


def print_findings(findings: Iterable[Finding], practice: Practice) -> None:
    """One line for each finding on stderr, with the practice's decimal sign."""
    for finding in findings:
        if finding.severity == "info" and is_quiet():
            continue
        line = practice.numerals(finding.line)
        print(f"{finding.severity}: {with_options(line, finding.actions)}", file=sys.stderr)


def with_options(line: str, actions: Sequence[Action]) -> str:
    """The line and, in brackets, the options that its actions change."""
    return f"{line} ({', '.join(map(_option, actions))})" if actions else line


def _option(action: Action) -> str:
    option = f"--{action.choice}"
    if action.drop:
        return f"without {option}"
    if not action.value:
        return option
    return f'{option} "{action.value}"' if " " in action.value else f"{option} {action.value}"
