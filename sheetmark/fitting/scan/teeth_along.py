"""Which tooth lies where along an unrolled arch: dynamic programming over cuts.

The sixteen places of a jaw are laid along the band, each with a tooth or none, with or without
space between. A layout costs by the widths it gives the teeth, by what the cuts go through, by how
broad the crowns are, and by what lies in its gaps. The cheapest layout is proposed; the sum over
all layouts says how sure each tooth of it is.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.lib.stride_tricks import sliding_window_view

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model
from sheetmark.anatomy.teeth import Jaw
from sheetmark.fitting.scan.band import STEP_MM, Band
from sheetmark.fitting.scan.mesh import Floats, Ints

# Widths come from the mean adult's arch model, which has no SD for third molars (this assumption).
THIRD_MOLAR_SD_MM = 0.8
# The crown's cross-section in its uppermost 4 mm, mm², and an SD (assumption: incisors are wedges,
# canines cones, premolars and molars blocks).
SECTIONS_MM2 = (10.0, 10.0, 14.0, 23.0, 24.0, 27.0, 26.0, 24.0)
SECTION_SDS = (3.0, 3.0, 4.0, 6.0, 6.0, 7.0, 7.0, 8.0)

# All of these are costs in natural units (minus log likelihood), assumptions tried on drawn scans.
MEASURED_SD_MM = 0.55  # a width along a curve against the crown's own, rotation and all
MISSING = (5.0, 4.5, 5.0, 3.5, 3.5, 3.5, 2.0, 0.2)  # by position
THIRD_MOLAR = 1.0
CLOSED = 0.7  # a missing tooth whose space closed
SPACE, SPACE_PER_MM = 2.0, 0.8
CROWN_IN_GAP_PER_MM, GAP_IN_CROWN_PER_MM = 1.5, 2.0
NEAR_MM = 1.0  # cuts this near are the same tooth
_near = np.arange(-round(NEAR_MM / STEP_MM), round(NEAR_MM / STEP_MM) + 1)
_NEAR_STARTS, _NEAR_ENDS = (steps.ravel() for steps in np.meshgrid(_near, _near))
SLANTS = tuple(np.tan(np.radians(np.arange(-35.0, 36.0, 7.0))))
SLOTS = (*((p, -1) for p in range(8, 0, -1)), *((p, 1) for p in range(1, 9)))

# The two middle teeth are this place and the next.
MIDDLE = 7
SHORTEST, LONGEST = round(3.0 / STEP_MM), round(14.5 / STEP_MM)
_WIDTHS = np.arange(SHORTEST, LONGEST + 1)
NEVER = -1e6


@cache
def crown_widths_mm(jaw: Jaw) -> tuple[tuple[float, float], ...]:
    """Mean and SD of the mesiodistal crown widths, positions 1 to 8, mm; sources in the model."""
    model = load_model(DEFAULT_MODEL)
    rows = [model.width(jaw, str(position))[0] for position in range(1, 9)]
    return tuple((row.mm, row.sd_mm or THIRD_MOLAR_SD_MM) for row in rows)


class Piece(Struct, frozen=True):
    """One proposed tooth. `position` 1-8 from the midline, `side` -1 or 1 by the sign of x in the
    view. `start`, `end`: its cuts in steps along the band; `slants`: mm along per mm outwards.
    `sure`: 0..1."""

    position: int
    side: int
    start: int
    end: int
    slants: tuple[float, float]
    sure: float


class Layout(Struct, frozen=True):
    """Proposed teeth from small x to large, and the layout's log evidence."""

    pieces: tuple[Piece, ...]
    evidence: float


class Evidence(Struct, frozen=True):
    """Per step along the band: costs of a cut between touching teeth (`contact`), at a free side
    (`free_left`, `free_right`: the crown lies left, right), `slant` of the best cut (an index into
    SLANTS), `crown` 0..1 whether a crown is there, and `section` mm² of its top."""

    contact: Floats
    free_left: Floats
    free_right: Floats
    slant: Ints
    crown: Floats
    section: Floats


def evidence_of(band: Band) -> Evidence:
    """What a band says of cuts and crowns."""
    from scipy.ndimage import gaussian_filter1d, maximum_filter1d

    top = band.upper_part_mm
    steps = np.arange(len(top), dtype=np.float64)
    sections = []
    for slant in SLANTS:
        moved = np.empty_like(top)
        for k, across in enumerate(band.across_mm):
            moved[:, k] = np.interp(steps + slant * across / STEP_MM, steps, top[:, k])
        sections.append(moved.sum(axis=1) * STEP_MM + 0.4 * abs(float(slant)))
    straight = top.sum(axis=1) * STEP_MM
    slanted = np.array(sections)
    best = slanted.argmin(axis=0)
    least = gaussian_filter1d(slanted.min(axis=0), 0.2 / STEP_MM)
    half = round(3.5 / STEP_MM) // 2
    left = maximum_filter1d(straight, 2 * half + 1, origin=half)
    right = maximum_filter1d(straight, 2 * half + 1, origin=-half)
    floor = 3.0
    dip = 1.0 - (least + 0.3) / np.maximum(np.minimum(left, right), floor)
    crown = np.clip(straight / 6.0, 0.0, 1.0)
    return Evidence(
        contact=_cut_cost(dip),
        free_left=_cut_cost(1.0 - (least + 0.3) / np.maximum(left, floor)),
        free_right=_cut_cost(1.0 - (least + 0.3) / np.maximum(right, floor)),
        slant=best.astype(np.int64),
        crown=crown,
        section=straight,
    )


def _cut_cost(dip: Floats) -> Floats:
    """dip: 0 (a cut through the thick of a crown) to 1 (through nothing)."""
    return np.asarray(-5.0 * np.clip((dip - 0.15) / 0.35, -0.6, 1.0))


def huber(z: Floats, bend: float = 2.0) -> Floats:
    """Cost of a deviation in SDs: half its square, straight beyond `bend`."""
    size = np.abs(z)
    return np.asarray(np.where(size < bend, 0.5 * z * z, bend * (size - 0.5 * bend)))


class TeethAnywhere:
    """Scores (minus costs) of a tooth of each position at each place, but for its width.

    Tables are (widths, steps): teeth from SHORTEST steps on that start at each step.
    """

    def __init__(self, evidence: Evidence) -> None:
        self.evidence = evidence
        count = len(evidence.crown)
        self.passed = np.cumsum(evidence.crown) * STEP_MM * CROWN_IN_GAP_PER_MM
        steps = np.arange(count)
        ends = steps + _WIDTHS[:, None]
        inside = ends < count
        ends = np.minimum(ends, count)
        empty = np.r_[0.0, np.cumsum(1.0 - evidence.crown)] * STEP_MM * GAP_IN_CROWN_PER_MM
        cost = empty[ends] - empty[steps] + 0.8 * self._inner_cuts()
        sections = np.r_[0.0, np.cumsum(evidence.section)]
        margin = np.rint(0.2 * _WIDTHS).astype(np.int64)[:, None]
        inner = _WIDTHS[:, None] - 2 * margin
        first = np.minimum(steps + margin, count)
        section = (sections[np.minimum(first + inner, count)] - sections[first]) / inner
        self.scores = [
            np.where(inside, -cost - 0.7 * huber((section - usual) / sd), NEVER)
            for usual, sd in zip(SECTIONS_MM2, SECTION_SDS, strict=True)
        ]

    def _inner_cuts(self) -> Floats:
        """The best cut within the middle of a tooth, which should have none."""
        from scipy.ndimage import maximum_filter1d

        reward = np.maximum(-self.evidence.contact, 0.0)
        rows = np.zeros((len(_WIDTHS), len(reward)))
        for row, width in zip(rows, map(int, _WIDTHS), strict=True):
            best = maximum_filter1d(reward, max(1, round(0.5 * width)))
            row[: len(reward) - width] = best[width // 2 : len(reward) - width + width // 2]
        return rows

    def sized(self, place: int, jaw: Jaw, size: float) -> Floats:
        """The scores of position place + 1 with a jaw's usual width at a size."""
        usual_mm, usual_sd_mm = crown_widths_mm(jaw)[place]
        sd = float(np.hypot(usual_sd_mm, MEASURED_SD_MM))
        cost = huber(np.asarray((_WIDTHS * STEP_MM - usual_mm * size) / sd, dtype=np.float64))
        return self.scores[place] - (cost + (THIRD_MOLAR if place == 7 else 0.0))[:, None]


class Forward(NamedTuple):
    """Scores of what lies before each place laid so far: any start of a tooth; then `touching` and
    `gone` after the last of them."""

    starts: list[Floats]
    touching: Floats
    gone: Floats


class Backward(NamedTuple):
    """Scores of what lies after a tooth that ends at each step, for each place laid so far; then
    `touching` and `gone` before the first of them."""

    ends: list[Floats]
    touching: Floats
    gone: Floats


def _at_end(values: Floats) -> Floats:
    """(widths, steps): the value at the end of a tooth that starts at each step."""
    longer = np.r_[values, np.full(LONGEST, NEVER)]
    return sliding_window_view(longer, len(values))[SHORTEST:]


def _at_start(values: Floats) -> Floats:
    """(widths, steps): the value at the start of a tooth that ends at each step."""
    longer = np.r_[np.full(LONGEST, NEVER), values]
    return sliding_window_view(longer, len(values))[LONGEST - SHORTEST :: -1]


def _by_end(scores: Floats) -> Floats:
    """A table by starts as a table by ends."""
    ends = np.full_like(scores, NEVER)
    for row, own, width in zip(ends, scores, map(int, _WIDTHS), strict=True):
        row[width:] = own[:-width]
    return ends


def _all_widths(scores: Floats, plus: np.ufunc) -> Floats:
    """A (widths, steps) table's scores of all widths together."""
    best: Floats = scores.max(axis=0)
    if plus is np.maximum:
        return best
    return np.asarray(best + np.log(np.exp(scores - best).sum(axis=0)))


class Row:
    """Scores (minus costs) of one jaw's layouts at one size of teeth.

    Arrays over steps: `touching` ends of a tooth with all before it laid; `gone` any step after a
    place without a tooth, or before the first. What does not depend on the midline, the places
    before the two middle teeth and behind them, is reckoned once.
    """

    def __init__(self, teeth: TeethAnywhere, jaw: Jaw, size: float) -> None:
        self.evidence, self.passed = teeth.evidence, teeth.passed
        self.steps = np.arange(len(self.passed))
        by_position = [teeth.sized(place, jaw, size) for place in range(8)]
        self.by_start = [by_position[p - 1] for p, _ in SLOTS]
        by_end = [_by_end(scores) for scores in by_position]
        self.by_end = [by_end[p - 1] for p, _ in SLOTS]
        self.slope = self.passed + SPACE_PER_MM * STEP_MM * self.steps
        self.rest = self.passed[-1] - self.passed
        self._shared: dict[np.ufunc, tuple[Forward, Backward]] = {}

    def _sides(self, plus: np.ufunc) -> tuple[Forward, Backward]:
        """Up to the first of the middle teeth, and from behind the second."""
        if plus not in self._shared:
            first = Forward([], np.full(len(self.steps), NEVER), -self.passed)
            last = Backward([], -self.evidence.free_left - self.rest, -self.rest)
            for k in range(MIDDLE):
                first = self._laid(first, k, plus)
            for k in range(len(SLOTS) - 1, MIDDLE + 1, -1):
                last = self._before(last, k, plus)
            self._shared[plus] = first, last
        return self._shared[plus]

    def _laid(self, before: Forward, k: int, plus: np.ufunc, off: Floats | None = None) -> Forward:
        """With place k laid too; `off`: what a step off the midline costs."""
        touching, over = before.touching, before.gone
        spaced = plus.accumulate(touching - self.evidence.free_left + self.slope)
        free = plus(spaced - self.slope - SPACE, over) - self.evidence.free_right
        start = plus(touching - self.evidence.contact, free)
        if off is not None and k == MIDDLE + 1:
            start = start - off
        ends = _all_widths(self.by_end[k] + _at_start(start), plus)
        if off is not None and k == MIDDLE:
            ends = ends - off
        missing = MISSING[SLOTS[k][0] - 1]
        skipped = plus.accumulate(plus(touching - self.evidence.free_left, over) + self.passed)
        return Forward(
            [*before.starts, start],
            plus(ends, touching - missing - CLOSED),
            skipped - self.passed - missing,
        )

    def _before(
        self, after: Backward, k: int, plus: np.ufunc, off: Floats | None = None
    ) -> Backward:
        """With place k laid too, in front of what lies behind it."""
        evidence = self.evidence

        def reach(values: Floats, along: Floats) -> Floats:
            return plus.accumulate((values - along)[::-1])[::-1] + along

        ended = after.touching
        if off is not None and k == MIDDLE:
            ended = ended - off
        starts = _all_widths(self.by_start[k] + _at_end(ended), plus)
        if off is not None and k == MIDDLE + 1:
            starts = starts - off
        missing = MISSING[SLOTS[k][0] - 1]
        free = starts - evidence.free_right
        over = reach(after.gone, self.passed) - missing
        spaced = reach(free, self.slope) - evidence.free_left - SPACE
        closed = after.touching - missing - CLOSED
        passing = over - evidence.free_left
        return Backward(
            [ended, *after.ends],
            plus(plus(starts - evidence.contact, spaced), plus(closed, passing)),
            plus(free, over),
        )

    def _off(self, midline: float, sd_mm: float) -> Floats:
        return np.asarray(0.25 * ((self.steps - midline) * STEP_MM / sd_mm) ** 2)

    def best_score(self, midline: float, sd_mm: float) -> float:
        """Score of the best single layout with the midline near a step."""
        off = self._off(midline, sd_mm)
        first, last = self._sides(np.maximum)
        for k in (MIDDLE, MIDDLE + 1):
            first = self._laid(first, k, np.maximum, off)
        return float(np.maximum(first.touching + last.touching, first.gone + last.gone).max())

    def layout(self, midline: float, sd_mm: float) -> Layout:
        """The best layout with the midline near a step, each tooth with the share of all layouts
        that agree within 1 mm."""
        off = self._off(midline, sd_mm)
        cuts = np.array(self._best(off))
        starts, ends, total = self._both_ways(off, np.logaddexp)
        agree = self._agreeing(cuts, np.array(starts), np.array(ends), total)
        pieces = []
        for row, k in enumerate(_in_order(agree)):
            start, end = (int(step) for step in cuts[row])
            slants = tuple(float(SLANTS[self.evidence.slant[step]]) for step in (start, end))
            position, side = SLOTS[k]
            sure = float(min(1.0, agree[row, k]))
            pieces.append(Piece(position, side, start, end, (slants[0], slants[1]), sure))
        return Layout(tuple(pieces), total)

    def _both_ways(self, off: Floats, plus: np.ufunc) -> tuple[list[Floats], list[Floats], float]:
        """For each place, scores of what lies before a tooth that starts at each step and of what
        lies after one that ends there; and the score of all together."""
        first, last = self._sides(plus)
        for k in range(MIDDLE, len(SLOTS)):
            first = self._laid(first, k, plus, off)
        for k in range(MIDDLE + 1, -1, -1):
            last = self._before(last, k, plus, off)
        ended = plus(first.touching - self.evidence.free_left, first.gone) - self.rest
        return first.starts, last.ends, float(plus.reduce(ended))

    def _agreeing(self, cuts: Ints, starts: Floats, ends: Floats, total: float) -> Floats:
        """For each tooth cut out a row, for each place a column: the share of all layouts that
        have that place's tooth within NEAR_MM of the cuts."""
        first = cuts[:, :1] + _NEAR_STARTS
        last = cuts[:, 1:] + _NEAR_ENDS
        width = last - first - SHORTEST
        fits = (first >= 0) & (last < len(self.steps))
        fits &= (width >= 0) & (width <= LONGEST - SHORTEST)
        first, last, width = (np.where(fits, steps, 0) for steps in (first, last, width))
        columns = []
        for k, scores in enumerate(self.by_start):
            score = starts[k][first] + scores[width, first] + ends[k][last]
            share = np.exp(np.minimum(score - total, 0.0))
            columns.append(np.where(fits, share, 0.0).sum(axis=1))
        return np.column_stack(columns)

    def _best(self, off: Floats) -> list[tuple[int, int]]:
        """Start and end of each tooth on the best layout."""
        starts, ends, _ = self._both_ways(off, np.maximum)
        found = []
        scores = []
        for k, start in enumerate(starts):
            table = start + self.by_start[k] + _at_end(ends[k])
            row, first = np.unravel_index(int(table.argmax()), table.shape)
            found.append((int(first), int(first) + int(row) + SHORTEST))
            scores.append(float(table[row, first]))
        top = max(scores)
        return [cut for cut, score in zip(found, scores, strict=True) if score > top - 1e-6]


def _in_order(agree: Floats) -> list[int]:
    """For each row a column, columns rising, with the largest sum: places for cuts in order."""
    rows, columns = agree.shape
    best = np.full((rows + 1, columns + 1), -np.inf)
    best[0] = 0.0
    for r in range(rows):
        for c in range(r, columns):
            best[r + 1, c + 1] = max(best[r + 1, c], best[r, c] + agree[r, c])
    places = []
    c = columns
    for r in range(rows, 0, -1):
        while best[r, c - 1] >= best[r, c]:
            c -= 1
        c -= 1
        places.append(c)
    return places[::-1]
