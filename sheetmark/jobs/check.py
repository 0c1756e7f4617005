"""A photograph checked, and the check written in each format that a file name's ending asks for."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from sheetmark.base.files import read_file
from sheetmark.base.json_files import json_bytes
from sheetmark.checking.judge import judge
from sheetmark.checking.layout import check_layout
from sheetmark.checking.look import Seen, see_sheet
from sheetmark.checking.photo import MOST_BYTES, read_photo
from sheetmark.checking.result import Check
from sheetmark.checking.wanted import Wanted
from sheetmark.checking.wording import check_json
from sheetmark.practice.settings import STANDARD_SHEETS, Practice

FORMATS = (".pdf", ".json", ".png")


class CheckedPhoto(Struct, frozen=True):
    """A photograph, what was seen in it, and what that comes to."""

    seen: Seen
    check: Check


def photo_content(path: Path) -> bytes:
    """The bytes of a photograph. Raises InputError for one that cannot be read or is too large."""
    return read_file(path, str(path), MOST_BYTES)


def check_photo(data: bytes, name: str, wanted: Wanted, tolerance_mm: float) -> CheckedPhoto:
    """The check of one photograph. Raises InputError for one that cannot be judged."""
    others = [check_layout(sheet) for sheet in STANDARD_SHEETS]
    seen = see_sheet(read_photo(data, name), check_layout(wanted.sheet), others)
    return CheckedPhoto(seen, judge(seen.found, wanted, tolerance_mm))


def render_check(done: CheckedPhoto, ending: str, practice: Practice) -> bytes:
    """The check as `.pdf`, `.json` or `.png`; the PNG is the sheet as photographed, with marks."""
    if ending == ".json":
        return json_bytes(check_json(done.check))
    if ending == ".png":
        from sheetmark.checking.picture import check_picture

        return check_picture(done.seen, done.check)
    from sheetmark.documents.check_report import check_report
    from sheetmark.documents.correction import corrected
    from sheetmark.render.pdf import render_pdf

    return render_pdf(corrected(check_report(done.check, practice), practice))
