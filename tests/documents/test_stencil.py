"""The stencil for a cutter, read back from DXF by two readers and from SVG."""

from __future__ import annotations

import io
import re
from datetime import datetime
from itertools import pairwise
from math import dist
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely
from ezdxf import audit, recover
from ezdxf.tools.juliandate import juliandate

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.findings import InputError
from sheetmark.base.frames import SheetPoint
from sheetmark.case.case import Case, Run
from sheetmark.cli.app import run
from sheetmark.documents.case.stencil import PEN_MM, WEB_MM, stencil
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.rules import CutterColours
from sheetmark.practice.settings import Practice
from tests.helpers.corpus import mouths

PLANS = {
    "16": make_plan(Case(treat=(Tooth(1, 6),))),
    "36": make_plan(Case(treat=(Tooth(3, 6),), procedure="root-canal")),
    "31": make_plan(Case(treat=(Tooth(3, 1),))),
}
Circles = list[tuple[float, float, float]]


def expected(plan: Plan, pen_mm: float = PEN_MM) -> Circles:
    centres = [hole.centre_mm for hole in plan.holes]
    centres += [*plan.orientation_marks_mm, *(plan.side_dash_mm or ()), SheetPoint(0.0, 0.0)]
    return sorted((x, y, pen_mm) for x, y in centres)


def near(found: Circles, wanted: Circles) -> None:
    """Every circle within 0.01 mm of one that is wanted, and as many."""
    assert len(found) == len(wanted) > 0
    for first, other in zip(sorted(found), wanted, strict=True):
        assert first == pytest.approx(other, abs=0.01)


def circles_of_dxf(content: bytes) -> Circles:
    drawing = ezdxf.filemanagement.read(io.StringIO(content.decode()))
    return [
        (c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius)
        for c in drawing.modelspace().query("CIRCLE")
        if c.dxf.layer == "CUT"
    ]


@pytest.mark.parametrize("name", PLANS)
def test_dxf_holds_the_pen_holes_in_mm_and_passes_its_audit(name: str, tmp_path: Path) -> None:
    content = render_plan(PLANS[name], "dxf")
    path = tmp_path / "case.dxf"
    path.write_bytes(content)
    drawing, found = recover.readfile(path)
    assert isinstance(found, audit.Auditor)
    assert not found.has_errors
    assert not found.has_fixes
    assert drawing.units == ezdxf.units.MM
    assert {entity.dxf.layer for entity in drawing.modelspace()} == {"CUT", "ENGRAVE"}
    near(circles_of_dxf(content), expected(PLANS[name]))


@pytest.mark.parametrize("name", PLANS)
def test_a_second_reader_finds_the_same_holes(name: str, tmp_path: Path) -> None:
    """GDAL turns circles into polylines; centre and width are measured from these."""
    path = tmp_path / "case.dxf"
    path.write_bytes(render_plan(PLANS[name], "dxf"))
    meta, _, shapes, fields = pyogrio.raw.read(path)
    layers = dict(zip(meta["fields"], fields, strict=True))["Layer"]
    found: Circles = []
    for shape, layer in zip(shapely.from_wkb(shapes), layers, strict=True):
        points = shapely.get_coordinates(shape)
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        spread = np.hypot(*(points - middle).T)
        if layer == "CUT" and len(points) > 20 and np.ptp(spread) < 0.01:
            found.append((middle[0], middle[1], 2 * spread.mean()))
    near(found, expected(PLANS[name]))


@pytest.mark.parametrize("name", PLANS)
def test_svg_and_dxf_cut_the_same(name: str) -> None:
    root = ElementTree.fromstring(render_plan(PLANS[name], "cut.svg"))
    width, height = (float(root.attrib[side].removesuffix("mm")) for side in ("width", "height"))
    assert root.attrib["viewBox"] == f"0 0 {width:.4f} {height:.4f}"
    (left, _), (_, top) = stencil(PLANS[name]).bounds
    group = next(g for g in root.iter() if g.attrib.get("id") == "CUT")
    found = [
        (float(c.attrib["cx"]) + left, top - float(c.attrib["cy"]), 2 * float(c.attrib["r"]))
        for c in group.iter("{http://www.w3.org/2000/svg}circle")
    ]
    near(found, expected(PLANS[name]))


def test_it_is_not_mirrored_and_says_which_face_is_up() -> None:
    shapes = stencil(PLANS["16"]).shapes
    middle = {
        name: np.mean([p for s in shapes if s.name == name for p in getattr(s, "points", ())], 0)
        for name in ("side-R", "side-L", "nose", "number 16", "face-up", "cautions")
    }
    assert middle["side-R"][0] < -60
    assert middle["side-L"][0] > 60
    assert middle["nose"][1] > 60
    hole = next(h for h in PLANS["16"].holes if h.tooth == Tooth(1, 6))
    assert hole.centre_mm[0] < 0
    # The number stands outside the arch: for 16 further to the patient's right than its hole.
    assert middle["number 16"][0] < hole.centre_mm[0]
    assert dist(middle["number 16"], hole.centre_mm) < 10


def test_kerf_widens_the_plate_and_narrows_the_holes() -> None:
    plain, wide = stencil(PLANS["16"]), stencil(PLANS["16"], kerf_mm=0.3)
    holes = [[s.diameter for s in page.shapes if hasattr(s, "diameter")] for page in (plain, wide)]
    assert set(holes[0]) == {PEN_MM}
    assert set(holes[1]) == {PEN_MM - 0.3}
    plates = [next(s for s in page.shapes if s.name == "plate") for page in (plain, wide)]
    grown = [max(x for x, _ in getattr(plate, "points", ())) for plate in plates]
    assert grown[1] - grown[0] == pytest.approx(0.15)


def test_a_web_that_would_break_is_refused() -> None:
    holes = [hole.centre_mm for hole in PLANS["31"].holes]
    closest = min(dist(a, b) for a, b in pairwise(holes))
    stencil(PLANS["31"], pen_mm=closest - WEB_MM - 0.01)
    with pytest.raises(InputError, match=r"only 1\.\d mm of plate between them"):
        stencil(PLANS["31"], pen_mm=closest - WEB_MM + 0.01)


def test_a_slit_becomes_one_slot_from_hole_to_hole() -> None:
    case = Case(treat=(Tooth(2, 6),), slits=(Run(Tooth(2, 5), Tooth(2, 6)),))
    plan = make_plan(case)
    (slot,) = [s for s in stencil(plan).shapes if s.name == "slot"]
    area = shapely.Polygon(getattr(slot, "points", ()))
    ends = [hole.centre_mm for hole in plan.holes if hole.tooth in plan.slots[0].teeth]
    assert len(ends) == 2
    for end in ends:
        assert area.contains(shapely.Point(end))
    length = dist(*ends)
    assert area.area == pytest.approx(length * PEN_MM + 3.14159 * PEN_MM**2 / 4, rel=0.01)


def test_every_odd_mouth_can_be_cut() -> None:
    for mouth in mouths():
        shapes = stencil(mouth.plan()).shapes
        assert any(shape.name == "plate" for shape in shapes)


def test_the_same_bytes_every_time() -> None:
    for form in ("dxf", "cut.svg"):
        assert render_plan(PLANS["16"], form) == render_plan(PLANS["16"], form)


def test_a_dxf_tells_its_extents(tmp_path: Path) -> None:
    """A cutter's program zooms to them, and some refuse a file without."""
    from ezdxf.bbox import extents
    from ezdxf.filemanagement import readfile

    path = tmp_path / "case.dxf"
    assert run(["overlay", "16", "-o", str(path)]) == 0
    drawing = readfile(path)
    box = extents(drawing.modelspace())
    for holder in (drawing.header.get, drawing.modelspace().dxf.get):
        low, high = ("$EXTMIN", "$EXTMAX") if holder == drawing.header.get else ("extmin", "extmax")
        assert tuple(holder(low)) == pytest.approx(tuple(box.extmin), abs=1e-9)
        assert tuple(holder(high)) == pytest.approx(tuple(box.extmax), abs=1e-9)


def test_a_dxf_carries_no_time_and_leaves_the_librarys_options_alone() -> None:
    before = io.StringIO()
    ezdxf.options.write(before)  # type: ignore[attr-defined]
    content = render_plan(PLANS["16"], "dxf").decode()
    after = io.StringIO()
    ezdxf.options.write(after)  # type: ignore[attr-defined]
    assert len(before.getvalue()) > 100
    assert after.getvalue() == before.getvalue()
    assert set(re.findall(r"\b\d{4}-\d\d-\d\dT", content)) == {"2000-01-01T"}
    times = re.findall(r"\$TDU?(?:CREATE|UPDATE)\n *40\n(.*)", content)
    assert [float(time) for time in times] == 4 * [juliandate(datetime(2000, 1, 1))]
    assert re.findall(r"GUID\n *2\n{(.*)}", content) == 2 * ["00000000-0000-0000-0000-000000000000"]


@pytest.mark.parametrize(
    ("arguments", "wording"),
    [
        (["--pen", "0.1"], "pen hole 0.1 mm: must be 0.8 to 6 mm"),
        (["--pen", "nan"], "pen hole nan mm"),
        (["--kerf", "2"], "kerf 2 mm: must be 0 to 1 mm"),
        (["--kerf", "-1"], "kerf -1 mm"),
    ],
)
def test_bad_sizes_are_one_line(
    arguments: list[str], wording: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["overlay", "16", *arguments, "-o", str(tmp_path / "a.dxf")]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert wording in line
    assert list(tmp_path.iterdir()) == []


def test_the_layers_are_neutral_unless_the_practice_colours_them() -> None:
    usual = stencil(PLANS["16"])
    assert usual.colours == {"CUT": "#000000", "ENGRAVE": "#808080"}
    coloured = Practice(cutter=CutterColours("#123456", "#abcdef"))
    plan = make_plan(Case(treat=(Tooth(1, 6),)), practice=coloured)
    svg = render_plan(plan, "cut.svg").decode()
    assert 'id="CUT" stroke="#123456"' in svg
    assert 'id="ENGRAVE" stroke="#abcdef"' in svg
    layers = ezdxf.filemanagement.read(io.StringIO(render_plan(plan, "dxf").decode())).layers
    assert layers.get("CUT").rgb == (0x12, 0x34, 0x56)
    assert layers.get("ENGRAVE").rgb == (0xAB, 0xCD, 0xEF)
