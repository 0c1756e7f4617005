"""From what was measured to where the teeth are: the best linear prediction.

The state of a jaw is every gum-line centre and every tooth width; before measuring it is the
model's, with the spread of `spread`. A reading is a smooth function of the state with an error of
its own. Taking them all at once (Gauss-Newton, a few rounds for those that are not linear) gives
the teeth as they most likely stand, how far each reading is missed, and how sure each place is.
Nothing is ever out of reach, so no mouth is refused for its shape.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from math import sqrt
from operator import mul
from typing import NamedTuple

from msgspec import Struct

from sheetmark.anatomy.teeth import Jaw
from sheetmark.fitting.matrix import (
    Matrix,
    Vector,
    dot,
    less,
    product,
    solved,
    times,
    transposed,
)
from sheetmark.fitting.spread import loadings, spread

# This many SDs from what mouths show, something is worth a word (assumption).
UNUSUAL_SDS = 3.0
_ROUNDS = 3
_STEP_MM = 1e-4


class ArchPoint(NamedTuple):
    """A point or a direction in the arch's own axes: x to the patient's left, y backwards; mm."""

    x: float
    y: float

    def plus(self, other: ArchPoint, share: float = 1.0) -> ArchPoint:
        """This point moved along a share of the other."""
        return ArchPoint(self.x + share * other.x, self.y + share * other.y)

    @property
    def turned(self) -> ArchPoint:
        """The direction a quarter of a turn on, from x to y."""
        return ArchPoint(-self.y, self.x)


class Prior(Struct, frozen=True):
    """A jaw as the model has it, from the patient's right to the left; arch axes, mm."""

    jaw: Jaw
    """Which jaw."""
    along: tuple[int, ...]
    """The teeth by place from the midline, right negative."""
    centres: tuple[ArchPoint, ...]
    """Gum-line centres."""
    facial: tuple[ArchPoint, ...]
    """Unit vectors out of the mouth."""
    to_contact: tuple[ArchPoint, ...]
    """From the gum-line centre to the contact middle."""
    contact_sd_mm: tuple[float, ...]
    """The SD of that along the facial direction."""
    widths_mm: tuple[float, ...]
    """Mesiodistal widths."""
    width_sd_mm: tuple[float, ...]
    """The SD of each width among mouths."""

    def at(self, along: int) -> int:
        """The number of a tooth in the row. Raises ValueError for one that it does not hold."""
        return self.along.index(along)

    @property
    def state(self) -> list[float]:
        """The quantities in the order of `spread.loadings`."""
        return state_of(Mouth(self.centres, self.widths_mm))

    @property
    def covariance(self) -> Matrix:
        """How mouths differ from it, mm squared."""
        return _covariance(self.jaw, self.along, self.width_sd_mm)

    @property
    def printed_root(self) -> Matrix:
        """The loadings with which a page says how far holes may be off."""
        own_mm = spread().causes.own_printed_mm.value
        return loadings(self.jaw, self.along, self.width_sd_mm, own_mm)


@lru_cache(maxsize=16)  # the same row, click after click
def _covariance(jaw: Jaw, along: tuple[int, ...], width_sd_mm: tuple[float, ...]) -> Matrix:
    root = loadings(jaw, along, width_sd_mm)
    return product(root, transposed(root))


class Mouth(Struct, frozen=True):
    """Gum-line centres, arch axes, and mesiodistal widths, of each tooth; mm."""

    centres: tuple[ArchPoint, ...]
    widths_mm: tuple[float, ...]


class Reading(Struct, frozen=True):
    """A reading, mm, what it would be in a given mouth, the SD of its error, mm, and the numbers
    of the teeth that it depends on."""

    mm: float
    of: Callable[[Mouth], float]
    sd_mm: float
    teeth: Sequence[int]


class Predicted(Struct, frozen=True):
    """The mouth as predicted, and how the readings went with it."""

    mouth: Mouth
    prior: Prior
    slopes: Matrix
    """What each reading changes by with each quantity of the state."""
    spreads: Matrix
    """The covariance of each reading with each quantity, mm squared."""
    gain: Matrix
    """How far each quantity follows each reading."""
    sds_mm: tuple[float, ...]
    """The SD of each reading's error."""
    missed_mm: tuple[float, ...]
    """Each reading less what it comes to in the predicted mouth."""
    surprise_sds: tuple[float, ...]
    """How far each reading lay from what was expected of it, in SDs of mouths and reading."""

    @property
    def errors(self) -> Matrix:
        """What the state may be off by, a quantity to a row and an independent cause to a column,
        mm for one SD of the cause."""
        root = self.prior.printed_root
        if not self.slopes:
            return root
        left = less(root, product(self.gain, product(self.slopes, root)))
        noise = [list(map(mul, row, self.sds_mm)) for row in self.gain]
        return [[*row, *own] for row, own in zip(left, noise, strict=True)]

    def sd_mm(self, of: Callable[[Mouth], float]) -> float:
        """How sure a measure of the predicted mouth is: its SD, mm."""
        slope = _slope(of, state_of(self.mouth), range(len(self.mouth.centres)))
        before = dot(slope, times(self.prior.covariance, slope))
        known = dot(times(self.spreads, slope), times(transposed(self.gain), slope))
        return sqrt(max(before - known, 0.0))


def predict(prior: Prior, readings: Sequence[Reading]) -> Predicted:
    """The mouth given its readings; without any it is the model's."""
    before, covariance = prior.state, prior.covariance
    if not readings:
        return Predicted(mouth_of(before), prior, (), (), (), (), (), ())

    def missed(state: Vector) -> list[float]:
        mouth = mouth_of(state)
        return [reading.mm - reading.of(mouth) for reading in readings]

    state, surprise = before, list[float]()
    for number in range(_ROUNDS):
        slopes = [_slope(reading.of, state, reading.teeth) for reading in readings]
        spreads = product(slopes, covariance)
        inner = product(spreads, transposed(slopes))
        for at, reading in enumerate(readings):
            inner[at][at] += reading.sd_mm**2
        moved = [now - was for now, was in zip(state, before, strict=True)]
        off = [left + on for left, on in zip(missed(state), times(slopes, moved), strict=True)]
        if number == 0:
            surprise = [left / sqrt(inner[at][at]) for at, left in enumerate(off)]
        gain = transposed(solved(inner, spreads))
        state = [was + on for was, on in zip(before, times(gain, off), strict=True)]
    return Predicted(
        mouth_of(state),
        prior,
        slopes,
        spreads,
        gain,
        tuple(reading.sd_mm for reading in readings),
        tuple(missed(state)),
        tuple(surprise),
    )


def mouth_of(state: Vector) -> Mouth:
    """The state's quantities, sorted."""
    teeth = len(state) // 3
    points = zip(state[:teeth], state[teeth : 2 * teeth], strict=True)
    return Mouth(tuple(ArchPoint(x, y) for x, y in points), tuple(state[2 * teeth :]))


def state_of(mouth: Mouth) -> list[float]:
    """The quantities of a mouth, in the order of `spread.loadings`."""
    return [
        *(centre.x for centre in mouth.centres),
        *(centre.y for centre in mouth.centres),
        *mouth.widths_mm,
    ]


def _slope(of: Callable[[Mouth], float], state: Vector, depends_on: Sequence[int]) -> list[float]:
    """Central differences; every measure here is smooth on the scale of a millimetre."""
    mouth = mouth_of(state)
    teeth = len(mouth.centres)

    def moved(number: int, by: float) -> Mouth:
        at, (x, y) = number % teeth, mouth.centres[number % teeth]
        if number < 2 * teeth:
            to = ArchPoint(x + by, y) if number < teeth else ArchPoint(x, y + by)
            centres = (*mouth.centres[:at], to, *mouth.centres[at + 1 :])
            return Mouth(centres, mouth.widths_mm)
        width = mouth.widths_mm[at] + by
        widths = (*mouth.widths_mm[:at], width, *mouth.widths_mm[at + 1 :])
        return Mouth(mouth.centres, widths)

    slope = [0.0] * len(state)
    for number in range(len(state)):
        if number % teeth in depends_on:
            change = of(moved(number, _STEP_MM)) - of(moved(number, -_STEP_MM))
            slope[number] = change / (2 * _STEP_MM)
    return slope
