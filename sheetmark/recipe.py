"""The command line that makes a plan again: every choice that differs from the default.

What only picks the files or their pages, `-o` and `--card`, is left out: it changes no plan.
"""

from __future__ import annotations

import shlex

from sheetmark.arch.model import DEFAULT_MODEL, model_for_age
from sheetmark.case import (
    DEFAULT_ACCESS,
    DEFAULT_PROCEDURE,
    Case,
    write_expose,
    write_number,
    write_run,
)
from sheetmark.conditions import write_state
from sheetmark.practice.settings import Practice, Punch, Sheet
from sheetmark.teeth import DEFAULT_NOTATION, Tooth, write


def command_line(case: Case, model: str, practice: Practice) -> str:
    """`sheetmark overlay …` for the case, without the names of the files to write."""
    default = Practice()
    default_model = DEFAULT_MODEL if case.age is None else model_for_age(case.age).name

    def teeth(many: tuple[Tooth, ...]) -> str:
        return ",".join(write(tooth, case.notation) for tooth in many)

    options = {
        "--notation": case.notation if case.notation != DEFAULT_NOTATION else "",
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
        "--sheet": _sheet(practice.sheet) if practice.sheet != default.sheet else "",
        "--paper": practice.paper if practice.paper != default.paper else "",
        "--punch": _punch(practice.punch) if practice.punch != default.punch else "",
        "--material": practice.material if practice.material != default.material else "",
        "--sizing": practice.sizing if practice.sizing != default.sizing else "",
        "--ease": write_number(practice.ease_mm) if practice.ease_mm != default.ease_mm else "",
        "--reference": case.reference,
    }
    words = ["sheetmark", "overlay", *(write(tooth, case.notation) for tooth in case.treat)]
    for option, value in options.items():
        if value:
            words += [option, value]
    if not practice.shift:
        words.append("--no-shift")
    return shlex.join(words)


def _sheet(sheet: Sheet) -> str:
    sides = (sheet.width_mm, sheet.height_mm)
    return "x".join(write_number(side) for side in dict.fromkeys(sides))


def _punch(punch: Punch) -> str:
    return ",".join(write_number(diameter) for diameter in punch.diameters_mm)
