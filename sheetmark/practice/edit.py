"""Changing a practice file in place: only what changes, with every remark kept."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from sheetmark.findings import InputError
from sheetmark.practice.check import Unwritable, check_text, writable
from sheetmark.practice.printer import Printer
from sheetmark.practice.settings import Practice


def store_printer(
    text: str, printer: Printer, file_name: str, unwritable: Unwritable = writable
) -> str:
    """A practice file's text with the printer's bars stored, and the printer in use.

    Raises InputError for a text with a problem, and where the printer would make one.
    """
    before = check_text(text, file_name).practice
    changed = _edited(text, printer)
    after = check_text(changed, file_name, unwritable).practice
    if replace(after, origin=None) != replace(_with(before, printer), origin=None):
        raise InputError(
            f"{file_name}: its layout does not allow a change in place; add this by hand: "
            f"[[printers]] name = {printer.name!r}, bar_x_mm = {printer.bar_x_mm:g}, "
            f"bar_y_mm = {printer.bar_y_mm:g}, and printer = {printer.name!r} under [page]"
        )
    return changed


def _with(practice: Practice, printer: Printer) -> Practice:
    """The settings with the printer added, or in the place of its namesake, and in use."""
    names = [known.name for known in practice.printers]
    if printer.name in names:
        printers = tuple(
            printer if known.name == printer.name else known for known in practice.printers
        )
    else:
        printers = (*practice.printers, printer)
    return replace(practice, printers=printers, printer=printer.name)


def _edited(text: str, printer: Printer) -> str:
    # Slow to load, and needed for nothing else: it changes TOML and keeps its remarks.
    import tomlkit
    from tomlkit.items import Array

    document = tomlkit.parse(text)
    bars = {"bar_x_mm": printer.bar_x_mm, "bar_y_mm": printer.bar_y_mm}
    rows: Any = document.setdefault("printers", tomlkit.aot())
    known = next((row for row in rows if row["name"] == printer.name), None)
    if known is None:
        row: Any = tomlkit.inline_table() if isinstance(rows, Array) else tomlkit.table()
        row.update({"name": printer.name, **bars})
        if not isinstance(rows, Array):
            row.add(tomlkit.nl())
        rows.append(row)
    else:
        known.update(bars)
    page: Any = document.setdefault("page", tomlkit.table())
    page["printer"] = printer.name
    return tomlkit.dumps(document)
