"""What `sheetmark practice init` asks, and how an answer changes the settings."""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.teeth import NOTATIONS
from sheetmark.base.choice import pick
from sheetmark.practice.settings import (
    CORNERS,
    MARKS_KINDS,
    NUMBERS,
    PAPERS,
    STANDARD_SHEETS,
    Practice,
    Punch,
    StockSheet,
    read_punch,
)
from sheetmark.practice.stock import read_stock, write_stock
from sheetmark.practice.tray_text import read_tray, write_tray

# Unless the clinic names its own: both usual sizes, the larger first.
USUAL_STOCK = tuple(StockSheet(sheet, "latex") for sheet in reversed(STANDARD_SHEETS))


class Question(Struct, frozen=True):
    """A question: its text, the default answer, how an answer changes the settings, and whether
    it is put at all."""

    key: str
    text: str
    default: Callable[[Practice], str]
    answer: Callable[[Practice, str], Practice]
    put: Callable[[Practice], bool] = lambda _: True


QUESTIONS = (
    Question(
        "name",
        "The clinic's name on pages (may be empty)",
        lambda practice: practice.name,
        lambda practice, text: replace(practice, name=text),
    ),
    Question(
        "notation",
        f"How teeth are written ({', '.join(NOTATIONS)})",
        lambda practice: practice.notation,
        lambda practice, text: replace(practice, notation=pick("notation", text, NOTATIONS)),
    ),
    Question(
        "numbers",
        f"Decimal sign in words ({', '.join(NUMBERS)})",
        lambda practice: practice.numbers,
        lambda practice, text: replace(practice, numbers=pick("numbers", text, NUMBERS)),
    ),
    Question(
        "paper",
        f"Paper ({', '.join(PAPERS)})",
        lambda practice: practice.paper,
        lambda practice, text: replace(practice, paper=pick("paper", text, tuple(PAPERS))),
    ),
    Question(
        "sheets",
        "Sheets in stock, the usual one first: size, material, thickness; next",
        lambda practice: write_stock(practice.stock),
        lambda practice, text: replace(practice, stock=read_stock(text)),
    ),
    Question(
        "punch",
        "Hole diameters of the punch in mm, in its order",
        lambda practice: ",".join(f"{diameter:g}" for diameter in practice.punch.diameters_mm),
        lambda practice, text: replace(practice, punch=read_punch(text)),
    ),
    Question(
        "labels",
        "What stands on the punch beside each",
        lambda practice: ",".join(
            practice.punch.label(i + 1) for i in range(len(practice.punch.diameters_mm))
        ),
        lambda practice, text: replace(
            practice,
            punch=Punch(
                practice.punch.diameters_mm, tuple(label.strip() for label in text.split(","))
            ),
        ),
    ),
    Question(
        "marks",
        f"Orientation marks ({', '.join(MARKS_KINDS)})",
        lambda practice: practice.marks.kind,
        lambda practice, text: replace(
            practice, marks=replace(practice.marks, kind=pick("marks", text, MARKS_KINDS))
        ),
    ),
    Question(
        "corner",
        f"The hole's corner, the patient's ({', '.join(CORNERS)})",
        lambda practice: practice.marks.corner,
        lambda practice, text: replace(
            practice, marks=replace(practice.marks, corner=pick("corner", text, CORNERS))
        ),
        lambda practice: practice.marks.kind == "corner-hole",
    ),
    Question(
        "clamps",
        "Clamps: how many, what for, winged or wingless; next",
        lambda practice: write_tray(practice.tray),
        lambda practice, text: (
            practice
            if text == write_tray(practice.tray)
            else replace(practice, tray=read_tray(text))
        ),
    ),
)
