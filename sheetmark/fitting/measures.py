"""What callipers measured, from words: `upper canines 33.1`, `16-26 46`, `upper depth 30`, `16 10`.

Lengths in mm. Widths run from a tooth to the same tooth of the other side. Depth runs from the
contact between the central incisors straight back to the line that joins the first molars' centres.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite
from typing import Any, Literal, get_args

import msgspec

from sheetmark.anatomy.arch_model import ArchModel, ArchWidth, ToothWidth
from sheetmark.anatomy.teeth import JAWS, Jaw, Notation, Side, Tooth, read, tooth_of_slot, write
from sheetmark.base.findings import Action, Choice, InputError

MeasuringPoint = Literal["centres", "cusp-tips"]
MEASURING_POINTS: tuple[MeasuringPoint, ...] = get_args(MeasuringPoint)

FIRST_MOLAR = "6"
_CANINES = ("3", "C")
_ACROSS = ("canines", "molars", "depth")
# Bounds for a misplaced decimal point, not for anatomy (assumption).
_DEPTH_BOUNDS_MM = (5.0, 70.0)
_GRAMMAR = (
    'use "upper canines 33.1", "upper molars 46", "upper depth 30", '
    "a tooth and the same tooth of the other side with their width, or a tooth and its width"
)


@dataclass(frozen=True, slots=True)
class JawMeasures:
    """One jaw: widths between a slot's two sides, depth, and the teeth's own widths, all mm."""

    jaw: Jaw
    between: dict[str, float]
    depth_mm: float | None
    teeth: dict[Tooth, float]


def read_measures(
    texts: Iterable[str], base: ArchModel, notation: Notation, jaw: Jaw | None = None
) -> tuple[JawMeasures, ...]:
    """The measures of each jaw that has any, upper first; `base` says which teeth are meant.

    `jaw` is the one meant where the words leave it out, and then the only one.

    Raises InputError, one line, for words that are no measure and for one given twice.
    """
    jaws = {jaw: JawMeasures(jaw, {}, None, {}) for jaw in JAWS}
    for text in texts:
        for part in text.split(";"):
            if part.strip():
                _read_part(_with_jaw(part.strip(), jaw), jaws, base, notation)
    found = [
        measures
        for measures in jaws.values()
        if measures.between or measures.depth_mm or measures.teeth
    ]
    for measures in found:
        if jaw not in (None, measures.jaw):
            raise InputError(
                f"measures of the {measures.jaw} jaw, but the jaw meant is {jaw}; correct one",
                actions=(Action(Choice.JAW),),
            )
    return tuple(found)


def check_tooth_width(mm: float, what: str) -> float:
    """The width of a tooth, mm. Raises InputError outside the loader's bounds."""
    return _checked(mm, what, *_bounds(ToothWidth))


def check_arch_width(mm: float, what: str) -> float:
    """A width across the arch, mm. Raises InputError outside the loader's bounds."""
    return _checked(mm, what, *_bounds(ArchWidth))


def pair_name(jaw: Jaw, slot: str, notation: Notation) -> str:
    """`13-23`: a tooth of the right and the same one of the left."""
    sides: tuple[Side, ...] = ("right", "left")
    return "-".join(write(tooth_of_slot(jaw, side, slot), notation) for side in sides)


def _with_jaw(part: str, jaw: Jaw | None) -> str:
    return f"{jaw} {part}" if jaw and part.lower().startswith(_ACROSS) else part


def _read_part(
    part: str, jaws: dict[Jaw, JawMeasures], base: ArchModel, notation: Notation
) -> None:
    terms = part.lower().removesuffix("mm").split()
    if not 2 <= len(terms) <= 3:
        raise InputError(f"measure {part!r}: not understood; {_GRAMMAR}")
    mm = _number(part, terms[-1])
    if len(terms) == 3:
        jaw = next((jaw for jaw in JAWS if jaw == terms[0]), None)
        if jaw is None or terms[1] not in _ACROSS:
            raise InputError(f"measure {part!r}: not understood; {_GRAMMAR}")
        here = jaws[jaw]
        if terms[1] == "depth":
            _once(part, here.depth_mm is None)
            if FIRST_MOLAR not in base.jaw(jaw).row:
                raise InputError(
                    f"measure {part!r}: {base.name} has no first molars in its {jaw} row, to "
                    f"which depth is measured; choose another base model, or measure widths only",
                    actions=(Action(Choice.BASE),),
                )
            depth = _checked(mm, f"measure {part!r}", *_DEPTH_BOUNDS_MM)
            jaws[jaw] = JawMeasures(jaw, here.between, depth, here.teeth)
        else:
            _add_pair(part, here, _slot_meant(part, terms[1], jaw, base, notation), mm)
    elif "-" in terms[0]:
        first, other = _pair(part, terms[0], notation)
        if first.mirrored != other:
            raise InputError(
                f"measure {part!r}: a width runs to the same tooth of the other side; "
                f"use {write(first, notation)}-{write(first.mirrored, notation)}"
            )
        _add_pair(part, jaws[first.jaw], first.slot, mm)
    else:
        if terms[0] in _ACROSS:
            raise InputError(f'measure {part!r}: which jaw? use "upper {part}" or "lower {part}"')
        tooth = read(terms[0], notation)
        _once(part, tooth not in jaws[tooth.jaw].teeth)
        jaws[tooth.jaw].teeth[tooth] = check_tooth_width(mm, f"measure {part!r}")


def _pair(part: str, word: str, notation: Notation) -> tuple[Tooth, Tooth]:
    first, dash, other = word.partition("-")
    if not dash or "-" in other:
        raise InputError(f"measure {part!r}: not understood; {_GRAMMAR}")
    return read(first, notation), read(other, notation)


def _add_pair(part: str, here: JawMeasures, slot: str, mm: float) -> None:
    _once(part, slot not in here.between)
    here.between[slot] = check_arch_width(mm, f"measure {part!r}")


def _slot_meant(part: str, word: str, jaw: Jaw, base: ArchModel, notation: Notation) -> str:
    row = base.jaw(jaw).row
    slots = _CANINES if word == "canines" else (FIRST_MOLAR,)
    for slot in slots:
        if slot in row:
            return slot
    last = pair_name(jaw, row[-1], notation)
    raise InputError(
        f"measure {part!r}: {base.name} has no such teeth in its {jaw} row; "
        f'choose another base model, or name the pair that was measured, such as "{last} 40"',
        actions=(Action(Choice.BASE),),
    )


def _once(part: str, new: bool) -> None:
    if not new:
        raise InputError(f"measure {part!r}: given twice; keep one")


def _number(part: str, word: str) -> float:
    try:
        return float(word.replace(",", "."))
    except ValueError:
        raise InputError(f"measure {part!r}: {word!r} is no number of mm; {_GRAMMAR}") from None


def _checked(mm: float, what: str, low: float, high: float) -> float:
    if not (isfinite(mm) and low <= mm <= high):
        raise InputError(f"{what}: {mm:g} mm must be {low:g} to {high:g} mm; measure again")
    return mm


def _bounds(kind: Any) -> tuple[float, float]:
    """The loader's own bounds, so that what is fitted can be loaded again."""
    meta: msgspec.Meta = get_args(kind)[1]
    assert isinstance(meta.ge, int | float)
    assert isinstance(meta.le, int | float)
    return float(meta.ge), float(meta.le)
