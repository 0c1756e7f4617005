"""From what a person chose, as typed, to a case and to settings."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from sheetmark.anatomy.teeth import Notation, Tooth
from sheetmark.case.case import Case
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import CASE_OPTIONS, SETTING_OPTIONS
from sheetmark.practice.settings import Practice


def settings_with(practice: Practice, choices: Choices) -> Practice:
    """The settings with the choices in their place. Raises InputError for a bad choice."""
    fields: dict[str, Any] = {
        option.field: option.read(choices[option.name])
        for option in SETTING_OPTIONS
        if choices.get(option.name) is not None
    }
    # What one of these leaves open comes from the clinic's stock; a printer must be known.
    practice = practice.with_sheet(fields.pop("sheet", None), fields.pop("material", None))
    printer = fields.pop("printer", None)
    practice = replace(practice, **fields)
    return practice if printer is None else practice.with_printer(printer)


def case_with(
    treat: tuple[Tooth, ...], choices: Choices, notation: Notation, shown: Notation | None = None
) -> Case:
    """The case of the choices, whose teeth are written in `notation`; pages write them as `shown`.

    Raises InputError for a bad choice, and for choices that contradict each other.
    """
    return Case(treat=treat, notation=shown or notation, **case_fields(choices, notation))


def case_fields(choices: Choices, notation: Notation) -> dict[str, Any]:
    """The fields of the case that were chosen. Raises InputError for a bad choice."""
    return {
        option.field: option.read(choices[option.name], notation)
        for option in CASE_OPTIONS
        if choices.get(option.name) is not None
    }
