"""What a file holds, by how it begins: so that a page never takes the place of a settings file."""

from __future__ import annotations

import re

# A model's remarks stand above its format (assumption: never more than this).
HEAD_BYTES = 64 * 1024

_FORMAT = re.compile(rb"""(?:^|[{,\n])\s*"?format"?\s*[:=]\s*["']sheetmark-([a-z-]+)/""")
_NAMES = {
    "PDF": "a PDF",
    "PNG": "a PNG",
    "SVG": "an SVG",
    "HTML": "a web page",
    "DXF": "a DXF",
    "arch": "an arch model",
    "case": "a case",
    "check": "a checked sheet's report",
    "coverage": "a coverage study",
    "day": "a day's list",
    "day-plan": "a day's plan",
    "exercise": "an exercise",
    "plan": "a plan",
    "practice": "a practice file",
    "strain": "a strain study",
    "": "something else",
}


def kind_of(head: bytes) -> str:
    """The kind of a file that begins so; empty where it is none that this program writes."""
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if start.startswith(b"%PDF-"):
        return "PDF"
    if start.startswith(b"\x89PNG"):
        return "PNG"
    if start[:15].lower().startswith((b"<!doctype html", b"<html")):
        return "HTML"
    if b"<svg" in start[:2000]:
        return "SVG"
    if re.match(rb"0\s+SECTION\s", start):
        return "DXF"
    found = _FORMAT.search(start)
    # One plan and several are one kind.
    return found[1].decode().removesuffix("s") if found else ""


def name_of_kind(kind: str) -> str:
    """The kind as a person calls it."""
    return _NAMES.get(kind, f"a {kind} file")
