"""The words of an SVG keep to their room where a viewer ignores `textLength` and has another font.

Every word is drawn by the viewer in a font a tenth wider than ours, and the room that was measured
for it is painted white: no ink may be left. Our own font, made wider, plays the other font.
"""

from __future__ import annotations

import base64
import os
import subprocess
import sys
from collections.abc import Sequence
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest
from fontTools.subset import Subsetter
from fontTools.ttLib import TTFont
from PIL import Image

from sheetmark.anatomy.arch_model import load_model
from sheetmark.documents.handouts.all import draw_handout
from sheetmark.documents.handouts.lesson import Lesson
from sheetmark.jobs.outputs import render_plan
from sheetmark.practice.settings import Practice
from sheetmark.render.svg import render_svg
from sheetmark.typesetting.lettering import FAMILY, font_file
from sheetmark.typesetting.marks import Document
from tests.helpers.browser import CHROMIUM_ARGUMENTS, chromium_for_tests
from tests.helpers.named_cases import NAMED_CASES

if TYPE_CHECKING:
    from playwright.sync_api import Playwright

WIDER = 1.1
_SVG = "http://www.w3.org/2000/svg"
_DPI = 96
_INK = 100  # of 255: darker than the soft edge of a letter
_EDGE_MM = 0.3  # letters lean over the ends of their room by that, in our font too
_WEIGHTS = {False: "normal", True: "bold"}


@cache
def _pages() -> tuple[bytes, ...]:
    """A case on both papers, a card, and handouts with tables, columns and turned words: of each
    page its words alone, then the same with the room of each word painted white."""
    cases = [
        render_plan(NAMED_CASES["palmer on letter"].plan, "svg"),
        render_plan(NAMED_CASES["root canal"].plan, "svg", card=True),
    ]
    lesson = Lesson(load_model("adult-mean"), Practice(), "sheetmark handout")
    handouts = [
        render_svg(Document(name, "", draw_handout(name, lesson).pages[:1]))
        for name in ("numbering", "hole-size")
    ]
    return tuple(_text_of(svg, covered) for svg in cases + handouts for covered in (False, True))


def _text_of(svg: bytes, covered: bool) -> bytes:
    ElementTree.register_namespace("", _SVG)
    root = ElementTree.fromstring(svg)
    texts = root.findall(f"{{{_SVG}}}text")
    root[:] = [*texts, *(_room(text) for text in texts)] if covered else texts
    for text in texts:
        del text.attrib["textLength"], text.attrib["lengthAdjust"]
    shown: bytes = ElementTree.tostring(root, "utf-8")
    return shown


def _room(word: ElementTree.Element) -> ElementTree.Element:
    x, y, size, length = (float(word.attrib[key]) for key in ("x", "y", "font-size", "textLength"))
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[word.attrib["text-anchor"]]
    room = {
        "x": f"{x - back * length - _EDGE_MM}",
        "y": f"{y - 1.2 * size}",
        "width": f"{length + 2 * _EDGE_MM}",
        "height": f"{1.6 * size}",
        "fill": "white",
    }
    if "transform" in word.attrib:
        room["transform"] = word.attrib["transform"]
    return ElementTree.Element(f"{{{_SVG}}}rect", room)


@pytest.fixture(scope="module")
def wider(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with our regular and bold font, each wider, with the letters of the pages."""
    folder = tmp_path_factory.mktemp("fonts")
    for bold, weight in _WEIGHTS.items():
        font = TTFont(font_file(bold))
        letters = Subsetter()
        letters.populate(text=b"".join(_pages()).decode())
        letters.subset(font)
        for name, (width, left) in list(font["hmtx"].metrics.items()):
            font["hmtx"][name] = (round(width * WIDER), round(left * WIDER))
        for name in font["glyf"].keys():  # noqa: SIM118  its own table, no dict
            glyph = font["glyf"][name]
            if glyph.isComposite():
                for part in glyph.components:
                    part.x = round(part.x * WIDER)
            elif glyph.numberOfContours:
                glyph.coordinates.scale((WIDER, 1))
                glyph.recalcBounds(font["glyf"])
        font.save(folder / f"{weight}.ttf")
    return folder


def _check(pictures: Sequence[bytes]) -> None:
    """Bare and covered pages in turn."""
    dark = []
    for picture in pictures:
        shades = Image.open(BytesIO(picture)).convert("L").histogram()
        dark.append(sum(shades[: 255 - _INK]))
    assert len(dark) == len(_pages())
    assert min(dark[::2]) > 300, "words are drawn"
    assert dark[1::2] == [0] * len(dark[1::2]), "words leave their room"


def test_text_keep_to_their_room_in_resvg(wider: Path) -> None:
    resvg_py = pytest.importorskip("resvg_py", reason="no resvg here: pip install resvg-py")
    options = {
        "background": "white",
        "dpi": _DPI,
        "skip_system_fonts": True,
        "font_files": [str(path) for path in wider.iterdir()],
    }
    _check([bytes(resvg_py.svg_to_bytes(svg_string=svg.decode(), **options)) for svg in _pages()])


_CAIRO = """
import sys
from pathlib import Path
try:
    import cairosvg
except (ImportError, OSError):  # the module, or the library that it needs
    sys.exit(3)
for path in Path().glob("*.svg"):
    picture = str(path.with_suffix(".png"))
    cairosvg.svg2png(url=str(path), write_to=picture, background_color="white")
"""


def test_text_keep_to_their_room_in_cairo(wider: Path, tmp_path: Path) -> None:
    """In a process of its own, in which the fonts of the machine are not seen."""
    fonts = tmp_path / "fonts.conf"
    fonts.write_text(
        f"<fontconfig><dir>{wider}</dir><cachedir>{tmp_path / 'cache'}</cachedir></fontconfig>"
    )
    for number, svg in enumerate(_pages()):
        (tmp_path / f"{number:02}.svg").write_bytes(svg)
    run = subprocess.run(
        [sys.executable, "-c", _CAIRO],
        cwd=tmp_path,
        env=os.environ | {"FONTCONFIG_FILE": str(fonts)},
        check=False,
    )
    if run.returncode == 3:
        pytest.skip("no Cairo here: pip install cairosvg, and Cairo's library from the system")
    _check([path.read_bytes() for path in sorted(tmp_path.glob("*.png"))])


def test_text_keep_to_their_room_in_chromium(wider: Path, playwright: Playwright) -> None:
    faces = ""
    for weight in _WEIGHTS.values():
        font = base64.b64encode((wider / f"{weight}.ttf").read_bytes()).decode()
        faces += f"@font-face {{ font-family: '{FAMILY}'; font-weight: {weight}; "
        faces += f"src: url(data:font/ttf;base64,{font}) }}"
    pictures = []
    browser = playwright.chromium.launch(
        executable_path=chromium_for_tests(), args=CHROMIUM_ARGUMENTS
    )
    page = browser.new_page(viewport={"width": 830, "height": 1130})
    for svg in _pages():
        page.set_content(f"<style>{faces}body {{ margin: 0 }}</style>{svg.decode()}")
        page.evaluate("document.fonts.ready")
        pictures.append(page.screenshot())
    browser.close()
    _check(pictures)
