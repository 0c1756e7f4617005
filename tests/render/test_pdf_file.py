"""The PDF as a file: exact paper, no hidden scaling, embedded fonts, the same bytes every time."""

from __future__ import annotations

import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from sheetmark.base.findings import InputError
from sheetmark.documents.cautions import CAUTIONS, RESPONSIBILITY
from sheetmark.jobs.outputs import render_plan
from sheetmark.practice.settings import Practice, Sheet
from tests.helpers.named_cases import MANY_FINDINGS
from tests.helpers.valid_cases import Sample, sample

CASE = sample("16")
A4_POINTS = (595.2756, 841.8898)  # 210 and 297 mm, ISO 216, at 72 to 25.4 mm
LETTER_POINTS = (612.0, 792.0)  # 8.5 and 11 inches


def read(case: Sample) -> PdfReader:
    return PdfReader(BytesIO(render_plan(case.plan, "pdf")), strict=True)


def plain(found: Any) -> Any:
    """An object of the file with its reference followed; pypdf's own types say little."""
    return found.get_object()


def texts(case: Sample) -> list[str]:
    """The words of each page, line breaks read as spaces."""
    return [" ".join(page.extract_text().split()) for page in read(case).pages]


@pytest.mark.parametrize(
    ("case", "points"),
    [
        (CASE, A4_POINTS),
        (MANY_FINDINGS, A4_POINTS),
        (sample("16", Practice(paper="letter")), LETTER_POINTS),
    ],
    ids=["A4", "A4 with more pages", "letter"],
)
def test_every_page_is_exactly_the_paper(case: Sample, points: tuple[float, float]) -> None:
    pages = read(case).pages
    assert len(pages) >= 1
    for page in pages:
        box = [float(side) for side in plain(page["/MediaBox"])]
        assert box[:2] == [0, 0]
        assert box[2:] == pytest.approx(points, abs=5e-5)
        for key in ("/CropBox", "/TrimBox", "/BleedBox", "/ArtBox", "/UserUnit"):
            assert key not in page
        assert page.get("/Rotate", 0) == 0


def test_viewers_get_the_order_not_to_scale() -> None:
    root = read(CASE).root_object
    assert plain(root["/ViewerPreferences"])["/PrintScaling"] == "/None"
    assert plain(root["/Lang"]) == "en"


def test_version_title_and_recipe() -> None:
    pdf = render_plan(CASE.plan, "pdf")
    assert pdf.startswith(b"%PDF-1.7")
    about = PdfReader(BytesIO(pdf)).metadata
    assert about is not None
    assert about.title == "16 (ISO) · upper right first molar · restoration"
    assert about.subject == CASE.plan.command == "sheetmark overlay 16"


@pytest.mark.parametrize("case", [CASE, MANY_FINDINGS], ids=["one page", "more pages"])
def test_every_font_is_embedded(case: Sample) -> None:
    for page in read(case).pages:
        fonts = [plain(font) for font in plain(plain(page["/Resources"])["/Font"]).values()]
        assert len(fonts) >= 2
        for font in fonts:
            assert "SourceSansPro" in font["/BaseFont"]
            embedded = plain(plain(font["/FontDescriptor"])["/FontFile2"]).get_data()
            assert len(embedded) > 1000


def test_no_date_of_today() -> None:
    about: Any = read(CASE).metadata
    # ReportLab's fixed date for files that shall not change.
    assert about["/CreationDate"] == about["/ModDate"] == "D:20000101000000+00'00'"


def test_the_same_bytes_in_any_process(tmp_path: Path) -> None:
    files: list[list[bytes]] = []
    for number, (seed, zone) in enumerate((("1", "Pacific/Kiritimati"), ("4242", "America/Lima"))):
        folder = tmp_path / str(number)
        folder.mkdir()
        names = [f"case.{ending}" for ending in ("pdf", "svg", "json")]
        teeth = ["16", "15", "--missing", "14,13", "--reference", "ä 7", "--slit", "16-15"]
        outputs = [word for name in names for word in ("-o", name)]
        subprocess.run(
            [sys.executable, "-m", "sheetmark", "overlay", *teeth, *outputs],
            cwd=folder,
            env=os.environ | {"PYTHONHASHSEED": seed, "TZ": zone},
            check=True,
            capture_output=True,
        )
        files.append([(folder / name).read_bytes() for name in names])
    assert files[0] == files[1]
    assert all(files[0])


@pytest.mark.parametrize("case", [CASE, MANY_FINDINGS], ids=["one page", "more pages"])
def test_cautions_and_who_decides_stand_on_every_page(case: Sample) -> None:
    pages = texts(case)
    assert len(CAUTIONS) >= 5
    for text in pages:
        for caution in CAUTIONS:
            assert caution in text
        assert RESPONSIBILITY == "The treating clinician decides. Local rules apply."
        assert text.count(RESPONSIBILITY) == 1
        assert CASE.plan.command in text


def test_many_findings_go_on_over_the_pages() -> None:
    first, *further = texts(MANY_FINDINGS)
    assert further
    assert "More on the next page." in first
    assert "More on the next page." not in further[-1]
    # The card behind the overlay holds all of them, each once.
    everything = " ".join(further)
    for finding in MANY_FINDINGS.plan.findings:
        assert everything.count(finding.message) == 1, finding.message
    for text in further[1:-1]:
        assert "16 (ISO) · upper right first molar · restoration (continued)" in text
    assert "at the chair" in further[-1]
    for text in further:
        assert "this bar is 100 mm" not in text
    # Warnings come before what is only worth knowing.
    assert everything.index("Finding 89 of many.") < everything.index("Finding 0 of many.")


def test_the_first_page_says_how_to_check_its_scale() -> None:
    text, _card = texts(CASE)
    assert text.count("this bar is 100 mm") == 2
    assert "1:1" in text
    assert "Print at 100 %" in text


@pytest.mark.parametrize(
    ("notation", "name"),
    [("iso", "ISO 3950"), ("universal", "Universal"), ("palmer", "Palmer")],
)
def test_the_page_says_how_teeth_are_numbered(notation: str, name: str) -> None:
    """12 is a tooth in two systems."""
    text, _card = texts(sample("24", notation=notation))
    assert f"tooth ({name})" in text


def test_facts_that_do_not_fit_go_to_the_next_page() -> None:
    tall = Practice(paper="letter", sheet=Sheet(150.0, 160.5), ease_mm=0.5)
    pages = texts(sample("11", tall, reference=5 * "12 letters: "))
    assert len(pages) > 1
    for fact in (
        "Punch 0.5, 1, 1.5, 2, 2.5, 2.6 mm",
        "Arch adult-mean, upper jaw",
        "each distance 0.5 mm longer",
    ):
        assert sum(text.count(fact) for text in pages) == 1, fact


def test_text_that_can_never_fit_is_an_error_that_says_by_how_much() -> None:
    tall = Practice(paper="letter", sheet=Sheet(160.0, 163.0))
    row = "17 16 15 14 13 12 11 21 22 23 24 25 26 27"
    case = sample(row, tall, notation="palmer", reference=6 * "WWWWWWWWW ")
    with pytest.raises(InputError, match=r"the text needs \d+\.\d mm more than letter"):
        render_plan(case.plan, "pdf")
