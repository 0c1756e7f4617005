"""What the page's requests share is used once before the page listens.

Requests run in threads of their own. Tables, fonts and libraries that set themselves up at their
first use do so here, in one thread, which also spares the first click the wait.
"""

from __future__ import annotations

from sheetmark.anatomy.arch_model import model_names, named_model
from sheetmark.anatomy.teeth import Tooth
from sheetmark.case.case import Case
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.practice.file.check import check_text
from sheetmark.practice.file.new_file import new_file
from sheetmark.practice.settings import Practice


def use_once() -> None:
    """Read every shipped model and a practice file, and draw a case."""
    for name in model_names():
        named_model(name)
    check_text(new_file(Practice()), "defaults")
    plan = make_plan(Case(treat=(Tooth(2, 6),)))
    for form in ("svg", "pdf"):
        render_plan(plan, form)
