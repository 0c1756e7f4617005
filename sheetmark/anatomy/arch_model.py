"""Arch model files: sourced tables in, a checked frozen record out.

A model is a TOML file. Every row of it names a source and a flag, or it is refused.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from math import fsum
from pathlib import Path
from typing import Annotated, Literal

import msgspec

from sheetmark.anatomy.curves import Curve
from sheetmark.anatomy.placed import MeasuredRow, Placed, ToothWidth
from sheetmark.anatomy.row_kind import Stretch, WorstHole
from sheetmark.anatomy.teeth import JAWS, Jaw, read, tooth_of_slot
from sheetmark.base.findings import InputError
from sheetmark.base.sources import Flag, Sourced, Text, read_sourced
from sheetmark.base.user_folder import is_there, models_folder, own_models

DEFAULT_MODEL = "adult-mean"

FIRST_MOLAR = "6"

_NAME, _NAME_LIMIT = r"^[a-z0-9][a-z0-9-]*$", 40

Slot = Literal["1", "2", "3", "4", "5", "6", "7", "8", "A", "B", "C", "D", "E"]
# Bounds for a misplaced decimal point, not for anatomy (assumption).
ArchWidth = Annotated[float, msgspec.Meta(ge=10, le=90)]
Spread = Annotated[float, msgspec.Meta(gt=0, le=10)]


class _Row(Sourced, frozen=True, kw_only=True):
    tooth: Slot
    note: str = ""

    @property
    def label(self) -> str:
        return f" (tooth {self.tooth})"


class Width(_Row, frozen=True, kw_only=True):
    """Mesiodistal crown width of one tooth, mm; SD where known."""

    mm: ToothWidth
    sd_mm: Spread | None = None


class CentreWidth(_Row, frozen=True, kw_only=True):
    """Width between the gum-line centres of a tooth's right and left, mm; SD where known, with a
    flag of its own where it is less sure than the width."""

    mm: ArchWidth
    sd_mm: Spread | None = None
    sd_flag: Flag | None = None


class Space(Sourced, frozen=True, kw_only=True):
    """A usual space behind a tooth, mm, left out when that tooth does not stand."""

    after: Slot
    mm: Annotated[float, msgspec.Meta(gt=0, le=10)]
    note: str = ""


class Crown(_Row, frozen=True, kw_only=True):
    """What else of a tooth is measured, mm: crown across, and the neck both ways."""

    labiolingual_mm: ToothWidth
    neck_mesiodistal_mm: ToothWidth
    neck_labiolingual_mm: ToothWidth


class JawModel(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One jaw of a model. `row` runs from the midline outwards, alike on both sides.

    The arch carries every row of `centre_widths`. Older files of a clinic's own may hold a curve,
    which the teeth are then laid along as before, and the names of two widths in `solve_from`,
    which nothing needs now that all are carried. `placed` holds every tooth of a mouth that was
    measured, each on its own side; the other rows then say where teeth stand that it does not hold.
    `worst_hole` says how far the holes of such a mouth may be off.
    """

    row: tuple[Slot, ...]
    centre_widths: tuple[CentreWidth, ...]
    mesiodistal: tuple[Width, ...] = ()
    spaces: tuple[Space, ...] = ()
    curve: Curve | None = None
    solve_from: tuple[Slot, Slot] | None = None
    placed: tuple[Placed, ...] = ()
    worst_hole: tuple[MeasuredRow, ...] = ()

    def worst_hole_of(self, row: Stretch | None) -> WorstHole | None:
        """How far the worst hole of such a row may be off; None where the file does not say."""
        found = (hole for hole in self.worst_hole if hole.row == row)
        known = next(found, None)
        return None if known is None else WorstHole(known.half_mm, known.most_mm)

    def space_after(self, slot: str) -> float:
        """The usual space behind a tooth, mm; 0 where there is none."""
        return fsum(space.mm for space in self.spaces if space.after == slot)

    def centre_width(self, slot: str) -> CentreWidth:
        """The row of a tooth's centre width. Raises StopIteration without one."""
        return next(row for row in self.centre_widths if row.tooth == slot)

    @property
    def seen(self) -> tuple[str, ...]:
        """The placed teeth whose own places were measured, by ISO 3950."""
        return tuple(place.tooth for place in self.placed if place.seen)

    @property
    def across_mm(self) -> dict[int, float]:
        """The widths by place from the midline. Where two teeth claim a place, that of the row
        counts."""
        rows = sorted(self.centre_widths, key=lambda row: row.tooth in self.row)
        return {_position(row.tooth): row.mm for row in rows}

    @property
    def reaching_row(self) -> tuple[str, ...]:
        """The row, and behind it the permanent teeth as far as its widths reach, at least to the
        first molar, on which the mouth hangs."""
        reach = max([int(FIRST_MOLAR), *self.across_mm])
        return (*self.row, *map(str, range(_position(self.row[-1]) + 1, reach + 1)))


class ArchModel(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A whole model: both jaws, and the sources its rows refer to by key.

    Widths it does not hold come from the shipped models named in `widths_from`, in that order.
    `ages` are the completed years, first and last, for which the model is the default.
    """

    format: Literal["sheetmark-arch/1"]
    name: Annotated[
        str,
        msgspec.Meta(
            pattern=_NAME,
            max_length=_NAME_LIMIT,
            description="Small letters, digits and dashes",
        ),
    ]
    title: Text
    sources: dict[str, Text]
    upper: JawModel
    lower: JawModel
    widths_from: tuple[str, ...] = ()
    ages: tuple[int, int] | None = None

    def __hash__(self) -> int:
        return hash((self.name, self.upper, self.lower, self.widths_from))

    def jaw(self, jaw: Jaw) -> JawModel:
        """The model's rows for a jaw."""
        return self.upper if jaw == "upper" else self.lower

    def width(self, jaw: Jaw, slot: str) -> tuple[Width, str]:
        """The mesiodistal width of a tooth and its source in words.

        Raises InputError when neither this model nor those in `widths_from` hold it.
        """
        for row in self.jaw(jaw).mesiodistal:
            if row.tooth == slot:
                return row, self.sources[row.source]
        for name in self.widths_from:
            other = _shipped(name)
            for row in other.jaw(jaw).mesiodistal:
                if row.tooth == slot:
                    return row, other.sources[row.source]
        raise InputError(
            f"arch model {self.name}: {jaw}.mesiodistal: no row for tooth {slot}; "
            f"add it, or name a model that has it in widths_from"
        )


class CrownTable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Crown and neck dimensions shared by all models."""

    format: Literal["sheetmark-crowns/1"]
    sources: dict[str, Text]
    upper: tuple[Crown, ...]
    lower: tuple[Crown, ...]

    def crown(self, jaw: Jaw, slot: str) -> Crown:
        """The row of a tooth. Raises StopIteration for a slot the table does not hold."""
        rows = self.upper if jaw == "upper" else self.lower
        return next(row for row in rows if row.tooth == slot)


@cache
def data_folder() -> Path:
    """The shipped models: inside the installed package, or beside it in a source tree."""
    inside = Path(__file__).parents[1] / "arch_models"
    return inside if inside.is_dir() else inside.parents[1] / "arch_models"


@cache
def model_names() -> tuple[str, ...]:
    """The names of the shipped arch models, in alphabetical order."""
    names = (entry.name.removesuffix(".toml") for entry in data_folder().iterdir())
    return tuple(sorted(name for name in names if name != "crowns"))


def load_model(name: str) -> ArchModel:
    """A shipped model or one of the clinic's own by name, or a model file by path (anything that
    ends in `.toml`).

    Raises InputError, one line that names the file and key, for a file that is not a model.
    """
    if name.lower().endswith(".toml"):
        return _read_model(Path(name), name)
    return _named(name, " or a .toml file")


def named_model(name: str) -> ArchModel:
    """The same by name alone: no path in it is ever followed."""
    return _named(name)


def _named(name: str, otherwise: str = "") -> ArchModel:
    if name in model_names():
        return _shipped(name)
    own = own_models()
    if name not in own:
        raise InputError(
            f"arch model {name!r}: unknown; use {', '.join((*model_names(), *own))}{otherwise}"
        )
    return _read_own(name, own[name])


def _read_own(name: str, path: Path) -> ArchModel:
    if not (re.fullmatch(_NAME, name) and len(name) <= _NAME_LIMIT):
        raise InputError(
            f"{path.name!r}: not the name of an arch model; rename the file, with at most "
            f"{_NAME_LIMIT} small letters, digits and dashes"
        )
    if is_there(path) and not path.is_file():
        raise InputError(f"{path.name}: cannot be read (it is no file); move it elsewhere")
    model = _read_model(path, path.name)
    if model.name != name:
        # The recipe names the model; another name would not find it again.
        raise InputError(
            f"{path.name}: name is {model.name!r}; it must be that of the file, {name!r}"
        )
    return model


class OwnModel(msgspec.Struct, frozen=True):
    """One of the clinic's own models; `model` is None where it cannot be used, and `problem` says
    why."""

    name: str
    model: ArchModel | None
    problem: str = ""


def own_list() -> tuple[OwnModel, ...]:
    """The clinic's own models, each on its own: one that is broken spoils no other."""
    try:
        own = own_models()
    except InputError as error:
        return (OwnModel(models_folder().name, None, str(error)),)
    found = []
    for name, path in own.items():
        try:
            found.append(OwnModel(name, _read_own(name, path)))
        except InputError as error:
            # The name may hold bytes that are no text.
            shown = name.encode(errors="backslashreplace").decode()
            found.append(OwnModel(shown, None, str(error)))
    return tuple(found)


@cache
def usual_model(age: int | None) -> ArchModel:
    """The model where none is named: by the age in completed years, or the mean adult."""
    return load_model(DEFAULT_MODEL) if age is None else model_for_age(age)


def model_for_age(years: int) -> ArchModel:
    """The shipped model for an age in completed years. Raises InputError where there is none."""
    for name in model_names():
        ages = _shipped(name).ages
        if ages and ages[0] <= years <= ages[1]:
            return _shipped(name)
    first = min(ages[0] for name in model_names() if (ages := _shipped(name).ages))
    raise InputError(
        f"age {years}: no arch model for it; the youngest starts at {first} years; "
        f"choose an arch model"
    )


@cache
def _shipped(name: str) -> ArchModel:
    return _read_model(data_folder() / f"{name}.toml", f"arch_models/{name}.toml")


@cache
def crowns() -> CrownTable:
    """The shared table of crown and neck dimensions."""
    shown = "arch_models/crowns.toml"
    table = read_sourced(data_folder() / "crowns.toml", shown, CrownTable)
    for jaw, rows in (("upper", table.upper), ("lower", table.lower)):
        _check_once(shown, jaw, rows)
    return table


def _read_model(path: Path, shown: str) -> ArchModel:
    model = read_sourced(path, shown, ArchModel, "arch")
    for name in JAWS:
        jaw = model.jaw(name)
        _check_once(shown, f"{name}.mesiodistal", jaw.mesiodistal)
        _check_once(shown, f"{name}.centre_widths", jaw.centre_widths)
        _check_row(shown, name, jaw)
        _check_placed(shown, name, jaw)
    for lender in model.widths_from:
        if lender not in model_names():
            raise InputError(
                f"{shown}: widths_from: {lender!r} is no shipped model; "
                f"use {', '.join(model_names())}"
            )
    for name in JAWS:
        for slot in (*model.jaw(name).reaching_row, FIRST_MOLAR):
            try:
                model.width(name, slot)
            except InputError as error:
                raise InputError(f"{shown}: {error}") from error
    return model


def _check_once(shown: str, key: str, rows: tuple[_Row, ...]) -> None:
    seen: set[str] = set()
    for number, row in enumerate(rows):
        if row.tooth in seen:
            raise InputError(
                f"{shown}: {key}[{number}]{row.label}: a second row for the same tooth; remove one"
            )
        seen.add(row.tooth)


def _check_row(shown: str, name: str, jaw: JawModel) -> None:
    positions = [_position(slot) for slot in jaw.row]
    if not positions:
        raise InputError(f"{shown}: {name}.row: no teeth; name them from the midline outwards")
    for (first, at), (other, further) in pairwise(zip(jaw.row, positions, strict=True)):
        if further <= at:
            raise InputError(
                f"{shown}: {name}.row: tooth {other} stands after tooth {first}; "
                f"name each place once, from the midline outwards"
            )
    if jaw.curve is not None:
        return
    if not jaw.centre_widths:
        raise InputError(
            f"{shown}: {name}.centre_widths: none; give that between the canines at least"
        )
    for place in jaw.across_mm:
        if place < positions[-1] and place not in positions:
            raise InputError(
                f"{shown}: {name}.centre_widths: a width for place {place} from the midline, where "
                f"the row has no tooth; remove it, or name the tooth in the row"
            )


def _check_placed(shown: str, name: Jaw, jaw: JawModel) -> None:
    """Every place of the row has one tooth on each side, or none is placed."""
    teeth = [read(row.tooth, "iso") for row in jaw.placed]
    places = {_position(slot) for slot in jaw.reaching_row} if teeth else set()
    wanted = {side * place for side in (-1, 1) for place in places}
    along = [tooth.along for tooth in teeth if tooth.jaw == name]
    if len(along) < len(teeth) or sorted(along) != sorted(wanted):
        raise InputError(
            f"{shown}: {name}.placed: one tooth of this jaw is needed for each place of the row, "
            f"right and left, as far as the first molar; measure the mouth again"
        )


def _position(slot: str) -> int:
    return tooth_of_slot("upper", "left", slot).position
