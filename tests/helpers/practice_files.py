"""Random settings of a clinic, and plain data of practice files, for the tests of both."""

from __future__ import annotations

import math
import tomllib
from typing import Any, get_args

from hypothesis import strategies as st

from sheetmark.anatomy.teeth import NOTATIONS
from sheetmark.practice.printer import Printer
from sheetmark.practice.rules import PlacementRules
from sheetmark.practice.settings import (
    CORNERS,
    MARKS_KINDS,
    MATERIALS,
    NUMBERS,
    PAPERS,
    SIZING_RULES,
    THICKNESSES_MM,
    OrientationMarks,
    Practice,
    Punch,
    Sheet,
    StockSheet,
)
from sheetmark.practice.tray import Clamp, ClampKind, Version
from tests.helpers.paths import ROOT

EXAMPLE = ROOT / "examples" / "practice.toml"

# Words of a clinic, with what TOML must escape and what the font can write.
names = st.text("abcÄßéQ 07.,-\"\\#=[]'", min_size=1, max_size=20).map(str.strip).filter(bool)


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths as people write them, to a tenth of a mm."""
    return st.integers(math.ceil(low * 10), math.floor(high * 10)).map(lambda tenth: tenth / 10)


@st.composite
def clamps(draw: st.DrawFn) -> Clamp:
    unlike = draw(st.booleans())
    span = draw(st.none() | st.tuples(lengths(1, 15), lengths(1, 15)).map(sorted))
    return Clamp(
        label=draw(names),
        kind=draw(st.sampled_from(get_args(ClampKind))),
        winged=draw(st.booleans()),
        jaws="larger-to-cheek" if unlike else "alike",
        version=draw(st.sampled_from(get_args(Version))) if unlike else None,
        span_mm=(span[0], span[1]) if span else None,
        secondary=draw(st.booleans()),
        cervical=draw(st.booleans()),
        jaws_towards_gum=draw(st.booleans()),
        count=draw(st.integers(1, 99)),
        retired=draw(st.booleans()),
    )


@st.composite
def stocks(draw: st.DrawFn) -> tuple[StockSheet, ...]:
    sheet = st.builds(
        StockSheet,
        # Small enough for either paper with its least margins.
        sheet=st.builds(Sheet, lengths(80, 170), lengths(80, 163)),
        material=st.sampled_from(MATERIALS),
        thickness_mm=st.none() | st.sampled_from([*THICKNESSES_MM.values(), 0.18]),
        see_through=st.booleans(),
    )
    return tuple(draw(st.lists(sheet, max_size=3, unique=True)))


@st.composite
def punches(draw: st.DrawFn) -> Punch:
    holes = draw(st.lists(lengths(0.3, 5), min_size=2, max_size=8, unique=True))
    label = st.text("ABCxyz*+", min_size=1, max_size=3)
    own = st.lists(label, min_size=len(holes), max_size=len(holes), unique=True)
    return Punch(tuple(holes), tuple(draw(st.just([]) | own)))


@st.composite
def practices(draw: st.DrawFn) -> Practice:
    """Settings that a practice file can hold: every field differs now and then."""
    stock = draw(stocks())
    first = stock[0] if stock else StockSheet(Practice().sheet, "latex")
    edge = sorted(draw(st.tuples(lengths(0, 100), lengths(0, 100))))
    refused, kept = sorted(draw(st.tuples(lengths(15, 70), lengths(15, 70))))
    printer = st.builds(
        Printer, names.filter(lambda w: w != "none"), lengths(147, 153), lengths(147, 153)
    )
    printers = draw(st.lists(printer, max_size=2, unique_by=lambda p: p.name))
    return Practice(
        name=draw(st.just("") | names),
        notation=draw(st.sampled_from(NOTATIONS)),
        numbers=draw(st.sampled_from(NUMBERS)),
        paper=draw(st.sampled_from(list(PAPERS))),
        margin_mm=draw(st.just(10.0) if stock else lengths(10, 19)),
        sheet=first.sheet,
        punch=draw(punches()),
        material=first.material,
        stock=stock,
        sizing=draw(st.sampled_from(SIZING_RULES)),
        share_of_break=draw(st.sampled_from([0.1, 0.45, 0.6, 0.95])),
        ease_mm=draw(lengths(0, 5)),
        shift=draw(st.booleans()),
        rules=PlacementRules(
            inwards_mm=draw(lengths(0, 40)),
            upper_edge_above_incisal_mm=(edge[0], edge[1]),
            side_edge_from_midline_mm=draw(lengths(20, 100)),
            hole_to_edge_mm=kept,
            hole_to_edge_refused_mm=refused,
            lesion_facial_mm=draw(lengths(0, 3)),
            lesion_to_neighbour_mm=draw(lengths(0, 3)),
        ),
        marks=OrientationMarks(
            draw(st.sampled_from(MARKS_KINDS)),
            draw(lengths(9, 14)),
            draw(lengths(8, 25)),
            draw(st.sampled_from(CORNERS)),
            draw(lengths(5, 14)),
        ),
        tray=tuple(draw(st.lists(clamps(), max_size=3, unique_by=lambda clamp: clamp.label))),
        tolerance_mm=draw(lengths(0.5, 5)),
        tray_turn_round_min=draw(st.sampled_from([60, 1, 45, 1440])),
        printers=tuple(printers),
        printer=draw(st.sampled_from(["none", *(known.name for known in printers)])),
    )


def example_data() -> dict[str, Any]:
    """The example file as plain data, fresh each time."""
    return tomllib.loads(EXAMPLE.read_text("utf-8"))
