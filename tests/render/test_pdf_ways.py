"""How a PDF is found one's way in: title, language, a bookmark for each page, links from lists to
pages; and that nothing is printed on a back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pypdf
import pytest

from sheetmark.cli.app import run

LIST = "time,teeth,age,reference\n8:30,16,,a\n9:00,75,6,b\n10:00,11 21,,a\n"
CLINIC = (
    'format = "sheetmark-practice/1"\n[page]\nprinter = "p"\n'
    '[[printers]]\nname = "p"\nbar_x_mm = 148.5\nbar_y_mm = 151\n'
)
MADE = {
    "overlay": "overlay 16",
    "card": "overlay 16 --card",
    "day": "day list.csv --cards",
    "drawer": "drawer --for cervical",
    "exercise": "handout exercise",
    "test page": "printer page",
    "check page": "check page",
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("pdfs")
    (made / "list.csv").write_text(LIST, "utf-8")
    (made / "clinic.toml").write_text(CLINIC, "utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(made)
        for name, command in MADE.items():
            assert run([*command.split(), "-q", "-o", f"{name}.pdf"]) == 0
        assert run(["day", "list.csv", "-q", "--practice", "clinic.toml", "-o", "moved.pdf"]) == 0
    return made


@pytest.mark.parametrize("name", MADE)
def test_what_every_file_says_of_itself(name: str, folder: Path) -> None:
    reader = pypdf.PdfReader(folder / f"{name}.pdf")
    root: Any = reader.trailer["/Root"].get_object()
    assert reader.metadata is not None
    assert reader.metadata.title not in ("", None, "untitled"), "ReportLab's own"
    assert "/Author" not in reader.metadata
    assert reader.metadata.creator == "sheetmark"
    assert str(root["/Lang"]) == "en"
    assert dict(root["/ViewerPreferences"].items()) == {
        "/PrintScaling": "/None",
        "/DisplayDocTitle": True,
        "/Duplex": "/Simplex",
    }


@pytest.mark.parametrize("name", MADE)
def test_every_page_of_several_has_a_bookmark_in_order(name: str, folder: Path) -> None:
    reader = pypdf.PdfReader(folder / f"{name}.pdf")
    entries = [entry for entry in reader.outline if not isinstance(entry, list)]
    pages = len(reader.pages)
    numbers = [reader.get_destination_page_number(entry) for entry in entries]
    assert numbers == (list(range(pages)) if pages > 1 else [])
    for entry, page in zip(entries, reader.pages, strict=pages > 1):
        # Its title is the page's own heading.
        text = " ".join(page.extract_text().split())
        assert str(entry.title).split(" · ")[0] in text


def links(reader: pypdf.PdfReader) -> list[tuple[str, int]]:
    """What stands under each link, and the page it leads to, from 1."""
    pages = {page.indirect_reference: n for n, page in enumerate(reader.pages, start=1)}
    found = []
    for page in reader.pages:
        texts: list[tuple[float, float, str]] = []

        def look(
            text: str, base: list[float], at: list[float], *_: object,
            into: list[tuple[float, float, str]] = texts,
        ) -> None:  # fmt: skip
            x = at[4] * base[0] + at[5] * base[2] + base[4]
            y = at[4] * base[1] + at[5] * base[3] + base[5]
            into.append((x, y, text.strip()))

        annotations = page.get("/Annots", [])
        if annotations:
            page.extract_text(visitor_text=look)
        for annotation in annotations:
            link = annotation.get_object()
            left, bottom, right, top = (float(edge) for edge in link["/Rect"])
            under = [
                text
                for x, y, text in texts
                if left - 1 <= x <= right and bottom <= y <= top and text
            ]
            found.append((" ".join(under), pages[link["/Dest"].get_object()[0]]))
    return found


@pytest.mark.parametrize("name", ["day", "moved"])
def test_the_tray_plan_leads_to_each_case(name: str, folder: Path) -> None:
    """Also where a printer's correction moves all that is drawn."""
    found = links(pypdf.PdfReader(folder / f"{name}.pdf"))
    assert len(found) == 3
    assert [text for text, _ in found] == [str(page) for _, page in found]
    assert len({page for _, page in found}) == 3


def test_the_index_of_the_drawer_leads_to_each_sheet(folder: Path) -> None:
    reader = pypdf.PdfReader(folder / "drawer.pdf")
    found = [(text, page) for text, page in links(reader) if text.startswith("sheet ")]
    assert len(found) > 20
    for number, (text, page) in enumerate(found, start=1):
        assert text.startswith(f"sheet {number} · page {page} ")
