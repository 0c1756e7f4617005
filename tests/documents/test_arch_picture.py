"""The picture of a fitted arch, read back from the finished SVG and PDF. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import dist
from pathlib import Path
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth
from sheetmark.cli.app import run
from sheetmark.documents.cautions import RESPONSIBILITY
from sheetmark.documents.figures.arch_drawing import ODD_MM, POINT_MM
from sheetmark.documents.figures.arch_picture import arch_picture
from sheetmark.fitting.fit import JawFit, Origin, own_model
from sheetmark.fitting.from_callipers import fit_callipers
from sheetmark.fitting.landmarks import CastPoint, Landmark
from sheetmark.fitting.measures import read_measures
from sheetmark.practice.printer import Printer
from sheetmark.practice.settings import PAPERS, Practice
from sheetmark.render.pdf import render_pdf
from sheetmark.render.svg import render_svg
from tests.helpers.casts import cast
from tests.helpers.fits import DAY, seen_fit
from tests.helpers.readback import Drawing, Point, read_pdf, read_svg

pytestmark = pytest.mark.usefixtures("few_mouths")

EXACT = 1e-3  # the SVG is written to a tenth of a micrometre; two roundings and some slack


def pictured(
    *casts: Sequence[Landmark], practice: Practice | None = None
) -> tuple[ArchModel, list[JawFit], bytes]:
    origin = Origin(load_model("adult-mean"), DAY, "iso")
    fits = [seen_fit(tuple(marks)) for marks in casts]
    model = own_model("own", origin, fits)
    document = arch_picture(model, fits, practice or Practice(), "sheetmark arch fit --name own")
    return model, fits, render_svg(document)


def named(svg: bytes) -> dict[str, Point]:
    """Centres of all circles with a name, in the page frame."""
    root = ElementTree.fromstring(svg)
    height = float(root.attrib["height"].removesuffix("mm"))
    return {
        element.attrib["data-name"]: (
            float(element.attrib["cx"]),
            height - float(element.attrib["cy"]),
        )
        for element in root
        if element.tag.endswith("circle")
    }


@pytest.mark.parametrize("jaw", JAWS)
def test_landmarks_stand_as_far_apart_as_they_were_given(jaw: Jaw) -> None:
    marks = cast(jaw=jaw, slots="1234567", noise_mm=0.15, seed=1, turn_deg=130, shift=(70, 9))
    _, _, svg = pictured(marks)
    drawn = named(svg)
    given = {
        f"landmark-{mark.tooth.iso}-{number}": point
        for mark in marks
        for number, point in enumerate(mark.points, start=1)
    }
    assert drawn.keys() == given.keys()
    for first, other in combinations(given, 2):
        assert dist(drawn[first], drawn[other]) == pytest.approx(
            dist(given[first], given[other]), abs=EXACT
        )
    # The right way round: the patient's right at the left, incisors up in the upper jaw only.
    quadrants = (1, 2) if jaw == "upper" else (4, 3)
    right, left, incisor = (
        drawn[f"landmark-{q}{p}-1"]
        for q, p in zip((*quadrants, quadrants[0]), (6, 6, 1), strict=True)
    )
    assert right[0] < incisor[0] < left[0]
    assert (incisor[1] > right[1]) == (jaw == "upper")


def test_landmarks_lie_on_the_drawn_arch() -> None:
    marks = cast(slots="1234567", turn_deg=50)
    model, (fit,), svg = pictured(marks)
    drawn = named(svg)
    arch = build_arch(model, "upper")
    first = arch.place(Tooth(1, 1)).contact
    middles = {
        seen.tooth: _middle(*(drawn[f"landmark-{seen.tooth.iso}-{n}"] for n in (1, 2)))
        for seen in fit.seen
    }
    # Mesial and distal points of a tooth have its contact middle between them.
    off = middles[Tooth(1, 1)][0] - first.x, middles[Tooth(1, 1)][1] - first.y
    for tooth, middle in middles.items():
        contact = arch.place(tooth).contact
        assert (middle[0] - off[0], middle[1] - off[1]) == pytest.approx(contact, abs=EXACT)
    # The line joins the gum-line centres, where the holes go.
    row = [line for line in read_svg(svg).lines if line.line == 0.15]
    assert len(row) == len(arch.places) - 1
    for line, place in zip(row, arch.places, strict=False):
        at = (line.start[0] - off[0], line.start[1] - off[1])
        assert at == pytest.approx(place.centre, abs=EXACT)


def _middle(first: Point, other: Point) -> Point:
    return ((first[0] + other[0]) / 2, (first[1] + other[1]) / 2)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_page_is_true_to_scale_in_both_formats(paper: str) -> None:
    practice = Practice(paper="letter" if paper == "letter" else "a4")
    origin = Origin(load_model("adult-mean"), DAY, "iso")
    fits = [seen_fit(tuple(cast(jaw=jaw, slots="1234567"))) for jaw in JAWS]
    document = arch_picture(own_model("own", origin, fits), fits, practice, "sheetmark")
    from_svg, (from_pdf,) = read_svg(render_svg(document)), read_pdf(render_pdf(document))
    size = (PAPERS[practice.paper].width_mm, PAPERS[practice.paper].height_mm)
    for drawing in (from_svg, from_pdf):
        assert (drawing.width, drawing.height) == pytest.approx(size, abs=1e-4)
        bars = [line for line in drawing.lines if line.line == pytest.approx(0.4)]
        lengths = sorted(dist(line.start, line.end) for line in bars)
        assert lengths[-2:] == pytest.approx([100, 100], abs=0.01)
        assert drawing.text.count("this bar is 100 mm") == 2
        assert RESPONSIBILITY in drawing.text
    here, there = (sorted(c.centre for c in d.circles) for d in (from_svg, from_pdf))
    assert len(here) == 4 * 14
    for first, other in zip(here, there, strict=True):
        assert first == pytest.approx(other, abs=0.01)


def test_widths_and_depth_are_drawn_and_written() -> None:
    origin = Origin(load_model("adult-mean"), DAY, "iso")
    texts = ["upper canines 33.1", "upper molars 46", "16 10.4"]
    fits = [fit_callipers("upper", read_measures(texts, "iso"), origin)]
    model = own_model("own", origin, fits)
    drawing = read_svg(render_svg(arch_picture(model, fits, Practice(), "sheetmark")))
    thin = [line for line in drawing.lines if line.line == 0.2]
    lengths = sorted(dist(line.start, line.end) for line in thin)[-3:]
    found = {figure.what: figure.fitted_mm for figure in fits[0].figures}
    depth = found["upper depth"]
    wanted = sorted([found["upper canines"], found["upper molars"], depth])
    assert lengths == pytest.approx(wanted, abs=EXACT)
    written = [word.text for word in drawing.texts]
    assert {"33.1", "46.0", f"{depth:.1f}", "1:1", "upper jaw"} <= set(written)
    assert f"upper canines: {found['upper canines']:.2f}, 33.10 measured" in written


def test_crowns_that_were_seen_are_dark_and_those_predicted_grey() -> None:
    origin = Origin(load_model("adult-mean"), DAY, "iso")
    fits = [seen_fit(tuple(cast(slots="67")))]
    model = own_model("own", origin, fits)
    root = ElementTree.fromstring(render_svg(arch_picture(model, fits, Practice(), "sheetmark")))
    greys = {
        element.attrib["data-name"]: element.attrib["stroke"]
        for element in root
        if element.attrib.get("data-name", "").startswith("tooth-")
    }
    dark = {name for name, grey in greys.items() if grey == "rgb(0,0,0)"}
    assert dark == {"tooth-16", "tooth-26", "tooth-17", "tooth-27"}
    assert len(greys) == 16


def test_points_of_odd_teeth_stand_in_a_ring() -> None:
    marks = cast(slots="1234567", moves={"14": (-4.8, 1.4)})
    _, _, svg = pictured(marks)
    drawn, drawing = named(svg), read_svg(svg)
    rings = [circle for circle in drawing.circles if not circle.filled]
    centres = sorted(ring.centre for ring in rings)
    wanted = sorted(drawn[f"landmark-14-{n}"] for n in (1, 2))
    for centre, at in zip(centres, wanted, strict=True):
        assert centre == pytest.approx(at, abs=1e-9)
    assert [ring.diameter for ring in rings] == pytest.approx([ODD_MM, ODD_MM])
    assert {circle.diameter for circle in drawing.circles if circle.filled} == {POINT_MM}
    assert "! 14 stands away from where the other teeth would put it" in drawing.text


def test_a_point_off_the_picture_is_not_drawn_over_the_text_and_is_named() -> None:
    marks = list(cast(slots="1234567", kind="gum line"))
    at = next(number for number, mark in enumerate(marks) if mark.tooth == Tooth(1, 2))
    (x1, y1), (x2, y2) = marks[at].points
    apart = (CastPoint(x1, y1 + 300), CastPoint(x2, y2 - 300))
    marks[at] = replace(marks[at], points=apart)
    _, _, svg = pictured(marks)
    assert "landmark-12-1" not in named(svg)
    assert "landmark-13-1" in named(svg)
    assert "! A point of 12 lies off this picture." in read_svg(svg).text


@pytest.mark.parametrize("seed", range(4))
def test_labels_keep_off_points_and_each_other(seed: int) -> None:
    marks = [cast(jaw=jaw, slots="1234567", noise_mm=0.4, seed=seed) for jaw in JAWS]
    _, _, svg = pictured(*marks)
    drawing = read_svg(svg)
    numbers = [word for word in drawing.texts if word.size == pytest.approx(3.4)]
    assert len(numbers) == 32
    assert len({word.text for word in numbers}) == 32
    for word in numbers:
        reach = dist(word.start, word.end) / 2
        assert all(dist(word.middle, c.centre) > reach + c.diameter / 2 for c in drawing.circles)
        assert all(
            dist(word.middle, other.middle) > 0.66 * word.size
            for other in numbers
            if other is not word
        )
        assert 10 < word.start[0] < word.end[0] < drawing.width - 10


def test_a_label_makes_way_for_the_ring_of_a_point() -> None:
    plain = read_svg(pictured(cast(slots="1234567"))[2])
    (label,) = (word for word in plain.texts if word.text == "14")
    # A tooth whose mesial point stands right where another's number stands without it.
    drawn = named(pictured(cast(slots="1234567"))[2])
    at = drawn["landmark-15-1"]
    move = (label.middle[0] - at[0], label.middle[1] - at[1])
    drawing = read_svg(pictured(cast(slots="1234567", moves={"15": move}))[2])
    rings = [circle for circle in drawing.circles if not circle.filled]
    (moved,) = (word for word in drawing.texts if word.text == "14")
    assert min(dist(ring.centre, label.middle) for ring in rings) < 1.5
    assert all(dist(moved.middle, ring.centre) > ring.diameter / 2 + 1.0 for ring in rings)


def test_text_that_does_not_fit_goes_on_another_page() -> None:
    origin = Origin(load_model("adult-mean"), DAY, "iso")
    moves = {"13": (-5.0, 5.0), "23": (5.0, 5.0), "43": (-5.0, -5.0), "33": (5.0, -5.0)}
    fits = []
    for jaw in JAWS:
        marks = cast(jaw=jaw, noise_mm=0.45, seed=9, moves=moves, mirrored=True)
        fits.append(seen_fit(tuple(marks)))
    practice = Practice(paper="letter", margin_mm=20)
    document = arch_picture(own_model("own", origin, fits), fits, practice, "sheetmark")
    pages = read_pdf(render_pdf(document))
    assert len(pages) > 1
    text = " ".join(page.text for page in pages)
    for fit in fits:
        for finding in fit.findings:
            assert finding.line in text
        for figure in fit.figures:
            assert figure.sentence in text
    for page in pages:
        assert RESPONSIBILITY in page.text
        assert page.text.count("1:1") == 1
        assert all(word.start[0] > 19.9 and word.start[1] > 19.9 for word in page.texts)


def test_the_practice_decides_paper_notation_numbers_and_correction() -> None:
    printer = Printer("desk", 149.4, 150.2)
    practice = Practice(
        paper="letter",
        notation="palmer",
        numbers="comma",
        name="A practice",
        printers=(printer,),
        printer="desk",
    )
    _, _, svg = pictured(cast(slots="1234567"), practice=practice)
    drawing = read_svg(svg)
    assert (drawing.width, drawing.height) == pytest.approx((215.9, 279.4))
    assert "29,2" in [word.text for word in drawing.texts]
    assert "A practice" in drawing.text
    assert "upper depth: 29,25" in drawing.text
    assert sum(word.text == "6" and word.bold for word in drawing.texts) == 2


def test_the_command_corrects_the_pdf_and_not_the_svg(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    assert run(["practice", "init", "-o", "p.toml"]) == 0
    assert run(["printer", "set", "--x", "149.4", "--y", "150.2", "--practice", "p.toml"]) == 0
    fit = ["arch", "fit", "--date", DAY, "--measure", "16-26 46", "--picture", "a.svg"]
    assert run([*fit, "--picture", "a.pdf", "--practice", "p.toml"]) == 0
    assert run([*fit, "--picture", "b.pdf", "--practice", "p.toml", "--printer", "none"]) == 0
    capsys.readouterr()
    from_svg = read_svg(Path("a.svg").read_bytes())
    (corrected,), (plain,) = (read_pdf(Path(name).read_bytes()) for name in ("a.pdf", "b.pdf"))

    def spread(drawing: Drawing, axis: int) -> float:
        at = [end[axis] for line in drawing.lines for end in (line.start, line.end)]
        return max(at) - min(at)

    for axis, measured in ((0, 149.4), (1, 150.2)):
        assert spread(plain, axis) == pytest.approx(spread(from_svg, axis), abs=0.01)
        assert spread(corrected, axis) / spread(plain, axis) == pytest.approx(
            150 / measured, abs=1e-4
        )


def test_the_same_input_gives_the_same_bytes() -> None:
    marks = cast(slots="1234567", noise_mm=0.1, seed=3)
    before = pictured(marks)[2]
    seen_fit.cache_clear()  # fitted again, too
    assert pictured(marks)[2] == before
