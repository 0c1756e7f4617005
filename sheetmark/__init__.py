"""True-scale marking overlays for the dental dam: case in, plan, pages, bytes out.

    import sheetmark

    case = sheetmark.Case(treat=sheetmark.read_list(["16"], "iso"))
    pdf = sheetmark.render_plan(sheetmark.make_plan(case), "pdf")

Nothing here touches the network, nor any file but the shipped data; the command line writes.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from sheetmark.base.version import __version__

if TYPE_CHECKING:
    from sheetmark.anatomy.arch_model import load_model as load_model
    from sheetmark.anatomy.teeth import Tooth as Tooth
    from sheetmark.anatomy.teeth import read_list as read_list
    from sheetmark.base.findings import InputError as InputError
    from sheetmark.case.case import Case as Case
    from sheetmark.jobs.outputs import render_plan as render_plan
    from sheetmark.plan.make import make_plan as make_plan
    from sheetmark.plan.plan import Plan as Plan
    from sheetmark.practice.settings import Practice as Practice

_HOMES = {
    "Case": "case.case",
    "InputError": "base.findings",
    "Plan": "plan.plan",
    "Practice": "practice.settings",
    "Tooth": "anatomy.teeth",
    "load_model": "anatomy.arch_model",
    "make_plan": "plan.make",
    "read_list": "anatomy.teeth",
    "render_plan": "jobs.outputs",
}
__all__ = ["__version__", *_HOMES]  # noqa: PLE0604  the names are the keys above


def __getattr__(name: str) -> Any:
    # Loaded on first use: importing the package alone stays light.
    if name in _HOMES:
        return getattr(import_module(f"sheetmark.{_HOMES[name]}"), name)
    raise AttributeError(f"module 'sheetmark' has no attribute {name!r}")
