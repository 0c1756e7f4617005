"""From landmarks to gum-line centres: seen teeth where they are, the others as best predicted. mm.

Landmarks lie in a plane of their own; it is moved and turned, neither scaled nor mirrored, onto the
model. A landmark that is not at the gum line is taken back by the model's offset; what was not seen
follows from what was, whatever is left of the plane's position.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import fsum, hypot, sqrt

from msgspec import Struct

from sheetmark.fitting.landmarks import Kind
from sheetmark.fitting.matrix import (
    Matrix,
    Vector,
    block,
    cholesky,
    dot,
    inverse,
    less,
    product,
    solution,
    solved,
    times,
    transposed,
)
from sheetmark.fitting.predict import UNUSUAL_SDS, ArchPoint, Mouth, Prior, mouth_of
from sheetmark.fitting.spread import spread

# How far a landmark of each kind lies from the gum-line centre towards the contact middle. A click
# in the middle of a tooth as seen from above lies half way (assumption).
TOWARDS_CONTACT: Mapping[Kind, float] = {"gum line": 0.0, "middle": 0.5, "contacts": 1.0}
# A place has two coordinates: this many SDs are as rare as UNUSUAL_SDS of one figure (derived).
UNUSUAL_PLACE_SDS = 3.44
# With fewer, nobody can tell which of them is odd.
_LEAST_KEPT = 3
_ROUNDS = 3
_FREE = 1e3  # SD of what is not known at all: mm, and radians


class Sighting(Struct, frozen=True):
    """One tooth that was seen: its number in the row, the middle of its points, its width if they
    tell it, and the points; mm, in a plane of their own with y as the arch has it."""

    number: int
    middle: ArchPoint
    width_mm: float | None
    points: tuple[ArchPoint, ...]


class Off(Struct, frozen=True):
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


class Left(Struct, frozen=True):
    """What the points of the teeth that were seen leave open, by the numbers of their quantities,
    with their errors, their frame, and the spread of all of it."""

    prior: Prior
    index: Sequence[int]
    error: Matrix
    frame: Matrix
    inner: Matrix

    @property
    def errors(self) -> Matrix:
        """What centres and widths may be off by, as in `predict.Predicted`: those of seen teeth by
        the errors of their own points, the others by what the seen do not tell of them; the
        frame's own position left out."""
        root = self.prior.printed_root
        none = [0.0] * len(self.error)
        causes = [[*row, *none] for row in root]
        own_errors = cholesky(self.error)
        known = [[*root[at], *own] for at, own in zip(self.index, own_errors, strict=True)]
        weights = solved(self.inner, known)
        open_ = block(self.prior.covariance, range(len(root)), self.index)
        errors = less(product(open_, weights), causes)
        moved = [
            [_FREE**2 * value for value in row] for row in product(transposed(self.frame), weights)
        ]
        home = product(self.frame, moved)
        for at, row, placed, number in zip(self.frame, known, home, self.index, strict=True):
            if at[0] or at[1]:
                (errors[number],) = less(less([row], [placed]), [causes[number]])
        return errors


class Found(Struct, frozen=True):
    """Every tooth in the arch's axes, the points of those seen, and how far off those are."""

    mouth: Mouth
    left: Left
    points: tuple[tuple[ArchPoint, ...], ...]
    off: tuple[Off, ...]


def place_teeth(prior: Prior, seen: Sequence[Sighting], kind: Kind) -> Found:
    """Where all teeth of the row stand, from two or more that were seen."""
    n, share = len(prior.along), TOWARDS_CONTACT[kind]
    at = [sight.number for sight in seen]
    lift = [prior.to_contact[tooth] for tooth in at]
    widths = {sight.number: mm for sight in seen if (mm := sight.width_mm) is not None}
    wide = [number for number, tooth in enumerate(at) if tooth in widths]
    index = [*at, *(n + tooth for tooth in at), *(2 * n + tooth for tooth in widths)]
    before, covariance = prior.state, prior.covariance
    error = _errors(prior, at, share, len(wide))
    centres = prior.centres
    for _ in range(_ROUNDS):
        wanted = [centres[tooth].plus(up, share) for tooth, up in zip(at, lift, strict=True)]
        move = _onto([sight.middle for sight in seen], wanted)
        placed = [
            move.of(sight.middle).plus(up, -share) for sight, up in zip(seen, lift, strict=True)
        ]
        frame = _frame(placed, len(index))
        inner = _sum(block(covariance, index, index), error, _unknown(frame))
        measured = [*(p.x for p in placed), *(p.y for p in placed), *widths.values()]
        off = [mm - before[number] for mm, number in zip(measured, index, strict=True)]
        weights = solution(inner, off)
        change = times(block(covariance, range(len(before)), index), weights)
        mouth = mouth_of([was + on for was, on in zip(before, change, strict=True)])
        centres = mouth.centres
    # Those seen keep their own points; all move together into the frame of those predicted.
    left = [_FREE**2 * number for number in times(transposed(frame), weights)]
    middle = _middle(placed)

    def at_home(point: ArchPoint) -> ArchPoint:
        across = point.plus(middle, -1.0).turned
        return point.plus(ArchPoint(left[0], left[1]), -1.0).plus(across, -left[2])

    own = {tooth: at_home(point) for tooth, point in zip(at, placed, strict=True)}
    return Found(
        Mouth(
            tuple(own.get(tooth, centre) for tooth, centre in enumerate(mouth.centres)),
            tuple(widths.get(tooth, mm) for tooth, mm in enumerate(mouth.widths_mm)),
        ),
        Left(prior, index, error, frame, inner),
        tuple(tuple(at_home(move.of(point)) for point in sight.points) for sight in seen),
        _offs(prior, at, wide, inner, off),
    )


def misfit_mm(prior: Prior, seen: Sequence[Sighting], kind: Kind) -> float:
    """How far the points lie from the model's, RMS after the best move and turn."""
    wanted = _landmarks(prior, seen, kind)
    move = _onto([sight.middle for sight in seen], wanted)
    left = [move.of(s.middle).plus(place, -1.0) for s, place in zip(seen, wanted, strict=True)]
    return sqrt(fsum(x * x + y * y for x, y in left) / len(left))


def times_as_far(prior: Prior, seen: Sequence[Sighting], kind: Kind) -> float:
    """How far apart the teeth were seen, over the same of the model."""
    middles = [sight.middle for sight in seen]
    return _reach(middles) / _reach(_landmarks(prior, seen, kind))


def _landmarks(prior: Prior, seen: Sequence[Sighting], kind: Kind) -> list[ArchPoint]:
    """Where the model has the same landmarks."""
    share = TOWARDS_CONTACT[kind]
    return [prior.centres[s.number].plus(prior.to_contact[s.number], share) for s in seen]


def _middle(points: Sequence[ArchPoint]) -> ArchPoint:
    xs, ys = zip(*points, strict=True)
    return ArchPoint(fsum(xs) / len(points), fsum(ys) / len(points))


def _reach(points: Sequence[ArchPoint]) -> float:
    middle = _middle(points)
    return sqrt(fsum((x - middle.x) ** 2 + (y - middle.y) ** 2 for x, y in points))


def _errors(prior: Prior, at: Sequence[int], share: float, widths: int) -> Matrix:
    """The errors of the points; an offset is uncertain along the facial direction only."""
    k, point = len(at), spread().errors.point_mm.value
    size = 2 * k + widths
    # A width is the distance of two points, each off by as much as a middle or more.
    error = [
        [point**2 / 2 if row == other else 0.0 for other in range(size)] for row in range(size)
    ]
    for number, tooth in enumerate(at):
        along = [share * prior.contact_sd_mm[tooth] * part for part in prior.facial[tooth]]
        pair = (number, k + number)
        for row, place in zip(pair, along, strict=True):
            for column, other in zip(pair, along, strict=True):
                error[row][column] += place * other
    return error


def _frame(points: Sequence[ArchPoint], quantities: int) -> Matrix:
    """What a shift along each axis and a small turn about the middle do to the quantities."""
    middle = _middle(points)
    across = [point.plus(middle, -1.0).turned for point in points]
    return [
        *([1.0, 0.0, x] for x, _ in across),
        *([0.0, 1.0, y] for _, y in across),
        *([0.0, 0.0, 0.0] for _ in range(quantities - 2 * len(points))),
    ]


def _unknown(frame: Matrix) -> Matrix:
    """The covariance of quantities whose frame is not known at all."""
    return [[_FREE**2 * value for value in row] for row in product(frame, transposed(frame))]


def _sum(*matrices: Matrix) -> list[list[float]]:
    return [
        [fsum(values) for values in zip(*rows, strict=True)] for rows in zip(*matrices, strict=True)
    ]


def _offs(
    prior: Prior, at: Sequence[int], wide: Sequence[int], inner: Matrix, off: Vector
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
    at: Sequence[int],
    wide: Sequence[int],
    inner: Matrix,
    off: Vector,
    kept: Sequence[int],
) -> dict[int, Off]:
    """Each tooth kept against the others kept, in closed form."""
    k = len(at)
    blocks = {
        number: [number, k + number, *([2 * k + wide.index(number)] if number in wide else [])]
        for number in kept
    }
    used = [row for rows in blocks.values() for row in rows]
    inverted = inverse(block(inner, used, used))
    weights = times(inverted, [off[row] for row in used])
    offs = {}
    for number, rows in blocks.items():
        own = [used.index(row) for row in rows]
        covariance = inverse(block(inverted, own, own))
        left = times(covariance, [weights[row] for row in own])
        place, of_place = left[:2], block(covariance, range(2), range(2))
        facial = prior.facial[at[number]]
        side = 1.0 if prior.along[at[number]] > 0 else -1.0
        width_mm = left[2] if len(own) > 2 else 0.0
        offs[number] = Off(
            dot(place, facial),
            -side * dot(place, facial.turned),
            sqrt(dot(place, solution(of_place, place))),
            width_mm,
            width_mm / sqrt(covariance[2][2]) if len(own) > 2 else 0.0,
        )
    return offs


class _Move(Struct, frozen=True):
    """A turn and then a shift, as complex numbers."""

    turn: complex
    shift: complex

    def of(self, point: ArchPoint) -> ArchPoint:
        moved = complex(*point) * self.turn + self.shift
        return ArchPoint(moved.real, moved.imag)


def _onto(points: Sequence[ArchPoint], wanted: Sequence[ArchPoint]) -> _Move:
    """What brings points nearest to those wanted, neither scaled nor mirrored."""
    here, there = complex(*_middle(points)), complex(*_middle(wanted))
    parts = [
        (complex(*first) - here).conjugate() * (complex(*other) - there)
        for first, other in zip(points, wanted, strict=True)
    ]
    turn = complex(fsum(part.real for part in parts), fsum(part.imag for part in parts))
    turn /= hypot(turn.real, turn.imag)
    return _Move(turn, there - here * turn)
