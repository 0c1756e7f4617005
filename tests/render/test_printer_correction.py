"""The printer's correction: what is accepted, where it is kept, and what it does to a page.

The last is read back: every point that a corrected PDF paints is held against the same point of
the plain one.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from io import BytesIO
from itertools import chain
from math import hypot
from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace
from pdfminer.pdfdevice import PDFTextDevice
from pdfminer.pdfinterp import PDFResourceManager
from pdfminer.pdfpage import PDFPage
from pdfminer.utils import apply_matrix_pt
from reportlab.pdfgen.canvas import Canvas

from sheetmark.anatomy.teeth import read_list
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding
from sheetmark.case.case import Case
from sheetmark.cli.app import run
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.practice.file.check import check_text
from sheetmark.practice.file.edit import store_printer
from sheetmark.practice.file.new_file import new_file
from sheetmark.practice.printer import Printer
from sheetmark.practice.settings import Practice
from tests.helpers.page_operators import QuickInterpreter
from tests.helpers.practice_files import EXAMPLE, practices
from tests.helpers.valid_cases import Sample, samples

Output = pytest.CaptureFixture[str]
Point = tuple[float, float]
POINT_MM = 25.4 / 72
BARS = st.integers(1470, 1530).map(lambda tenth: tenth / 10)


# --- reading back -----------------------------------------------------------------------------


class Painted(Struct, frozen=True):
    """A path or a line of text: the points that it is painted at, in mm, and what else it is."""

    kind: str
    points: tuple[Point, ...]
    line: float = 0.0


class Sheet(Struct, frozen=True):
    boxes: tuple[tuple[float, ...], ...]
    painted: tuple[Painted, ...]


class _Painter(PDFTextDevice):
    """Takes every point through the matrix in force, and asks nothing of its shape."""

    def __init__(self, manager: PDFResourceManager) -> None:
        super().__init__(manager)
        self.painted: list[Painted] = []
        self.letters: list[tuple[str, tuple[Point, ...]]] = []
        self.font = ""

    def paint_path(
        self, graphicstate: Any, stroke: bool, fill: bool, evenodd: bool, path: Sequence[Any]
    ) -> None:
        points = [
            self._mm(segment[at : at + 2])
            for segment in path
            for at in range(1, len(segment) - 1, 2)
        ]
        kind = f"{''.join(segment[0] for segment in path)} {stroke} {fill} {evenodd}"
        greys = f"{graphicstate.scolor} {graphicstate.ncolor}"
        line = graphicstate.linewidth * POINT_MM if stroke else 0.0
        self.painted.append(Painted(f"{kind} {greys}", tuple(points), line))

    def render_char(
        self,
        matrix: Any,
        font: Any,
        fontsize: float,
        scaling: float,
        rise: float,
        cid: int,
        ncs: Any,  # noqa: ARG002  pdfminer's signature
        graphicstate: Any,  # noqa: ARG002
    ) -> float:
        advance: float = font.char_width(cid) * fontsize * scaling
        corners = ((0.0, rise), (advance, rise), (0.0, rise + fontsize))
        points = tuple(_in_mm(apply_matrix_pt(matrix, corner)) for corner in corners)
        self.letters.append((font.to_unichr(cid), points))
        self.font = font.fontname.partition("+")[2]
        return advance

    def end_text(self) -> None:
        letters, points = zip(*self.letters, strict=True)
        kind = f"text {self.font} {''.join(letters)}"
        self.painted.append(Painted(kind, tuple(chain.from_iterable(points))))
        self.letters = []

    def _mm(self, point: Sequence[float]) -> Point:
        assert self.ctm is not None
        return _in_mm(apply_matrix_pt(self.ctm, (point[0], point[1])))


class _Interpreter(QuickInterpreter):
    device: _Painter

    def do_ET(self) -> None:  # noqa: N802  the operator's name
        super().do_ET()
        self.device.end_text()


def _in_mm(point: Point) -> Point:
    return (point[0] * POINT_MM, point[1] * POINT_MM)


def read(pdf: bytes) -> list[Sheet]:
    manager = PDFResourceManager()
    painter = _Painter(manager)
    boxes = [
        tuple(
            tuple(float(side) for side in box)
            for box in (page.mediabox, page.cropbox, page.trimbox)
        )
        for page in pypdf.PdfReader(BytesIO(pdf)).pages
    ]
    sheets = []
    for page, around in zip(PDFPage.get_pages(BytesIO(pdf)), boxes, strict=True):
        painter.painted = []
        _Interpreter(manager, painter).process_page(page)
        sheets.append(Sheet(around, tuple(painter.painted)))
    return sheets


def check_corrected(plain: bytes, made: bytes, printer: Printer) -> None:
    """Every point of the corrected file is the plain one's, scaled about the page's middle.

    Nothing is new but the line that names the printer, and no box of the paper differs.
    """
    factor = (150 / printer.bar_x_mm, 150 / printer.bar_y_mm)
    before, after = read(plain), read(made)
    assert len(before) == len(after) > 0
    for first, other in zip(before, after, strict=True):
        assert other.boxes == first.boxes
        left, bottom, right, top = (side * POINT_MM for side in first.boxes[0])
        middle = ((left + right) / 2, (bottom + top) / 2)
        *same, line = other.painted
        wording = f" Printer {printer.name}: x {factor[0]:.4f}, y {factor[1]:.4f}"
        assert re.sub(r"(?<=\d),(?=\d)", ".", line.kind).endswith(wording), "with point or comma"
        assert len(same) == len(first.painted) > 5
        for old, new in zip(first.painted, same, strict=True):
            assert new.kind == old.kind
            wanted = [_scaled(point, middle, factor) for point in old.points]
            for point, at in zip(new.points, wanted, strict=True):
                assert hypot(point[0] - at[0], point[1] - at[1]) < 1e-3, (old, new)
            # pdfminer scales a line's width by the matrix as a whole.
            low, high = sorted(factor)
            assert old.line * low - 1e-6 <= new.line <= old.line * high + 1e-6


def _scaled(point: Point, middle: Point, factor: Point) -> Point:
    return (
        middle[0] + (point[0] - middle[0]) * factor[0],
        middle[1] + (point[1] - middle[1]) * factor[1],
    )


@settings(max_examples=25, derandomize=True, deadline=None)
@given(samples(), BARS, BARS)
def test_a_correction_scales_all_about_the_middle_and_nothing_else(
    case: Sample, bar_x: float, bar_y: float
) -> None:
    printer = Printer("desk", bar_x, bar_y)
    practice = replace(case.plan.practice, printers=(printer,), printer="none")
    plain = replace(case.plan, practice=practice)
    used = replace(case.plan, practice=replace(practice, printer="desk"))
    check_corrected(render_plan(plain, "pdf"), render_plan(used, "pdf"), printer)
    for form in ("svg", "json"):
        assert render_plan(plain, form) == render_plan(used, form)


def test_every_page_is_corrected_and_says_so() -> None:
    printer = Printer("desk", 148.0, 152.4)
    practice = Practice(name="Example practice", printers=(printer,))
    plan = make_plan(Case(treat=read_list(["16"], "iso")), practice=practice)
    many = tuple(
        Finding(Code.TOOTH_STATE, "info", f"{number} " + 30 * "word ") for number in range(30)
    )
    plain = replace(plan, findings=many)
    used = replace(plain, practice=replace(practice, printer="desk"))
    pages = render_plan(used, "pdf")
    assert len(read(pages)) > 1
    check_corrected(render_plan(plain, "pdf"), pages, printer)


def test_the_bar_that_came_out_short_is_drawn_longer() -> None:
    """By hand: 149.4 of 150 across, so the 100 mm bar is drawn 100.4016; down 150.2, 99.8668."""
    plan = make_plan(
        Case(treat=read_list(["16"], "iso")),
        practice=Practice(printers=(Printer("desk", 149.4, 150.2),), printer="desk"),
    )
    page, *_ = read(render_plan(plan, "pdf"))
    lengths = [
        (abs(a[0] - b[0]), abs(a[1] - b[1]))
        for a, b in (mark.points for mark in page.painted if len(mark.points) == 2)
    ]
    assert any(x == pytest.approx(100.4016, abs=1e-3) and y < 1e-6 for x, y in lengths)
    assert any(y == pytest.approx(99.8668, abs=1e-3) and x < 1e-6 for x, y in lengths)


@pytest.mark.parametrize("wrong", ["none", "about a corner", "axes swapped", "turned"])
def test_the_check_would_see_a_wrong_correction(
    wrong: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    printer = Printer("desk", 148.0, 152.0)
    practice = Practice(printers=(printer,))
    plan = make_plan(Case(treat=read_list(["16"], "iso")), practice=practice)
    used = replace(plan, practice=replace(practice, printer="desk"))
    plain = render_plan(plan, "pdf")
    check_corrected(plain, render_plan(used, "pdf"), printer)
    true = Canvas.transform

    def transform(
        canvas: Canvas, a: float, b: float, c: float, d: float, e: float, f: float
    ) -> None:
        matrix = {
            "none": (1, 0, 0, 1, 0, 0),
            "about a corner": (a, b, c, d, 0, 0),
            "axes swapped": (d, b, c, a, e, f),
            "turned": (a, 1e-4, c, d, e, f),
        }[wrong]
        true(canvas, *matrix)

    monkeypatch.setattr(Canvas, "transform", transform)
    with pytest.raises(AssertionError):
        check_corrected(plain, render_plan(used, "pdf"), printer)


def test_the_check_would_see_a_mark_that_the_correction_lost() -> None:
    printer = Printer("desk", 148.0, 152.0)
    practice = Practice(printers=(printer,))
    plan = make_plan(Case(treat=read_list(["16"], "iso")), practice=practice)
    used = replace(plan, practice=replace(practice, printer="desk"), orientation_marks_mm=())
    with pytest.raises(AssertionError):
        check_corrected(render_plan(plan, "pdf"), render_plan(used, "pdf"), printer)


# --- what is accepted -------------------------------------------------------------------------


@pytest.fixture
def clinic(tmp_path: Path) -> Path:
    path = tmp_path / "clinic.toml"
    path.write_bytes(EXAMPLE.read_bytes())
    return path


def store(path: Path, x: float | str, y: float | str, *more: str) -> int:
    arguments = ["--practice", str(path), "--x", str(x), "--y", str(y), *more]
    return run(["printer", "set", *arguments])


@pytest.mark.parametrize(("x", "y"), [(147, 153), (153, 147), (150, 150), (149.4, 150.2)])
def test_bars_within_two_percent_are_stored(
    x: float, y: float, clinic: Path, capsys: Output
) -> None:
    assert store(clinic, x, y, "--name", "back room") == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        f"Printer back room: x {150 / x:.4f}, y {150 / y:.4f}; in use from now on\nwrote {clinic}\n"
    )
    practice = check_text(clinic.read_text("utf-8"), clinic.name).practice
    assert practice.printer_in_use == Printer("back room", x, y)
    assert [known.name for known in practice.printers] == ["front-desk", "back room"]


FIT = "the viewer or the print queue fits the page to the paper: print at 100 % (actual size)"
FILL = "the print queue fills the paper with the page: print at 100 % (actual size)"
MIXED = "A4 and letter are mixed up: choose the paper that is in the tray, at 100 %"
ON_LETTER = "an A4 page was fitted to letter paper: choose the paper that is in the tray, at 100 %"
ON_A4 = "a letter page was fitted to A4 paper: choose the paper that is in the tray, at 100 %"
CHECK = "check that scaling is off (100 %, actual size) and measure the bar again"
MEASURE = "measure the 150 mm bar from end to end, in mm"


@pytest.mark.parametrize(
    ("measured", "cause"),
    [
        (146.9, f"printed at 0.979: {FIT}"),
        (146.0, f"printed at 0.973: {FILL} or {MIXED}"),
        (153.1, f"printed at 1.021: {CHECK}"),
        (144.9, f"printed at 0.966: {FILL}"),
        (144.0, f"printed at 0.960: {FIT} or {FILL}"),
        (141.45, f"printed at 0.943: {FIT} or {MIXED}"),
        (142.5, f"printed at 0.950: {FIT}"),
        (136.8, f"printed at 0.912: {ON_LETTER}"),
        (135.0, f"printed at 0.900: {ON_LETTER}"),
        (139.95, f"printed at 0.933: {ON_A4}"),
        (137.55, f"printed at 0.917: {ON_A4}"),
        (150 * 210 / 215.9, f"printed at 0.973: {FILL} or {MIXED}"),
        (150 * 279.4 / 297, f"printed at 0.941: {FIT} or {MIXED}"),
        (133.0, f"printed at 0.887: {CHECK}"),
        (5.9, MEASURE),
        (15.0, MEASURE),
        (0.0, MEASURE),
        (-150.0, MEASURE),
        ("nan", MEASURE),
        ("inf", MEASURE),
    ],
)
@pytest.mark.parametrize("axis", ["x", "y"])
def test_other_bars_are_refused_with_the_likely_cause(
    measured: float | str, cause: str, axis: str, clinic: Path, capsys: Output
) -> None:
    """Scales as a print queue gave them; 279.4 / 297 and 210 / 215.9 derived."""
    before = clinic.read_bytes()
    bars = (measured, 150) if axis == "x" else (150, measured)
    assert store(clinic, *bars) == 2
    shown = f"{float(measured):g}"
    assert capsys.readouterr() == (
        "",
        f"sheetmark: error: bar {axis} {shown} mm: must be 147 to 153 mm; "
        f"nothing was stored; {cause}\n",
    )
    assert clinic.read_bytes() == before


def test_both_bars_wrong_give_a_line_each(clinic: Path, capsys: Output) -> None:
    assert store(clinic, 144.8, 141.1) == 2
    assert [line.split()[3] for line in capsys.readouterr().err.splitlines()] == ["x", "y"]


# Small printer margins, fitted: 0.981 to 0.987 on both axes, measured through a print queue.
@pytest.mark.parametrize(("x", "y"), [(147.2, 147.2), (148.0, 148.1), (149.2, 149.0)])
def test_bars_alike_on_both_axes_are_questioned_first(
    x: float, y: float, clinic: Path, capsys: Output
) -> None:
    before = clinic.read_bytes()
    assert store(clinic, x, y) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert f"both printed at {(x + y) / 300:.3f}" in line
    assert "100 %" in line
    assert "with --yes; nothing was stored" in line
    assert clinic.read_bytes() == before
    assert store(clinic, x, y, "--name", "main", "--yes") == 0
    practice = check_text(clinic.read_text("utf-8"), clinic.name).practice
    assert practice.printer_in_use == Printer("main", x, y)


@pytest.mark.parametrize("answer", [True, False])
def test_at_a_terminal_the_question_is_put(
    answer: bool, clinic: Path, capsys: Output, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = clinic.read_bytes()
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    monkeypatch.setattr("typer.confirm", lambda *_, **__: answer)
    assert store(clinic, 147.5, 147.5, "--name", "main") == (0 if answer else 2)
    assert "both printed at 0.983" in capsys.readouterr().err
    assert (clinic.read_bytes() == before) is not answer


@pytest.mark.parametrize(("x", "y"), [(149.3, 149.3), (148.0, 149.0), (149.0, 151.0)])
def test_bars_that_a_printer_may_well_give_are_not_questioned(
    x: float, y: float, clinic: Path
) -> None:
    """Off by no more than 0.5 %, not alike, and one too short beside one too long."""
    assert store(clinic, x, y, "--name", "main") == 0


def test_printers_are_listed_and_removed(clinic: Path, capsys: Output) -> None:
    arguments = ["--practice", str(clinic)]
    assert store(clinic, 149.4, 150.2, "--name", "back room") == 0
    capsys.readouterr()
    assert run(["printer", "list", *arguments]) == 0
    first, second = capsys.readouterr().out.splitlines()
    assert first.startswith("front-desk  bars x ")
    assert "in use" not in first
    assert second == (
        "back room   bars x 149.4 mm, y 150.2 mm  corrected by x 1.0040, y 0.9987  in use"
    )
    assert run(["printer", "remove", "cellar", *arguments]) == 2
    assert "it has: front-desk, back room" in capsys.readouterr().err
    assert run(["printer", "remove", "back room", *arguments]) == 0
    assert "was in use: pages are not corrected from now on" in capsys.readouterr().err
    practice = check_text(clinic.read_text("utf-8"), clinic.name).practice
    assert [known.name for known in practice.printers] == ["front-desk"]
    assert practice.printer_in_use is None
    assert run(["printer", "remove", "front-desk", *arguments]) == 0
    assert "was in use" not in capsys.readouterr().err
    assert run(["printer", "list", *arguments]) == 0
    assert capsys.readouterr() == ("", "no printer is stored: pages are not corrected\n")
    # What else stood in the file still does, with its remarks.
    kept = [line for line in EXAMPLE.read_text("utf-8").splitlines() if line.startswith("#")]
    assert set(kept) <= set(clinic.read_text("utf-8").splitlines())


@pytest.mark.parametrize(
    ("name", "wording"),
    [
        ("none", "this word means no printer"),
        ("", "must be text of 1 to 20 characters"),
        (21 * "x", "must be text of 1 to 20 characters"),
        (" desk", "no space at an end"),
        ("\u6e2f", "the font has no glyph"),
    ],
)
def test_a_name_that_cannot_be_used_is_refused(
    name: str, wording: str, clinic: Path, capsys: Output
) -> None:
    before = clinic.read_bytes()
    assert store(clinic, 150, 150, "--name", name) == 2
    assert wording in capsys.readouterr().err
    assert clinic.read_bytes() == before


def test_a_correction_needs_a_practice_file(settings_folder: Path, capsys: Output) -> None:
    assert run(["printer", "set", "--x", "149.4", "--y", "150.2"]) == 2
    assert "make it with sheetmark practice init" in capsys.readouterr().err
    assert list(settings_folder.iterdir()) == []


# --- where it is kept -------------------------------------------------------------------------


def test_all_else_in_the_file_stays_letter_for_letter(clinic: Path) -> None:
    """Remarks, order, spelling: only the line of the printer in use and the bars differ."""
    own = "# our own remark\n" + clinic.read_text("utf-8").replace("count = 4", "count   =  4 # 4!")
    clinic.write_text(own, encoding="utf-8")
    assert store(clinic, 150.4, 149.1, "--name", "front-desk") == 0
    after = clinic.read_text("utf-8")
    changed = [
        (old, new)
        for old, new in zip(own.splitlines(), after.splitlines(), strict=True)
        if old != new
    ]
    assert changed == [
        ("bar_x_mm = 149.4", "bar_x_mm = 150.4"),
        ("bar_y_mm = 150.2", "bar_y_mm = 149.1"),
    ]
    assert store(clinic, 150.0, 150.0, "--name", "second") == 0
    lines = clinic.read_text("utf-8").splitlines()
    added = [line for line in lines if line not in after.splitlines()]
    assert added == [
        'printer = "second"',
        'name = "second"',
        "bar_x_mm = 150.0",
        "bar_y_mm = 150.0",
    ]
    gone = [line for line in after.splitlines() if line not in lines]
    assert gone == ['printer = "front-desk"']


@settings(max_examples=30, derandomize=True, deadline=None)
@given(practices(), st.sampled_from(["main", "abc", "Q"]), BARS, BARS)
def test_any_file_takes_a_printer(practice: Practice, name: str, x: float, y: float) -> None:
    text = store_printer(new_file(practice), Printer(name, x, y), "clinic.toml")
    after = check_text(text, "clinic.toml").practice
    assert after.printer_in_use == Printer(name, x, y)
    others = [known for known in practice.printers if known.name != name]
    assert [known for known in after.printers if known.name != name] == others
    kept = replace(after, origin=None, printers=practice.printers, printer=practice.printer)
    assert kept == practice


@pytest.mark.parametrize(
    "layout",
    [
        "",
        'page = { paper = "letter" }',
        'page.paper = "letter"',
        "printers = []",
        'printers = [{ name = "main", bar_x_mm = 150, bar_y_mm = 150 }]',
        'printers = [\n  { name = "x", bar_x_mm = 150, bar_y_mm = 150 }, # old\n]',
        "[holes]\nease_mm = 1 # keep\n[page]",
    ],
)
def test_other_layouts_take_a_printer_too(layout: str) -> None:
    text = f'format = "sheetmark-practice/1"\n{layout}\n'
    changed = store_printer(text, Printer("main", 149, 151), "x.toml")
    assert check_text(changed, "x.toml").practice.printer_in_use == Printer("main", 149, 151)
    for remark in ("# old", "# keep"):
        assert (remark in changed) == (remark in text)


def test_a_link_to_the_file_stays_a_link(clinic: Path) -> None:
    link = clinic.parent / "link.toml"
    link.symlink_to(clinic)
    assert store(link, 150.4, 149.1, "--name", "linked") == 0
    assert link.is_symlink()
    assert "linked" in clinic.read_text("utf-8")


# --- choosing a printer -----------------------------------------------------------------------


def page(folder: Path, *flags: str) -> bytes:
    path = folder / "case.pdf"
    assert run(["overlay", "16", "-o", str(path), *flags]) == 0
    return path.read_bytes()


def test_flags_choose_the_printer_or_none(clinic: Path, tmp_path: Path, capsys: Output) -> None:
    assert store(clinic, 151, 149.5, "--name", "second") == 0
    named = ("--practice", str(clinic))
    plain = page(tmp_path, *named, "--printer", "none")
    assert "Printer" not in pypdf.PdfReader(BytesIO(plain)).pages[0].extract_text()
    # The example writes numbers with a comma.
    for flags, wording in (
        ((), "Printer second: x 0,9934, y 1,0033"),
        (("--printer", "second"), "Printer second: x 0,9934, y 1,0033"),
        (("--printer", "front-desk"), "Printer front-desk: x 1,0040, y 0,9987"),
    ):
        text = pypdf.PdfReader(BytesIO(page(tmp_path, *named, *flags))).pages[0].extract_text()
        assert wording in text
    capsys.readouterr()
    assert run(["overlay", "16", *named, "--printer", "desk"]) == 2
    assert capsys.readouterr().err == (
        "sheetmark: error: printer 'desk': not in the practice file; use front-desk, second, "
        "none, or store it with sheetmark printer set\n"
    )


def test_json_and_svg_know_no_printer(clinic: Path, tmp_path: Path) -> None:
    for name in ("a", "b"):
        printer = {"a": "front-desk", "b": "none"}[name]
        files = [
            word for end in ("json", "svg") for word in ("-o", str(tmp_path / f"{name}.{end}"))
        ]
        command = ["overlay", "16", "--practice", str(clinic), "--printer", printer]
        assert run([*command, *files]) == 0
    for end in ("json", "svg"):
        assert (tmp_path / f"a.{end}").read_bytes() == (tmp_path / f"b.{end}").read_bytes()
    assert "front-desk" not in json.dumps(json.loads((tmp_path / "a.json").read_bytes()))
