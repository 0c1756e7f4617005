"""A class's drawn exercises marked in one go: a table with a row a page, and a picture of each."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from io import StringIO
from pathlib import Path

from msgspec import Struct

from sheetmark.anatomy.teeth import write
from sheetmark.base.findings import InputError
from sheetmark.checking.drawn import DrawnPage, mark_page
from sheetmark.checking.exercise import Exercise
from sheetmark.checking.photo import ENDINGS, read_photo
from sheetmark.checking.picture import FlatPicture
from sheetmark.jobs.check import photo_content

COLUMNS = (
    "file",
    "exercise",
    "holes",
    "in place",
    "out of place",
    "missing",
    "too many",
    "for the teacher",
    "worst mm",
    "note",
)
MIRRORED = "drawn mirrored or turned: look at it"


class MarkedFile(Struct, frozen=True):
    """A file and its marks, or why it has none."""

    name: str
    done: DrawnPage | None
    problem: str


def photographs_in(path: Path) -> tuple[Path, ...]:
    """A file, or a folder's photographs in the order of their names. Raises InputError."""
    if not path.is_dir():
        return (path,)
    try:
        found = sorted(file for file in path.iterdir() if file.suffix.lower() in ENDINGS)
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check the folder") from error
    if not found:
        raise InputError(f"{path}: no photographs in it; they end in {', '.join(ENDINGS)}")
    return tuple(found)


def mark_files(paths: Iterable[Path], exercise: Exercise) -> Iterator[MarkedFile]:
    """The marks of each file, one by one; a file that cannot be judged says why."""
    for path in paths:
        try:
            done = mark_page(read_photo(photo_content(path), path.name), exercise)
        except InputError as error:
            yield MarkedFile(path.name, None, error.problems[-1])
        else:
            yield MarkedFile(path.name, done, "")


def marks_csv(marked: Sequence[MarkedFile]) -> bytes:
    """A row for each file, as UTF-8 with a mark that spreadsheets look for."""
    text = StringIO()
    table = csv.writer(text)
    table.writerow(COLUMNS)
    for marked_file in marked:
        table.writerow(_row(marked_file))
    return text.getvalue().encode("utf-8-sig")


def _row(marked_file: MarkedFile) -> list[str]:
    # A name that begins like a formula must not be run by a spreadsheet.
    name = f"'{marked_file.name}" if marked_file.name[:1] in "=+-@" else marked_file.name
    if marked_file.done is None:
        return [name, *[""] * (len(COLUMNS) - 2), marked_file.problem]
    done = marked_file.done
    off = [hole.distance_mm for hole in done.holes if hole.distance_mm is not None]
    return [
        name,
        done.page.name,
        str(len(done.holes)),
        str(done.in_place) if done.straight else "",
        done.teeth("out of place"),
        done.teeth("missing") if done.straight else "",
        str(len(done.extra)) if done.straight else "",
        done.teeth("unsure"),
        f"{max(off):.1f}" if off else "",
        "" if done.straight else MIRRORED,
    ]


def page_picture(done: DrawnPage, tolerance_mm: float) -> bytes:
    """A PNG of the page: a ring of the tolerance round each place, the tooth's number, a small ring
    on each cross found, a lying cross on one too many."""
    picture = FlatPicture(done.seen)
    for hole in done.holes:
        sure = {"in place": "", "out of place": " off", "missing": " missing", "unsure": " ?"}
        picture.ring(hole.wanted.at, tolerance_mm)
        picture.word(
            hole.wanted.at, f"{write(hole.wanted.tooth, done.page.notation)}{sure[hole.mark]}"
        )
    for cross in done.drawn:
        if cross.is_cross:
            picture.ring(cross.at, 0.5)
    if done.straight:
        for at in done.extra:
            picture.cross(at, 3.0)
    return picture.png()
