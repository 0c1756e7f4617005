"""Which tooth lies where along an unrolled arch: dynamic programming over cuts.

The sixteen places of a jaw are laid along the band, each with a tooth or none, with or without
space between. A layout costs by the widths it gives the teeth, by what the cuts go through, by how
broad the crowns are, and by what lies in its gaps. The cheapest layout is proposed; the sum over
all layouts says how sure each tooth of it is.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

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

Plus = Callable[[Floats, Floats], Floats]


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


class Row:
    """Scores (minus costs) of one jaw's layouts at one size of teeth.

    Arrays over steps: `touching[k]` ends of a tooth in place k-1 with all before it laid; `gone[k]`
    any step after a place k-1 without a tooth, or before the first.
    """

    def __init__(self, evidence: Evidence, jaw: Jaw, size: float) -> None:
        self.evidence = evidence
        count = len(evidence.crown)
        self.steps = np.arange(count)
        self.shortest, self.longest = round(3.0 / STEP_MM), round(14.5 / STEP_MM)
        self.passed = np.cumsum(evidence.crown) * STEP_MM * CROWN_IN_GAP_PER_MM
        self.empty = np.r_[0.0, np.cumsum(1.0 - evidence.crown)] * STEP_MM * GAP_IN_CROWN_PER_MM
        self.sections = np.r_[0.0, np.cumsum(evidence.section)]
        self.inner = self._inner_cuts()
        by_position = [self._tooth(p, jaw, size) for p in range(8)]
        self.plain = [by_position[p - 1] for p, _ in SLOTS]
        self.teeth = self.plain

    def _at_end(self, values: NDArray[np.floating[Any]]) -> Floats:
        """(widths, steps): the value at the end of a tooth that starts at each step."""
        beyond = np.r_[values, np.full(self.longest, 1e6)]
        return np.lib.stride_tricks.sliding_window_view(beyond, len(values))[self.shortest :]

    def _inner_cuts(self) -> Floats:
        """(widths, steps): the best cut within the middle of a tooth, which should have none."""
        from scipy.ndimage import maximum_filter1d

        reward = np.maximum(-self.evidence.contact, 0.0)
        rows = []
        for width in range(self.shortest, self.longest + 1):
            best = maximum_filter1d(reward, max(1, round(0.5 * width)))
            row = np.zeros(len(reward))
            row[: len(reward) - width] = best[width // 2 : len(reward) - width + width // 2]
            rows.append(row)
        return np.array(rows)

    def _tooth(self, place: int, jaw: Jaw, size: float) -> Floats:
        """(widths, steps): score of a tooth of position place + 1 that starts at each step."""
        usual_mm, usual_sd_mm = crown_widths_mm(jaw)[place]
        mean = usual_mm * size
        sd = float(np.hypot(usual_sd_mm, MEASURED_SD_MM))
        count = len(self.steps)
        rows = []
        for k, width in enumerate(range(self.shortest, self.longest + 1)):
            row = np.full(count, -1e6)
            starts = self.steps[: count - width]
            margin = round(0.2 * width)
            inner = width - 2 * margin
            section = self.sections[starts + margin + inner] - self.sections[starts + margin]
            cost = huber(np.array((width * STEP_MM - mean) / sd))
            cost = cost + 0.7 * huber((section / inner - SECTIONS_MM2[place]) / SECTION_SDS[place])
            cost = cost + self.empty[starts + width] - self.empty[starts]
            cost = cost + 0.8 * self.inner[k, starts]
            row[starts] = -cost - (THIRD_MOLAR if place == 7 else 0.0)
            rows.append(row)
        return np.array(rows)

    def _after(self, touching: Floats, plus: Plus) -> Floats:
        """Steps reached with a space after a tooth."""
        slope = self.passed + SPACE_PER_MM * STEP_MM * self.steps
        left = touching - self.evidence.free_left + slope
        return np.asarray(plus.accumulate(left) - slope - SPACE)  # type: ignore[attr-defined]

    def _skip(self, gone: Floats, plus: Plus) -> Floats:
        """Steps reached over a place without a tooth."""
        return np.asarray(plus.accumulate(gone + self.passed) - self.passed)  # type: ignore[attr-defined]

    def _forward(self, plus: Plus) -> tuple[list[Floats], list[Floats], list[Floats]]:
        """Scores of what lies before each place: touching, gone, and any start of a tooth."""
        nothing = np.full(len(self.steps), -1e6)
        touching, gone, starts = [nothing], [-self.passed], []
        for k, (position, _) in enumerate(SLOTS):
            before, over = touching[-1], gone[-1]
            free = plus(self._after(before, plus), over) - self.evidence.free_right
            start = plus(before - self.evidence.contact, free)
            starts.append(start)
            ends = np.full(len(self.steps), -1e6)
            for row, width in enumerate(range(self.shortest, self.longest + 1)):
                scores = start + self.teeth[k][row]
                ends[width:] = plus(ends[width:], scores[: len(scores) - width])
            missing = MISSING[position - 1]
            touching.append(plus(ends, before - missing - CLOSED))
            left = plus(before - self.evidence.free_left, over)
            gone.append(self._skip(left, plus) - missing)
        return touching, gone, starts

    def _backward(self, plus: Plus) -> list[Floats]:
        """Scores of what lies after a tooth in place k that ends at each step, for each k."""
        rest = self.passed[-1] - self.passed
        touching = -self.evidence.free_left - rest
        gone = -rest
        after = []
        slope = self.passed + SPACE_PER_MM * STEP_MM * self.steps

        def reach(values: Floats, along: Floats) -> Floats:
            return np.asarray(plus.accumulate((values - along)[::-1])[::-1] + along)  # type: ignore[attr-defined]

        for k in range(len(SLOTS) - 1, -1, -1):
            after.append(touching)
            starts = np.full(len(self.steps), -1e6)
            for row, width in enumerate(range(self.shortest, self.longest + 1)):
                size = len(starts) - width
                scores = self.teeth[k][row][:size] + touching[width:]
                starts[:size] = plus(starts[:size], scores)
            missing = MISSING[SLOTS[k][0] - 1]
            free = starts - self.evidence.free_right
            over = reach(gone, self.passed) - missing
            spaced = reach(free, slope) - self.evidence.free_left - SPACE
            closed = touching - missing - CLOSED
            passing = over - self.evidence.free_left
            touching = plus(plus(starts - self.evidence.contact, spaced), plus(closed, passing))
            gone = plus(free, over)
        return after[::-1]

    def best_score(self, midline: float, sd_mm: float) -> float:
        """Score of the best single layout with the midline near a step."""
        self._set_midline(midline, sd_mm)
        touching, gone, _ = self._forward(np.maximum)
        return float(self._ended(touching[-1], gone[-1], np.maximum).max())

    def _set_midline(self, midline: float, sd_mm: float) -> None:
        off = 0.25 * ((self.steps - midline) * STEP_MM / sd_mm) ** 2
        self.teeth = list(self.plain)
        self.teeth[7] = self.plain[7] - self._at_end(off)
        self.teeth[8] = self.plain[8] - off[None, :]

    def _ended(self, touching: Floats, gone: Floats, plus: Plus) -> Floats:
        """Scores of whole rows, by the step after which no tooth comes."""
        rest = self.passed[-1] - self.passed
        return np.asarray(plus(touching - self.evidence.free_left, gone) - rest)

    def layout(self, midline: float, sd_mm: float) -> Layout:
        """The best layout with the midline near a step, each tooth with the share of all layouts
        that agree within 1 mm."""
        self._set_midline(midline, sd_mm)
        best = self._best()
        touching, gone, starts = self._forward(np.logaddexp)
        total = float(np.logaddexp.reduce(self._ended(touching[-1], gone[-1], np.logaddexp)))
        after = self._backward(np.logaddexp)

        def agreeing(k: int, start: int, end: int) -> float:
            """The share of all layouts that have this place's tooth within NEAR_MM of the cuts."""
            first, last = start + _NEAR_STARTS, end + _NEAR_ENDS
            width = last - first - self.shortest
            fits = (first >= 0) & (last < len(self.steps))
            fits &= (width >= 0) & (width < len(self.teeth[k]))
            width, first, last = width[fits], first[fits], last[fits]
            scores = starts[k][first] + self.teeth[k][width, first] + after[k][last]
            return float(np.exp(np.minimum(scores - total, 0.0)).sum())

        agree = np.array([[agreeing(k, *cut) for k in range(len(SLOTS))] for cut in best])
        pieces = []
        for row, k in enumerate(_in_order(agree)):
            start, end = best[row]
            slants = tuple(float(SLANTS[self.evidence.slant[step]]) for step in (start, end))
            position, side = SLOTS[k]
            sure = float(min(1.0, agree[row, k]))
            pieces.append(Piece(position, side, start, end, (slants[0], slants[1]), sure))
        return Layout(tuple(pieces), total)

    def _best(self) -> list[tuple[int, int]]:
        """Start and end of each tooth on the best layout."""
        starts = self._forward(np.maximum)[2]
        after = self._backward(np.maximum)
        found = []
        scores = []
        for k in range(len(SLOTS)):
            table = starts[k][None, :] + self.teeth[k] - self._at_end(np.negative(after[k]))
            row, first = np.unravel_index(int(table.argmax()), table.shape)
            found.append((int(first), int(first) + int(row) + self.shortest))
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
