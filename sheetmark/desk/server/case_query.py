"""A case as the page's address says it: the choices of the command line under the same names.

Teeth are ISO 3950 whatever the practice writes; what is left out is as the practice has it.
"""

from __future__ import annotations

from threading import Lock
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from sheetmark.anatomy.arch_model import ArchModel, named_model, usual_model
from sheetmark.case.case import DEFAULT_ACCESS, DEFAULT_PROCEDURE, ToothState, check_age
from sheetmark.case.exceptions import read_states
from sheetmark.desk.server.desk import Desk
from sheetmark.jobs.choices import SHIFTS, Options, Selection, one_of, plan_chosen, with_options
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice

# More than any case needs, so that no request can ask for endless work (assumptions).
Word = Annotated[str, Field(max_length=200)]
Words = Annotated[list[Word], Field(max_length=64)]

_computing = Lock()


class Asked(BaseModel):
    """One case and what of the settings is otherwise today."""

    model_config = ConfigDict(extra="forbid", populate_by_name=True)

    treat: Words = []
    procedure: Word = Field(default=DEFAULT_PROCEDURE, alias="for")
    expose: Words = []
    more: int = 0
    with_: Words = Field(default=[], alias="with")
    anchor: Words = []
    slit: Words = []
    access: Word = DEFAULT_ACCESS
    age: int | None = None
    arch: Word | None = None
    sheet: Word | None = None
    material: Word | None = None
    shift: Word | None = None
    reference: Word = ""

    def model(self) -> ArchModel:
        """The arch model named, or the one for the age. No name is ever followed as a path."""
        check_age(self.age)
        return usual_model(self.age) if self.arch is None else named_model(self.arch)

    def practice(self, desk: Desk) -> Practice:
        """The settings in force with what was chosen over them."""
        return with_options(desk.practice(), Options(sheet=self.sheet, material=self.material))

    def states(self) -> tuple[ToothState, ...]:
        """What is different in this mouth, whether or not a tooth is to be treated yet."""
        return read_states(self.with_, "iso")

    def plan(self, desk: Desk) -> Plan:
        """The plan. Raises InputError for a case that cannot be done."""
        practice, model = self.practice(desk), self.model()
        said = Selection(
            teeth=self.treat,
            procedure=self.procedure,
            expose=self.expose,
            more=self.more,
            missing=[],
            present=[],
            with_=self.with_,
            anchor=self.anchor,
            slit=self.slit,
            access=self.access,
            age=self.age,
            arch=self.arch,
            reference=self.reference,
        )
        case = said.case("iso", practice.notation)
        shift = None if self.shift is None else one_of("shift", self.shift, SHIFTS)
        if shift != "even":
            return plan_chosen(case, model, practice, shift)
        with _computing:  # takes seconds and a processor: one at a time, and then from memory
            return plan_chosen(case, model, practice, shift)
