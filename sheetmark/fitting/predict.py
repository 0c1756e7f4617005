"""From what was measured to where the teeth are: the best linear prediction.

The state of a jaw is every gum-line centre and every tooth width; before measuring it is the
model's, with the spread of `spread`. A reading is a smooth function of the state with an error of
its own. Taking them all at once (Gauss-Newton, a few rounds for those that are not linear) gives
the teeth as they most likely stand, how far each reading is missed, and how sure each place is.
Nothing is ever out of reach, so no mouth is refused for its shape.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from sheetmark.anatomy.teeth import Jaw
from sheetmark.fitting.spread import Array, loadings, spread

# This many SDs from what mouths show, something is worth a word (assumption).
UNUSUAL_SDS = 3.0
_ROUNDS = 3
_STEP_MM = 1e-4


@dataclass(frozen=True, slots=True)
class Prior:
    """A jaw as the model has it, from the patient's right to the left; arch axes, mm.

    Points and directions have a tooth to a row, x and y to a column.
    """

    jaw: Jaw
    """Which jaw."""
    along: tuple[int, ...]
    """The teeth by place from the midline, right negative."""
    centres: Array
    """Gum-line centres."""
    facial: Array
    """Unit vectors out of the mouth."""
    to_contact: Array
    """From the gum-line centre to the contact middle."""
    contact_sd_mm: Array
    """The SD of that along the facial direction."""
    widths_mm: Array
    """Mesiodistal widths."""
    width_sd_mm: Array
    """The SD of each width among mouths."""

    def at(self, along: int) -> int:
        """The number of a tooth in the row. Raises ValueError for one that it does not hold."""
        return self.along.index(along)

    @property
    def state(self) -> Array:
        """The quantities in the order of `spread.loadings`."""
        return np.concatenate([self.centres.T.ravel(), self.widths_mm])

    @property
    def covariance(self) -> Array:
        """How mouths differ from it, mm squared."""
        root = loadings(self.jaw, self.along, self.width_sd_mm)
        covariance: Array = root @ root.T
        return covariance

    @property
    def printed_root(self) -> Array:
        """The loadings with which a page says how far holes may be off."""
        own_mm = spread().causes.own_printed_mm.value
        return loadings(self.jaw, self.along, self.width_sd_mm, own_mm)


@dataclass(frozen=True, slots=True)
class Mouth:
    """Gum-line centres, arch axes, a tooth to a row, and mesiodistal widths; mm."""

    centres: Array
    widths_mm: Array


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading, mm, what it would be in a given mouth, and the SD of its error, mm."""

    mm: float
    of: Callable[[Mouth], float]
    sd_mm: float


@dataclass(frozen=True, slots=True)
class Predicted:
    """The mouth as predicted, the covariance of its state, and how the readings went with it."""

    mouth: Mouth
    covariance: Array
    errors: Array
    """What the state may be off by, a quantity to a row and an independent cause to a column, mm
    for one SD of the cause."""
    missed_mm: tuple[float, ...]
    """Each reading less what it comes to in the predicted mouth."""
    surprise_sds: tuple[float, ...]
    """How far each reading lay from what was expected of it, in SDs of mouths and reading."""

    def sd_mm(self, of: Callable[[Mouth], float]) -> float:
        """How sure a measure of the predicted mouth is: its SD, mm."""
        state = np.concatenate([self.mouth.centres.T.ravel(), self.mouth.widths_mm])
        slope = _slopes(lambda at: np.array([of(mouth_of(at))]), state)[0]
        return float(np.sqrt(max(slope @ self.covariance @ slope, 0.0)))


def predict(prior: Prior, readings: Sequence[Reading]) -> Predicted:
    """The mouth given its readings; without any it is the model's."""
    before, covariance = prior.state, prior.covariance
    if not readings:
        return Predicted(mouth_of(before), covariance, prior.printed_root, (), ())

    def values(state: Array) -> Array:
        mouth = mouth_of(state)
        return np.array([reading.of(mouth) for reading in readings])

    read = np.array([reading.mm for reading in readings])
    sd_mm = np.array([reading.sd_mm for reading in readings])
    noise = np.diag(sd_mm**2)
    state, surprise = before, np.zeros(len(readings))
    for number in range(_ROUNDS):
        slopes = _slopes(values, state)
        inner = slopes @ covariance @ slopes.T + noise
        gain = np.linalg.solve(inner, slopes @ covariance).T
        off = read - values(state) + slopes @ (state - before)
        if number == 0:
            surprise = off / np.sqrt(np.diag(inner))
        state = before + gain @ off
    root = prior.printed_root
    return Predicted(
        mouth_of(state),
        covariance - gain @ slopes @ covariance,
        np.hstack([root - gain @ (slopes @ root), gain * sd_mm]),
        tuple(map(float, read - values(state))),
        tuple(map(float, surprise)),
    )


def mouth_of(state: Array) -> Mouth:
    """The state's quantities, sorted."""
    teeth = len(state) // 3
    return Mouth(state[: 2 * teeth].reshape(2, teeth).T, state[2 * teeth :])


def _slopes(values: Callable[[Array], Array], state: Array) -> Array:
    """Central differences; every measure here is smooth on the scale of a millimetre."""
    columns = []
    for number in range(len(state)):
        step = np.zeros_like(state)
        step[number] = _STEP_MM
        columns.append((values(state + step) - values(state - step)) / (2 * _STEP_MM))
    return np.stack(columns, axis=1)
