"""The fonts of the chairside page: parts of the documents' own, packed for a browser.

A browser fetches a part only for a text that needs it; the ranges stand in the page's style. The
font's licence reserves its name, so a part has another. fontTools makes them, with brotli.
"""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

from sheetmark.typesetting.lettering import FAMILY, font_file
from tests.helpers.paths import ROOT

PAGE = ROOT / "sheetmark" / "desk" / "page"
FOLDER = PAGE / "fonts"
LICENCE = FOLDER / "OFL.txt"
NAME = "Sheetmark Page"
WEIGHTS = {"regular": False, "bold": True}
_FACE = re.compile(
    rf'@font-face {{ font-family: "{NAME}"; src: url\("../fonts/(\w+)-(\w+)\.woff2"\); '
    r"font-weight: (\d+); unicode-range: ([^;]+); }"
)
# Numbers of a font's names, as OpenType lists them.
_FAMILY, _STYLE, _ONLY, _FULL, _VERSION, _POSTSCRIPT, _ABOUT = 1, 2, 3, 4, 5, 6, 10


def faces() -> dict[tuple[str, str], frozenset[int]]:
    """The characters that the page's style looks for in each part, by its name and weight."""
    style = (PAGE / "shared" / "style.css").read_text("utf-8")
    found = {}
    for part, weight, number, text in _FACE.findall(style):
        if number != {"regular": "400", "bold": "700"}[weight]:
            raise AssertionError(f"{part}-{weight}: font-weight {number}")
        ranges = (piece.removeprefix("U+").split("-") for piece in text.split(", "))
        found[part, weight] = frozenset(
            code for first, last in ranges for code in range(int(first, 16), int(last, 16) + 1)
        )
    return found


def part_file(part: str, weight: str) -> Path:
    """Where a part lies."""
    return FOLDER / f"{part}-{weight}.woff2"


def page_fonts() -> dict[Path, bytes]:
    """Each file of the folder."""
    files = {part_file(*face): as_file(made(*face), "woff2") for face in faces()}
    return files | {LICENCE: licence()}


def licence() -> bytes:
    """The text that comes with the documents' font."""
    return font_file(False).with_name("LICENSE.txt").read_bytes()


def made(part: str, weight: str) -> TTFont:
    """The glyphs of a part's characters with all that belongs to them."""
    font = TTFont(font_file(WEIGHTS[weight]), recalcTimestamp=False)
    cutter = Subsetter(Options(name_IDs=["*"], notdef_outline=True, bidi_closure=False))
    cutter.populate(unicodes=faces()[part, weight])
    cutter.subset(font)
    _rename(font, f"{NAME} {part.title()}")
    return font


def as_file(font: TTFont, flavour: str | None = None) -> bytes:
    """The font's bytes."""
    font.flavor = flavour
    packed = BytesIO()
    font.save(packed)
    return packed.getvalue()


def _rename(font: TTFont, name: str) -> None:
    names = font["name"]
    style, version = (str(names.getDebugName(number)) for number in (_STYLE, _VERSION))
    postscript = f"{name.replace(' ', '')}-{style}"
    new = {
        _FAMILY: name,
        _ONLY: postscript,
        _FULL: f"{name} {style}",
        _POSTSCRIPT: postscript,
        _ABOUT: f"Some characters of {FAMILY} {style}, {version}, for a page on a screen.",
    }
    for number, text in new.items():
        for platform, encoding, language in ((1, 0, 0), (3, 1, 0x409)):
            names.setName(text, number, platform, encoding, language)
