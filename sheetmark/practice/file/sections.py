"""The tables of the practice file: each key with its title, its limits and its source.

The types are the schema, for the reader, for `sheetmark practice schema` and for the comments of
a new file.
"""

from __future__ import annotations

from typing import Annotated, Any

import msgspec
from msgspec import UNSET, Meta

from sheetmark.base.row_rules import Hold, RowRule
from sheetmark.base.sources import citation, cite
from sheetmark.practice.file.values import Colour, DiameterMm, EdgeMm, PrinterName, PunchLabel
from sheetmark.practice.settings import (
    EASE_LIMIT_MM,
    PAGE_MARGIN_LIMITS_MM,
    Corner,
    FrameOrder,
    MarksKind,
    PaperName,
    Practice,
    SizingRule,
)
from sheetmark.practice.tolerance import TOLERANCE_LIMITS_MM

USUAL = Practice()


class Section(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A table of the file. What a file leaves out keeps its default."""


def shared_fields(source: object, kind: type) -> dict[str, Any]:
    """The stated fields that a record and a table have under the same name."""
    values = {name: getattr(source, name, None) for name in kind.__annotations__}
    return {name: value for name, value in values.items() if value not in (None, UNSET)}


class PageSection(Section, frozen=True):
    """Paper and printer."""

    paper: Annotated[
        PaperName,
        Meta(title="Paper", description="The paper in the printer: ISO 216 A4 or ANSI letter."),
    ] = USUAL.paper
    margin_mm: Annotated[
        float,
        Meta(
            title="Page margin",
            ge=PAGE_MARGIN_LIMITS_MM[0],
            le=PAGE_MARGIN_LIMITS_MM[1],
            description="White edge of every page (assumption).",
        ),
    ] = USUAL.margin_mm
    printer: Annotated[
        PrinterName,
        Meta(
            title="Printer in use",
            description="The printer in use, by its name in the list; none: no correction.",
        ),
    ] = USUAL.printer


class PunchSection(Section, frozen=True):
    """The punch."""

    diameters_mm: Annotated[
        tuple[DiameterMm, ...],
        Meta(
            title="Hole diameters",
            min_length=1,
            max_length=12,
            description="Hole diameters in the order of the punch. "
            f"{citation('iso-16635-1')}: 6 or 8 holes, 0.5 to 2.6 (catalogue summary, seen in "
            "print); the list itself is an assumption.",
        ),
    ] = USUAL.punch.diameters_mm
    labels: Annotated[
        tuple[PunchLabel, ...],
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
            description="crown: the smallest hole that passes the crown. two-size: one hole "
            "for all anchors, one for all other teeth (common practice, no source).",
        ),
    ] = USUAL.sizing
    share_of_break: Annotated[
        float,
        Meta(
            title="Share of the stretch at break",
            ge=0.1,
            le=0.95,
            description="Share of the stretch at break that a hole may use while the crown "
            "passes (assumption).",
        ),
    ] = USUAL.share_of_break
    ease_mm: Annotated[
        float,
        Meta(
            title="Ease",
            ge=0,
            le=EASE_LIMIT_MM,
            description=f"Added to each pitch along the row. {cite('black-1908')}: "
            "slightly more than the full tooth width apart; no amount is given.",
        ),
    ] = USUAL.ease_mm


class IsolationSection(Section, frozen=True):
    """Which teeth come through the sheet."""

    row: Annotated[
        RowRule,
        Meta(
            title="Row of teeth",
            description="textbook: premolars with two teeth behind them, canines from the first "
            "molar to the opposite lateral incisor (Sturdevant, from memory). short: one behind, "
            "canines like incisors. wide: as textbook, in front to the opposite lateral incisor "
            "(both common practice, no source).",
        ),
    ] = USUAL.row
    hold: Annotated[
        Hold,
        Meta(
            title="Front rows held by",
            description="What holds the sheet at front teeth and first premolars: a clamp, a "
            "floss ligature, or a wedge or strip of sheet (common practice, no source).",
        ),
    ] = USUAL.hold


class PlacementSection(Section, frozen=True):
    """Where the sheet's middle goes."""

    shift: Annotated[
        bool,
        Meta(
            title="Move the middle",
            description="true: the middle goes towards the quadrant worked on (common practice, "
            "no source). false: centred.",
        ),
    ] = USUAL.shift
    inwards_mm: Annotated[
        float,
        Meta(
            title="Middle inwards of the holes",
            ge=0,
            le=40,
            description="The middle, inwards of the row of holes (assumption).",
        ),
    ] = USUAL.rules.inwards_mm
    upper_edge_above_incisal_mm: Annotated[
        tuple[EdgeMm, EdgeMm],
        Meta(
            title="Upper edge above the incisors",
            description="The upper edge above the upper incisors, from and to (assumption). "
            f"Upper lip covered, nostrils free: {cite('black-1908')}.",
        ),
    ] = USUAL.rules.upper_edge_above_incisal_mm
    nostrils_above_incisal_mm: Annotated[
        float,
        Meta(
            title="Nostrils above the incisors",
            ge=10,
            le=60,
            description="Where an adult's nostrils begin, above the upper incisors (derived, about "
            "24 to 28). A higher edge is folded down along a line there.",
        ),
    ] = USUAL.rules.nostrils_above_incisal_mm
    lower_edge_below_incisal_mm: Annotated[
        float,
        Meta(
            title="Lower edge below the incisors",
            ge=40,
            le=200,
            description="The lower edge below the upper incisors, at least (assumption).",
        ),
    ] = USUAL.rules.lower_edge_below_incisal_mm
    side_edge_from_midline_mm: Annotated[
        float,
        Meta(
            title="Side edge from the midline",
            ge=20,
            le=100,
            description="Each side edge from the midline (assumption).",
        ),
    ] = USUAL.rules.side_edge_from_midline_mm
    hole_to_edge_mm: Annotated[
        float,
        Meta(title="Hole to edge", ge=15, le=70, description="A hole from any edge (assumption)."),
    ] = USUAL.rules.hole_to_edge_mm
    hole_to_edge_refused_mm: Annotated[
        float,
        Meta(
            title="Hole to edge, refused below",
            ge=15,
            le=70,
            description="Nearer than this is refused (assumption).",
        ),
    ] = USUAL.rules.hole_to_edge_refused_mm
    lesion_facial_mm: Annotated[
        float,
        Meta(
            title="Gumline lesion, facial",
            ge=0,
            le=3,
            description="Hole for a gumline lesion, facial (Sturdevant, from memory).",
        ),
    ] = USUAL.rules.lesion_facial_mm
    lesion_to_neighbour_mm: Annotated[
        float,
        Meta(
            title="Gumline lesion, to each neighbour",
            ge=0,
            le=3,
            description="The same, more to each neighbour (Sturdevant, from memory).",
        ),
    ] = USUAL.rules.lesion_to_neighbour_mm


class MarksSection(Section, frozen=True):
    """Orientation marks."""

    kind: Annotated[
        MarksKind,
        Meta(
            title="Kind of mark",
            description="two-dots near the upper edge, or one corner-hole (both common practice, "
            "no source).",
        ),
    ] = USUAL.marks.kind
    below_edge_mm: Annotated[
        float,
        Meta(
            title="Dots below the edge",
            ge=9,
            le=14,
            description="The two dots below the upper edge (assumption).",
        ),
    ] = USUAL.marks.below_edge_mm
    from_middle_mm: Annotated[
        float,
        Meta(
            title="Dots from the middle",
            ge=8,
            le=25,
            description="The two dots from the middle (assumption).",
        ),
    ] = USUAL.marks.from_middle_mm
    corner: Annotated[
        Corner,
        Meta(
            title="Corner of the hole",
            description="The corner of the corner hole, as the patient's left and right "
            "(common practice, no source).",
        ),
    ] = USUAL.marks.corner
    from_corner_edges_mm: Annotated[
        float,
        Meta(
            title="Corner hole from the edges",
            ge=5,
            le=14,
            description="The corner hole from both edges (assumption).",
        ),
    ] = USUAL.marks.from_corner_edges_mm


class CutterSection(Section, frozen=True):
    """Colours of a cutter file's layers."""

    cut: Annotated[
        Colour,
        Meta(title="Colour of CUT", description="Lines to cut, as #rrggbb (assumption)."),
    ] = USUAL.cutter.cut
    engrave: Annotated[
        Colour,
        Meta(title="Colour of ENGRAVE", description="Lines to engrave, as #rrggbb (assumption)."),
    ] = USUAL.cutter.engrave


class CardSection(Section, frozen=True):
    """The case card's steps."""

    frame: Annotated[
        FrameOrder,
        Meta(
            title="Frame or strips first",
            description="frame-first: the frame goes on before the strips of sheet (septa) are "
            "worked between the teeth (Sturdevant, from memory). septa-first: after (common "
            "practice, no source).",
        ),
    ] = USUAL.frame


class CheckSection(Section, frozen=True):
    """The check of what was punched or drawn."""

    tolerance_mm: Annotated[
        float,
        Meta(
            title="Tolerance",
            ge=TOLERANCE_LIMITS_MM[0],
            le=TOLERANCE_LIMITS_MM[1],
            description="How far off its place a hole may be (assumption).",
        ),
    ] = USUAL.tolerance_mm
