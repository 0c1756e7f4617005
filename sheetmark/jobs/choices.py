"""From what a person chose, on the command line or on the page, to settings, case and plan.

Options win over the practice file, and the practice file over the defaults.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import fields, replace

from sheetmark.anatomy.arch_model import ArchModel, load_model, usual_model
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, read_list
from sheetmark.base.choice import pick
from sheetmark.base.findings import InputError
from sheetmark.base.user_folder import practice_path
from sheetmark.case.case import Case, Run, ToothState
from sheetmark.case.file import read_case
from sheetmark.plan.choices import case_fields, case_with, settings_with
from sheetmark.plan.make import make_plan
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import CASE_OPTIONS, SHIFTS, Shift
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice


def load_practice(name: str | None) -> Practice:
    """The settings of the practice file of that name, or of the user's own, or the defaults.

    Raises InputError for a file with a problem: it is never passed over.
    """
    path = practice_path(name)
    if path is None:
        return Practice()
    from sheetmark.practice.file.check import read_practice

    return read_practice(path).practice


def files_read(choices: Choices) -> tuple[Path, ...]:
    """The files that these choices make a command read: practice, case and arch model."""
    practice, case, arch = (
        practice_path(choices.get("practice")),
        *map(choices.get, ("case", "arch")),
    )
    names = [case, *([arch] if isinstance(arch, str) else arch or ())]
    return tuple(filter(None, [practice, *(Path(name) for name in names if name)]))


def practice_chosen(choices: Choices) -> Practice:
    """The settings of the practice file with the choices in their place. Raises InputError."""
    return settings_with(load_practice(choices.get("practice")), choices)


def case_chosen(teeth: Sequence[str], choices: Choices, practice: Practice) -> Case:
    """The case: of a case file, or of the teeth to treat and the choices beside them.

    Raises InputError for a choice that cannot be used, or that is made beside a case file.
    """
    treat = tuple(dict.fromkeys(read_list(teeth, practice.notation)))
    name = choices.get("case")
    if name is None:
        return case_with(treat, choices, practice.notation)
    chosen, usual = (
        case_fields(choices, practice.notation),
        {f.name: f.default for f in fields(Case)},
    )
    beside = [
        f"--{o.name}" for o in CASE_OPTIONS if chosen.get(o.field, usual[o.field]) != usual[o.field]
    ]
    case = read_case(Path(name))
    if treat or beside:
        raise InputError(
            f"case {name!r}: {', '.join(['teeth'] * bool(treat) + beside)} cannot be combined "
            f"with --case; write it in the file, or leave out --case"
        )
    return case


def cases_chosen(teeth: Sequence[str], choices: Choices, practice: Practice) -> tuple[Case, ...]:
    """One case, or one for each jaw, the upper first, where the teeth to treat stand in both.

    Each has what was chosen of its own jaw. Raises InputError as `case_chosen` does.
    """
    treat = tuple(dict.fromkeys(read_list(teeth, practice.notation)))
    if choices.get("case") is not None or len({tooth.jaw for tooth in treat}) < 2:
        return (case_chosen(teeth, choices, practice),)
    chosen = case_fields(choices, practice.notation)
    return tuple(
        Case(
            treat=tuple(tooth for tooth in treat if tooth.jaw == jaw),
            notation=practice.notation,
            **{name: _of_jaw(value, jaw) for name, value in chosen.items()},
        )
        for jaw in JAWS
    )


def _of_jaw(value: Any, jaw: Jaw) -> Any:
    """Of a list of teeth, runs or tooth states those of a jaw; anything else as it is."""
    if not isinstance(value, tuple):
        return value
    return tuple(item for item in value if _jaw(item) == jaw)


def _jaw(item: Tooth | Run | ToothState) -> Jaw:
    match item:
        case Run():
            return item.start.jaw
        case ToothState():
            return item.tooth.jaw
    return item.jaw


def model_chosen(choices: Choices, case: Case) -> ArchModel:
    """The arch model of the name or file, or the usual one for the case's age."""
    name = choices.get("arch")
    return usual_model(case.age) if name is None else load_model(name)


def arch_name(choices: Choices) -> str:
    """What the recipe calls the model: its name, or that of its file; empty for the usual one."""
    return Path(choices.get("arch") or "").name


def shift_chosen(choices: Choices) -> Shift | None:
    """Where the sheet's middle goes; None where nothing was chosen. Raises InputError."""
    name, centred = choices.get("shift"), choices.get("no-shift")
    shift = None if name is None else pick("shift", name, SHIFTS)
    if centred and shift not in (None, "none"):
        raise InputError(f"shift {shift!r}: contradicts --no-shift; leave out one of them")
    return "none" if centred else shift


def is_slow(choices: Choices) -> bool:
    """Whether the plan may take longer than a second."""
    return choices.get("shift") == "even" or bool(choices.get("measure"))


def plan_chosen(
    case: Case, model: ArchModel, practice: Practice, shift: Shift | None, arch_name: str = ""
) -> Plan:
    """The plan with the sheet's middle where it was chosen; None: as the practice has it.

    Raises InputError for a case that cannot be done, and NoAnswerError where the most even place
    could not be computed.
    """
    if shift == "even":
        # Loaded here: numpy and SciPy are no part of a plain overlay.
        from sheetmark.studies.membrane.placement import even_plan

        return even_plan(case, model, practice, arch_name=arch_name)
    if shift is not None:
        practice = replace(practice, shift=shift == "rule")
    return make_plan(case, model, practice, arch_name=arch_name)
