"""The centred, the rule's and the best placement of one case side by side."""

from __future__ import annotations

from functools import lru_cache
from math import floor
from typing import Literal

from msgspec import Struct
from msgspec.structs import fields

from sheetmark.base.frames import MouthPoint
from sheetmark.base.json_files import schema_name
from sheetmark.base.sources import cite
from sheetmark.base.version import __version__
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from sheetmark.plan.recipe import strain_line
from sheetmark.practice.materials import materials
from sheetmark.studies.membrane.energy import TRACE
from sheetmark.studies.membrane.frame import (
    MODULUS_MPA,
    Frame,
    Rubber,
    frame_for,
    frame_word,
    rubber_of,
)
from sheetmark.studies.membrane.laid import Density, lay, tidy
from sheetmark.studies.membrane.placement import Best, best_placement
from sheetmark.studies.membrane.scene import Scene, scene_of, teeth_of
from sheetmark.studies.membrane.strain import Strain, as_json, measure
from sheetmark.studies.membrane.strain_file import JudgedRow, StrainFile
from sheetmark.studies.membrane.stretched import Stretched, mirrored, settled

FORMAT: Literal["sheetmark-strain/1"] = "sheetmark-strain/1"

DEFAULT_DENSITY = Density()

Placed = Literal["centred", "rule", "best"]

# A strip may rest on a crown or slide off it. Of 96 sheets solved along five other paths, five had
# an equilibrium with less energy than the one that is kept: the unevenness differed by up to 0.020
# there, a rim's largest stretch by up to 1.31 times. The mesh adds 0.01 and some per cent.
TELLABLE = 0.03
TELLABLE_STRETCH = 1.4
LEFT_OUT = (
    "Left out: lips, cheeks, friction, the clamp, crowns wider than their necks, and that rubber "
    "stiffens when stretched far. Frame and depth of the teeth are assumptions. Differences in "
    f"unevenness under {TELLABLE:g} say nothing. Nor do stretches at a rim that differ by less "
    f"than {TELLABLE_STRETCH:g} times."
)
PURPOSE = "For comparing placements, not clinical forces."
SOURCES = (
    f"Neo-Hookean sheet in plane stress: {cite('treloar')}",
    f"Shear modulus: natural rubber 0.3 to 0.5 MPa usual, {MODULUS_MPA:g} taken: {cite('treloar')}",
    "Thickness: usual thicknesses of dam sheets (secondary source); medium where not stated "
    "(assumption)",
    "Frame, hooks, tilt and depth of the arch, height of crowns: assumptions",
)


class Report(Struct, frozen=True):
    """All three placements of a plan's holes."""

    plan: Plan
    """The plan, placed by the rule."""
    frame: Frame
    """What the sheet hangs on."""
    rubber: Rubber
    """What it is made of."""
    teeth: tuple[tuple[str, ...], ...]
    """The teeth of each opening, ISO 3950."""
    strains: dict[Placed, Strain]
    """The figures of each placement."""
    sheets: dict[Placed, Stretched]
    """The equilibrium of each placement."""
    search: Best
    """How the most even place was found."""

    @property
    def command(self) -> str:
        """The command line that makes this report again, without the files to write."""
        usual, thickness_mm = frame_for(self.plan.sheet), self.rubber.thickness_mm
        frame = {field.name: getattr(self.frame, field.name) for field in fields(Frame)}
        usual_mm = rubber_of(self.plan.practice).thickness_mm
        modulus_mpa = self.rubber.modulus_mpa
        options = {
            "frame": [
                f"{frame_word(name)} {value!r}"
                for name, value in frame.items()
                if value != getattr(usual, name)
            ],
            "thickness": repr(thickness_mm) if thickness_mm != usual_mm else "",
            "modulus": repr(modulus_mpa) if modulus_mpa != MODULUS_MPA else "",
        }
        return strain_line(self.plan.command, options)

    @property
    def stretch_at_break(self) -> float:
        """Length at break over first length of the sheet in use."""
        return materials()[self.plan.practice.material].stretch_at_break

    def margin(self, placed: Placed) -> float:
        """Stretch at break over the largest stretch: under 1 the model's sheet tears."""
        return self.stretch_at_break / self.strains[placed].largest_stretch

    def margin_shown(self, placed: Placed) -> str:
        """The margin as people read it, rounded down: what is under 1 looks so."""
        return f"{floor(10 * self.margin(placed)) / 10:.1f}"

    def as_json(self) -> StrainFile:
        """The report as plain data; teeth in ISO 3950."""
        plan = self.plan
        strains = self.strains.values()
        return {
            "$schema": schema_name(FORMAT),
            "format": FORMAT,
            "sheetmark": __version__,
            "command": self.command,
            "case": plan_json(plan)["case"],
            "arch": {"model": plan.arch_text, "jaw": plan.arch.jaw},
            "sheet": {
                "width_mm": plan.sheet.width_mm,
                "height_mm": plan.sheet.height_mm,
                "material": plan.practice.material,
                "thickness_mm": self.rubber.thickness_mm,
                "modulus_mpa": self.rubber.modulus_mpa,
                "stretch_at_break": self.stretch_at_break,
            },
            "frame": {field.name: getattr(self.frame, field.name) for field in fields(Frame)},
            "placements": {
                "centred": self._judged("centred"),
                "rule": self._judged("rule"),
                "best": self._judged("best"),
            },
            "solver": {
                "free_nodes": max(strain.free_nodes for strain in strains),
                "iterations": sum(strain.iterations for strain in strains),
                "residual": max(strain.residual for strain in strains),
                "search_solves": self.search.solves,
                "trace": TRACE,
            },
            "left_out": f"{LEFT_OUT} {PURPOSE}",
            "sources": list(SOURCES),
        }

    def _judged(self, placed: Placed) -> JudgedRow:
        margin = round(self.margin(placed), 6)
        return {**as_json(self.strains[placed]), "margin_to_break": margin}


def report_on(
    plan: Plan,
    frame: Frame | None = None,
    rubber: Rubber | None = None,
    density: Density | None = None,
) -> Report:
    """All three placements. `plan` stands where the rule puts it.

    Raises MeshError or SolveError, in words, where the sheet could not be computed.
    """
    frame = frame or frame_for(plan.sheet)
    rubber = rubber or rubber_of(plan.practice)
    scene, teeth = scene_of(plan, frame), teeth_of(plan)
    search = best_placement(plan, frame)
    places: dict[Placed, MouthPoint] = {
        "centred": MouthPoint(0.0, 0.0),
        "rule": plan.shift_mm,
        "best": search.shift_mm,
    }
    density = density or DEFAULT_DENSITY
    sheets = {placed: solved(scene, shift, density) for placed, shift in places.items()}
    strains = {placed: measure(sheet, teeth, rubber) for placed, sheet in sheets.items()}
    if strains["rule"].evenness <= strains["best"].evenness:
        # The search's coarse mesh could not tell them apart.
        strains["best"], sheets["best"] = strains["rule"], sheets["rule"]
    return Report(plan, frame, rubber, teeth, strains, sheets, search)


@lru_cache(maxsize=12)  # the same mouth and sheet on another paper, or asked for again
def solved(scene: Scene, shift_mm: MouthPoint, density: Density | None = None) -> Stretched:
    """The sheet with its middle there.

    Of two mirror images one is solved: a strip that may rest on a crown or slide off it has two
    equilibria, and the last digit could choose another one on the other side. For the same reason
    the shift is taken to a millionth of a mm.
    """
    if scene.is_second:
        return mirrored(solved(scene.mirrored, MouthPoint(-shift_mm.x, shift_mm.y), density))
    return settled(lay(scene, tidy(shift_mm), density))
