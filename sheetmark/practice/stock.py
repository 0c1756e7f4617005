"""Sheets in stock as words: `152 latex medium; 127 nitrile 0.2 opaque`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

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
_WORDS: dict[str, dict[str, Any]] = {
    **{material: {"material": material} for material in MATERIALS},
    **{word: {"thickness_mm": mm} for word, mm in THICKNESSES_MM.items()},
    _OPAQUE: {"see_through": False},
}


def read_stock(text: str) -> tuple[StockSheet, ...]:
    """Sheets set apart by semicolons, each its size and any of material, thickness, `opaque`."""
    return tuple(_read_one(part.strip()) for part in text.split(";") if part.strip())


def write_stock(stock: Sequence[StockSheet]) -> str:
    """The inverse of `read_stock`."""
    return "; ".join(_write_one(kept) for kept in stock)


def _read_one(text: str) -> StockSheet:
    size, *words = text.lower().split()
    said: dict[str, Any] = {}
    for word in words:
        change = _WORDS.get(word) or {"thickness_mm": _thickness(word, text)}
        for key in change.keys() & said.keys():
            what = key.removesuffix("_mm").replace("_", " ")
            raise InputError(f"sheet {text!r}: {what} said twice; leave one out")
        said |= change
    return replace(StockSheet(read_sheet(size), MATERIALS[0]), **said)


def _thickness(word: str, text: str) -> float:
    low, high = THICKNESS_LIMITS_MM
    try:
        mm = float(word)
    except ValueError:
        mm = 0.0
    if not low <= mm <= high:
        raise InputError(
            f"sheet {text!r}: {word!r} must be {', '.join(_WORDS)}, or a thickness of {low:g} to "
            f"{high:g} mm"
        )
    return mm


def _write_one(kept: StockSheet) -> str:
    words = [_size(kept.sheet), kept.material]
    if kept.thickness_mm is not None:
        known = {mm: word for word, mm in THICKNESSES_MM.items()}
        words.append(known.get(kept.thickness_mm) or repr(kept.thickness_mm))
    return " ".join(words if kept.see_through else [*words, _OPAQUE])


def _size(sheet: Sheet) -> str:
    width, height = (repr(side).removesuffix(".0") for side in (sheet.width_mm, sheet.height_mm))
    return width if width == height else f"{width}x{height}"
