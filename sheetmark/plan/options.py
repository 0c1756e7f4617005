"""Every option that chooses a case or stands in for a setting, declared once.

The command line makes its options from this table, the page its query, the day's list its columns
and the recipe its line. The table stands in the room of the plan, the lowest that knows both
the case and the settings, and the one that writes recipes. Its order is that of --help.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

from sheetmark.anatomy.arch_model import model_names
from sheetmark.anatomy.teeth import NOTATIONS, Tooth, read_list, write
from sheetmark.base.choice import pick
from sheetmark.base.row_rules import HOLDS, ROW_RULES
from sheetmark.case.case import (
    ACCESSES,
    DEFAULT_ACCESS,
    DEFAULT_PROCEDURE,
    PROCEDURES,
    Case,
    read_expose,
    read_procedure,
    read_run,
    write_expose,
    write_number,
    write_run,
)
from sheetmark.case.exceptions import read_states, write_state
from sheetmark.fitting.measures import read_measures
from sheetmark.plan.option_records import CaseOption, Column, Option, SettingOption
from sheetmark.practice.settings import (
    MATERIALS,
    NO_PRINTER,
    PAPERS,
    SIZING_RULES,
    Punch,
    Sheet,
    read_punch,
    read_sheet,
)

Shift = Literal["rule", "even", "none"]
SHIFTS: tuple[Shift, ...] = get_args(Shift)
# What `sheetmark practice show` calls the sheet of the day, which is a row of the file's stock.
SHEET_IN_USE = "sheet in use"


def _teeth(many: Iterable[Tooth], case: Case) -> str:
    return ",".join(write(tooth, case.notation) for tooth in many)


def _sheet(sheet: Sheet) -> str:
    sides = (sheet.width_mm, sheet.height_mm)
    return "x".join(write_number(side) for side in dict.fromkeys(sides))


def _punch(punch: Punch) -> str:
    """The diameters; no option has the labels beside them."""
    diameters = [] if punch.labels else [write_number(mm) for mm in punch.diameters_mm]
    # Whole numbers between commas could be decimals.
    return (";" if all(mm.isdigit() for mm in diameters) else ",").join(diameters)


OPTIONS: tuple[Option, ...] = (
    Option(
        name="case",
        metavar="FILE.toml",
        help="Case file (TOML) instead of teeth and the options that describe it.",
    ),
    SettingOption(
        name="notation",
        metavar="NOTATION",
        help="How teeth are written: iso (default), universal or palmer.",
        choices=NOTATIONS,
        field="notation",
        read=lambda text: pick("notation", text, NOTATIONS),
        write=lambda practice: practice.notation,
        keys=("notation",),
        column=Column("notation", 5),
        on_page=True,
    ),
    CaseOption(
        name="for",
        metavar="PROCEDURE",
        help=", ".join(PROCEDURES) + ".",
        usual=DEFAULT_PROCEDURE,
        choices=PROCEDURES,
        field="procedure",
        read=lambda text, _: read_procedure(text),
        write=lambda case: case.procedure if case.procedure != DEFAULT_PROCEDURE else "",
        column=Column("procedure", 4),
        on_page=True,
    ),
    CaseOption(
        name="expose",
        metavar="TEETH",
        help="Teeth to expose instead of the usual ones: 17-13 or a list.",
        kind="texts",
        usual=(),
        field="expose",
        read=read_expose,
        write=lambda case: write_expose(case.expose, case.notation),
        on_page=True,
    ),
    CaseOption(
        name="more",
        metavar="COUNT",
        help="Teeth to add in front: easier to seat.",
        kind="whole",
        usual=0,
        field="more",
        read=lambda count, _: count,
        write=lambda case: str(case.more or ""),
        on_page=True,
    ),
    CaseOption(
        name="missing",
        metavar="TEETH",
        help="Missing teeth; the gap stays.",
        kind="texts",
        usual=(),
        field="missing",
        read=read_list,
        write=lambda case: _teeth(case.missing, case),
    ),
    CaseOption(
        name="present",
        metavar="TEETH",
        help="Third molars present.",
        kind="texts",
        usual=(),
        field="present",
        read=read_list,
        write=lambda case: _teeth(case.present, case),
    ),
    CaseOption(
        name="with",
        metavar="TEXT",
        help='What is different: "24 pontic", "15 missing gap 4", "13 facial 2", …',
        kind="texts",
        usual=(),
        field="states",
        read=read_states,
        write=lambda case: "; ".join(write_state(state, case.notation) for state in case.states),
        column=Column("exceptions", 8),
        on_page=True,
    ),
    CaseOption(
        name="anchor",
        metavar="TEETH",
        help="Teeth to clamp instead of the usual.",
        kind="texts",
        usual=(),
        field="anchors",
        read=read_list,
        write=lambda case: _teeth(case.anchors, case),
        on_page=True,
    ),
    CaseOption(
        name="slit",
        metavar="TEETH",
        help="Holes to join to one slot: 24-26.",
        kind="texts",
        usual=(),
        field="slits",
        read=lambda texts, notation: tuple(
            read_run(run, notation) for text in texts for run in text.split(",")
        ),
        write=lambda case: ",".join(write_run(slit, case.notation) for slit in case.slits),
        on_page=True,
    ),
    CaseOption(
        name="access",
        metavar="ACCESS",
        help="normal or tight.",
        usual=DEFAULT_ACCESS,
        choices=ACCESSES,
        field="access",
        read=lambda text, _: pick("access", text, ACCESSES),
        write=lambda case: case.access if case.access != DEFAULT_ACCESS else "",
        column=Column("access", 9),
        on_page=True,
    ),
    CaseOption(
        name="age",
        metavar="YEARS",
        help="Completed years: picks the arch model and the teeth.",
        kind="whole",
        field="age",
        read=lambda years, _: years,
        write=lambda case: "" if case.age is None else str(case.age),
        column=Column("age", 6, "not an age; write completed years, such as 7"),
        on_page=True,
    ),
    Option(
        name="arch",
        metavar="MODEL",
        help="Arch model: a name or a .toml file.",
        offered=model_names,
        column=Column("arch", 7),
        on_page=True,
    ),
    CaseOption(
        name="measure",
        metavar="TEXT",
        help='What callipers measured, mm: "row 14-17 35.2", "upper canines 33", "16 10.4", …',
        kind="texts",
        usual=(),
        field="measures",
        read=read_measures,
        write=lambda case: "; ".join(measure.text(case.notation) for measure in case.measures),
        column=Column("measure", 11),
        on_page=True,
    ),
    SettingOption(
        name="sheet",
        metavar="MM",
        help="152 (default), 127 or WIDTHxHEIGHT in mm.",
        field="sheet",
        read=read_sheet,
        write=lambda practice: _sheet(practice.sheet),
        keys=(SHEET_IN_USE,),
        column=Column("sheet", 10),
        on_page=True,
    ),
    SettingOption(
        name="paper",
        metavar="PAPER",
        help="a4 (default) or letter.",
        choices=tuple(PAPERS),
        field="paper",
        read=lambda text: pick("paper", text, tuple(PAPERS)),
        write=lambda practice: practice.paper,
        keys=("page.paper",),
    ),
    SettingOption(
        name="punch",
        metavar="MM,MM,…",
        help='Hole diameters in mm by position, such as "0.5,1,1.5,2".',
        field="punch",
        read=read_punch,
        write=lambda practice: _punch(practice.punch),
        keys=("punch.diameters_mm", "punch.labels"),
    ),
    SettingOption(
        name="material",
        metavar="MATERIAL",
        help="latex (default) or nitrile.",
        choices=MATERIALS,
        field="material",
        read=lambda text: pick("material", text, MATERIALS),
        write=lambda practice: practice.material,
        keys=(SHEET_IN_USE,),
        column=Column("sheet", 10),
        on_page=True,
    ),
    SettingOption(
        name="row",
        metavar="ROW",
        help="Teeth round the treated one: textbook (default), short or wide.",
        choices=ROW_RULES,
        field="row",
        read=lambda text: pick("row", text, ROW_RULES),
        write=lambda practice: practice.row,
        keys=("isolation.row",),
        on_page=True,
    ),
    SettingOption(
        name="hold",
        metavar="HOLD",
        help="What holds front teeth and first premolars: clamp (default), ligature or wedge.",
        choices=HOLDS,
        field="hold",
        read=lambda text: pick("hold", text, HOLDS),
        write=lambda practice: practice.hold,
        keys=("isolation.hold",),
        on_page=True,
    ),
    SettingOption(
        name="sizing",
        metavar="RULE",
        help="crown (default) or two-size.",
        choices=SIZING_RULES,
        field="sizing",
        read=lambda text: pick("sizing", text, SIZING_RULES),
        write=lambda practice: practice.sizing,
        keys=("holes.sizing",),
    ),
    SettingOption(
        name="ease",
        metavar="MM",
        help="mm added to each pitch along the row (default 0).",
        kind="number",
        field="ease_mm",
        read=float,
        write=lambda practice: write_number(practice.ease_mm),
        keys=("holes.ease_mm",),
    ),
    Option(
        name="practice",
        metavar="FILE.toml",
        help="Practice file; else the one in your settings folder, if any.",
    ),
    SettingOption(
        name="printer",
        metavar="NAME",
        help=f"Printer to correct for, from the practice file; {NO_PRINTER}.",
        field="printer",
        read=str,
        write=lambda _: "",  # its correction is no part of a plan
        keys=("page.printer",),
    ),
    CaseOption(
        name="reference",
        metavar="TEXT",
        help="Free text on the page; never a name.",
        usual="",
        field="reference",
        read=lambda text, _: text,
        write=lambda case: case.reference,
        column=Column("reference", 2),
        on_page=True,
    ),
    Option(
        name="shift",
        metavar="RULE",
        help="Where the sheet's middle goes: rule (default), even (computed), none (centred).",
        choices=SHIFTS,
        on_page=True,
    ),
    Option(name="no-shift", help="The same as --shift none.", kind="flag", usual=False),
    # For documents of many cases, where the middle is not computed.
    SettingOption(
        name="shifted",
        flag="--shift/--no-shift",
        help="Middle towards the quadrant (default), or centred.",
        kind="switch",
        field="shift",
        read=bool,
        write=lambda _: "",  # written as one of two flags
        keys=("placement.shift",),
    ),
)

CASE_OPTIONS = tuple(option for option in OPTIONS if isinstance(option, CaseOption))
SETTING_OPTIONS = tuple(option for option in OPTIONS if isinstance(option, SettingOption))
PAGE_OPTIONS = tuple(option for option in OPTIONS if option.on_page)


def options(*names: str) -> tuple[Option, ...]:
    """The options of those names, in the order of the table."""
    found = tuple(option for option in OPTIONS if option.name in names)
    assert len(found) == len(names), names
    return found
