"""What callipers measured, from words and back: `upper canines 33.1`, `row 14-17 36`, `16 10.4`.

Lengths in mm. Knows teeth, but no arch and no place.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite
from typing import Literal, get_args

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.teeth import JAWS, Jaw, Notation, Tooth, read, tooth_at, write
from sheetmark.base.findings import Action, Choice, InputError

Kind = Literal["across", "depth", "row", "teeth"]
MeasuringPoint = Literal["centres", "contacts", "cusp-tips"]
MEASURING_POINTS: tuple[MeasuringPoint, ...] = get_args(MeasuringPoint)
DEFAULT_POINT = MEASURING_POINTS[0]

# What may stand for a pair of teeth, and its place from the midline.
_PAIRS = {"canines": 3, "first premolars": 4, "premolars": 4, "first molars": 6, "molars": 6}
_DEPTH, _FRONTS = "depth", "six fronts"
_POINTS: dict[str, MeasuringPoint] = {
    "gum line": "centres",
    "centres": "centres",
    "contacts": "contacts",
    "cusp tips": "cusp-tips",
    "cusp-tips": "cusp-tips",
}
# Bounds for a misplaced decimal point, not for anatomy (assumption).
_BOUNDS_MM: dict[Kind, tuple[float, float]] = {
    "across": (5.0, 90.0),
    "depth": (5.0, 70.0),
    "row": (5.0, 120.0),
    "teeth": (2.0, 16.0),
}
_FRONTS_BOUNDS_MM = (15.0, 90.0)
GRAMMAR = (
    'use "upper canines 33.1", "upper premolars 36", "upper molars 46", "upper depth 30", '
    '"row 14-17 36", "16 10.4", "upper six fronts 47.2", or a tooth and the same one of the other '
    'side, "16-26 46"; behind a width or depth "contacts" or "cusp tips" where it was not taken '
    "at the gum line"
)


class Measure(Struct, frozen=True):
    """One measure of one jaw, mm.

    `across`: from a tooth to the same tooth of the other side. `depth`: from between the central
    incisors straight back to the line of the first molars. `row`: straight, from the mesial end of
    one tooth to the distal end of another, or from distal to distal across the midline. `teeth`:
    the widths of one or several teeth, one by one, added up. `phrase` stands for whatever teeth are
    at those places; else the teeth are those named.
    """

    kind: Kind
    teeth: tuple[Tooth, ...]
    mm: float
    point: MeasuringPoint = DEFAULT_POINT
    phrase: str = ""

    @property
    def jaw(self) -> Jaw:
        """The jaw of all its teeth."""
        return self.teeth[0].jaw

    def name(self, notation: Notation) -> str:
        """What was measured, such as `row 14-17` or `upper molars contacts`."""
        if self.phrase:
            what = f"{self.jaw} {self.phrase}"
        else:
            what = "-".join(write(tooth, notation) for tooth in self.teeth)
        row = "row " if self.kind == "row" else ""
        point = "" if self.point == DEFAULT_POINT else f" {self.point.replace('-', ' ')}"
        return f"{row}{what}{point}"

    def text(self, notation: Notation) -> str:
        """The same with the figure; `read_measures` reads it back."""
        return f"{self.name(notation)} {self.mm:.10g}"


def read_measures(
    texts: Iterable[str],
    notation: Notation,
    jaw: Jaw | None = None,
    point: MeasuringPoint = DEFAULT_POINT,
) -> tuple[Measure, ...]:
    """The measures in texts that hold one or more each, set apart by semicolons.

    `jaw` is meant where the words leave it out, and then the only one; `point` where they do not
    say at which point of the teeth a width was taken.

    Raises InputError, one line, for words that are no measure, for one given twice, and for a
    figure that no mouth has.
    """
    found: list[Measure] = []
    for text in texts:
        for part in text.split(";"):
            if not part.strip():
                continue
            measure = _read(part.strip(), notation, jaw, point)
            if jaw not in (None, measure.jaw):
                raise InputError(
                    f"measures of the {measure.jaw} jaw, but the jaw meant is {jaw}; correct one",
                    actions=(Action(Choice.JAW),),
                )
            if any(_alike(measure, other) for other in found):
                raise InputError(f"measure {part.strip()!r}: given twice; keep one")
            found.append(measure)
    return tuple(found)


def _read(part: str, notation: Notation, jaw: Jaw | None, usual: MeasuringPoint) -> Measure:
    text = " ".join(part.lower().split()).removesuffix("mm").strip()
    at = next((name for name in _POINTS if f" {name} " in f"{text} "), None)
    if at is not None:
        text = f"{text} ".replace(f" {at} ", " ", 1).strip()
    what, _, number = text.removesuffix("mm").strip().rpartition(" ")
    if not what:
        raise InputError(f"measure {part!r}: not understood; {GRAMMAR}")
    mm = _number(part, number)
    measure = _by_phrase(part, what, mm, jaw) or _by_teeth(part, what, mm, notation)
    _check(measure, part)
    if measure.kind == "across":
        return replace(measure, point=usual if at is None else _POINTS[at])
    if at is None:
        return measure
    if measure.kind != "depth" or _POINTS[at] == "cusp-tips":
        raise InputError(f"measure {part!r}: it is not taken at the {at}; {GRAMMAR}")
    return replace(measure, point=_POINTS[at])


def _by_phrase(part: str, what: str, mm: float, meant: Jaw | None) -> Measure | None:
    """A measure whose teeth are not named; None where they are."""
    first, _, rest = what.partition(" ")
    jaw = next((name for name in JAWS if name == first), None)
    if jaw is None:
        jaw, rest = meant, what
    if rest not in (*_PAIRS, _DEPTH, _FRONTS):
        return None
    if jaw is None:
        raise InputError(f'measure {part!r}: which jaw? use "upper {part}" or "lower {part}"')
    if rest == _FRONTS:
        teeth = tuple(tooth_at(jaw, along) for along in (-3, -2, -1, 1, 2, 3))
        return Measure("teeth", teeth, mm, phrase=rest)
    places = (6,) if rest == _DEPTH else (_PAIRS[rest],)
    pair = tuple(tooth_at(jaw, side * place) for place in places for side in (-1, 1))
    return Measure("depth" if rest == _DEPTH else "across", pair, mm, phrase=rest)


def _by_teeth(part: str, what: str, mm: float, notation: Notation) -> Measure:
    row = what.startswith("row ")
    names = what.removeprefix("row ").split("-")
    if " " in what.removeprefix("row ") or len(names) > 2 or (row and len(names) < 2):
        raise InputError(f"measure {part!r}: not understood; {GRAMMAR}")
    teeth = tuple(read(name, notation) for name in names)
    if len(teeth) == 1:
        return Measure("teeth", teeth, mm)
    first, other = teeth
    if first.jaw != other.jaw or first.along == other.along:
        raise InputError(f"measure {part!r}: name two teeth of one jaw")
    if row:
        return Measure("row", teeth, mm)
    if first.mirrored != other:
        raise InputError(
            f"measure {part!r}: a width runs to the same tooth of the other side; use "
            f'{write(first, notation)}-{write(first.mirrored, notation)}, or "row" for a length '
            f"along the row"
        )
    return Measure("across", teeth, mm)


def _alike(first: Measure, other: Measure) -> bool:
    return (first.kind, first.point, set(first.teeth)) == (
        other.kind,
        other.point,
        set(other.teeth),
    )


def _check(measure: Measure, part: str) -> None:
    fronts = measure.kind == "teeth" and len(measure.teeth) > 1
    low, high = _FRONTS_BOUNDS_MM if fronts else _BOUNDS_MM[measure.kind]
    if not (isfinite(measure.mm) and low <= measure.mm <= high):
        raise InputError(
            f"measure {part!r}: {measure.mm:g} mm must be {low:g} to {high:g} mm; measure again"
        )


def _number(part: str, word: str) -> float:
    try:
        return float(word.replace(",", "."))
    except ValueError:
        raise InputError(f"measure {part!r}: {word!r} is no number of mm; {GRAMMAR}") from None
