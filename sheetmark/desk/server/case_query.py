"""A case as the page's address has it: the options of the command line under the same names.

Teeth are ISO 3950 whatever the practice writes; what is left out is as the practice has it.
"""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, create_model

from sheetmark.anatomy.arch_model import ArchModel, usual_model
from sheetmark.anatomy.teeth import read_list
from sheetmark.case.case import Case, ToothState, check_age
from sheetmark.case.exceptions import read_states
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.models import page_model
from sheetmark.jobs.choices import plan_chosen, shift_chosen
from sheetmark.jobs.day_rows import row_of
from sheetmark.plan.choices import case_with, settings_with
from sheetmark.plan.option_records import Choices, Kind, Option
from sheetmark.plan.options import PAGE_OPTIONS
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice

# More than any case needs, so that no request can ask for endless work (assumptions).
Text = Annotated[str, Field(max_length=200)]
Texts = Annotated[list[Text], Field(max_length=64)]

_TYPES: dict[Kind, Any] = {"text": Text, "texts": Texts, "whole": int, "number": float}
_Query = TypeVar("_Query", bound=BaseModel)


def _field(option: Option) -> tuple[Any, Any]:
    kind, usual = _TYPES[option.kind], option.usual
    if option.kind == "texts":
        usual = list(usual)
    return (kind if usual is not None else kind | None, Field(default=usual, alias=option.name))


def _with_options(query: type[_Query]) -> type[_Query]:
    """The query with a field for each option that the page has."""
    fields: dict[str, Any] = {option.parameter: _field(option) for option in PAGE_OPTIONS}
    return create_model(
        query.__name__, __base__=query, __module__=query.__module__, __doc__=query.__doc__, **fields
    )


@_with_options
class CaseQuery(BaseModel):
    """A case, and the settings that are different today."""

    model_config = ConfigDict(extra="forbid")

    treat: Texts = []

    @cached_property
    def choices(self) -> Choices:
        """What was chosen, by the names of the options."""
        return {option.name: getattr(self, option.parameter) for option in PAGE_OPTIONS}

    def model(self) -> ArchModel:
        """The arch model of that name, or the one for the age. No name is followed as a path."""
        name, age = self.choices["arch"], self.choices["age"]
        check_age(age)
        return usual_model(age) if name is None else page_model(name)

    def practice(self, desk: Desk) -> Practice:
        """The settings in force with what was chosen over them."""
        return settings_with(desk.practice(), self.choices)

    def states(self) -> tuple[ToothState, ...]:
        """What is different in this mouth, whether or not a tooth is to be treated yet."""
        return read_states(self.choices["with"], "iso")

    def case(self, practice: Practice) -> Case:
        """The case, its teeth written as the practice writes them. Raises InputError."""
        treat = tuple(dict.fromkeys(read_list(self.treat, "iso")))
        return case_with(treat, self.choices, "iso", practice.notation)

    def list_row(self, desk: Desk) -> tuple[dict[str, str], tuple[str, ...]]:
        """The case as a row of a day's list, and what that cannot hold. Raises InputError."""
        practice = self.practice(desk)
        return row_of(self.case(practice), self.choices, practice)

    def plan(self, desk: Desk) -> Plan:
        """The plan. Raises InputError for a case that cannot be done."""
        practice, model = self.practice(desk), self.model()
        case = self.case(practice)
        return plan_chosen(case, model, practice, shift_chosen(self.choices))
