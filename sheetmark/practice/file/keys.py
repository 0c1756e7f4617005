"""The practice file: its form, and the way from TOML to the settings and back.

The types here are the schema, for the reader, for `sheetmark practice schema` and for the
comments of a new file. Every bound that is not from print is an assumption against slips.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, get_args, get_origin

import msgspec
from msgspec import UNSET, Meta, UnsetType, inspect, structs

from sheetmark.anatomy.teeth import Notation
from sheetmark.base.sources import citation, cite
from sheetmark.practice.printer import Printer, bar_limits_mm
from sheetmark.practice.settings import (
    EASE_LIMIT_MM,
    PAGE_MARGIN_LIMITS_MM,
    PUNCH_LIMITS_MM,
    SHEET_LIMITS_MM,
    THICKNESS_LIMITS_MM,
    THICKNESSES_MM,
    Corner,
    MarksKind,
    MaterialName,
    Numbers,
    OrientationMarks,
    PaperName,
    PlacementRules,
    Practice,
    Punch,
    Sheet,
    SizingRule,
    StockSheet,
    ThicknessWord,
)
from sheetmark.practice.tray import Clamp, ClampKind, Jaws, Version

FORMAT: Literal["sheetmark-practice/1"] = "sheetmark-practice/1"
_D = Practice()

# One line without a space at either end; which letters the font has is checked apart from this.
_LINE = r"^(?!\s|[\s\S]*[\x00-\x1f\x7f-\x9f]|[\s\S]*\s$)"
_Text = Annotated[str, Meta(pattern=_LINE, max_length=40)]
_Label = Annotated[str, Meta(pattern=_LINE, min_length=1, max_length=40)]
_PunchLabel = Annotated[str, Meta(pattern=_LINE, min_length=1, max_length=3)]
_PrinterName = Annotated[str, Meta(pattern=_LINE, min_length=1, max_length=20)]
_Side = Annotated[float, Meta(ge=SHEET_LIMITS_MM[0], le=SHEET_LIMITS_MM[1])]
_Diameter = Annotated[float, Meta(ge=PUNCH_LIMITS_MM[0], le=PUNCH_LIMITS_MM[1])]
_Thickness = Annotated[float, Meta(ge=THICKNESS_LIMITS_MM[0], le=THICKNESS_LIMITS_MM[1])]
_Edge = Annotated[float, Meta(ge=0, le=100)]
_Bar = Annotated[float, Meta(ge=bar_limits_mm()[0], le=bar_limits_mm()[1])]
_Neck = Annotated[float, Meta(ge=1, le=15)]


class Section(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A table of the file. What a file leaves out keeps its default."""


class PageSection(Section, frozen=True):
    """Paper and printer."""

    paper: Annotated[
        PaperName,
        Meta(title="Paper", description="The paper in the printer: ISO 216 A4 or ANSI letter."),
    ] = _D.paper
    margin_mm: Annotated[
        float,
        Meta(
            title="Page margin",
            ge=PAGE_MARGIN_LIMITS_MM[0],
            le=PAGE_MARGIN_LIMITS_MM[1],
            description="White edge of every page (assumption).",
        ),
    ] = _D.margin_mm
    printer: Annotated[
        _PrinterName,
        Meta(
            title="Printer in use",
            description="The printer in use, by its name under [[printers]]; none: no correction.",
        ),
    ] = _D.printer


class SheetRow(Section, frozen=True):
    """A sheet in stock; the first is the default."""

    width_mm: Annotated[
        _Side,
        Meta(
            title="Width",
            description="Width. Usual: 127 and 152, that is 5 and 6 inch (seen in print).",
            examples=[152.0],
        ),
    ]
    height_mm: Annotated[_Side, Meta(title="Height", description="Height.", examples=[152.0])]
    material: Annotated[
        MaterialName,
        Meta(
            title="Material",
            description="Decides how far a hole may stretch "
            f"({citation('jariyapongpaiboon')}, seen in print).",
        ),
    ] = _D.material
    thickness: Annotated[
        ThicknessWord | _Thickness | UnsetType,
        Meta(
            title="Thickness",
            description="thin 0.15, medium 0.20, heavy 0.25, extra-heavy 0.30 (seen in a "
            "secondary source), special-heavy 0.35 (from memory), or in mm.",
            examples=["medium"],
        ),
    ] = UNSET
    see_through: Annotated[
        bool,
        Meta(title="See-through", description="Whether marks on paper can be seen through it."),
    ] = True

    @classmethod
    def of(cls, kept: StockSheet) -> SheetRow:
        words = {mm: word for word, mm in THICKNESSES_MM.items()}
        mm = kept.thickness_mm
        return cls(
            width_mm=kept.sheet.width_mm,
            height_mm=kept.sheet.height_mm,
            material=kept.material,
            thickness=UNSET if mm is None else words.get(mm, mm),
            see_through=kept.see_through,
        )

    def record(self) -> StockSheet:
        stated = self.thickness
        if isinstance(stated, UnsetType):
            mm = None
        else:
            mm = THICKNESSES_MM[stated] if isinstance(stated, str) else stated
        return StockSheet(Sheet(self.width_mm, self.height_mm), self.material, mm, self.see_through)


class PunchSection(Section, frozen=True):
    """The punch."""

    diameters_mm: Annotated[
        tuple[_Diameter, ...],
        Meta(
            title="Hole diameters",
            min_length=1,
            max_length=12,
            description="Hole diameters in the order of the punch. "
            f"{citation('iso-16635-1')}: 6 or 8 holes, 0.5 to 2.6 (catalogue summary, seen in "
            "print); the list itself is an assumption.",
        ),
    ] = _D.punch.diameters_mm
    labels: Annotated[
        tuple[_PunchLabel, ...],
        Meta(
            title="Labels on the punch",
            description="What is written on the punch, one label for each hole; "
            "left out: 1, 2, 3 and so on.",
        ),
    ] = ()


class HolesSection(Section, frozen=True):
    """How holes are chosen and spaced."""

    sizing: Annotated[
        SizingRule,
        Meta(
            title="Sizing rule",
            description="crown: the smallest hole that passes the crown. two-size: middle hole "
            "for anchors, second smallest for the rest (common practice, no source).",
        ),
    ] = _D.sizing
    share_of_break: Annotated[
        float,
        Meta(
            title="Share of the stretch at break",
            ge=0.1,
            le=0.95,
            description="Share of the stretch at break that a hole may use while the crown "
            "passes (assumption).",
        ),
    ] = _D.share_of_break
    ease_mm: Annotated[
        float,
        Meta(
            title="Ease",
            ge=0,
            le=EASE_LIMIT_MM,
            description=f"Added to each pitch along the row. {cite('black-1908')}: "
            "slightly more than the full tooth width apart; no amount is given.",
        ),
    ] = _D.ease_mm


class PlacementSection(Section, frozen=True):
    """Where the sheet's middle goes."""

    shift: Annotated[
        bool,
        Meta(
            title="Move the middle",
            description="true: the middle goes towards the quadrant worked on (common practice, "
            "no source). false: centred.",
        ),
    ] = _D.shift
    inwards_mm: Annotated[
        float,
        Meta(
            title="Middle inwards of the holes",
            ge=0,
            le=40,
            description="The middle, inwards of the row of holes (assumption).",
        ),
    ] = _D.rules.inwards_mm
    upper_edge_above_incisal_mm: Annotated[
        tuple[_Edge, _Edge],
        Meta(
            title="Upper edge above the incisors",
            description="The upper edge above the upper incisors, from and to (assumption). "
            f"Upper lip covered, nostrils free: {cite('black-1908')}.",
        ),
    ] = _D.rules.upper_edge_above_incisal_mm
    side_edge_from_midline_mm: Annotated[
        float,
        Meta(
            title="Side edge from the midline",
            ge=20,
            le=100,
            description="Each side edge from the midline (assumption).",
        ),
    ] = _D.rules.side_edge_from_midline_mm
    hole_to_edge_mm: Annotated[
        float,
        Meta(title="Hole to edge", ge=15, le=70, description="A hole from any edge (assumption)."),
    ] = _D.rules.hole_to_edge_mm
    hole_to_edge_refused_mm: Annotated[
        float,
        Meta(
            title="Hole to edge, refused below",
            ge=15,
            le=70,
            description="Nearer than this is refused (assumption).",
        ),
    ] = _D.rules.hole_to_edge_refused_mm
    lesion_facial_mm: Annotated[
        float,
        Meta(
            title="Gumline lesion, facial",
            ge=0,
            le=3,
            description="Hole for a gumline lesion, facial (Sturdevant, from memory).",
        ),
    ] = _D.rules.lesion_facial_mm
    lesion_to_neighbour_mm: Annotated[
        float,
        Meta(
            title="Gumline lesion, to each neighbour",
            ge=0,
            le=3,
            description="The same, more to each neighbour (Sturdevant, from memory).",
        ),
    ] = _D.rules.lesion_to_neighbour_mm


class MarksSection(Section, frozen=True):
    """Orientation marks."""

    kind: Annotated[
        MarksKind,
        Meta(
            title="Kind of mark",
            description="two-dots near the upper edge, or one corner-hole (both common practice, "
            "no source).",
        ),
    ] = _D.marks.kind
    below_edge_mm: Annotated[
        float,
        Meta(
            title="Dots below the edge",
            ge=9,
            le=14,
            description="The two dots below the upper edge (assumption).",
        ),
    ] = _D.marks.below_edge_mm
    from_middle_mm: Annotated[
        float,
        Meta(
            title="Dots from the middle",
            ge=8,
            le=25,
            description="The two dots from the middle (assumption).",
        ),
    ] = _D.marks.from_middle_mm
    corner: Annotated[
        Corner,
        Meta(
            title="Corner of the hole",
            description="The corner of the corner hole, as the patient's left and right "
            "(common practice, no source).",
        ),
    ] = _D.marks.corner
    from_corner_edges_mm: Annotated[
        float,
        Meta(
            title="Corner hole from the edges",
            ge=5,
            le=14,
            description="The corner hole from both edges (assumption).",
        ),
    ] = _D.marks.from_corner_edges_mm


class ClampRow(Section, frozen=True):
    """One sort of clamp."""

    label: Annotated[
        _Label, Meta(title="Label", description="Your own name for it.", examples=["molar winged"])
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
        tuple[_Neck, _Neck] | UnsetType,
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
    count: Annotated[int, Meta(title="How many", ge=1, le=99, description="How many you own.")] = 1
    retired: Annotated[bool, Meta(title="Retired", description="No longer in use.")] = False


class PrinterRow(Section, frozen=True):
    """A printer's own error, as `sheetmark printer set` stores it."""

    name: Annotated[
        _PrinterName,
        Meta(title="Name", description="Your own name for it.", examples=["front-desk"]),
    ]
    bar_x_mm: Annotated[
        _Bar,
        Meta(
            title="Bar across",
            description="The test page's 150 mm bar across, as measured.",
            examples=[149.4],
        ),
    ]
    bar_y_mm: Annotated[
        _Bar, Meta(title="Bar down", description="The bar down, as measured.", examples=[150.2])
    ]


def _shared(source: object, kind: type) -> dict[str, Any]:
    """The stated fields that a record and a table have under the same name."""
    values = {name: getattr(source, name, None) for name in kind.__annotations__}
    return {name: value for name, value in values.items() if value not in (None, UNSET)}


_DEFAULT_TRAY = tuple(ClampRow(**_shared(clamp, ClampRow)) for clamp in _D.tray)


class PracticeFile(Section, frozen=True):
    """A clinic's own settings."""

    format: Annotated[
        Literal["sheetmark-practice/1"],
        Meta(title="Form of the file", description="The form of this file."),
    ]
    name: Annotated[
        _Text,
        Meta(title="Clinic's name", description="Shown at the foot of every page; empty for none."),
    ] = _D.name
    notation: Annotated[
        Notation, Meta(title="Tooth notation", description="How teeth are written.")
    ] = _D.notation
    numbers: Annotated[
        Numbers,
        Meta(
            title="Decimal sign",
            description="Decimal sign in words on pages and screen; JSON always has the point.",
        ),
    ] = _D.numbers
    tray_turn_round_min: Annotated[
        int,
        Meta(
            title="Turn-round of clamps",
            ge=1,
            le=1440,
            description="Minutes from the time at which a clamp is wanted until it is sterilised "
            "and ready for the next case (assumption).",
        ),
    ] = _D.tray_turn_round_min
    page: PageSection = PageSection()
    sheets: Annotated[
        tuple[SheetRow, ...],
        Meta(title="Sheets in stock", description="Sheets in stock; the first is the default."),
    ] = ()
    punch: PunchSection = PunchSection()
    holes: HolesSection = HolesSection()
    placement: PlacementSection = PlacementSection()
    marks: MarksSection = MarksSection()
    tray: Annotated[
        tuple[ClampRow, ...],
        Meta(
            title="Clamps",
            description="The clamps you own, in your own words; one table for each sort.",
        ),
    ] = _DEFAULT_TRAY
    printers: Annotated[
        tuple[PrinterRow, ...],
        Meta(title="Printers", description="Printers and their measured test bars."),
    ] = ()


def to_practice(file: PracticeFile) -> Practice:
    """The settings that a checked file holds."""
    stock = tuple(row.record() for row in file.sheets)
    first = stock[0] if stock else StockSheet(_D.sheet, _D.material)
    numbered = _numbered(len(file.punch.diameters_mm))
    return Practice(
        **_shared(file.page, Practice) | _shared(file.holes, Practice),
        name=file.name,
        notation=file.notation,
        numbers=file.numbers,
        sheet=first.sheet,
        material=first.material,
        stock=stock,
        punch=Punch(
            file.punch.diameters_mm, () if file.punch.labels == numbered else file.punch.labels
        ),
        shift=file.placement.shift,
        rules=PlacementRules(**_shared(file.placement, PlacementRules)),
        marks=OrientationMarks(**_shared(file.marks, OrientationMarks)),
        tray=tuple(Clamp(**_shared(row, Clamp)) for row in file.tray),
        tray_turn_round_min=file.tray_turn_round_min,
        printers=tuple(Printer(**_shared(row, Printer)) for row in file.printers),
    )


def from_practice(practice: Practice) -> PracticeFile:
    """The file that holds these settings; the inverse of `to_practice`, but that the sheet in use
    is always the first in stock there."""
    punch = practice.punch
    return PracticeFile(
        format=FORMAT,
        name=practice.name,
        notation=practice.notation,
        numbers=practice.numbers,
        page=PageSection(**_shared(practice, PageSection)),
        sheets=tuple(SheetRow.of(kept) for kept in practice.stock),
        punch=PunchSection(
            diameters_mm=punch.diameters_mm,
            labels=punch.labels or _numbered(len(punch.diameters_mm)),
        ),
        holes=HolesSection(**_shared(practice, HolesSection)),
        placement=PlacementSection(
            **_shared(practice.rules, PlacementSection), shift=practice.shift
        ),
        marks=MarksSection(**_shared(practice.marks, MarksSection)),
        tray=tuple(ClampRow(**_shared(clamp, ClampRow)) for clamp in practice.tray),
        tray_turn_round_min=practice.tray_turn_round_min,
        printers=tuple(PrinterRow(**_shared(known, PrinterRow)) for known in practice.printers),
    )


def _numbered(count: int) -> tuple[str, ...]:
    return tuple(str(position + 1) for position in range(count))


def limit_in_words(form: Any, key: str) -> str:
    """What the value of a key may be, in words; lengths by the ending of the key."""
    unit = " mm" if key.rpartition(".")[2].partition("[")[0].endswith("_mm") else ""
    return _in_words(inspect.type_info(form), unit)


def section_of(form: Any) -> type[Section] | None:
    """The table that a key's value is, if it is one."""
    return form if isinstance(form, type) and issubclass(form, Section) else None


def item_of(form: Any) -> Any:
    """The type of the entries of a list of any length, else None."""
    while get_origin(form) is Annotated:
        form = get_args(form)[0]
    entries = get_args(form)
    return entries[0] if get_origin(form) is tuple and entries[-1] is Ellipsis else None


def described(field: structs.FieldInfo) -> dict[str, Any]:
    """What is said about a key: title, description, examples."""
    info = inspect.type_info(field.type)
    said = info.extra_json_schema if isinstance(info, inspect.Metadata) else None
    return dict(said or {})


def bare(info: inspect.Type) -> inspect.Type:
    """A type without what is said about it."""
    return info.type if isinstance(info, inspect.Metadata) else info


def _in_words(info: inspect.Type, unit: str) -> str:
    match bare(info):
        case inspect.LiteralType(values):
            words = " or ".join(str(value) for value in values)
        case inspect.IntType() as number:
            words = f"a whole number of {number.ge:g} to {number.le:g}"
        case inspect.FloatType() as number:
            words = f"a number of {number.ge:g} to {number.le:g}{unit}"
        case inspect.StrType() as text:
            low, high = text.min_length or 0, text.max_length
            words = f"text of {low} to {high} characters, one line, no space at an end"
        case inspect.TupleType(items):
            words = f"a list of {len(items)}, each {_in_words(items[0], unit)}"
        case inspect.VarTupleType(item):
            words = f"a list, each {_in_words(item, unit)}"
        case inspect.UnionType(types):
            words = ", or ".join(_in_words(one, unit or " mm") for one in types)
        case _:
            words = "true or false"
    return words


def schema() -> dict[str, Any]:
    """The file's JSON schema."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "sheetmark practice file",
        **msgspec.json.schema(PracticeFile),
    }
