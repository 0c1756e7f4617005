"""Forms of the dental arch other than the row of gum-line centres, for comparison.

Each form is brought as near to the model's own widths across as it comes, by least squares. The
teeth lie along it as chords, contact to contact, and the middle of a chord stands for the tooth.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.chords import lay_chords
from sheetmark.anatomy.curves import Beta, Catenary, Curve, EvenOrder, SixthOrder
from sheetmark.anatomy.jaw import row_lengths
from sheetmark.anatomy.teeth import JAWS, Jaw, tooth_of_slot
from sheetmark.base.findings import InputError
from sheetmark.base.sources import cite

Form = Literal["sixth-order", "beta", "catenary", "even-order"]

# Brings every parameter near 1.
_UNIT_MM = 12.0
# What the widths of a row that runs past the end of its curve count as off by, mm.
_FAR_OFF_MM = 100.0
# The beta curve ends at the second molars, so no form is asked to carry third molars.
_LAST_POSITION = 7


def _sixth_order(p: Sequence[float]) -> Curve:
    return SixthOrder(a=p[0] / _UNIT_MM**5, b=p[1] / _UNIT_MM, source="noroozi-2001", flag="D")


def _beta(p: Sequence[float]) -> Curve:
    return Beta(width_mm=p[0] * _UNIT_MM, depth_mm=p[1] * _UNIT_MM, source="braun-1998", flag="D")


def _catenary(p: Sequence[float]) -> Curve:
    return Catenary(a_mm=p[0] * _UNIT_MM, source="musich-ackerman-1973", flag="D")


def _even_order(p: Sequence[float]) -> Curve:
    a, b, c = (value / _UNIT_MM**power for value, power in zip(p, (1, 3, 5), strict=True))
    return EvenOrder(a=a, b=b, c=c, source="noroozi-2001", flag="assumption")


# The parameters of an ordinary arch, where the search starts, and the curve that they make.
_FORMS: dict[Form, tuple[tuple[float, ...], Callable[[Sequence[float]], Curve]]] = {
    "sixth-order": ((0.03, 0.4), _sixth_order),
    "beta": ((6.0, 5.0), _beta),
    "catenary": ((1.0,), _catenary),
    "even-order": ((0.4, 0.1, 0.03), _even_order),
}


def with_form(model: ArchModel, form: Form) -> ArchModel:
    """The model with both jaws, without third molars, on the form nearest to their widths."""
    upper, lower = (
        replace(model.jaw(jaw), row=_row(model, jaw), curve=nearest_curve(model, jaw, form))
        for jaw in JAWS
    )
    sources = {curve.source: cite(curve.source) for curve in (upper.curve, lower.curve) if curve}
    return replace(model, upper=upper, lower=lower, sources=model.sources | sources)


def nearest_curve(model: ArchModel, jaw: Jaw, form: Form) -> Curve:
    """The curve of the form whose widths across come nearest to the model's, by least squares."""
    from scipy.optimize import least_squares

    start, curve = _FORMS[form]
    short = replace(model, **{jaw: replace(model.jaw(jaw), row=_row(model, jaw), curve=None)})
    row = tuple((slot, None) for slot in short.jaw(jaw).reaching_row)
    lengths, items = row_lengths(short, jaw, row)
    across_mm = short.jaw(jaw).across_mm
    at = {_position(slot): number for number, slot in enumerate(items) if slot}

    def off(p: Sequence[float]) -> list[float]:
        try:
            tried = curve([float(value) for value in p])
            chords = lay_chords(tried.depth, lengths, tried.reach_mm)
        except InputError:
            return [_FAR_OFF_MM] * len(across_mm)
        return [2 * chords[at[place]].centre.x - mm for place, mm in across_mm.items()]

    found = least_squares(off, start, bounds=(0.0, float("inf")), xtol=1e-12, ftol=1e-12)
    return curve([float(value) for value in found.x])


def _row(model: ArchModel, jaw: Jaw) -> tuple[str, ...]:
    return tuple(slot for slot in model.jaw(jaw).row if _position(slot) <= _LAST_POSITION)


def _position(slot: str) -> int:
    return tooth_of_slot("upper", "left", slot).position
