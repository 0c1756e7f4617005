"""Pages beside those of a case, as PDF: the drawer set, a handout, how a case's sheet is stretched.

Each takes seconds, and stops once nobody waits for it any more.
"""

from __future__ import annotations

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model
from sheetmark.documents.correction import corrected
from sheetmark.jobs.teaching import set_by_practice
from sheetmark.plan.plan import Plan
from sheetmark.plan.recipe import document_line
from sheetmark.practice.settings import Practice
from sheetmark.render.pdf import render_pdf


def drawer_pdf(practice: Practice) -> bytes:
    """The usual situations of the mean adult arch, for the printer in use."""
    from sheetmark.documents.sets.drawer import drawer
    from sheetmark.render.long_pdf import render_long_pdf

    document, _ = drawer([load_model(DEFAULT_MODEL)], practice, names=[DEFAULT_MODEL])
    return render_long_pdf(corrected(document, practice))


def handout_pdf(name: str, practice: Practice) -> bytes:
    """The handout of that name on the mean adult arch. Raises InputError for another name."""
    from sheetmark.documents.handouts.all import draw_handout
    from sheetmark.documents.handouts.lesson import Lesson

    options = {"arch": "", **set_by_practice(name, practice)}
    made = document_line(["handout", name], options, practice)
    lesson = Lesson(load_model(DEFAULT_MODEL), practice, made)
    return render_pdf(corrected(draw_handout(name, lesson), practice))


def strain_pdf(plan: Plan) -> bytes:
    """The picture of the plan's sheet as its frame stretches it, placed by the rule."""
    from sheetmark.documents.figures.strain import strain_picture
    from sheetmark.studies.membrane.frame import frame_for, rubber_of
    from sheetmark.studies.membrane.report import report_on

    report = report_on(plan, frame_for(plan.sheet), rubber_of(plan.practice))
    return render_pdf(strain_picture(report, "rule"))
