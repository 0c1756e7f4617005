"""What the tests of fitted arches measure on them, and the day they are dated."""

from __future__ import annotations

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.jaw import Arch
from sheetmark.anatomy.teeth import tooth_of_slot
from sheetmark.fitting.fit import JawFit, Origin, own_model
from sheetmark.fitting.from_landmarks import fit_landmarks
from tests.helpers.casts import cast

DAY = "2026-11-25"


MEASURED = f"measured, {DAY}, date given by the user"


def width(arch: Arch, slot: str) -> float:
    """Between the centres of a slot's two sides."""
    right, left = (arch.place(tooth_of_slot(arch.jaw, side, slot)) for side in ("right", "left"))
    return left.centre[0] - right.centre[0]


def codes(fit: JawFit) -> list[str]:
    """The codes of what a fit has to say."""
    return [finding.code for finding in fit.findings]


def seen_model(without: tuple[str, ...] = ()) -> ArchModel:
    """An upper jaw whose teeth were seen, to the second molars; 16 stands 1.5 mm outwards."""
    origin = Origin(load_model("adult-mean"), DAY, "iso")
    marks = cast(slots="1234567", moves={"16": (-1.5, 0.0)}, without=without)
    return own_model("own", origin, [fit_landmarks(marks, False, origin)])
