"""The command line that makes a plan again: every choice that differs from the default.

It needs no practice file, but for settings that have no option: then it names the file, and says
each choice that differs from the default or from the file. The printer's correction is no part of
a plan, and so of no recipe: a page names its printer itself.
What only picks the files or their pages, `-o` and `--card`, is left out as well.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence

from sheetmark.anatomy.arch_model import usual_model
from sheetmark.anatomy.teeth import Tooth, write
from sheetmark.case.case import (
    DEFAULT_ACCESS,
    DEFAULT_PROCEDURE,
    Case,
    write_expose,
    write_number,
    write_run,
)
from sheetmark.case.exceptions import write_state
from sheetmark.practice.settings import (
    Practice,
    Punch,
    Sheet,
    StockSheet,
    check_stock,
)

# Settings of which the pages or the plan show something, and that no option sets.
_ONLY_IN_FILE = ("name", "numbers", "margin_mm", "share_of_break", "rules", "marks", "tray")


def command_line(case: Case, model: str, practice: Practice, *, even: bool = False) -> str:
    """`sheetmark overlay …` for the case, without the names of the files to write.

    `even`: the sheet's middle stands where its pull is most even, whatever the practice's rule.
    """
    default_model = usual_model(case.age).name

    def teeth(many: tuple[Tooth, ...]) -> str:
        return ",".join(write(tooth, case.notation) for tooth in many)

    spoken = {_base(practice).notation, Practice().notation}
    options = {
        "--notation": case.notation if spoken != {case.notation} else "",
        "--for": case.procedure if case.procedure != DEFAULT_PROCEDURE else "",
        "--expose": write_expose(case.expose, case.notation),
        "--more": str(case.more or ""),
        "--missing": teeth(case.missing),
        "--present": teeth(case.present),
        "--with": "; ".join(write_state(state, case.notation) for state in case.states),
        "--anchor": teeth(case.anchors),
        "--slit": ",".join(write_run(slit, case.notation) for slit in case.slits),
        "--access": case.access if case.access != DEFAULT_ACCESS else "",
        "--age": "" if case.age is None else str(case.age),
        "--arch": model if model != default_model else "",
        **_practice_options(practice),
        "--reference": case.reference,
    }
    words = ["sheetmark", "overlay", *(write(tooth, case.notation) for tooth in case.treat)]
    for option, value in options.items():
        if value:
            words += [option, value]
    if even:
        words += ["--shift", "even"]
    elif practice.shift != Practice().shift:
        words.append("--no-shift")
    elif not _base(practice).shift:
        words += ["--shift", "rule"]
    return shlex.join(words)


def document_line(words: Sequence[str], practice: Practice) -> str:
    """The command line of a document that belongs to no one case: its words, then the settings."""
    spoken = {_base(practice).notation, Practice().notation}
    line = list(words)
    if spoken != {practice.notation}:
        line += ["--notation", practice.notation]
    for option, value in _practice_options(practice).items():
        if value:
            line += [option, value]
    if practice.shift != Practice().shift:
        line.append("--no-shift")
    elif not _base(practice).shift:
        line.append("--shift")
    return shlex.join(line)


def _practice_options(practice: Practice) -> dict[str, str]:
    base, default = _base(practice), Practice()

    def said(field: str) -> bool:
        return any(getattr(practice, field) != getattr(other, field) for other in (default, base))

    # A practice file would complete half a choice of sheet from its stock.
    halves = [said("sheet"), said("material")]
    if base.stock and any(halves):
        halves = [True, True]
    return {
        "--sheet": _sheet(practice.sheet) if halves[0] else "",
        "--paper": practice.paper if said("paper") else "",
        "--punch": _punch(practice.punch) if said("punch") and not practice.punch.labels else "",
        "--material": practice.material if halves[1] else "",
        "--sizing": practice.sizing if said("sizing") else "",
        "--ease": write_number(practice.ease_mm) if said("ease_mm") else "",
        "--practice": _file(practice),
    }


def _base(practice: Practice) -> Practice:
    """What holds where the recipe says nothing: the file that it names, or the defaults."""
    return practice.origin.practice if practice.origin and _file(practice) else Practice()


def _file(practice: Practice) -> str:
    """The practice file that the recipe needs, empty if it needs none."""
    default, bare = Practice(), StockSheet(practice.sheet, practice.material)
    needed = (
        any(getattr(practice, field) != getattr(default, field) for field in _ONLY_IN_FILE)
        or practice.punch.labels
        or practice.stock_sheet != bare
        or check_stock(practice)
    )
    if not needed:
        return ""
    return practice.origin.name if practice.origin else "FILE"


def _sheet(sheet: Sheet) -> str:
    sides = (sheet.width_mm, sheet.height_mm)
    return "x".join(write_number(side) for side in dict.fromkeys(sides))


def _punch(punch: Punch) -> str:
    return ",".join(write_number(diameter) for diameter in punch.diameters_mm)
