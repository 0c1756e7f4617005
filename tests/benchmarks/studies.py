"""Makes the study tables under examples/studies/ again.

    python -m tests.benchmarks.studies            all of them, which takes hours
    python -m tests.benchmarks.studies ease ring  these two

Each study prints its tables as Markdown; the file says which command made it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import redirect_stdout
from io import StringIO

from tests.benchmarks import membrane, membrane_study, scan_study
from tests.benchmarks.coverage_tables import coverage
from tests.benchmarks.curves import curves
from tests.benchmarks.measuring import measuring
from tests.helpers.paths import ROOT

FOLDER = ROOT / "examples" / "studies"
STUDIES: dict[str, tuple[str, Callable[[], None]]] = {
    "placement": (
        "Unevenness of the pull: centred, by the rule, most even",
        membrane_study.placement,
    ),
    "scaled": ("A share of the rule's shift in all situations", membrane_study.scaled),
    "frame": ("How much the most even place hangs on assumed figures", membrane_study.frame),
    "ease": ("Strips between neighbours, by ease", membrane_study.ease),
    "growth": ("How the answers settle with the mesh", membrane.growth),
    "ring": ("A stretched ring against Rivlin & Thomas", membrane.ring),
    "scan": ("How well the teeth of a scan are found", scan_study.scan),
    "curves": ("Forms of the arch on the same widths", curves),
    "coverage": ("How many patients an arch model serves", coverage),
    "measuring": ("What measuring buys", measuring),
}


def made(name: str) -> str:
    """The text of one study's file."""
    title, study = STUDIES[name]
    tables = StringIO()
    with redirect_stdout(tables):
        study()
    command = f"python -m tests.benchmarks.studies {name}"
    return f"# {title}\n\nMade by `{command}`.\n\n{tables.getvalue().strip()}\n"


def main(names: list[str]) -> int:
    """Write the named studies, or all; 2 for a name that is unknown."""
    unknown = [name for name in names if name not in STUDIES]
    if unknown:
        print(f"no study {', '.join(unknown)}; there are {', '.join(STUDIES)}", file=sys.stderr)
        return 2
    for name in names or STUDIES:
        print(name, file=sys.stderr, flush=True)
        (FOLDER / f"{name}.md").write_text(made(name), encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
