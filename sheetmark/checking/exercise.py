"""An exercise on paper: where the holes of each page belong, and how its file is written.

Lengths are in the sheet frame, mm. Bullseyes stand EXERCISE_GAP_MM outside the sheet; the page's
code stands in the strip below it, CODE_LEFT_MM from the sheet's middle.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, NotRequired, TypedDict

from msgspec import Meta, Struct

from sheetmark.anatomy.teeth import NOTATIONS, Notation, read
from sheetmark.base.frames import SheetPoint
from sheetmark.base.json_files import Length, Point, Schemed, json_bytes, schema_name
from sheetmark.checking.json_input import number_in, read_json
from sheetmark.checking.layout import Layout, round_sheet
from sheetmark.checking.wanted import WantedHole
from sheetmark.plan.plan_file import Iso
from sheetmark.practice.settings import SHEET_LIMITS_MM, Sheet
from sheetmark.practice.tolerance import DEFAULT_TOLERANCE_MM, TOLERANCE_LIMITS_MM
from sheetmark.typesetting.bullseyes import CODE_LIMITS

FORMAT: Literal["sheetmark-exercise/1"] = "sheetmark-exercise/1"
# In the middle of the strip that an overlay keeps for its bars.
EXERCISE_GAP_MM = 5.0
_MOST_PAGES = CODE_LIMITS[1] + 1

Rectangle = tuple[float, float, float, float]
"""Left, lower, right, upper, sheet frame, mm."""


class HoleRow(TypedDict):
    """Where a hole belongs. A diameter of 0 stands for a drawn cross."""

    tooth: Iso
    x_mm: float
    y_mm: float
    diameter_mm: NotRequired[float]


class PageRow(TypedDict):
    """One page to draw on, with the number that is printed on it."""

    code: Annotated[int, Meta(ge=CODE_LIMITS[0], le=CODE_LIMITS[1])]
    name: str
    notation: Notation
    holes: Annotated[list[HoleRow], Meta(min_length=1)]


class ExerciseFile(Schemed):
    """An exercise. `ignore_mm` are rectangles (left, lower, right, upper) in which the page itself
    has ink."""

    format: Literal["sheetmark-exercise/1"]
    sheet_mm: Point
    ignore_mm: list[Annotated[list[float], Meta(min_length=4, max_length=4)]]
    tolerance_mm: Length
    pages: Annotated[list[PageRow], Meta(min_length=1)]


class ExercisePage(Struct, frozen=True, kw_only=True):
    """One page to draw on: its code, its name for people, and its holes."""

    code: int
    name: str
    notation: Notation
    holes: tuple[WantedHole, ...]


class Exercise(Struct, frozen=True, kw_only=True):
    """The pages of an exercise, all with one sheet."""

    sheet: Sheet
    pages: tuple[ExercisePage, ...]
    ignore_mm: tuple[Rectangle, ...] = ()
    tolerance_mm: float = DEFAULT_TOLERANCE_MM

    @property
    def layout(self) -> Layout:
        """The bullseyes of each page."""
        return round_sheet("exercise", self.sheet, EXERCISE_GAP_MM)


def exercise_json(exercise: Exercise) -> bytes:
    """The exercise's file."""
    data: ExerciseFile = {
        "$schema": schema_name(FORMAT),
        "format": FORMAT,
        "sheet_mm": [exercise.sheet.width_mm, exercise.sheet.height_mm],
        "ignore_mm": [list(rectangle) for rectangle in exercise.ignore_mm],
        "tolerance_mm": exercise.tolerance_mm,
        "pages": [
            {
                "code": page.code,
                "name": page.name,
                "notation": page.notation,
                "holes": [
                    {
                        "tooth": hole.tooth.iso,
                        "x_mm": round(hole.at.x, 6),
                        "y_mm": round(hole.at.y, 6),
                        "diameter_mm": hole.diameter_mm,
                    }
                    for hole in page.holes
                ],
            }
            for page in exercise.pages
        ],
    }
    return json_bytes(data)


def read_exercise(data: bytes, name: str) -> Exercise:
    """The exercise of a file. Raises InputError for a file that is none."""
    return read_json(
        data,
        name,
        what="exercise",
        file_format=FORMAT,
        advice="take the .json that was written with the exercise",
        make=_exercise,
    )


def _exercise(data: dict[str, Any]) -> Exercise:
    width, height = (number_in(side, *SHEET_LIMITS_MM) for side in data["sheet_mm"])
    pages = tuple(_page(page) for page in data["pages"])
    if not 1 <= len(pages) <= _MOST_PAGES:
        raise ValueError(f"{len(pages)} pages")
    if len({page.code for page in pages}) < len(pages):
        raise ValueError("two pages of one code")
    return Exercise(
        sheet=Sheet(width, height),
        pages=pages,
        ignore_mm=tuple(_rectangle(*corners) for corners in data["ignore_mm"]),
        tolerance_mm=number_in(data["tolerance_mm"], *TOLERANCE_LIMITS_MM),
    )


def _rectangle(left: Any, bottom: Any, right: Any, top: Any) -> Rectangle:
    return number_in(left), number_in(bottom), number_in(right), number_in(top)


def _page(data: dict[str, Any]) -> ExercisePage:
    if data["notation"] not in NOTATIONS:
        raise ValueError(f"notation {data['notation']!r}")
    holes = tuple(
        WantedHole(
            tooth=read(hole["tooth"], "iso"),
            at=SheetPoint(number_in(hole["x_mm"]), number_in(hole["y_mm"])),
            diameter_mm=number_in(hole.get("diameter_mm", 0.0)),
        )
        for hole in data["holes"]
    )
    if not holes:
        raise ValueError("a page without holes")
    code = int(number_in(data["code"], *CODE_LIMITS))
    return ExercisePage(code=code, name=str(data["name"]), notation=data["notation"], holes=holes)
