"""True-scale marking overlays for the dental dam: case in, plan, pages, bytes out.

    import sheetmark

    case = sheetmark.Case(treat=sheetmark.read_list(["16"], "iso"))
    pdf = sheetmark.render_plan(sheetmark.make_plan(case), "pdf")

Nothing here touches the network, nor any file but the shipped data; the command line writes.
`examples/guide/python.md` shows more.
"""

from __future__ import annotations

from importlib import import_module

from sheetmark.base.version import __version__

# Not from typing: the program is to answer Ctrl-C as soon as it can.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sheetmark.anatomy.arch_model import ArchModel as ArchModel
    from sheetmark.anatomy.arch_model import load_model as load_model
    from sheetmark.anatomy.arch_model import model_for_age as model_for_age
    from sheetmark.anatomy.arch_model import model_names as model_names
    from sheetmark.anatomy.teeth import Tooth as Tooth
    from sheetmark.anatomy.teeth import read_list as read_list
    from sheetmark.base.codes import Code as Code
    from sheetmark.base.findings import Action as Action
    from sheetmark.base.findings import Finding as Finding
    from sheetmark.base.findings import InputError as InputError
    from sheetmark.base.findings import NoAnswerError as NoAnswerError
    from sheetmark.base.frames import MouthPoint as MouthPoint
    from sheetmark.base.frames import PagePoint as PagePoint
    from sheetmark.base.frames import SheetPoint as SheetPoint
    from sheetmark.case.case import Case as Case
    from sheetmark.case.case import Run as Run
    from sheetmark.case.case import ToothState as ToothState
    from sheetmark.case.exceptions import read_states as read_states
    from sheetmark.day.list import read_day as read_day
    from sheetmark.day.reading import Reading as Reading
    from sheetmark.day.records import DayList as DayList
    from sheetmark.day.records import Problem as Problem
    from sheetmark.fitting.fit import JawFit as JawFit
    from sheetmark.fitting.fit import Origin as Origin
    from sheetmark.fitting.fit import own_model as own_model
    from sheetmark.fitting.from_callipers import fit_callipers as fit_callipers
    from sheetmark.fitting.from_landmarks import fit_landmarks as fit_landmarks
    from sheetmark.fitting.landmarks import Landmark as Landmark
    from sheetmark.fitting.landmarks import read_landmarks as read_landmarks
    from sheetmark.fitting.measures import Measure as Measure
    from sheetmark.fitting.measures import read_measures as read_measures
    from sheetmark.fitting.model_file import write_model as write_model
    from sheetmark.fitting.scan.jaw import scan_landmarks as scan_landmarks
    from sheetmark.fitting.scan.jaw import scanned_jaw as scanned_jaw
    from sheetmark.jobs.day import DayBook as DayBook
    from sheetmark.jobs.outputs import render_plan as render_plan
    from sheetmark.plan.holes import PlannedHole as PlannedHole
    from sheetmark.plan.make import make_plan as make_plan
    from sheetmark.plan.plan import Plan as Plan
    from sheetmark.plan.plan_json import plan_json as plan_json
    from sheetmark.practice.settings import Practice as Practice
    from sheetmark.practice.settings import Punch as Punch
    from sheetmark.practice.settings import Sheet as Sheet
    from sheetmark.practice.settings import StockSheet as StockSheet
    from sheetmark.practice.settings import read_punch as read_punch
    from sheetmark.practice.settings import read_sheet as read_sheet
    from sheetmark.practice.tray import Clamp as Clamp

# Where each name lives; what a program needs to plan, render, read findings, run a day and fit an
# arch.
_HOMES = {
    "Action": "base.findings",
    "ArchModel": "anatomy.arch_model",
    "Case": "case.case",
    "Clamp": "practice.tray",
    "Code": "base.codes",
    "DayBook": "jobs.day",
    "DayList": "day.records",
    "Finding": "base.findings",
    "InputError": "base.findings",
    "JawFit": "fitting.fit",
    "Landmark": "fitting.landmarks",
    "Measure": "fitting.measures",
    "MouthPoint": "base.frames",
    "NoAnswerError": "base.findings",
    "Origin": "fitting.fit",
    "PagePoint": "base.frames",
    "Plan": "plan.plan",
    "PlannedHole": "plan.holes",
    "Practice": "practice.settings",
    "Problem": "day.records",
    "Punch": "practice.settings",
    "Reading": "day.reading",
    "Run": "case.case",
    "Sheet": "practice.settings",
    "SheetPoint": "base.frames",
    "StockSheet": "practice.settings",
    "Tooth": "anatomy.teeth",
    "ToothState": "case.case",
    "fit_callipers": "fitting.from_callipers",
    "fit_landmarks": "fitting.from_landmarks",
    "load_model": "anatomy.arch_model",
    "make_plan": "plan.make",
    "model_for_age": "anatomy.arch_model",
    "model_names": "anatomy.arch_model",
    "own_model": "fitting.fit",
    "plan_json": "plan.plan_json",
    "read_day": "day.list",
    "read_landmarks": "fitting.landmarks",
    "read_list": "anatomy.teeth",
    "read_measures": "fitting.measures",
    "read_punch": "practice.settings",
    "read_sheet": "practice.settings",
    "read_states": "case.exceptions",
    "render_plan": "jobs.outputs",
    "scan_landmarks": "fitting.scan.jaw",
    "scanned_jaw": "fitting.scan.jaw",
    "write_model": "fitting.model_file",
}
__all__ = ["__version__", *_HOMES]  # noqa: PLE0604  the names are the keys above


def __getattr__(name: str) -> Any:
    # Loaded on first use: importing the package alone stays light.
    if name in _HOMES:
        return getattr(import_module(f"sheetmark.{_HOMES[name]}"), name)
    raise AttributeError(f"module 'sheetmark' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
