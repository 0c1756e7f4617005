"""From landmarks to gum-line centres: seen teeth where they are, the others as best predicted. mm.

Landmarks lie in a plane of their own; it is moved and turned, neither scaled nor mirrored, onto the
model. A landmark that is not at the gum line is taken back by the model's offset; what was not seen
follows from what was, whatever is left of the plane's position.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sheetmark.fitting.landmarks import Kind
from sheetmark.fitting.predict import UNUSUAL_SDS, Mouth, Prior, mouth_of
from sheetmark.fitting.spread import Array, spread

# How far a landmark of each kind lies from the gum-line centre towards the contact middle. A click
# in the middle of a tooth as seen from above lies half way (assumption).
TOWARDS_CONTACT: Mapping[Kind, float] = {"gum line": 0.0, "middle": 0.5, "contacts": 1.0}
# A place has two coordinates: this many SDs are as rare as UNUSUAL_SDS of one figure (derived).
UNUSUAL_PLACE_SDS = 3.44
# With fewer, nobody can tell which of them is odd.
_LEAST_KEPT = 3
_ROUNDS = 3
_FREE = 1e3  # SD of what is not known at all: mm, and radians


@dataclass(frozen=True, slots=True)
class Sighting:
    """One tooth that was seen: its number in the row, the middle of its points, its width if they
    tell it, and the points; mm, in a plane of their own with y as the arch has it."""

    number: int
    middle: tuple[float, float]
    width_mm: float | None
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Off:
    """How far a seen tooth stands from where the others would put it: facial and mesial, mm, and
    how far that is in SDs; its width less what the others say of it, where it was seen, and that
    in SDs."""

    facial_mm: float
    mesial_mm: float
    sds: float
    width_mm: float
    width_sds: float

    @property
    def oddness(self) -> float:
        """Over 1 where its place or its width is worth a word."""
        return max(self.sds / UNUSUAL_PLACE_SDS, abs(self.width_sds) / UNUSUAL_SDS)


@dataclass(frozen=True, slots=True)
class Found:
    """Every tooth in the arch's axes, the points of those seen, and how far off those are."""

    mouth: Mouth
    errors: Array
    """What centres and widths may be off by, as in `predict.Predicted`."""
    points: tuple[Array, ...]
    off: tuple[Off, ...]


def place_teeth(prior: Prior, seen: Sequence[Sighting], kind: Kind) -> Found:
    """Where all teeth of the row stand, from two or more that were seen."""
    at = np.array([one.number for one in seen])
    middles = np.array([one.middle for one in seen])
    wide = [number for number, one in enumerate(seen) if one.width_mm is not None]
    n = len(prior.along)
    share = TOWARDS_CONTACT[kind]
    lift = share * prior.to_contact[at]
    index = np.concatenate([at, n + at, 2 * n + at[wide]]).astype(int)
    before, covariance = prior.state, prior.covariance
    error = _errors(prior, at, share, len(wide))
    widths = np.array([seen[number].width_mm for number in wide], float)
    centres = prior.centres
    for _ in range(_ROUNDS):
        turn, shift = _onto(middles, centres[at] + lift)
        placed = _turned(middles, turn, shift) - lift
        frame = _frame(placed, len(index))
        inner = covariance[np.ix_(index, index)] + error + _FREE**2 * frame @ frame.T
        off = np.concatenate([placed.T.ravel(), widths]) - before[index]
        weights = np.linalg.solve(inner, off)
        mouth = mouth_of(before + covariance[:, index] @ weights)
        centres = mouth.centres
    # Those seen keep their own points; all move together into the frame of those predicted.
    left = _FREE**2 * frame.T @ weights
    middle = placed.mean(axis=0)

    def at_home(points: Array) -> Array:
        from_middle = points - middle
        across = np.stack([-from_middle[:, 1], from_middle[:, 0]], axis=1)
        home: Array = points - left[:2] - left[2] * across
        return home

    result, own_widths = centres.copy(), mouth.widths_mm.copy()
    result[at] = at_home(placed)
    own_widths[at[wide]] = widths
    return Found(
        Mouth(result, own_widths),
        _errors_left(prior, index, error, frame, inner),
        tuple(at_home(_turned(np.array(one.points), turn, shift)) for one in seen),
        _offs(prior, at, wide, inner, off),
    )


def misfit_mm(prior: Prior, seen: Sequence[Sighting], kind: Kind) -> float:
    """How far the points lie from the model's, RMS after the best move and turn."""
    wanted = _landmarks(prior, seen, kind)
    middles = np.array([one.middle for one in seen])
    left = _turned(middles, *_onto(middles, wanted)) - wanted
    return float(np.sqrt((left**2).sum(axis=1).mean()))


def times_as_far(prior: Prior, seen: Sequence[Sighting], kind: Kind) -> float:
    """How far apart the teeth were seen, over the same of the model."""
    middles = np.array([one.middle for one in seen])
    return float(_reach(middles) / _reach(_landmarks(prior, seen, kind)))


def _landmarks(prior: Prior, seen: Sequence[Sighting], kind: Kind) -> Array:
    """Where the model has the same landmarks."""
    at = [one.number for one in seen]
    points: Array = prior.centres[at] + TOWARDS_CONTACT[kind] * prior.to_contact[at]
    return points


def _reach(points: Array) -> float:
    return float(np.sqrt(((points - points.mean(axis=0)) ** 2).sum()))


def _errors(prior: Prior, at: Array, share: float, widths: int) -> Array:
    """The errors of the points; an offset is uncertain along the facial direction only."""
    k, point = len(at), spread().errors.point_mm.value
    # A width is the distance of two points, each off by as much as a middle or more.
    error = np.diag(np.full(2 * k + widths, point**2 / 2))
    for number, i in enumerate(at):
        along = share * prior.contact_sd_mm[i] * prior.facial[i]
        pair = np.ix_([number, k + number], [number, k + number])
        error[pair] += np.outer(along, along)
    return error


def _errors_left(prior: Prior, index: Array, error: Array, frame: Array, inner: Array) -> Array:
    """What the holes are still off by: those of seen teeth by the errors of their own points, the
    others by what the seen do not tell of them; the frame's own position left out."""
    root = prior.printed_root
    causes = np.hstack([root, np.zeros((len(root), len(error)))])
    known = np.hstack([root[index], np.linalg.cholesky(error)])
    weights = np.linalg.solve(inner, known)
    errors: Array = prior.covariance[:, index] @ weights - causes
    own = frame[:, 0] + frame[:, 1] > 0
    home = frame[own] @ (_FREE**2 * frame.T @ weights)
    errors[index[own]] = known[own] - home - causes[index[own]]
    return errors


def _frame(points: Array, quantities: int) -> Array:
    """What a shift along each axis and a small turn about the middle do to the quantities."""
    k, from_middle = len(points), points - points.mean(axis=0)
    frame = np.zeros((quantities, 3))
    frame[:k, 0] = frame[k : 2 * k, 1] = 1.0
    frame[:k, 2], frame[k : 2 * k, 2] = -from_middle[:, 1], from_middle[:, 0]
    return frame


def _offs(
    prior: Prior, at: Array, wide: Sequence[int], inner: Array, off: Array
) -> tuple[Off, ...]:
    """How far each tooth is from what the others say of it.

    One tooth that is far off makes others look so: the oddest is taken out before the rest are
    held against each other, as long as one is odd.
    """
    kept, odd = list(range(len(at))), dict[int, Off]()
    while True:
        offs = _leave_one_out(prior, at, wide, inner, off, kept)
        worst = max(offs, key=lambda number: offs[number].oddness)
        if offs[worst].oddness <= 1 or len(kept) <= _LEAST_KEPT:
            return tuple(({**offs, **odd})[number] for number in range(len(at)))
        odd[worst] = offs[worst]
        kept.remove(worst)


def _leave_one_out(
    prior: Prior,
    at: Array,
    wide: Sequence[int],
    inner: Array,
    off: Array,
    kept: Sequence[int],
) -> dict[int, Off]:
    """Each tooth kept against the others kept, in closed form."""
    k = len(at)
    blocks = {
        number: [number, k + number, *([2 * k + wide.index(number)] if number in wide else [])]
        for number in kept
    }
    used = [row for block in blocks.values() for row in block]
    inverse = np.linalg.inv(inner[np.ix_(used, used)])
    weights = inverse @ off[used]
    offs = {}
    for number, rows in blocks.items():
        block = [used.index(row) for row in rows]
        covariance = np.linalg.inv(inverse[np.ix_(block, block)])
        left = covariance @ weights[block]
        facial = prior.facial[at[number]]
        mesial = -np.sign(prior.along[at[number]]) * np.array([-facial[1], facial[0]])
        offs[number] = Off(
            float(left[:2] @ facial),
            float(left[:2] @ mesial),
            float(np.sqrt(left[:2] @ np.linalg.solve(covariance[:2, :2], left[:2]))),
            float(left[2]) if len(block) > 2 else 0.0,
            float(left[2] / np.sqrt(covariance[2, 2])) if len(block) > 2 else 0.0,
        )
    return offs


def _onto(points: Array, wanted: Array) -> tuple[complex, complex]:
    """The turn and then the shift, neither scaled nor mirrored, that bring points nearest to those
    wanted, as complex numbers."""
    p, q = (at[:, 0] + 1j * at[:, 1] for at in (points, wanted))
    turn = np.vdot(p - p.mean(), q - q.mean())
    turn /= abs(turn)
    return complex(turn), complex(q.mean() - p.mean() * turn)


def _turned(points: Array, turn: complex, shift: complex) -> Array:
    moved = (points[:, 0] + 1j * points[:, 1]) * turn + shift
    return np.stack([moved.real, moved.imag], axis=1)
