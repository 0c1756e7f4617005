"""What the tests of fitted arches measure on them, and the day they are dated."""

from __future__ import annotations

from functools import cache

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.jaw import Arch
from sheetmark.anatomy.teeth import tooth_of_slot
from sheetmark.fitting.fit import JawFit, Origin, own_model
from sheetmark.fitting.from_landmarks import fit_landmarks
from sheetmark.fitting.landmarks import Landmark
from tests.helpers.casts import cast

DAY = "2026-11-25"


ON_MEAN = Origin(load_model("adult-mean"), DAY, "iso")
MEASURED = f"measured, {DAY}, date given by the user"


def width(arch: Arch, slot: str) -> float:
    """Between the centres of a slot's two sides."""
    right, left = (arch.place(tooth_of_slot(arch.jaw, side, slot)) for side in ("right", "left"))
    return left.centre[0] - right.centre[0]


def codes(fit: JawFit) -> list[str]:
    """The codes of what a fit has to say."""
    return [finding.code for finding in fit.findings]


@cache
def seen_model(without: tuple[str, ...] = ()) -> ArchModel:
    """An upper jaw whose teeth were seen, to the second molars; 16 stands 1.5 mm outwards."""
    marks = cast(slots="1234567", moves={"16": (-1.5, 0.0)}, without=without)
    return own_model("own", ON_MEAN, [seen_fit(tuple(marks))])


@cache
def seen_fit(marks: tuple[Landmark, ...]) -> JawFit:
    """The mean adult's jaw with the teeth of a cast."""
    return fit_landmarks(marks, False, ON_MEAN)
