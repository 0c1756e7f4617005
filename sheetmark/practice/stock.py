"""Sheets in stock as words: `152 latex medium; 127 nitrile 0.2 opaque`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec.structs import replace

from sheetmark.base.findings import InputError
from sheetmark.practice.settings import (
    MATERIALS,
    THICKNESS_LIMITS_MM,
    THICKNESSES_MM,
    Sheet,
    StockSheet,
    read_sheet,
)

_OPAQUE = "opaque"
_TERMS: dict[str, dict[str, Any]] = {
    **{material: {"material": material} for material in MATERIALS},
    **{term: {"thickness_mm": mm} for term, mm in THICKNESSES_MM.items()},
    _OPAQUE: {"see_through": False},
}


def read_stock(text: str) -> tuple[StockSheet, ...]:
    """Sheets set apart by semicolons, each its size and any of material, thickness, `opaque`."""
    return tuple(_read_sheet(part.strip()) for part in text.split(";") if part.strip())


def write_stock(stock: Sequence[StockSheet]) -> str:
    """The inverse of `read_stock`."""
    return "; ".join(_write_sheet(kept) for kept in stock)


def _read_sheet(text: str) -> StockSheet:
    size, *terms = text.lower().split()
    stated: dict[str, Any] = {}
    for term in terms:
        change = _TERMS.get(term) or {"thickness_mm": _thickness(term, text)}
        for key in change.keys() & stated.keys():
            what = key.removesuffix("_mm").replace("_", " ")
            raise InputError(f"sheet {text!r}: {what} given twice; leave one out")
        stated |= change
    return replace(StockSheet(read_sheet(size), MATERIALS[0]), **stated)


def _thickness(term: str, text: str) -> float:
    low, high = THICKNESS_LIMITS_MM
    try:
        mm = float(term)
    except ValueError:
        mm = 0.0
    if not low <= mm <= high:
        raise InputError(
            f"sheet {text!r}: {term!r} must be {', '.join(_TERMS)}, or a thickness of {low:g} to "
            f"{high:g} mm"
        )
    return mm


def _write_sheet(kept: StockSheet) -> str:
    terms = [_size(kept.sheet), kept.material]
    if kept.thickness_mm is not None:
        known = {mm: term for term, mm in THICKNESSES_MM.items()}
        terms.append(known.get(kept.thickness_mm) or repr(kept.thickness_mm))
    return " ".join(terms if kept.see_through else [*terms, _OPAQUE])


def _size(sheet: Sheet) -> str:
    width, height = (repr(side).removesuffix(".0") for side in (sheet.width_mm, sheet.height_mm))
    return width if width == height else f"{width}x{height}"
