"""What every fit shares: a jaw whose teeth stand where they were seen or predicted, and its model.

The model keeps the rows of its base; beside them it holds the place and width of every tooth, so
that an overlay needs no prediction again.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from datetime import date
from math import fsum, hypot

from msgspec import Struct

from sheetmark.anatomy.arch_model import ArchModel, JawModel, model_names
from sheetmark.anatomy.jaw import Arch, SideRow
from sheetmark.anatomy.placed import Placed
from sheetmark.anatomy.teeth import (
    JAWS,
    SIDES,
    Jaw,
    Notation,
    Side,
    Tooth,
    in_arch_order,
    tooth_of_slot,
    write,
)
from sheetmark.base.findings import Finding, InputError
from sheetmark.base.sources import citation, sourced_rows
from sheetmark.fitting.figure import Figure
from sheetmark.fitting.landmarks import CastPoint

PREDICTED_KEY = "predicted"
# What a model file keeps of a place or width: a tenth of a micrometre.
_DECIMALS = 4


class Seen(Struct, frozen=True):
    """A tooth that was seen, mm."""

    tooth: Tooth
    points: tuple[CastPoint, ...]
    """Its points, from its gum-line centre, in the arch's axes: x to the patient's left, y
    backwards."""
    width_mm: float | None
    """Its width, where its points tell it."""
    facial_mm: float
    """How far facial it stands of where the other teeth would put it; lingual is negative."""
    mesial_mm: float
    """How far mesial; distal is negative."""
    odd: bool
    """Whether that is more than mouths usually show."""

    @property
    def off_mm(self) -> float:
        """The distance from where the other teeth would put it."""
        return hypot(self.facial_mm, self.mesial_mm)


class JawFit(Struct, frozen=True):
    """One jaw of a new model, and what came of the fit."""

    jaw: Jaw
    """Upper or lower."""
    table: JawModel
    """Its rows in the new model."""
    teeth: tuple[Tooth, ...]
    """The teeth that stand in it."""
    figures: tuple[Figure, ...]
    """Widths and depth, measured or not."""
    findings: tuple[Finding, ...]
    """What is worth saying of it."""
    seen: tuple[Seen, ...] = ()
    """With landmarks: the teeth that have some, the furthest off first."""

    @property
    def predicted(self) -> tuple[Tooth, ...]:
        """The teeth whose places were not seen."""
        return tuple(tooth for tooth in self.teeth if tooth.iso not in self.table.seen)


class Origin(Struct, frozen=True):
    """Where a fit starts."""

    base: ArchModel
    """The model that is fitted."""
    day: str
    """The day of measuring, such as 2026-11-25; empty where none was given."""
    notation: Notation
    """How teeth are written."""

    @property
    def source(self) -> str:
        """The source of what was measured, with the day."""
        return f"measured, {f'{self.day}, ' if self.day else 'no '}date given by the user"

    @property
    def key(self) -> str:
        """The source's key: `measured`, unless the base was itself measured on another day."""
        known = self.base.sources.get("measured", self.source)
        return "measured" if known == self.source else f"measured-{self.day or 'undated'}"

    @property
    def sources(self) -> dict[str, str]:
        """The base's sources, that of the measures, and that of the predicted places."""
        how = (
            "predicted from what was measured, by sheetmark's spread of real mouths "
            f"({citation('gum-line-landmarks')}; and assumptions)"
        )
        return {**self.base.sources, self.key: self.source, PREDICTED_KEY: how}

    def write(self, tooth: Tooth) -> str:
        """A tooth in the notation of the fit."""
        return write(tooth, self.notation)


def teeth_of(jaw: Jaw, table: JawModel, seen: Collection[Tooth] = ()) -> tuple[Tooth, ...]:
    """Every place that the jaw's model must hold, alike on both sides, with the table's teeth and
    those that were seen in theirs."""
    slots = {_position(slot): slot for slot in table.reaching_row}
    for place in range(1, max((tooth.position for tooth in seen), default=0) + 1):
        slots.setdefault(place, str(place))
    teeth = [tooth_of_slot(jaw, side, slot) for side in SIDES for slot in slots.values()]
    held = {tooth.along: tooth for tooth in (*teeth, *seen)}
    return in_arch_order(held.values())


def side_row(teeth: Iterable[Tooth], side: Side) -> SideRow:
    """The teeth of a side from the midline outwards, as `anatomy.jaw.build_arch` takes them."""
    own = sorted((tooth for tooth in teeth if tooth.side == side), key=lambda t: t.position)
    return tuple((tooth.slot, None) for tooth in own)


def placed_rows(arch: Arch, seen: Collection[Tooth], origin: Origin) -> tuple[Placed, ...]:
    """A row for each place of the arch, in the arch's own axes."""
    middle = [place.centre.y for place in arch.places if place.tooth.position == 1]
    start_y = fsum(middle) / len(middle)
    back = -1.0 if arch.jaw == "upper" else 1.0
    return tuple(
        Placed(
            tooth=place.tooth.iso,
            x_mm=round(place.centre.x, _DECIMALS) + 0.0,
            y_mm=round(back * (place.centre.y - start_y), _DECIMALS) + 0.0,
            width_mm=round(place.size.mesiodistal_mm, _DECIMALS),
            source=origin.key if place.tooth in seen else PREDICTED_KEY,
            flag="measured" if place.tooth in seen else "D",
        )
        for place in arch.places
    )


def own_model(name: str, origin: Origin, fits: Iterable[JawFit]) -> ArchModel:
    """The base model with the fitted jaws in place of its own, under another name."""
    base, done = origin.base, {fit.jaw: fit.table for fit in fits}
    upper, lower = (done.get(jaw, base.jaw(jaw)) for jaw in JAWS)
    used = {row.source for _, row in sourced_rows((upper, lower))}
    # What was measured stands behind predicted places too.
    used |= {key for key in origin.sources if key.startswith("measured")}
    jaws = " and ".join(jaw for jaw in JAWS if jaw in done)
    return ArchModel(
        format=base.format,
        name=name,
        title=f"{jaws.capitalize()} jaw measured{' ' * bool(origin.day)}{origin.day}, "
        f"the rest from {base.name}",
        sources={key: text for key, text in origin.sources.items() if key in used},
        widths_from=base.widths_from,
        upper=upper,
        lower=lower,
    )


def predicted_text(fit: JawFit, origin: Origin) -> str:
    """Which places were not seen, in words; empty where all were."""
    if not fit.seen:
        return f"every place: that of {origin.base.name}, moved by what was measured"
    names = " ".join(origin.write(tooth) for tooth in fit.predicted)
    return f"predicted from the teeth that were seen: {names}" if names else ""


def read_name(text: str) -> str:
    """A name for a model of the clinic's own. Raises InputError for one that will not do."""
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,39}", text):
        raise InputError(
            f"name {text!r}: use 1 to 40 small letters, figures and hyphens, such as my-arch"
        )
    if text in model_names():
        raise InputError(f"name {text!r}: a shipped model has it; choose another")
    return text


def read_day(text: str) -> str:
    """A date as 2026-11-25, or nothing. Raises InputError for anything else."""
    if not text.strip():
        return ""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise InputError(
            f"date {text!r}: not a date; give the day of measuring as 2026-11-25"
        ) from None


def _position(slot: str) -> int:
    return tooth_of_slot("upper", "left", slot).position
