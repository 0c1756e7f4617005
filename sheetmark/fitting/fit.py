"""What every fit shares: measured rows beside those of a base model, and the model they make.

Nothing is guessed: what was not measured is the base's own row, with its source and flag.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from typing import Any

import msgspec

from sheetmark.anatomy.arch_model import ArchModel, CentreWidth, JawModel, Width, model_names
from sheetmark.anatomy.chords import ArchPoint, Chord, lay_chords
from sheetmark.anatomy.curves import SixthOrder
from sheetmark.anatomy.jaw import SideRow, row_lengths, row_with
from sheetmark.anatomy.solve import CentrePair, solve_sixth_order
from sheetmark.anatomy.teeth import JAWS, Jaw, Notation, Tooth, tooth_of_slot, write
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Finding, InputError
from sheetmark.base.sources import cite, sourced_rows
from sheetmark.fitting.measures import check_arch_width, check_tooth_width, pair_name

FORM_KEY = "noroozi-2001"  # in the bibliography

# Right and left of one tooth further apart than this are worth a second look (assumption).
SIDES_APART_MM = 0.5
# A measure this many SDs from the published mean is worth a second look (assumption).
USUAL_SDS = 2.0


@dataclass(frozen=True, slots=True)
class Figure:
    """A line of the result, mm: what was measured, and what the fitted arch has in its place."""

    what: str
    fitted_mm: float
    measured_mm: float | None = None
    published: str = ""

    @property
    def sentence(self) -> str:
        """The figure as a line of text, mm with two decimals."""
        fitted = f"{self.fitted_mm:.2f}"
        if self.measured_mm is None:
            return f"{self.what}: {fitted}"
        measured = f"{self.measured_mm:.2f}"
        return f"{self.what}: {fitted}, {'as' if measured == fitted else measured} measured"


@dataclass(frozen=True, slots=True)
class Seen:
    """A tooth's landmarks in the arch's axes, mesial and then distal: where, how far off the curve
    (facial positive), whether they belong; its width, and how far off its centre is laid. mm."""

    tooth: Tooth
    points: tuple[ArchPoint, ArchPoint]
    off_mm: tuple[float, float]
    kept: tuple[bool, bool]
    width_mm: float
    off_place_mm: float


@dataclass(frozen=True, slots=True)
class JawFit:
    """One jaw of a new model, its figures, and what is worth saying.

    With landmarks also those, and each side's row where it is not the model's own.
    """

    jaw: Jaw
    table: JawModel
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]
    seen: tuple[Seen, ...] = ()
    right: SideRow | None = None
    left: SideRow | None = None


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a fit starts: the base model, the day of measuring, and how teeth are written."""

    base: ArchModel
    day: str
    notation: Notation

    @property
    def source(self) -> str:
        """The source of what was measured, with the day."""
        return f"measured, {self.day}, date given by the user"

    @property
    def key(self) -> str:
        """The source's key: `measured`, unless the base was itself measured on another day."""
        known = self.base.sources.get("measured", self.source)
        return "measured" if known == self.source else f"measured-{self.day}"

    @property
    def sources(self) -> dict[str, str]:
        """The base's sources, that of the curve's form, and that of the measures."""
        return {FORM_KEY: cite(FORM_KEY), **self.base.sources, self.key: self.source}

    def write(self, tooth: Tooth) -> str:
        """A tooth in the notation of the fit."""
        return write(tooth, self.notation)

    def pair(self, jaw: Jaw, slot: str) -> str:
        """A slot's right and left tooth in that notation, such as `13-23`."""
        return pair_name(jaw, slot, self.notation)


@dataclass(slots=True)
class Draft:
    """The rows of a jaw while it is being fitted; measured ones take the place of the base's."""

    origin: Origin
    jaw: Jaw
    widths: dict[str, Width] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    centre_widths: dict[str, CentreWidth] = field(default_factory=dict)
    changes: dict[str, Any] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    @property
    def base(self) -> JawModel:
        """The base model's own jaw."""
        return self.origin.base.jaw(self.jaw)

    @property
    def solve_from(self) -> tuple[str, str]:
        """The two slots from whose centre widths the curve is solved."""
        found: tuple[str, str] = self.changes.get("solve_from", self.base_pair)
        return found

    @property
    def base_pair(self) -> tuple[str, str]:
        """The two of the base's widths that its sixth-order curve is solved from."""
        return solved_pair(self.base)

    def table(self, curve: SixthOrder | None = None) -> JawModel:
        """The base's jaw with the measured rows, the changes and the curve."""
        return msgspec.structs.replace(
            self.base,
            mesiodistal=_merged(self.base.mesiodistal, self.widths),
            centre_widths=_merged(self.base.centre_widths, self.centre_widths),
            curve=curve,
            **{"solve_from": self.base_pair, **self.changes},
        )

    def model(self) -> ArchModel:
        """The base model with this jaw in place of its own; it carries no curve yet."""
        changed = {self.jaw: self.table(), "sources": self.origin.sources}
        return msgspec.structs.replace(self.origin.base, **changed)

    def centre_row(self, slot: str) -> CentreWidth | None:
        """The base's own width between the centres of a slot."""
        return next((row for row in self.base.centre_widths if row.tooth == slot), None)

    def width_row(self, slot: str) -> Width | None:
        """The base's width of a tooth, its own or borrowed, if it knows one."""
        try:
            return self.origin.base.width(self.jaw, slot)[0]
        except InputError:
            return None

    def add_widths(self, measured: Mapping[Tooth, float]) -> None:
        """Rows for measured teeth, right and left averaged, and what is odd about them."""
        apart: list[str] = []
        for slot in dict.fromkeys(tooth.slot for tooth in measured):
            sides = {t: mm for t, mm in measured.items() if t.slot == slot}
            names = [f"{self.origin.write(tooth)} {mm:.2f}" for tooth, mm in sides.items()]
            mean = check_tooth_width(sum(sides.values()) / len(sides), f"tooth {names[0]} mm")
            row = {"tooth": slot, "mm": mean, "source": self.origin.key, "flag": "measured"}
            note = ", ".join(f"{tooth.side} {mm:.2f}" for tooth, mm in sides.items())
            self.widths[slot] = msgspec.convert(row | {"note": note}, Width)
            if max(sides.values()) - min(sides.values()) > SIDES_APART_MM:
                apart.append(" and ".join(names))
            self.names[slot] = ", ".join(self.origin.write(tooth) for tooth in sides)
            self.check_usual(self.width_row(slot), mean, f"Width of {self.names[slot]}")
        if apart:
            self.warn(
                Code.SIDES_DIFFER,
                f"Right and left differ by more than {SIDES_APART_MM:g} mm: {'; '.join(apart)}. "
                f"The model takes their mean.",
                "Measure both again.",
                limit=SIDES_APART_MM,
            )

    def laid(self, curve: SixthOrder, slot: str) -> Chord:
        """Where a slot lies on the curve, behind the row if it is not in it."""
        model = self.model()
        lengths, items = row_lengths(model, self.jaw, row_with(model, self.jaw, (slot,)))
        return lay_chords(curve.depth, lengths, curve.reach_mm)[items.index(slot)]

    def curve(self, a: float, b: float) -> SixthOrder:
        """The sixth-order curve with its source: `a` in mm^-5, `b` in mm^-1."""
        return SixthOrder(a=a, b=b, source=FORM_KEY, flag="D")

    def start_curve(self) -> SixthOrder:
        """The base's own sixth-order curve, solved where it carries none."""
        return sixth_order_of(self.origin.base, self.jaw)

    def add_centre_width(self, slot: str, mm: float, source: str, flag: str, note: str) -> None:
        """Add a width between centres, mm. Raises InputError outside the loader's bounds."""
        check_arch_width(mm, f"width between centres of {self.origin.pair(self.jaw, slot)}")
        row = {"tooth": slot, "mm": mm, "source": source, "flag": flag, "note": note}
        self.centre_widths[slot] = msgspec.convert(row, CentreWidth)

    def check_usual(self, row: Width | CentreWidth | None, mm: float, what: str) -> None:
        """Warn of a measure far from the published mean."""
        if row is None or row.sd_mm is None or abs(mm - row.mm) <= USUAL_SDS * row.sd_mm:
            return
        limit = row.mm + (USUAL_SDS if mm > row.mm else -USUAL_SDS) * row.sd_mm
        mean = f"the published mean {published(row)}"
        message = f"{what} {mm:.2f} mm: more than {USUAL_SDS:g} SD from {mean}."
        advice = "Measure again; check the base model."
        self.warn(Code.UNUSUAL_MEASURE, message, advice, mm, limit)

    def unmeasured(
        self,
        curve: SixthOrder,
        *,
        source: str = FORM_KEY,
        lent: Container[str] = (),
        depth: bool = True,
    ) -> tuple[Figure, ...]:
        """What canines, molars and depth come to where callipers did not measure them.

        Their rows follow from the curve, save those that the curve was solved from.
        """
        row = self.changes.get("row", self.base.row)
        figures = []
        for slot in self.solve_from:
            if slot in self.centre_widths:
                continue
            mm, known = 2 * self.laid(curve, slot).centre[0], self.centre_row(slot)
            if slot in row:
                name = f"{self.origin.pair(self.jaw, slot)}, centres"
                figures.append(Figure(name, mm, None, published(known)))
            if slot not in lent:
                self.add_centre_width(slot, mm, source, "D", "as the curve has it")
        if depth:
            back = self.solve_from[1] if self.solve_from[1] in row else row[-1]
            name = f"depth to {self.origin.pair(self.jaw, back)}"
            figures.append(Figure(name, self.laid(curve, back).centre[1]))
        return tuple(figures)

    def tooth_figures(self) -> tuple[Figure, ...]:
        """A figure for each measured tooth, from the midline outwards."""
        return tuple(
            Figure(
                f"tooth {self.names[slot]}",
                row.mm,
                row.mm,
                published(self.width_row(slot)),
            )
            for slot, row in sorted(self.widths.items(), key=lambda item: along_row(item[0]))
        )

    def warn(
        self,
        code: Code,
        message: str,
        advice: str = "",
        value: float | None = None,
        limit: float | None = None,
        actions: tuple[Action, ...] = (),
    ) -> None:
        """Add a warning about this jaw; value and limit in mm or as a ratio."""
        self.findings.append(
            Finding(code, "warning", message, advice, self.jaw, value, limit, actions)
        )

    def inform(self, code: Code, message: str) -> None:
        """Add a note about this jaw that needs no action."""
        self.findings.append(Finding(code, "info", message, field=self.jaw))


def solved_pair(table: JawModel) -> tuple[str, str]:
    """The foremost and the hindmost tooth whose width across is known, or those that the file
    names."""
    rows = table.centre_widths
    return table.solve_from or (rows[0].tooth, rows[-1].tooth)


@cache
def sixth_order_of(model: ArchModel, jaw: Jaw) -> SixthOrder:
    """The jaw's sixth-order curve: its own, or the one that carries two of its widths."""
    table = model.jaw(jaw)
    if isinstance(table.curve, SixthOrder):
        return table.curve
    pair = solved_pair(table)
    lengths, items = row_lengths(model, jaw, row_with(model, jaw, pair))
    front, back = (
        CentrePair(items.index(slot), table.centre_width(slot).mm, f"tooth {slot}") for slot in pair
    )
    found = solve_sixth_order(lengths, front, back)
    return SixthOrder(a=found.a, b=found.b, source=FORM_KEY, flag="D")


def published(row: Width | CentreWidth | None) -> str:
    """A row as words: value, SD, source and flag; nothing where there is none."""
    if row is None:
        return ""
    spread = f"SD {row.sd_mm:g}" if row.sd_mm else "no SD"
    return f"{row.mm:g} ({spread}; {row.source}, {row.flag})"


def own_model(name: str, origin: Origin, fits: Iterable[JawFit]) -> ArchModel:
    """The base model with the fitted jaws in place of its own, under another name."""
    base, done = origin.base, {fit.jaw: fit.table for fit in fits}
    upper, lower = (done.get(jaw, base.jaw(jaw)) for jaw in JAWS)
    used = {row.source for _, row in sourced_rows((upper, lower))}
    jaws = " and ".join(jaw for jaw in JAWS if jaw in done)
    return ArchModel(
        format=base.format,
        name=name,
        title=f"{jaws.capitalize()} jaw measured {origin.day}, the rest from {base.name}",
        sources={key: text for key, text in origin.sources.items() if key in used},
        widths_from=base.widths_from,
        upper=upper,
        lower=lower,
    )


def from_base(fit: JawFit, base: ArchModel) -> list[str]:
    """What of a fitted jaw is still the base's, in words."""
    table, own = fit.table, base.jaw(fit.jaw)
    measured = {row.tooth for row in table.mesiodistal if row.flag == "measured"}
    kinds = {
        "widths of teeth": [slot for slot in table.row if slot not in measured],
        "widths between centres": [r.tooth for r in table.centre_widths if r in own.centre_widths],
        "spaces behind": [space.after for space in table.spaces if space in own.spaces],
    }
    return [f"{kind} {' '.join(slots)}" for kind, slots in kinds.items() if slots]


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
    """A date as 2026-11-25. Raises InputError for anything else."""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise InputError(
            f"date {text!r}: not a date; give the day of measuring as 2026-11-25"
        ) from None


def _merged(old: Iterable[Any], new: Mapping[str, Any]) -> tuple[Any, ...]:
    """The old rows with the new ones in their places, ordered from the midline outwards."""
    rows = {row.tooth: row for row in old} | dict(new)
    return tuple(rows[slot] for slot in sorted(rows, key=along_row))


def along_row(slot: str) -> tuple[int, str]:
    """A key that sorts slots from the midline outwards."""
    return (tooth_of_slot("upper", "left", slot).position, slot)
