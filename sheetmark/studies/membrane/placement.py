"""The place of the sheet's middle that makes the pull at the frame most even.

A search in two dimensions (one, where the case is its own mirror image) on a coarse mesh: where the
rule puts the middle and beside it, then the lowest point of a quadratic fitted to the pulls near
the best place so far, again and again. Each solve starts from its neighbours' answers.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from msgspec import Struct, field

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.base.frames import MouthPoint, Range
from sheetmark.case.case import Case
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice
from sheetmark.studies.membrane.energy import Floats
from sheetmark.studies.membrane.frame import Frame, frame_for
from sheetmark.studies.membrane.laid import SEARCH_DENSITY, Laid, lay, moved, tidy
from sheetmark.studies.membrane.mesh import MeshError
from sheetmark.studies.membrane.scene import Scene, scene_of
from sheetmark.studies.membrane.solve import SolveError
from sheetmark.studies.membrane.strain import evenness, hook_pulls
from sheetmark.studies.membrane.stretched import Stretched, first_guesses, stretch

MOST_SOLVES = 25
_NEIGHBOURS = 3
FARTHER_MM = 6.0
# Marking by hand is no finer than this.
STEP_MM = 0.1
_NEAR_MM = 0.4
_BESIDE_MM = 2.0
Area = tuple[Range, Range]  # of x, then of y, mouth frame


class Best(Struct, frozen=True):
    """The most even place found, its evenness on the search's mesh, and the solves it took."""

    shift_mm: MouthPoint
    evenness: float
    solves: int


def even_plan(
    case: Case,
    model: ArchModel | None = None,
    practice: Practice | None = None,
    *,
    arch_name: str = "",
    frame: Frame | None = None,
) -> Plan:
    """The plan with the sheet's middle where its pull is most even, within the same limits.

    Raises MeshError or SolveError, in words, where the sheet could not be computed.
    """
    plan = make_plan(case, model, practice, arch_name=arch_name)
    best = best_placement(plan, frame)
    return make_plan(case, model, practice, arch_name=arch_name, even_mm=best.shift_mm)


def best_placement(plan: Plan, frame: Frame | None = None) -> Best:
    """The most even place for the plan's holes. A mirrored case is looked up, not solved again."""
    scene = scene_of(plan, frame or frame_for(plan.sheet))
    (low, high), y_range = plan.range_mm
    # What is most even for a row that is its own mirror image lies on the midline.
    if scene.openings == scene.mirrored.openings and low <= 0 <= high:
        low = high = 0.0
    x, y = _within(plan.shift_mm.x, Range(low, high)), _within(plan.shift_mm.y, y_range)
    if scene.is_second:
        best = _search(scene.mirrored, (Range(-high, -low), y_range), MouthPoint(-x, y))
        return Best(MouthPoint(-best.shift_mm.x + 0.0, best.shift_mm.y), best.evenness, best.solves)
    return _search(scene, (Range(low, high), y_range), MouthPoint(x, y))


class _Visited(Struct):
    """The places solved so far."""

    scene: Scene
    base: Laid
    at: list[MouthPoint] = field(default_factory=list)
    pulls: list[Floats] = field(default_factory=list)
    solved: list[Stretched] = field(default_factory=list)
    solves: int = 0

    def visit(self, shift: MouthPoint) -> None:
        """Solve there; a place that cannot be solved is passed over."""
        self.solves += 1
        shift = tidy(shift)
        laid = moved(self.base, shift)
        try:
            if laid is None:
                found = stretch(lay(self.scene, shift, SEARCH_DENSITY))
            else:
                found = stretch(laid, self._expected(shift))
        except (MeshError, SolveError):
            return
        self.add(found)

    def add(self, found: Stretched) -> None:
        """A solved place."""
        self.at.append(found.laid.shift_mm)
        self.pulls.append(hook_pulls(found))
        self.solved.append(found)

    def _expected(self, shift: MouthPoint) -> Floats:
        """The positions at the nearest place on the same mesh, moved on as its neighbours tell."""
        same = [
            (float(np.hypot(at[0] - shift[0], at[1] - shift[1])), number)
            for number, at in enumerate(self.at)
            if self.solved[number].laid.mesh.corners is self.base.mesh.corners
        ]
        nearest, *others = [number for _, number in sorted(same)[:_NEIGHBOURS]]
        positions = self.solved[nearest].found.positions
        if not others:
            return positions
        beside = np.array([np.subtract(self.at[other], self.at[nearest]) for other in others])
        weights, *_ = np.linalg.lstsq(beside.T, np.subtract(shift, self.at[nearest]), rcond=None)
        changes = [self.solved[other].found.positions - positions for other in others]
        return np.asarray(positions + np.tensordot(weights, changes, axes=1))

    @property
    def best(self) -> int:
        return int(np.argmin([evenness(pulls) for pulls in self.pulls]))


@lru_cache(maxsize=256)
def _search(scene: Scene, ranges: Area, known: MouthPoint) -> Best:
    """`known` is a place to start from, the rule's."""
    boxes = [_box(at, limits) for at, limits in zip(known, ranges, strict=True)]
    (first, *_) = first_guesses(scene, tidy(known))
    seen = _Visited(scene, first.laid)
    seen.solves += 1
    seen.add(stretch(first.laid, first.found.positions))
    for axis, (low, high) in enumerate(boxes):
        if high > low:
            by = [0.0, 0.0]
            by[axis] = _BESIDE_MM if known[axis] < (low + high) / 2 else -_BESIDE_MM
            seen.visit(MouthPoint(known.x + by[0], known.y + by[1]))
    reach = np.array([(high - low) / 2 for low, high in boxes])
    while seen.solves < MOST_SOLVES and reach.max() > STEP_MM:
        lowest = _lowest(seen, ranges, reach)
        if min(np.hypot(lowest[0] - x, lowest[1] - y) for x, y in seen.at) < _NEAR_MM:
            reach /= 2
            continue
        before, count = seen.best, len(seen.at)
        seen.visit(lowest)
        if len(seen.at) == count or seen.best == before:
            reach /= 2
    best = seen.best
    x, y = seen.at[best]
    return Best(
        MouthPoint(_rounded(x, ranges[0]), _rounded(y, ranges[1])),
        evenness(seen.pulls[best]),
        seen.solves,
    )


def _box(known: float, limits: Range) -> Range:
    """From the middle not moved to the known place, and somewhat farther both ways."""
    return Range(
        _within(min(0.0, known) - FARTHER_MM, limits),
        _within(max(0.0, known) + FARTHER_MM, limits),
    )


def _within(at: float, limits: Range) -> float:
    return min(max(at, limits[0]), limits[1])


def _rounded(at: float, limits: Range) -> float:
    return round(_within(round(at / STEP_MM) * STEP_MM, limits), 6) + 0.0


def _lowest(seen: _Visited, ranges: Area, reach: Floats) -> MouthPoint:
    """Where the fitted pulls are most even, within reach of the best place so far."""
    at, pulls = np.array(seen.at), np.array(seen.pulls)
    centre = at[seen.best]
    scale = np.maximum(reach, STEP_MM)
    offset = (at - centre) / scale
    weight = 1 / (0.05 + np.sum(offset**2, axis=1))
    terms = _quadratic(offset)
    # A little ridge: with few places the curved terms stay at 0.
    left = np.concatenate([terms * weight[:, None], 1e-3 * np.eye(terms.shape[1])])
    right = np.concatenate([pulls * weight[:, None], np.zeros((terms.shape[1], pulls.shape[1]))])
    fitted, *_ = np.linalg.lstsq(left, right, rcond=None)
    axes = [
        np.unique(np.clip(centre[i] + np.linspace(-1, 1, 41) * reach[i], *ranges[i]))
        for i in (0, 1)
    ]
    grid = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    expected = _quadratic((grid - centre) / scale) @ fitted
    x, y = grid[int(np.argmin(expected.std(axis=1) / np.maximum(expected.mean(axis=1), 1e-9)))]
    return MouthPoint(float(x), float(y))


def _quadratic(offset: Floats) -> Floats:
    x, y = offset.T
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)
