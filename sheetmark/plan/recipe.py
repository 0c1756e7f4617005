"""The command lines that make plans and documents again.

A recipe repeats every choice that differs from the default, so that it needs no practice file,
but for settings that have no option: then it names the file, and repeats each choice that differs
from the default or from the file. The printer's correction is no part of a plan, and so of no
recipe: a page names its printer itself. What only picks the files or their pages, `-o` and
`--card`, is left out as well.
"""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TypeAlias

from msgspec.structs import replace

from sheetmark.anatomy.arch_model import usual_model
from sheetmark.anatomy.teeth import write
from sheetmark.case.case import Case
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import CASE_OPTIONS, OPTIONS, SETTING_OPTIONS
from sheetmark.practice.settings import Practice, StockSheet, check_stock

# By name without dashes: a text, texts for an option that is repeated, or whether a flag is set.
# An empty text or False: left out.
Written: TypeAlias = Mapping[str, str | Sequence[str] | bool]

# Settings of which the pages or the plan show something, and that no option sets.
_ONLY_IN_FILE = (
    "name",
    "numbers",
    "margin_mm",
    "share_of_break",
    "rules",
    "marks",
    "frame",
    "tray",
)


def command_line(command: Sequence[str], options: Written) -> str:
    """`sheetmark` with a command and options, quoted for a shell. Every recipe is made here."""
    line = ["sheetmark", *command]
    for name, value in options.items():
        if value is True:
            line.append(f"--{name}")
        elif value:
            texts = [value] if isinstance(value, str) else value
            line += [part for text in texts for part in (f"--{name}", text)]
    return shlex.join(line)


def case_line(case: Case, model: str, practice: Practice, *, even: bool = False) -> str:
    """`sheetmark overlay …` for the case, without the names of the files to write.

    `even`: the sheet's middle stands where its pull is most even, whatever the practice's rule.
    """
    written: dict[str, str | bool] = {option.name: option.write(case) for option in CASE_OPTIONS}
    written["arch"] = model if model != usual_model(case.age).name else ""
    written |= _settings(replace(practice, notation=case.notation))
    written |= {"shift": "even"} if even else _shift(practice, "rule")
    treated = [write(tooth, case.notation) for tooth in case.treat]
    return command_line(["overlay", *treated], _in_order(written))


def strain_line(overlay_line: str, options: Written) -> str:
    """`sheetmark strain …` for the case of an overlay's recipe.

    It shows every placement whatever the practice's rule, so that no shift is chosen.
    """
    rest = shlex.split(overlay_line)[2:]
    if "--shift" in rest:
        at = rest.index("--shift")
        del rest[at : at + 2]
    return command_line(["strain", *rest], options)


def document_line(command: Sequence[str], options: Written, practice: Practice) -> str:
    """The line of a document that belongs to no single case: its own options, then the settings."""
    written = _in_order(_settings(practice) | _shift(practice, True))
    return command_line(command, {**options, **written})


def day_line(list_name: str, choices: Choices, *, cards: bool = False, date: str = "") -> str:
    """`sheetmark day …` with what was chosen, as typed, and no more."""
    written: dict[str, str | bool] = {
        option.name: f"{value:g}" if isinstance(value, float) else str(value)
        for option in SETTING_OPTIONS
        if (value := choices.get(option.name)) is not None
    }
    written["practice"] = Path(choices.get("practice") or "").name
    written["printer"] = ""
    if "shifted" in written:
        written["shift" if choices["shifted"] else "no-shift"] = True
    return command_line(["day", list_name], {"date": date, "cards": cards, **_in_order(written)})


def _in_order(written: Mapping[str, str | bool]) -> dict[str, str | bool]:
    """By the table of options; `shifted` is written as one of two flags."""
    names = (option.name for option in OPTIONS if option.name != "shifted")
    return {name: written[name] for name in names if name in written}


def _shift(practice: Practice, towards: str | bool) -> dict[str, str | bool]:
    """The rule of the sheet's middle, where it differs from the default or the practice file.

    `towards` is what `--shift` takes behind it for a middle towards the quadrant.
    """
    if not _differs(practice, "shift"):
        return {}
    return {"shift": towards} if practice.shift else {"no-shift": True}


def _settings(practice: Practice) -> dict[str, str | bool]:
    """The settings that differ, by their options, and the practice file if one is needed."""
    differs = {option.name: _differs(practice, option.field) for option in SETTING_OPTIONS}
    # A practice file would complete half a choice of sheet from its stock.
    if _base(practice).stock and (differs["sheet"] or differs["material"]):
        differs |= {"sheet": True, "material": True}
    written: dict[str, str | bool] = {
        option.name: option.write(practice) for option in SETTING_OPTIONS if differs[option.name]
    }
    return written | {"practice": _file(practice)}


def _differs(practice: Practice, field: str) -> bool:
    bases = (Practice(), _base(practice))
    return any(getattr(practice, field) != getattr(base, field) for base in bases)


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
