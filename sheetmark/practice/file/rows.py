"""The lists of the practice file: a row each for a sheet in stock, a sort of clamp, a printer."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, UnsetType

from sheetmark.base.sources import citation
from sheetmark.practice.file.sections import USUAL, Section
from sheetmark.practice.file.values import BarMm, Label, NeckMm, PrinterName, SideMm, ThicknessMm
from sheetmark.practice.list_terms import ListColumn, ListMeaning
from sheetmark.practice.settings import (
    THICKNESSES_MM,
    MaterialName,
    Sheet,
    StockSheet,
    ThicknessWord,
)
from sheetmark.practice.tray import ClampKind, Jaws, Version


class SheetRow(Section, frozen=True):
    """A sheet in stock; the first is the default."""

    width_mm: Annotated[
        SideMm,
        Meta(
            title="Width",
            description="Width. Usual: 127 and 152, that is 5 and 6 inch (seen in print).",
            examples=[152.0],
        ),
    ]
    height_mm: Annotated[SideMm, Meta(title="Height", description="Height.", examples=[152.0])]
    material: Annotated[
        MaterialName,
        Meta(
            title="Material",
            description="Decides how far a hole may stretch "
            f"({citation('jariyapongpaiboon')}, seen in print).",
        ),
    ] = USUAL.material
    thickness: Annotated[
        ThicknessWord | ThicknessMm | UnsetType,
        Meta(
            title="Thickness",
            description="thin 0.15, medium 0.20, heavy 0.25, extra-heavy 0.30 (seen in a "
            "secondary source), or in mm.",
            examples=["medium"],
        ),
    ] = UNSET
    see_through: Annotated[
        bool,
        Meta(title="See-through", description="Whether marks on paper can be seen through it."),
    ] = True

    @classmethod
    def of(cls, kept: StockSheet) -> SheetRow:
        """The row that states a sheet in stock."""
        names = {mm: word for word, mm in THICKNESSES_MM.items()}
        mm = kept.thickness_mm
        return cls(
            width_mm=kept.sheet.width_mm,
            height_mm=kept.sheet.height_mm,
            material=kept.material,
            thickness=UNSET if mm is None else names.get(mm, mm),
            see_through=kept.see_through,
        )

    def record(self) -> StockSheet:
        """The sheet in stock that the row states, its thickness in mm."""
        stated = self.thickness
        if isinstance(stated, UnsetType):
            mm = None
        else:
            mm = THICKNESSES_MM[stated] if isinstance(stated, str) else stated
        return StockSheet(Sheet(self.width_mm, self.height_mm), self.material, mm, self.see_through)


class ClampRow(Section, frozen=True):
    """One sort of clamp."""

    label: Annotated[
        Label, Meta(title="Label", description="Your own name for it.", examples=["molar winged"])
    ]
    kind: Annotated[
        ClampKind,
        Meta(
            title="Made for",
            description="What it is made for; front is the double bow.",
            examples=["molar"],
        ),
    ]
    winged: Annotated[
        bool, Meta(title="Winged", description="Whether it has wings.", examples=[True])
    ]
    jaws: Annotated[
        Jaws,
        Meta(
            title="Jaws",
            description="Jaws of like size, or of unlike size with the larger towards the cheek.",
        ),
    ] = "alike"
    version: Annotated[
        Version | UnsetType,
        Meta(
            title="Version",
            description="Of unlike jaws only: the one for quadrants 1 and 3, or its mirror (common "
            "practice, no source).",
            examples=["quadrants-1-3"],
        ),
    ] = UNSET
    span_mm: Annotated[
        tuple[NeckMm, NeckMm] | UnsetType,
        Meta(
            title="Span",
            description="Tooth widths at the neck that its jaws hold, from and to, where known.",
            examples=[[7.0, 10.5]],
        ),
    ] = UNSET
    secondary: Annotated[
        bool,
        Meta(
            title="Secondary",
            description="Only holds the sheet down beside a stronger clamp, never alone "
            "(common practice, no source).",
        ),
    ] = False
    cervical: Annotated[
        bool,
        Meta(
            title="For the gum line",
            description="Draws the gum back from a lesion once the sheet is on. Never chosen to "
            "hold the sheet (common practice, no source).",
        ),
    ] = False
    jaws_towards_gum: Annotated[
        bool,
        Meta(
            title="Jaws towards the gum",
            description="For teeth with little crown, and for lesions at the gum line (common "
            "practice, no source).",
        ),
    ] = False
    count: Annotated[int, Meta(title="How many", ge=1, le=99, description="How many you own.")] = 1
    retired: Annotated[bool, Meta(title="Retired", description="No longer in use.")] = False


class ListHeadingRow(Section, frozen=True):
    """A heading of your own lists."""

    heading: Annotated[
        Label,
        Meta(
            title="Heading",
            description="As it stands in the list; capitals and accents do not count.",
            examples=["Beh.-Art"],
        ),
    ]
    column: Annotated[
        ListColumn,
        Meta(title="Read as", description="The column that it is.", examples=["procedure"]),
    ]


class ListWordRow(Section, frozen=True):
    """A word of your own lists."""

    word: Annotated[
        Label,
        Meta(
            title="Word",
            description="What stands in the list for a procedure; capitals and accents do not "
            "count.",
            examples=["SKF"],
        ),
    ]
    means: Annotated[
        ListMeaning,
        Meta(
            title="Means",
            description="The procedure, or skipped where such a row needs no sheet.",
            examples=["restoration"],
        ),
    ]


class PrinterRow(Section, frozen=True):
    """A printer's own error, as `sheetmark printer set` stores it."""

    name: Annotated[
        PrinterName,
        Meta(title="Name", description="Your own name for it.", examples=["front-desk"]),
    ]
    bar_x_mm: Annotated[
        BarMm,
        Meta(
            title="Bar across",
            description="The test page's 150 mm bar across, as measured.",
            examples=[149.4],
        ),
    ]
    bar_y_mm: Annotated[
        BarMm, Meta(title="Bar down", description="The bar down, as measured.", examples=[150.2])
    ]
