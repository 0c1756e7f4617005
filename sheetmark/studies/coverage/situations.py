"""The usual rows of isolated teeth that a model has to serve."""

from __future__ import annotations

from msgspec import Struct

from sheetmark.anatomy.arch_model import DEFAULT_MODEL
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, tooth_at
from sheetmark.case.case import Case, Procedure
from sheetmark.plan.isolation import isolate
from sheetmark.studies.coverage.patients import (
    jaw_teeth,
)


class Situation(Struct, frozen=True):
    """One usual row of isolated teeth, from the patient's right to the left."""

    name: str
    jaw: Jaw
    teeth: tuple[Tooth, ...]

    @property
    def row(self) -> str:
        """The teeth of the row as one name, such as `16-13`."""
        return f"{self.teeth[0].iso}-{self.teeth[-1].iso}"


def usual_situations() -> tuple[Situation, ...]:
    """Restorations of each posterior tooth and of a front tooth, and the full arch, by the rules
    of isolation. Rows of the patient's right; those of the left are the same mirrored."""
    treated: tuple[tuple[str, int, Procedure], ...] = (
        ("molar", 7, "restoration"),
        ("molar", 6, "restoration"),
        ("premolar", 5, "restoration"),
        ("premolar", 4, "restoration"),
        ("front", 1, "restoration"),
        ("full arch", 1, "full-arch"),
    )
    situations = []
    for jaw in JAWS:
        for name, position, procedure in treated:
            case = Case(treat=(tooth_at(jaw, -position),), procedure=procedure)
            row = isolate(case, jaw_teeth(jaw), DEFAULT_MODEL).row
            situations.append(Situation(name, jaw, row))
    return tuple(situations)
