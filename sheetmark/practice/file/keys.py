"""The practice file as a whole, and its JSON schema."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

from sheetmark.anatomy.teeth import Notation
from sheetmark.practice.file.rows import ClampRow, ListHeadingRow, ListWordRow, PrinterRow, SheetRow
from sheetmark.practice.file.sections import (
    USUAL,
    CardSection,
    CheckSection,
    CutterSection,
    HolesSection,
    IsolationSection,
    MarksSection,
    PageSection,
    PlacementSection,
    PunchSection,
    Section,
    shared_fields,
)
from sheetmark.practice.file.values import Line
from sheetmark.practice.settings import Numbers

FORMAT: Literal["sheetmark-practice/1"] = "sheetmark-practice/1"


_DEFAULT_TRAY = tuple(ClampRow(**shared_fields(clamp, ClampRow)) for clamp in USUAL.tray)


class PracticeFile(Section, frozen=True):
    """A clinic's own settings."""

    format: Annotated[
        Literal["sheetmark-practice/1"],
        Meta(title="Form of the file", description="The form of this file."),
    ]
    name: Annotated[
        Line,
        Meta(title="Clinic's name", description="Shown at the foot of every page; empty for none."),
    ] = USUAL.name
    notation: Annotated[
        Notation, Meta(title="Tooth notation", description="How teeth are written.")
    ] = USUAL.notation
    numbers: Annotated[
        Numbers,
        Meta(
            title="Decimal sign",
            description="Decimal sign in words on pages and screen; JSON always has the point.",
        ),
    ] = USUAL.numbers
    tray_turn_round_min: Annotated[
        int,
        Meta(
            title="Turn-round of clamps",
            ge=1,
            le=1440,
            description="Minutes from the time at which a clamp is wanted until it is sterilised "
            "and ready for the next case (assumption).",
        ),
    ] = USUAL.tray_turn_round_min
    page: PageSection = PageSection()
    sheets: Annotated[
        tuple[SheetRow, ...],
        Meta(title="Sheets in stock", description="Sheets in stock; the first is the default."),
    ] = ()
    isolation: IsolationSection = IsolationSection()
    punch: PunchSection = PunchSection()
    holes: HolesSection = HolesSection()
    placement: PlacementSection = PlacementSection()
    marks: MarksSection = MarksSection()
    cutter: CutterSection = CutterSection()
    card: CardSection = CardSection()
    check: CheckSection = CheckSection()
    tray: Annotated[
        tuple[ClampRow, ...],
        Meta(
            title="Clamps",
            description="The clamps you own, in your own words; one table for each sort.",
        ),
    ] = _DEFAULT_TRAY
    list_headings: Annotated[
        tuple[ListHeadingRow, ...],
        Meta(
            title="Headings of your lists",
            description="Headings of your day's lists that are not known by themselves.",
        ),
    ] = ()
    list_words: Annotated[
        tuple[ListWordRow, ...],
        Meta(
            title="Words of your lists",
            description="What your day's lists call procedures, where that is not known.",
        ),
    ] = ()
    printers: Annotated[
        tuple[PrinterRow, ...],
        Meta(title="Printers", description="Printers and their measured test bars."),
    ] = ()


def schema() -> dict[str, Any]:
    """The file's JSON schema."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "sheetmark practice file",
        **msgspec.json.schema(PracticeFile),
    }
