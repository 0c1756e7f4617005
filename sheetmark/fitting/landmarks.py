"""Landmarks of a cast from a CSV file, in mm: where each tooth was seen.

Three kinds, told apart by the columns: the mesial and the distal point of each tooth, where it
touches its neighbours (a point that two teeth share is given for both); the facial and the lingual
point of its gum margin; or one point in its middle. Columns in any order and letter case, set apart
by commas, semicolons or tabs; a decimal comma where the columns are not set apart by commas. Lines
above the heading that start with # are remarks, below it they are rows. The points come from a
scaled photograph or scan, seen from the biting side, x to the right and y upwards, in any position
and turned any way.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from math import dist, fsum, isfinite
from typing import Literal, NamedTuple

from msgspec import Struct

from sheetmark.anatomy.teeth import Jaw, Notation, Tooth, in_arch_order, read, write
from sheetmark.base.file_kinds import refuse_other_kinds
from sheetmark.base.findings import InputError
from sheetmark.base.remark_lines import below_remarks

Kind = Literal["contacts", "gum line", "middle"]
COLUMNS: Mapping[Kind, tuple[str, ...]] = {
    "contacts": ("tooth", "mesial_x", "mesial_y", "distal_x", "distal_y"),
    "gum line": ("tooth", "facial_x", "facial_y", "lingual_x", "lingual_y"),
    "middle": ("tooth", "x", "y"),
}
_ALL_COLUMNS = tuple(dict.fromkeys(name for names in COLUMNS.values() for name in names))
_FORMS = ", or ".join(", ".join(names) for names in COLUMNS.values())
_SEPARATORS = (";", "\t", ",")
# A guard against a lost decimal point, far outside any cast or photograph (assumption).
_FURTHEST_MM = 10_000.0
# A guard against another file (assumption): 16 teeth have under 2 kB.
MOST_BYTES = 1_000_000


class CastPoint(NamedTuple):
    """A point of a cast in its picture, mm: in any position and turned any way."""

    x: float
    y: float


class Landmark(Struct, frozen=True):
    """Where one tooth's points lie in the picture: mesial and distal, or facial and lingual of the
    gum margin, or one in its middle."""

    tooth: Tooth
    points: tuple[CastPoint, ...]
    kind: Kind = "contacts"

    @property
    def middle(self) -> CastPoint:
        """The middle of its points."""
        count = len(self.points)
        return CastPoint(
            fsum(x for x, _ in self.points) / count, fsum(y for _, y in self.points) / count
        )

    @property
    def width_mm(self) -> float | None:
        """The tooth's mesiodistal width, mm, where its points tell it."""
        return dist(*self.points) if self.kind == "contacts" else None


def read_landmarks(content: bytes, shown: str, notation: Notation) -> tuple[Landmark, ...]:
    """The landmarks of one jaw, all of one kind, from the patient's right to the left; `shown`
    names the file.

    Raises InputError with every problem of the file, a line each.
    """
    _, lines = below_remarks(_lines(_decoded(content, shown)))
    if not lines:
        raise InputError(f"{shown}: empty; the first line names the columns {_FORMS}")
    (_, head), *rows = lines
    separator = next((mark for mark in _SEPARATORS if mark in head), ",")
    names = [name.strip().lower() for name in _cells(shown, head, separator)]
    kind = _kind(shown, names)
    found: dict[Tooth, Landmark] = {}
    problems: list[str] = []
    for number, line in rows:
        where = f"{shown}, line {number}"
        try:
            cells = _cells(where, line, separator)
            landmark = _landmark(where, kind, names, cells, separator, notation)
            if landmark.tooth in found:
                name = write(landmark.tooth, notation)
                raise InputError(f"{where}: tooth {name} stands there twice; remove one")
            found[landmark.tooth] = landmark
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(*problems)
    if not found:
        raise InputError(f"{shown}: no tooth below the column names; add a line for each tooth")
    _check_same_jaw(shown, list(found), notation)
    return tuple(found[tooth] for tooth in in_arch_order(found))


def write_landmarks(landmarks: Sequence[Landmark], notation: Notation) -> str:
    """A file that `read_landmarks` reads back as the same landmarks, all of one kind."""
    lines = [",".join(COLUMNS[landmarks[0].kind])]
    for landmark in landmarks:
        numbers = (repr(number) for point in landmark.points for number in point)
        lines.append(",".join((write(landmark.tooth, notation), *numbers)))
    return "\n".join(lines) + "\n"


def remark_lines(content: bytes, shown: str) -> int:
    """How many lines above the heading of such a file are remarks. Raises InputError."""
    return below_remarks(_lines(_decoded(content, shown)))[0]


def jaw_of(landmarks: tuple[Landmark, ...]) -> Jaw:
    """The jaw of all the landmarks."""
    return landmarks[0].tooth.jaw


def _decoded(content: bytes, shown: str) -> str:
    refuse_other_kinds(content, shown, (), "a CSV of landmarks", "choose one")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            f"{shown}: not UTF-8 text (byte {error.start}); save it as CSV in UTF-8"
        ) from error


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """The lines that say something, with their numbers."""
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip(" \t,;"):
            yield number, line


def _cells(where: str, line: str, separator: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=separator))
    except csv.Error as error:
        raise InputError(f"{where}: not CSV ({error}); correct that line") from error


def _kind(shown: str, names: list[str]) -> Kind:
    """The kind whose columns these are."""
    for name in names:
        if name not in _ALL_COLUMNS:
            near = get_close_matches(name, _ALL_COLUMNS, 1)
            hint = f"; {near[0]} is meant?" if near else ""
            raise InputError(
                f"{shown}: column {name!r} is not known{hint}; the first line holds {_FORMS}"
            )
    # The kind that most of the columns belong to is the one that is meant.
    kind = max(COLUMNS, key=lambda known: len({*names} & {*COLUMNS[known]}))
    for name in dict.fromkeys((*COLUMNS[kind], *names)):
        if names.count(name) != 1 or name not in COLUMNS[kind]:
            how = "missing" if name not in names else "there twice"
            how = how if name in COLUMNS[kind] else "of another kind of landmark"
            raise InputError(
                f"{shown}: column {name} is {how}; the first line holds {', '.join(COLUMNS[kind])}"
            )
    return kind


def _landmark(
    where: str, kind: Kind, names: list[str], cells: list[str], separator: str, notation: Notation
) -> Landmark:
    if len(cells) != len(names):
        comma = " (a decimal comma asks for semicolons between columns)" if separator == "," else ""
        raise InputError(
            f"{where}: {len(cells)} columns, not {len(names)}{comma}; correct that line"
        )
    row = dict(zip(names, (cell.strip() for cell in cells), strict=True))
    try:
        tooth = read(row["tooth"], notation)
    except InputError as error:
        raise InputError(f"{where}: {error}") from None
    numbers = [_number(where, name, row[name], separator) for name in COLUMNS[kind][1:]]
    points = tuple(map(CastPoint, numbers[::2], numbers[1::2]))
    if len(set(points)) < len(points):
        ends = "mesial and distal" if kind == "contacts" else "facial and lingual"
        raise InputError(
            f"{where}: tooth {row['tooth']}: its {ends} points are the same; measure both"
        )
    return Landmark(tooth, points, kind)


def _number(where: str, name: str, text: str, separator: str) -> float:
    if not text:
        raise InputError(f"{where}: {name} is missing; give it in mm or remove the line")
    try:
        number = float(text if separator == "," else text.replace(",", "."))
    except ValueError:
        raise InputError(f"{where}: {name} {text!r} is no number; give it in mm") from None
    if not (isfinite(number) and abs(number) <= _FURTHEST_MM):
        raise InputError(
            f"{where}: {name} {text}: must be a number from -{_FURTHEST_MM:g} "
            f"to {_FURTHEST_MM:g} mm; correct it"
        )
    return number


def _check_same_jaw(shown: str, teeth: list[Tooth], notation: Notation) -> None:
    upper = [write(tooth, notation) for tooth in teeth if tooth.jaw == "upper"]
    lower = [write(tooth, notation) for tooth in teeth if tooth.jaw == "lower"]
    if upper and lower:
        raise InputError(
            f"{shown}: teeth of both jaws, such as {upper[0]} and {lower[0]}; "
            f"put each jaw into a file of its own"
        )
