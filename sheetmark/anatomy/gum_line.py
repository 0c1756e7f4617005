"""Gum-line centres of one side of a jaw, laid from tooth widths and the widths across the arch.

Arch axes, mm: x across from the midline, y backwards from the central incisor's gum-line centre.

The row is a chain. Its links join the gum-line centres of neighbours; their lengths follow from the
mesiodistal widths, their directions from the mean arch of three samples (`gum_line.toml`). The
front keeps that shape and takes the size that its width asks. Every stretch behind it keeps its
lengths and is turned, as a whole, until its width is met; what lies behind the last width keeps its
directions. All this has a closed form: nothing is searched for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise, takewhile
from math import acos, atan2, cos, fsum, hypot, inf, radians, sin

from msgspec import Struct

from sheetmark.anatomy.chords import ArchPoint, chord_end
from sheetmark.anatomy.gum_line_table import Reference

# Directions that a link may be turned to: no row runs straight across or straight back behind the
# canines (assumption). Between them x and y grow from tooth to tooth, so that there is one curve.
FLATTEST_DEG, STEEPEST_DEG = 10.0, 88.0
# The front's gum-line pitch over the pitch that its crown widths ask (assumption).
FRONT_SHARES = (0.5, 1.5)


class RowTooth(Struct, frozen=True):
    """A tooth or open gap of a row: its place 1-8 from the midline, its length along the row, and
    the usual space behind it, mm."""

    position: int
    mesiodistal_mm: float
    space_mm: float = 0.0


class GumLine(Struct, frozen=True):
    """The smooth curve y(x) through gum-line centres, one for both sides by symmetry.

    Between the centrals a parabola; then the monotone cubic of fritsch-carlson-1980 with
    weighted harmonic slopes (from memory): it has no bulge and no fold where the centres have
    none. Behind the last centre it runs straight on.
    """

    points: tuple[ArchPoint, ...]
    slopes: tuple[float, ...]

    def depth(self, x_mm: float) -> float:
        """y at x, mm."""
        return self._at(abs(x_mm))[0]

    def slope(self, x_mm: float) -> float:
        """dy/dx at x >= 0."""
        return self._at(x_mm)[1]

    def _at(self, x: float) -> tuple[float, float]:
        (x0, y0), slope = self.points[0], self.slopes[0]
        if x <= x0:
            return y0 + slope * (x * x - x0 * x0) / (2 * x0), slope * x / x0
        for (x0, y0), (x1, y1), s0, s1 in zip(
            self.points, self.points[1:], self.slopes, self.slopes[1:], strict=False
        ):
            if x <= x1:
                h = x1 - x0
                t = (x - x0) / h
                chord = (y1 - y0) / h
                # Hermite's form as the chord plus what the end slopes add.
                p, q = s0 - chord, s1 - chord
                depth = y0 + h * (t * chord + t * (1 - t) * (p * (1 - t) - q * t))
                return depth, chord + p * (1 - t) * (1 - 3 * t) + q * t * (3 * t - 2)
        (x0, y0), slope = self.points[-1], self.slopes[-1]
        return y0 + slope * (x - x0), slope


class Chain(Struct, frozen=True):
    """The laid row of a model, and how to lay other teeth in its place."""

    row: tuple[RowTooth, ...]
    """From the midline outwards."""
    centres: tuple[ArchPoint, ...]
    """The gum-line centre of each."""
    line: GumLine
    """The curve through them."""
    shares: tuple[float, ...]
    """Gum-line pitch over the pitch that the crown widths ask, links 1-2 to 7-8."""
    front_share: float
    """The front's own: below 1 by as much as roots stand closer than crowns, or crowns overlap."""
    missed_mm: Mapping[int, float]
    """By place, what a width across came to less what was asked, where it is out of reach."""

    def lay(self, row: Sequence[RowTooth]) -> tuple[ArchPoint, ...]:
        """Gum-line centres of other teeth, by their pitches along the same line.

        A missing tooth leaves no gap; a gap stands in the row with its own length.
        """
        # As far as both rows are alike their centres are the same to the last bit.
        alike = takewhile(lambda pair: pair[0] == pair[1], zip(row, self.row, strict=False))
        centres = [centre for _, centre in zip(alike, self.centres, strict=False)]
        if not centres:
            x = row[0].mesiodistal_mm / 2 * self.front_share
            centres = [ArchPoint(x, self.line.depth(x))]
        for first, other in pairwise(row[len(centres) - 1 :]):
            end = chord_end(self.line.depth, centres[-1], _pitch(first, other, self.shares), inf)
            assert end is not None, "the line has no end"
            centres.append(end)
        return tuple(centres)


def lay_chain(
    row: Sequence[RowTooth], across_mm: Mapping[int, float], reference: Reference
) -> Chain:
    """Lay one side. `across_mm` holds widths between gum-line centres by place, one at least.

    A width out of reach gets the nearest that the links allow.
    """
    places = [tooth.position for tooth in row]
    first, *others = (places.index(position) for position in sorted(across_mm))
    lengths = [_pitch(before, other, reference.share) for before, other in pairwise(row)]
    angles = [_direction(before, other, reference) for before, other in pairwise(row)]

    def half_target_mm(at: int) -> float:
        return across_mm[places[at]] / 2

    half = row[0].mesiodistal_mm / 2
    own = half + fsum(
        length * cos(angle) for length, angle in zip(lengths[:first], angles[:first], strict=True)
    )
    least, most = FRONT_SHARES
    share = min(max(half_target_mm(first) / own, least), most)
    centres = [ArchPoint(half * share, 0.0)]
    _walk(centres, [share * length for length in lengths[:first]], angles[:first])
    for start, end in pairwise([first, *others]):
        turn = _turn(lengths[start:end], angles[start:end], half_target_mm(end) - centres[-1].x)
        _walk(centres, lengths[start:end], [angle + turn for angle in angles[start:end]])
    last = len(centres) - 1
    _walk(centres, lengths[last:], angles[last:])
    return Chain(
        row=tuple(row),
        centres=tuple(centres),
        line=gum_line(centres),
        shares=tuple(
            own * share if place < places[first] else own
            for place, own in enumerate(reference.share, start=1)
        ),
        front_share=share,
        missed_mm={
            places[at]: off
            for at in (first, *others)
            if abs(off := 2 * (centres[at].x - half_target_mm(at))) > 1e-9
        },
    )


def _pitch(first: RowTooth, other: RowTooth, shares: Sequence[float]) -> float:
    """Between neighbours' gum-line centres; across a closed gap by the mean of its shares."""
    links = shares[first.position - 1 : other.position - 1]
    contact = (first.mesiodistal_mm + other.mesiodistal_mm) / 2 + first.space_mm
    return contact * fsum(links) / len(links)


def _direction(first: RowTooth, other: RowTooth, reference: Reference) -> float:
    """Of the link between two teeth, neighbours or not, in radians."""
    part = reference.direction_deg[first.position - 1 : other.position - 1]
    return radians(fsum(part) / len(part))


def _turn(lengths: Sequence[float], angles: Sequence[float], out_mm: float) -> float:
    """The turn, in radians, that carries the stretch `out_mm` outwards, or as near as it can.

    A turned chain keeps its shape: out = R cos(turn + a), R and a those of the line from end to
    end.
    """
    across, back = (
        fsum(length * of(angle) for length, angle in zip(lengths, angles, strict=True))
        for of in (cos, sin)
    )
    turn = acos(max(-1.0, min(1.0, out_mm / hypot(across, back)))) - atan2(back, across)
    flattest, steepest = radians(FLATTEST_DEG) - min(angles), radians(STEEPEST_DEG) - max(angles)
    return min(max(turn, flattest), steepest)


def _walk(centres: list[ArchPoint], lengths: Sequence[float], angles: Sequence[float]) -> None:
    for length, angle in zip(lengths, angles, strict=True):
        x, y = centres[-1]
        centres.append(ArchPoint(x + length * cos(angle), y + length * sin(angle)))


def gum_line(centres: Sequence[ArchPoint]) -> GumLine:
    """The curve through two or more centres whose x and y grow outwards."""
    (x1, y1), (x2, y2) = centres[:2]
    steps = [(b.x - a.x, (b.y - a.y) / (b.x - a.x)) for a, b in pairwise(centres)]
    slopes = [2 * x1 * (y2 - y1) / (x2 * x2 - x1 * x1)]
    for (h0, d0), (h1, d1) in pairwise(steps):
        w0, w1 = 2 * h1 + h0, h1 + 2 * h0
        slopes.append((w0 + w1) / (w0 / d0 + w1 / d1))
    slopes.append(steps[-1][1])
    return GumLine(tuple(centres), tuple(slopes))
