"""Tooth identities and the three notations. Knows nothing of millimetres.

Sources: ISO 3950 (two-digit system); Universal and Palmer as every chart has them. The tests
hold each tooth against an independent package.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

from msgspec import Struct

from sheetmark.base.findings import Action, Choice, InputError

Notation = Literal["iso", "universal", "palmer"]
Jaw = Literal["upper", "lower"]
Side = Literal["right", "left"]
ToothClass = Literal["incisor", "canine", "premolar", "molar"]

JAWS: tuple[Jaw, ...] = get_args(Jaw)
SIDES: tuple[Side, ...] = get_args(Side)
NOTATIONS: tuple[Notation, ...] = get_args(Notation)
DEFAULT_NOTATION: Notation = "iso"
PRIMARY_LETTERS = "ABCDE"
_PALMER_QUADRANTS = ("UR", "UL", "LL", "LR")


class Tooth(Struct, frozen=True):
    """One tooth by ISO 3950: quadrant 1-4 permanent, 5-8 primary; position from the midline.

    Sides are the patient's. Raises InputError for a tooth that does not exist.
    """

    quadrant: int
    position: int

    def __post_init__(self) -> None:
        last = 8 if 1 <= self.quadrant <= 4 else 5 if 5 <= self.quadrant <= 8 else 0
        if not 1 <= self.position <= last:
            raise InputError(f"tooth {self.quadrant}{self.position}: ISO 3950 has no such tooth")

    def __hash__(self) -> int:
        # A record's own differs from process to process, and with it the order of a set.
        return self.quadrant * 10 + self.position

    @property
    def iso(self) -> str:
        """The two digits of ISO 3950, such as `16`."""
        return f"{self.quadrant}{self.position}"

    @property
    def primary(self) -> bool:
        """Whether it is a primary tooth."""
        return self.quadrant > 4

    @property
    def _corner(self) -> int:
        """0 upper right, 1 upper left, 2 lower left, 3 lower right."""
        return (self.quadrant - 1) % 4

    @property
    def jaw(self) -> Jaw:
        """The jaw it stands in."""
        return "upper" if self._corner < 2 else "lower"

    @property
    def side(self) -> Side:
        """The patient's side."""
        return "right" if self._corner in (0, 3) else "left"

    @property
    def tooth_class(self) -> ToothClass:
        """Its class; primary molars are molars."""
        if self.position <= 2:
            return "incisor"
        if self.position == 3:
            return "canine"
        return "premolar" if not self.primary and self.position <= 5 else "molar"

    @property
    def front(self) -> bool:
        """Whether it is an incisor or a canine."""
        return self.position <= 3

    @property
    def slot(self) -> str:
        """The tooth's row in an arch model: 1-8 permanent, A-E primary, whatever the side."""
        return PRIMARY_LETTERS[self.position - 1] if self.primary else str(self.position)

    @property
    def along(self) -> int:
        """Place along the arch from the patient's right (negative) to the left (positive)."""
        return self.position if self.side == "left" else -self.position

    @property
    def mirrored(self) -> Tooth:
        """The same tooth of the other side."""
        block = 4 if self.primary else 0
        return Tooth(block + (2, 1, 4, 3)[self._corner], self.position)


def tooth_at(jaw: Jaw, along: int, *, primary: bool = False) -> Tooth:
    """The tooth at a place along the arch; `along` is negative on the patient's right."""
    right, left = (1, 2) if jaw == "upper" else (4, 3)
    quadrant = (right if along < 0 else left) + (4 if primary else 0)
    return Tooth(quadrant, abs(along))


def tooth_of_slot(jaw: Jaw, side: Side, slot: str) -> Tooth:
    """The tooth of a slot (1-8 permanent, A-E primary) on one side of a jaw."""
    position = int(slot) if slot.isdigit() else PRIMARY_LETTERS.index(slot) + 1
    return tooth_at(jaw, position if side == "left" else -position, primary=not slot.isdigit())


def in_arch_order(teeth: Iterable[Tooth]) -> tuple[Tooth, ...]:
    """From the patient's right to the left along the arch."""
    return tuple(sorted(teeth, key=lambda tooth: (tooth.along, tooth.quadrant)))


PERMANENT: tuple[Tooth, ...] = tuple(Tooth(q, p) for q in range(1, 5) for p in range(1, 9))
PRIMARY: tuple[Tooth, ...] = tuple(Tooth(q, p) for q in range(5, 9) for p in range(1, 6))
ALL_TEETH: tuple[Tooth, ...] = PERMANENT + PRIMARY


def _universal(tooth: Tooth) -> str:
    # Numbered round the mouth from the upper right: out along 0 and 2, back along 1 and 3.
    last = 5 if tooth.primary else 8
    start = tooth._corner * last
    outwards = tooth._corner in (1, 3)
    number = start + (tooth.position if outwards else last + 1 - tooth.position)
    return chr(ord("A") + number - 1) if tooth.primary else str(number)


def palmer_quadrant(tooth: Tooth) -> str:
    """UR, UL, LL or LR: the patient's right and left."""
    return _PALMER_QUADRANTS[tooth._corner]


def write(tooth: Tooth, notation: Notation) -> str:
    """The tooth as text: `16`, `3`, `UR6`."""
    if notation == "iso":
        return tooth.iso
    if notation == "universal":
        return _universal(tooth)
    return palmer_quadrant(tooth) + tooth.slot


_NAMES = {
    1: "central incisor",
    2: "lateral incisor",
    3: "canine",
    4: "first premolar",
    5: "second premolar",
    6: "first molar",
    7: "second molar",
    8: "third molar",
}


def name_of(tooth: Tooth) -> str:
    """The tooth in names, the side being the patient's: `upper left first molar`."""
    name = _NAMES[tooth.position].replace("premolar", "molar" if tooth.primary else "premolar")
    return f"{tooth.jaw} {tooth.side} {'primary ' if tooth.primary else ''}{name}"


_READ: dict[Notation, dict[str, Tooth]] = {
    notation: {write(tooth, notation): tooth for tooth in ALL_TEETH} for notation in NOTATIONS
}
_HINT: dict[Notation, str] = {
    "iso": "11-18, 21-28, 31-38, 41-48 or, primary, 51-55, 61-65, 71-75, 81-85",
    "universal": "1-32 or, primary, A-T",
    "palmer": "UR, UL, LL or LR with 1-8 or, primary, A-E, such as UR4 or LLE",
}


def read(text: str, notation: Notation) -> Tooth:
    """One tooth from text in the stated notation. Raises InputError where there is none.

    `#3` is 3 in universal, as it is often written (common practice, no source).
    """
    name = text.strip().upper()
    tooth = _READ[notation].get(name.removeprefix("#") if notation == "universal" else name)
    if tooth is None and all(end in _READ[notation] for end in name.split("-")):
        raise InputError(f"tooth {text!r}: that is a row of teeth; name each of them by itself")
    if tooth is None:
        others = {other: _READ[other][name] for other in NOTATIONS if name in _READ[other]}
        meant = "".join(f"; in {other} it is the {name_of(t)}" for other, t in others.items())
        raise InputError(
            f"tooth {text!r}: not a tooth in {notation} notation; use {_HINT[notation]}{meant}",
            actions=[Action(Choice.NOTATION, other) for other in others],
        )
    return tooth


def read_list(texts: Iterable[str], notation: Notation) -> tuple[Tooth, ...]:
    """Teeth from texts that hold one or more each, set apart by commas or spaces."""
    names = [word for text in texts for word in text.replace(",", " ").split()]
    return tuple(read(word, notation) for word in names)
