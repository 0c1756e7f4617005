"""The page's fonts are parts of the documents' own: the same letters, under another name."""

from __future__ import annotations

from functools import cache
from io import BytesIO, StringIO
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

from sheetmark.desk.server.pages import page_address
from sheetmark.typesetting.lettering import FAMILY, font_file, missing_glyphs
from tests.helpers.browser import wait_until, watched
from tests.helpers.case_view import open_case
from tests.helpers.page_fonts import (
    FOLDER,
    LICENCE,
    NAME,
    WEIGHTS,
    as_file,
    faces,
    licence,
    made,
    part_file,
)
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PARTS = sorted(faces())
# Accents of Europe's languages in Latin letters, Greek, and signs of the sheets.
EUROPE = (
    "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞŸĀĂĄĆĈĊČĎĐĒĔĖĘĚĜĞĠĢĤĦĨĪĬĮĴĶĹĻĽŁŃŅŇŊŌŎŐŒŔŖŘŚŜŞŠȘŢŤȚŨŪŬŮŰŲŴẂẀŶỲŹŻŽ"
    "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩΆΈΉΊΌΎΏ"
)
SIGNS = "ßẞİıςµ−–“”…€×·±≤≥°→☐"


@cache
def opened(file: Path) -> TTFont:
    return TTFont(BytesIO(file.read_bytes()))


def as_xml(font: TTFont, table: str) -> str:
    text = StringIO()
    font.saveXML(text, tables=[table], writeVersion=False)
    return text.getvalue()


def drawn(font: TTFont, code: int) -> tuple[object, object]:
    """The width and the outline of a character."""
    glyphs, name = font.getGlyphSet(), font.getBestCmap()[code]
    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    return glyphs[name].width, pen.value


def test_the_folder_holds_the_parts_and_their_licence() -> None:
    assert set(FOLDER.iterdir()) == {LICENCE, *(part_file(*face) for face in PARTS)}
    assert len(PARTS) == 4
    assert LICENCE.read_bytes() == licence()


@pytest.mark.parametrize("part", ["common", "other"])
def test_a_part_is_made_from_the_documents_font(part: str) -> None:
    """One weight; the letters of both are compared below."""
    weight = "regular"
    here = opened(part_file(part, weight))
    anew = TTFont(BytesIO(as_file(made(part, weight))))
    for table in ("cmap", "name", "GSUB"):
        assert as_xml(here, table) == as_xml(anew, table), "run: python -m tests.renew_page_fonts"


@pytest.mark.parametrize(("part", "weight"), PARTS)
def test_each_character_is_drawn_as_in_the_documents(part: str, weight: str) -> None:
    whole, here = opened(font_file(WEIGHTS[weight])), opened(part_file(part, weight))
    codes = whole.getBestCmap().keys() & faces()[part, weight]
    assert here.getBestCmap().keys() == codes
    assert len(codes) > 400
    for code in codes:
        assert drawn(here, code) == drawn(whole, code), chr(code)
    for table in ("head", "hhea"):
        for field in ("unitsPerEm", "ascent", "descent", "lineGap"):
            assert getattr(here[table], field, None) == getattr(whole[table], field, None)


@pytest.mark.parametrize("weight", WEIGHTS)
def test_each_character_stands_in_one_part(weight: str) -> None:
    ranges = [codes for (_, of), codes in faces().items() if of == weight]
    assert len(ranges) == 2
    assert sum(len(codes) for codes in ranges) == len(frozenset.union(*ranges)) == 0x110000


def test_the_part_that_every_page_fetches_holds_what_europe_writes() -> None:
    text = EUROPE + EUROPE.lower() + SIGNS
    assert missing_glyphs(text) == []
    assert {ord(letter) for letter in text} <= opened(
        part_file("common", "regular")
    ).getBestCmap().keys()


@pytest.mark.parametrize(("part", "weight"), PARTS)
def test_a_part_keeps_the_licence_and_not_the_reserved_name(part: str, weight: str) -> None:
    assert "Reserved Font Name 'Source'" in LICENCE.read_text("utf-8")
    names = opened(part_file(part, weight))["name"]
    assert "Reserved Font Name" in names.getDebugName(0)
    assert "SIL Open Font License, Version 1.1" in names.getDebugName(13)
    shown = {record.toUnicode() for record in names.names if record.nameID in (1, 3, 4, 6, 16)}
    assert shown
    assert all(text.replace(" ", "").startswith(NAME.replace(" ", "")) for text in shown)
    assert f"characters of {FAMILY} {weight.title()}" in names.getDebugName(10)
    assert not [text for text in shown if "source" in text.lower()]


def test_the_page_fetches_other_letters_when_a_text_has_them(page: Page, desk: Running) -> None:
    fetched: list[str] = []
    page.on("request", lambda request: fetched.append(request.url.removeprefix(desk.url[:-1])))

    def fonts() -> set[str]:
        return {name for name in fetched if name.endswith(".woff2")}

    open_case(page, desk, "treat=26")
    page.evaluate("document.fonts.ready.then(() => null)")
    usual = {page_address(f"fonts/common-{weight}.woff2") for weight in WEIGHTS}
    assert fonts() == usual
    other = page_address("fonts/other-regular.woff2")
    page.get_by_text("More choices").click()
    page.get_by_label("Reference").fill("Кабинет 2")
    wait_until(page, lambda: other in fonts())
    assert fonts() == usual | {other}


def test_a_text_on_the_page_is_as_wide_as_in_print(page: Page, desk: Running) -> None:
    """Kerning aside: a sheet's text is set without it."""
    from sheetmark.typesetting.lettering import text_width

    open_case(page, desk, "treat=26")
    for text in ("Łódź 26 upper left Ω", "Кабинет Ж"):
        for bold in (False, True):
            width = page.evaluate(
                """async ([text, weight]) => {
                  const span = document.createElement("span");
                  span.style.cssText =
                    `font: ${weight} 100px ${getComputedStyle(document.body).fontFamily};` +
                    "position: absolute; white-space: pre; font-kerning: none;" +
                  "font-variant-ligatures: none; text-rendering: geometricPrecision";
                  span.textContent = text;
                  document.body.append(span);
                  await document.fonts.load(`${weight} 100px 'Sheetmark Page'`, text);
                  const { width } = span.getBoundingClientRect();
                  span.remove();
                  return width;
                }""",
                [text, 700 if bold else 400],
            )
            assert width == pytest.approx(text_width(text, 100, bold), abs=0.5)


def test_a_reload_asks_for_nothing_that_is_kept(browser: Browser, desk: Running) -> None:
    """The browser's own cache answers, and the desk hears nothing."""
    sent: list[int] = []
    context = browser.new_context()
    with watched(context, (desk.url,), expected=""):
        page = context.new_page()
        tools = context.new_cdp_session(page)
        tools.send("Network.enable")
        tools.on("Network.loadingFinished", lambda event: sent.append(event["encodedDataLength"]))
        open_case(page, desk)
        page.wait_for_load_state("networkidle")
        assert 100_000 < sum(sent) < 200_000
        sent.clear()
        page.reload()
        page.wait_for_selector(".chart")
        page.wait_for_load_state("networkidle")
        assert len([size for size in sent if size]) <= 6, "the page, and what it asks for by /api/"
        assert sum(sent) < 60_000
        context.close()
