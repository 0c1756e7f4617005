"""Round marks that a program finds in a photograph, and a code of squares. Page frame, mm.

Of the bullseyes round a sheet two are of another kind, both at the top: so a photograph tells
which way up the page lies, and whether the photograph is mirrored.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.typesetting.marks import Disc, Mark, Polygon, Ring

BullseyeKind = Literal["dotted", "open"]

BULLSEYE_MM = 8.0  # outer diameter
# White that a bullseye keeps round itself: it is found by the white round it.
BULLSEYE_CLEAR_MM = 1.2
# Black from one diameter to the next, from the outside in, mm (ours, chosen by trials).
BLACK_BANDS_MM: dict[BullseyeKind, tuple[tuple[float, float], ...]] = {
    "dotted": ((5.4, BULLSEYE_MM), (0.0, 3.0)),
    "open": ((3.4, BULLSEYE_MM),),
}
# How far the bullseyes near a corner stand inside the rectangle's side.
FROM_CORNER_MM = 5.0

CODE_BITS = 10
CHECK_BITS = 6
CODE_CELLS = CODE_BITS + CHECK_BITS
CODE_CELL_MM = 3.0
CODE_MM = CODE_CELLS * CODE_CELL_MM
# Between the bullseye of a lower corner and the middle one, where bullseyes stand round a sheet.
CODE_LEFT_MM = -53.25
CODE_LIMITS = (0, 2**CODE_BITS - 1)
_CHECK_POLYNOMIAL = 0b1000011  # x^6 + x + 1


class Bullseye(Struct, frozen=True):
    """A bullseye's middle, page frame, and its kind."""

    centre: PagePoint
    kind: BullseyeKind

    @property
    def marks(self) -> list[Mark]:
        """Its rings and its disc."""
        found: list[Mark] = []
        for inner, outer in BLACK_BANDS_MM[self.kind]:
            if inner:
                middle, width = (inner + outer) / 2, (outer - inner) / 2
                found.append(Ring(self.centre, middle, width, f"bullseye-{self.kind}"))
            else:
                found.append(Disc(self.centre, outer, f"bullseye-{self.kind}"))
        return found


def bullseyes_round(
    middle: PagePoint, width: float, height: float, gap: float
) -> tuple[Bullseye, ...]:
    """Ten bullseyes whose middles stand `gap` mm outside an upright rectangle.

    Two on each side near the corners, one in the middle of the right and of the lower side: the
    upper and the left side stay free for bars. The lens can be told since they do not all stand
    on one circle. The two at the top are open.
    """
    x, y = width / 2 + gap, height / 2 + gap
    in_x, in_y = width / 2 - FROM_CORNER_MM, height / 2 - FROM_CORNER_MM
    places: list[tuple[float, float, BullseyeKind]] = [
        (-in_x, y, "open"),
        (in_x, y, "open"),
        (x, in_y, "dotted"),
        (x, 0.0, "dotted"),
        (x, -in_y, "dotted"),
        (in_x, -y, "dotted"),
        (0.0, -y, "dotted"),
        (-in_x, -y, "dotted"),
        (-x, -in_y, "dotted"),
        (-x, in_y, "dotted"),
    ]
    return tuple(Bullseye(PagePoint(middle.x + dx, middle.y + dy), kind) for dx, dy, kind in places)


def code_cells(number: int) -> tuple[bool, ...]:
    """The squares of a code from left to right, True for black: the number, then its check.

    Raises InputError for a number outside CODE_LIMITS.
    """
    low, high = CODE_LIMITS
    if not low <= number <= high:
        raise InputError(f"page code {number}: must be {low} to {high}")
    # All white and all black must not be codes, so the check is turned over.
    whole = number << CHECK_BITS | (_remainder(number << CHECK_BITS) ^ 0b101010)
    return tuple(bool(whole >> place & 1) for place in range(CODE_CELLS - 1, -1, -1))


def read_cells(cells: tuple[bool, ...]) -> int | None:
    """The number of a code; None where the check does not fit."""
    number = sum(1 << place for place, cell in enumerate(reversed(cells[:CODE_BITS])) if cell)
    return number if cells == code_cells(number) else None


def code_marks(number: int, left: PagePoint) -> list[Mark]:
    """The code's squares; `left` is the middle of its left side, and it is CODE_MM long.

    Raises InputError as `code_cells` does.
    """
    half = CODE_CELL_MM / 2
    marks: list[Mark] = []
    for place, black in enumerate(code_cells(number)):
        if black:
            a, b = left.x + place * CODE_CELL_MM, left.x + (place + 1) * CODE_CELL_MM
            low, high = left.y - half, left.y + half
            corners = (
                PagePoint(a, low),
                PagePoint(b, low),
                PagePoint(b, high),
                PagePoint(a, high),
            )
            marks.append(Polygon(corners, 0.0, "page-code", filled=True))
    return marks


def _remainder(bits: int) -> int:
    for place in range(CODE_CELLS - 1, CHECK_BITS - 1, -1):
        if bits >> place & 1:
            bits ^= _CHECK_POLYNOMIAL << (place - CHECK_BITS)
    return bits
