"""The line along which a sheet is folded off the nostrils: on paper, in the picture, on the plate.

Nostrils begin 24 mm above an adult's upper incisal line (derived from face heights, see the plan).
"""

from __future__ import annotations

import io
from collections.abc import Sequence

import ezdxf
import pytest
from ezdxf.entities.lwpolyline import LWPolyline

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.jaw import build_arch
from sheetmark.documents.case.stencil import stencil
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.plan import Plan
from tests.helpers.cases import plan_of
from tests.helpers.readback import Line, read_first_page, read_svg

NOSTRILS_MM = 24.0


def folded() -> Plan:
    """A sheet so high that, not moved, it covers the nostrils."""
    return plan_of("11", sheet="152x178", shift=False)


def nostrils_mm(plan: Plan) -> float:
    """Their y in the sheet frame: from the incisal line of the arch, and the sheet not moved."""
    assert plan.shift_mm == (0.0, 0.0)
    return build_arch(load_model("adult-mean"), "upper").incisal_y_mm + NOSTRILS_MM


def level(lines: Sequence[Line], y_mm: float) -> list[Line]:
    near = pytest.approx(y_mm, abs=0.01)
    return [line for line in lines if line.start[1] == near and line.end[1] == near]


def test_the_line_is_drawn_over_the_whole_width_where_the_nostrils_begin() -> None:
    plan = folded()
    assert NOSTRILS_MM < nostrils_mm(plan) < plan.sheet.height_mm / 2
    centre_x, centre_y = plan.sheet_centre_on_page_mm
    for page in (
        read_first_page(render_plan(plan, "pdf")),
        read_svg(render_plan(plan, "svg")),
    ):
        dashes = level(page.lines, centre_y + nostrils_mm(plan))
        assert len(dashes) > 10
        xs = [x for dash in dashes for x in (dash.start[0], dash.end[0])]
        assert min(xs) == pytest.approx(centre_x - 76, abs=4)
        assert max(xs) == pytest.approx(centre_x + 76, abs=4)
        assert [word.text for word in page.texts].count("fold") == 2


def test_the_plate_has_the_line_too() -> None:
    plan = folded()
    drawing = ezdxf.filemanagement.read(io.StringIO(render_plan(plan, "dxf").decode()))
    lines = [
        [(round(x, 6), round(y, 6)) for x, y, *_ in shape]
        for shape in drawing.modelspace().query('LWPOLYLINE[layer=="ENGRAVE"]')
        if isinstance(shape, LWPolyline)
    ]
    y = round(nostrils_mm(plan), 6)
    assert [(-76.0, y), (76.0, y)] in lines
    assert any(shape.name == "fold-word" for shape in stencil(plan).shapes)


@pytest.mark.parametrize("treat", ["16", "11", "36", "41"])
def test_a_usual_sheet_has_none(treat: str) -> None:
    plan = plan_of(treat)
    assert "fold" not in [word.text for word in read_svg(render_plan(plan, "svg")).texts]
    assert not any(shape.name.startswith("fold") for shape in stencil(plan).shapes)
