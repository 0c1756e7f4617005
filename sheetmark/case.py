"""One case: what is treated, and what this mouth has or lacks. Knows no geometry, no patient."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from sheetmark.findings import InputError
from sheetmark.teeth import DEFAULT_NOTATION, Notation, Tooth, in_arch_order, read, write

Procedure = Literal["restoration", "crown", "root-canal", "cervical", "full-arch"]
PROCEDURES: tuple[Procedure, ...] = get_args(Procedure)
DEFAULT_PROCEDURE: Procedure = "restoration"

MORE_LIMIT = 15  # a jaw holds 16 teeth
REFERENCE_LIMIT = 60  # characters, so that it stays on the title's lines


@dataclass(frozen=True, slots=True)
class Run:
    """All real teeth from one tooth to another along the arch, both included."""

    start: Tooth
    end: Tooth


@dataclass(frozen=True, slots=True)
class Case:
    """What was asked. `notation` is how teeth are written for people; `reference` is free text
    without meaning to the program, never a name.

    `expose` overrides the rules; `more` adds that many teeth in front; third molars count as
    absent unless in `present`; teeth in `missing` leave their gap.
    """

    treat: tuple[Tooth, ...]
    notation: Notation = DEFAULT_NOTATION
    procedure: Procedure = DEFAULT_PROCEDURE
    expose: tuple[Tooth | Run, ...] = ()
    more: int = 0
    missing: tuple[Tooth, ...] = ()
    present: tuple[Tooth, ...] = ()
    reference: str = ""

    def __post_init__(self) -> None:
        named = list(self.treat)
        for item in self.expose:
            named += [item.start, item.end] if isinstance(item, Run) else [item]
        if not self.treat:
            raise InputError("teeth: none to treat; name at least one, such as 16")
        jaws = {tooth.jaw for tooth in named}
        if len(jaws) > 1:
            raise InputError(
                f"teeth {self.write(named)}: both jaws in one case; one sheet serves one jaw, "
                f"so make one overlay for the upper and one for the lower"
            )
        lost = in_arch_order(set(self.missing) & {*self.treat, *self._exposed_singly})
        if lost:
            raise InputError(
                f"tooth {self.write(lost)}: listed as missing and as treated or exposed; "
                f"leave it out of one of the lists"
            )
        contradiction = in_arch_order(set(self.missing) & set(self.present))
        if contradiction:
            raise InputError(f"tooth {self.write(contradiction)}: listed as missing and as present")
        if not 0 <= self.more <= MORE_LIMIT:
            raise InputError(f"more {self.more}: must be 0 to {MORE_LIMIT} teeth")
        if len(self.reference) > REFERENCE_LIMIT or not self.reference.isprintable():
            raise InputError(
                f"reference {self.reference!r}: must be at most {REFERENCE_LIMIT} printable "
                f"characters on one line; shorten it"
            )
        if self.more and self.expose:
            raise InputError("more: has no meaning beside expose; name the extra teeth in expose")

    def write(self, teeth: Iterable[Tooth]) -> str:
        """The teeth as text in the case's notation."""
        return ", ".join(write(tooth, self.notation) for tooth in teeth)

    @property
    def _exposed_singly(self) -> tuple[Tooth, ...]:
        return tuple(item for item in self.expose if isinstance(item, Tooth))


def read_expose(texts: tuple[str, ...], notation: Notation) -> tuple[Tooth | Run, ...]:
    """`17-13`, `17,16,15` or both, in the stated notation."""
    items: list[Tooth | Run] = []
    for word in (word for text in texts for word in text.replace(",", " ").split()):
        start, dash, end = word.partition("-")
        items.append(
            Run(read(start, notation), read(end, notation)) if dash else read(word, notation)
        )
    return tuple(items)


def write_expose(items: tuple[Tooth | Run, ...], notation: Notation) -> str:
    """The inverse of `read_expose`."""
    return ",".join(
        f"{write(item.start, notation)}-{write(item.end, notation)}"
        if isinstance(item, Run)
        else write(item, notation)
        for item in items
    )
