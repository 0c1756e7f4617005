"""The one font of all documents: its files, the length of text, and text it cannot write.

Source Sans Pro (SIL Open Font License), from the package font-source-sans-pro.
"""

from __future__ import annotations

from functools import cache, lru_cache
from math import fsum
from pathlib import Path
from typing import TYPE_CHECKING

from sheetmark.base.findings import InputError
from sheetmark.base.frames import PagePoint
from sheetmark.typesetting.marks import Align, Text

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

FAMILY = "Source Sans Pro"
CAP_HEIGHT = 0.66  # of the font size, read from the font
ASCENT = 0.73  # of the font size, for letters such as l
DESCENT = 0.21  # of the font size, for letters such as g


@cache
def font_file(bold: bool) -> Path:
    """The file of the regular or the bold font."""
    import font_source_sans_pro

    style = "Bold" if bold else "Regular"
    return Path(font_source_sans_pro.__file__).parent / "files" / f"SourceSansPro-{style}.ttf"


@cache
def font(bold: bool) -> TTFont:
    """The regular or the bold font as ReportLab has it. It is read once: to measure and to draw."""
    from sheetmark.typesetting.light_reportlab import TTFont

    return TTFont(f"sheetmark-{'bold' if bold else 'regular'}", str(font_file(bold)))


@cache
def _widths(bold: bool) -> dict[int, float]:
    """Advance width of each character the font has, as a share of the font size."""
    # The table also lists NUL, which no page can show.
    widths = font(bold).face.charWidths
    return {code: width / 1000 for code, width in widths.items() if code >= 32}


@cache
def _known() -> frozenset[int]:
    return frozenset(_widths(False).keys() & _widths(True).keys())


def missing_glyphs(text: str) -> list[str]:
    """The characters that the font cannot write, each with its code."""
    known = _known()
    missing = dict.fromkeys(letter for letter in text if ord(letter) not in known)
    return [f"{letter!r} (U+{ord(letter):04X})" for letter in missing]


def unwritable(text: str) -> str:
    """Why the pages' font cannot write a text, or nothing."""
    missing = ", ".join(missing_glyphs(text))
    return f"the font has no glyph for {missing}" if missing else ""


@lru_cache(maxsize=10_000)  # many words stand on every page
def text_width(text: str, size: float, bold: bool = False) -> float:
    """Length of the text in mm. Raises InputError for a character the font does not have."""
    widths = _widths(bold)
    try:
        return size * fsum(widths[ord(letter)] for letter in text)
    except KeyError as error:
        letter = chr(error.args[0])
        raise InputError(
            f"text {text!r}: the font has no glyph for {letter!r} (U+{ord(letter):04X}); "
            f"write it with other letters"
        ) from None


def lettered(
    at: PagePoint,
    text: str,
    size: float,
    name: str,
    align: Align = "left",
    bold: bool = False,
    angle: float = 0.0,
    link: str = "",
) -> Text:
    """A Text mark with its measured width."""
    return Text(at, text, size, text_width(text, size, bold), name, align, bold, angle, link)


@lru_cache(maxsize=4096)  # the same cautions and steps stand on every page
def wrapped(text: str, size: float, width: float, bold: bool = False) -> tuple[str, ...]:
    """The text in lines no longer than `width` mm; a longer word is broken."""
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if text_width(longer, size, bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while len(line) > 1 and text_width(line, size, bold) > width:
            # At least one letter, however narrow the column.
            fits = next(
                n for n in range(1, len(line)) if text_width(line[: n + 1], size, bold) > width
            )
            lines.append(line[:fits])
            line = line[fits:]
    # A space at a line's end leaves nothing to set.
    return tuple(line for line in [*lines, line] if line.strip())
