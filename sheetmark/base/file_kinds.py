"""What a file holds, by how it begins: so that a page never takes the place of a settings file, and
a file that was chosen by mistake is called by its name."""

from __future__ import annotations

import re
from collections.abc import Collection

from sheetmark.base.findings import InputError

# A model's remarks stand above its format (assumption: never more than this).
HEAD_BYTES = 64 * 1024

_FORMAT = re.compile(rb"""(?:^|[{,\n])\s*"?format"?\s*[:=]\s*["']sheetmark-([a-z-]+)/""")
# How a file of each kind begins; a web page may hold an SVG. An empty list names its columns and
# has no row, so nothing is lost with it.
_BEGINNINGS = {
    "PDF": re.compile(rb"%PDF-"),
    "PNG": re.compile(rb"\x89PNG"),
    "HTML": re.compile(rb"(?i:<!doctype html|<html)"),
    "SVG": re.compile(rb"(?s:.{0,2000}?)<svg"),
    "DXF": re.compile(rb"0\s+SECTION\s"),
    "empty list": re.compile(rb"(?:[a-z]+[;,])*teeth(?:[;,][a-z]+)*\s*\Z"),
    "marks": re.compile(rb"file,exercise,holes,"),
    "JPEG": re.compile(rb"\xff\xd8\xff"),
    "HEIC": re.compile(rb"(?s:.{4})ftyp"),
    "XLSX": re.compile(rb"PK\x03\x04(?s:.*?)xl/"),
    "DOCX": re.compile(rb"PK\x03\x04(?s:.*?)word/"),
    "ZIP": re.compile(rb"PK\x03\x04"),
    "old office": re.compile(rb"\xd0\xcf\x11\xe0"),
}
# What each ending holds where it is one kind whatever the command.
_OF_ENDING = {
    ".pdf": "PDF",
    ".png": "PNG",
    ".svg": "SVG",
    ".cut.svg": "SVG",
    ".dxf": "DXF",
    ".html": "HTML",
}
_NAMES = {
    "PDF": "a PDF",
    "PNG": "a PNG",
    "SVG": "an SVG",
    "HTML": "a web page",
    "DXF": "a DXF",
    "JPEG": "a JPEG",
    "HEIC": "a HEIC",
    "XLSX": "an .xlsx file",
    "DOCX": "a Word file",
    "ZIP": "a packed file",
    "old office": "an old Excel or Word file, or one with a password",
    "arch": "an arch model",
    "case": "a case",
    "check": "a checked sheet's report",
    "coverage": "a coverage study",
    "day": "a day's list",
    "day-plan": "a day's plan",
    "empty list": "an empty list",
    "exercise": "an exercise",
    "marks": "a table of marks",
    "plan": "a plan",
    "practice": "a practice file",
    "strain": "a strain study",
    "": "something else",
}


def kind_of(head: bytes) -> str:
    """The kind of a file that begins so; empty where it is none that this program writes."""
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    for kind, beginning in _BEGINNINGS.items():
        if beginning.match(start):
            return kind
    found = _FORMAT.search(start)
    # One plan and several are one kind.
    return found[1].decode().removesuffix("s") if found else ""


def refuse_other_kinds(
    content: bytes, shown: str, kinds: Collection[str] | None, what: str, advice: str
) -> None:
    """Raises InputError for a file that is plainly of another kind than these, None for all with a
    format of our own; `what` is a person's word for what it should be. A file that is of no known
    kind passes."""
    found = kind_of(content[:HEAD_BYTES])
    if found and (found in _BEGINNINGS if kinds is None else found not in kinds):
        raise InputError(f"{shown}: {name_of_kind(found)}, not {what}; {advice}")


def kind_of_ending(ending: str, own: str) -> str:
    """The kind that is written to a file of that ending; `own` is that of JSON, TOML and CSV."""
    return _OF_ENDING.get(ending, own)


def name_of_kind(kind: str) -> str:
    """The kind as a person calls it."""
    return _NAMES.get(kind, f"a {kind} file")
