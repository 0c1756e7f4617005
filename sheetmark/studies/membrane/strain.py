"""What the stretched sheet tells: pull at the frame, stretch at the rims, the strips, slack.

Lips, cheeks, crowns and friction are left out, and the frame and the depth of the teeth are
assumptions: results are for comparing placements, not clinical forces.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import fsum

import numpy as np
from msgspec import Struct

from sheetmark.base.frames import Direction, MouthPoint
from sheetmark.studies.membrane.energy import (
    SLACK,
    TAUT,
    WRINKLED,
    Floats,
    Ints,
)
from sheetmark.studies.membrane.frame import Rubber
from sheetmark.studies.membrane.mesh import MeshError
from sheetmark.studies.membrane.strain_file import PlacementRow
from sheetmark.studies.membrane.stretched import Stretched


class Pull(Struct, frozen=True):
    """How hard the sheet pulls at one point of the frame."""

    x_mm: float
    """The point, frame coordinates."""
    y_mm: float
    """The point, frame coordinates."""
    newton: float
    """How hard the sheet pulls there."""
    towards: Direction
    """The direction of the pull, as the operator sees it."""


class Strip(Struct, frozen=True, kw_only=True):
    """The strip between neighbouring holes."""

    teeth: tuple[str, str]
    """The teeth of the two holes, ISO 3950."""
    before_mm: float
    """The distance between the facing rims at rest."""
    after_mm: float
    """The same when stretched."""
    stretch: float
    """The largest stretch in it."""
    thickness_share: float
    """The least thickness, as a share of that at rest."""
    wrinkled_share: float
    """The share of it that is wrinkled or slack."""


class Strain(Struct, frozen=True, kw_only=True):
    """How the sheet is stretched in one placement. Stretch is length over length at rest."""

    shift_mm: MouthPoint
    """The sheet's middle, mouth frame."""
    pull: tuple[Pull, ...]
    """The pull at each point of the frame."""
    rim_stretch: dict[str, float]
    """The largest stretch at the rim of each hole, by its teeth in ISO 3950."""
    strips: tuple[Strip, ...]
    """From the patient's right to the left."""
    largest_stretch: float
    """The largest stretch anywhere."""
    slack_mm2: float
    """Area at rest that is slack."""
    wrinkled_mm2: float
    """Area at rest that is wrinkled."""
    sheet_mm2: float
    """Area of the sheet at rest."""
    free_nodes: int
    """Nodes of the mesh that are not held."""
    iterations: int
    """Steps that the solver took."""
    residual: float
    """What was left unbalanced, as a share of the mean holding force."""

    @property
    def evenness(self) -> float:
        """SD of the pulls over their mean: 0 is perfectly even."""
        return evenness(np.array([pull.newton for pull in self.pull]))

    def side_pull(self, sign: int) -> float:
        """Sum of the pulls on one side, newtons: -1 the patient's right, 1 the left."""
        return fsum(pull.newton for pull in self.pull if pull.x_mm * sign > 0)


def evenness(pulls: Floats) -> float:
    """The standard deviation of the pulls over their mean; 0 is quite even."""
    return float(pulls.std() / pulls.mean())


def hook_pulls(stretched: Stretched) -> Floats:
    """The force at each hook, per modulus and thickness (mm)."""
    return np.asarray(np.linalg.norm(_hook_forces(stretched), axis=1))


def _hook_forces(stretched: Stretched) -> Floats:
    """What holds each hook in its place, (hooks, 3); the sheet pulls the other way."""
    gradient = stretched.found.gradient
    return np.array([gradient[rim].sum(axis=0) for rim in stretched.laid.hook_rims])


def _unit(direction: Floats) -> Direction:
    x, y = direction / np.linalg.norm(direction)
    return Direction(float(x), float(y))


def measure(stretched: Stretched, teeth: Sequence[Sequence[str]], rubber: Rubber) -> Strain:
    """The figures of one placement; `teeth` names those at each opening."""
    laid, sheet, found = stretched.laid, stretched.sheet, stretched.found
    answer = sheet.respond(found.positions)
    hooks = laid.scene.frame.hooks_mm()
    pulls = -rubber.newton_per_mm * _hook_forces(stretched)
    rims = {}
    for names, nodes in zip(teeth, laid.hole_rims, strict=True):
        touching = np.isin(sheet.corners, nodes).any(axis=1)
        for name in names:
            rims[name] = float(answer.stretch[touching, 0].max())
    slack, wrinkled = (float(sheet.area[answer.state == s].sum()) for s in (SLACK, WRINKLED))
    return Strain(
        shift_mm=laid.shift_mm,
        pull=tuple(
            Pull(x, y, float(np.linalg.norm(pull)), _unit(pull[:2]))
            for (x, y), pull in zip(hooks, pulls, strict=True)
        ),
        rim_stretch=rims,
        strips=tuple(_strips(stretched, teeth, answer.stretch, answer.state)),
        largest_stretch=float(answer.stretch[:, 0].max()),
        slack_mm2=slack,
        wrinkled_mm2=wrinkled,
        sheet_mm2=float(sheet.area.sum()),
        free_nodes=found.free_nodes,
        iterations=found.iterations,
        residual=found.residual,
    )


def _strips(
    stretched: Stretched, teeth: Sequence[Sequence[str]], principal: Floats, state: Ints
) -> list[Strip]:
    laid, sheet = stretched.laid, stretched.sheet
    middle = laid.mesh.rest[sheet.corners].mean(axis=1)
    # Across its wrinkles a sheet is as wide as simple tension leaves it.
    width = np.maximum(principal[:, 1], np.maximum(principal[:, 0], 1.0) ** -0.5)
    thickness = np.minimum(1 / (principal[:, 0] * width), 1.0)
    strips = []
    openings = list(zip(teeth, laid.scene.rims, laid.hole_rims, strict=True))
    for (names, opening, rims), (next_names, following, next_rims) in pairwise(openings):
        start = np.array(opening.line[-1]) - np.array(laid.shift_mm)
        end = np.array(following.line[0]) - np.array(laid.shift_mm)
        length = float(np.hypot(*(end - start)))
        along = (end - start) / length
        at, off = (middle - start) @ along, (middle - start) @ np.array([-along[1], along[0]])
        inside = (at > opening.radius_mm) & (at < length - following.radius_mm)
        inside &= np.abs(off) < (opening.radius_mm + following.radius_mm) / 2
        if not inside.any():
            raise MeshError(f"the mesh has no triangle in the strip {names[-1]}-{next_names[0]}")
        area = sheet.area[inside]
        first = _facing(stretched, rims, start, along, opening.radius_mm)
        second = _facing(stretched, next_rims, end, -along, following.radius_mm)
        strips.append(
            Strip(
                teeth=(names[-1], next_names[0]),
                before_mm=length - opening.radius_mm - following.radius_mm,
                after_mm=float(np.linalg.norm(first - second)),
                stretch=float(principal[inside, 0].max()),
                thickness_share=float(thickness[inside].min()),
                wrinkled_share=float(area[state[inside] < TAUT].sum() / area.sum()),
            )
        )
    return strips


def _facing(
    stretched: Stretched, rim: Ints, centre: Floats, towards: Floats, radius_mm: float
) -> Floats:
    """Where the point of a rim that faces a neighbour has gone."""
    rest = stretched.laid.mesh.rest[rim]
    target = centre + radius_mm * towards
    nearest, second = np.argsort(np.hypot(*(rest - target).T))[:2]
    edge = rest[second] - rest[nearest]
    share = float(np.clip((target - rest[nearest]) @ edge / (edge @ edge), 0.0, 1.0))
    at = stretched.found.positions[rim]
    return np.asarray(at[nearest] + share * (at[second] - at[nearest]))


def as_json(strain: Strain) -> PlacementRow:
    """One placement as plain data."""
    return {
        "shift_mm": [_tidy(strain.shift_mm[0]), _tidy(strain.shift_mm[1])],
        "pull": [
            {"x_mm": _tidy(p.x_mm), "y_mm": _tidy(p.y_mm), "newton": _tidy(p.newton)}
            for p in strain.pull
        ],
        "evenness": _tidy(strain.evenness),
        "rim_stretch": {tooth: _tidy(value) for tooth, value in strain.rim_stretch.items()},
        "strips": [
            {
                "teeth": list(strip.teeth),
                "before_mm": _tidy(strip.before_mm),
                "after_mm": _tidy(strip.after_mm),
                "stretch": _tidy(strip.stretch),
                "thickness_share": _tidy(strip.thickness_share),
                "wrinkled_share": _tidy(strip.wrinkled_share),
            }
            for strip in strain.strips
        ],
        "largest_stretch": _tidy(strain.largest_stretch),
        "slack_mm2": _tidy(strain.slack_mm2),
        "wrinkled_mm2": _tidy(strain.wrinkled_mm2),
        "sheet_mm2": _tidy(strain.sheet_mm2),
        "solver": {
            "free_nodes": strain.free_nodes,
            "iterations": strain.iterations,
            "residual": strain.residual,
        },
    }


def _tidy(number: float) -> float:
    return round(number, 6) + 0.0
