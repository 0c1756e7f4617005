"""One case: what is treated, and what this mouth has or lacks. Knows no geometry, no patient."""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite
from typing import Literal, get_args

from msgspec import Struct

from sheetmark.anatomy.teeth import DEFAULT_NOTATION, Notation, Tooth, in_arch_order, read, write
from sheetmark.base.choice import pick
from sheetmark.base.findings import Choice, InputError
from sheetmark.case.terms import known_terms, meant
from sheetmark.fitting.measures import Measure

Procedure = Literal["restoration", "crown", "root-canal", "cervical", "full-arch"]
Access = Literal["normal", "tight"]
PROCEDURES: tuple[Procedure, ...] = get_args(Procedure)
ACCESSES: tuple[Access, ...] = get_args(Access)
DEFAULT_PROCEDURE: Procedure = "restoration"
DEFAULT_ACCESS: Access = "normal"

MORE_LIMIT = 15  # a jaw holds 16 teeth
REFERENCE_LIMIT = 60  # characters, so that it stays on the title's lines
AGE_LIMITS = (0, 120)
# Beyond these a typing error is likelier than a tooth (assumptions).
GAP_LIMIT_MM = 30.0
MOVE_LIMIT_MM = 10.0
THIRD_MOLAR = 8


class Run(Struct, frozen=True):
    """Two teeth and all between them along the arch."""

    start: Tooth
    end: Tooth


class _OfATooth(Struct, frozen=True):
    """What may be given without its name."""

    tooth: Tooth
    """The tooth, or the one that would stand there."""


class ToothState(_OfATooth, frozen=True, kw_only=True):
    """What is different about one tooth."""

    present: bool = False
    """It stands in its slot, in place of what the arch model has there."""
    missing: bool = False
    """It is gone."""
    gap_mm: float | None = None
    """How wide a missing tooth's gap is: None leaves its own width open, 0 is closed."""
    pontic: bool = False
    """It is a bridge's pontic."""
    abutment: bool = False
    """It carries a bridge."""
    implant: bool = False
    """It is a crown on an implant."""
    partly_erupted: bool = False
    """Its crown stands only partly out of the gum."""
    lesion: bool = False
    """It has a lesion at the gum line, which its hole follows."""
    broken_down: bool = False
    """Little of its crown is left."""
    facial_mm: float = 0.0
    """How far it stands from its place towards lip or cheek; lingual is negative."""
    mesial_mm: float = 0.0
    """How far it stands from its place towards the midline; distal is negative."""
    rotated_deg: float = 0.0
    """How far it is turned, anticlockwise as the operator sees it."""

    @property
    def real(self) -> bool:
        """Whether a tooth or implant crown stands there to come through a hole."""
        return not (self.missing or self.pontic)

    @property
    def confirmed(self) -> bool:
        """Whether the case states that the tooth is there, though the usual row may lack it."""
        return self.present or self.implant or self.abutment or self.partly_erupted

    @property
    def stands(self) -> bool:
        """Whether a tooth of the row really stands; a third molar does once it is confirmed."""
        return self.real and (self.tooth.position < THIRD_MOLAR or self.confirmed)

    @property
    def moved(self) -> bool:
        """Whether it stands off its place."""
        return bool(self.facial_mm or self.mesial_mm)


class Case(Struct, frozen=True, kw_only=True):
    """One case as it was given. Raises InputError for contradictions."""

    treat: tuple[Tooth, ...]
    """The teeth to treat, of one jaw."""
    notation: Notation = DEFAULT_NOTATION
    """How teeth are written for people."""
    procedure: Procedure = DEFAULT_PROCEDURE
    """What is done to them; it picks the rule for the row of teeth."""
    expose: tuple[Tooth | Run, ...] = ()
    """The teeth to bring through the sheet in place of the rule's; empty leaves it to the rule."""
    more: int = 0
    """How many teeth to add in front of the rule's row."""
    missing: tuple[Tooth, ...] = ()
    """Teeth that are gone; their gap stays open."""
    present: tuple[Tooth, ...] = ()
    """Third molars present; they count as absent otherwise."""
    states: tuple[ToothState, ...] = ()
    """What else is different about a tooth, one entry for each."""
    anchors: tuple[Tooth, ...] = ()
    """The teeth that hold the sheet, in place of the rule's."""
    slits: tuple[Run, ...] = ()
    """Runs of teeth whose holes are joined to one slot."""
    access: Access = DEFAULT_ACCESS
    """How much room there is; it ranks the clamps."""
    age: int | None = None
    """Completed years; picks the usual row of teeth. None keeps the arch model's own row."""
    measures: tuple[Measure, ...] = ()
    """What callipers measured in this mouth."""
    reference: str = ""
    """Free text of the clinic's own, never a name; it means nothing to the program."""

    def __post_init__(self) -> None:
        if not self.treat:
            raise InputError("teeth: none to treat; name at least one, such as 16")
        self._check_jaw()
        self._check_states()
        self._check_lists()
        if not 0 <= self.more <= MORE_LIMIT:
            raise InputError(f"more {self.more}: must be 0 to {MORE_LIMIT} teeth")
        if self.more and self.expose:
            raise InputError("more: has no meaning beside expose; name the extra teeth in expose")
        check_age(self.age)
        self._check_reference()

    def _check_reference(self) -> None:
        if len(self.reference) > REFERENCE_LIMIT:
            raise InputError(
                f"reference {self.reference!r}: must be at most {REFERENCE_LIMIT} characters, it "
                f"has {len(self.reference)}; shorten it"
            )
        odd = [letter for letter in self.reference if not letter.isprintable()]
        if odd:
            raise InputError(
                f"reference {self.reference!r}: {odd[0]!r} cannot be printed on a line; "
                f"leave it out"
            )

    def write(self, teeth: Iterable[Tooth]) -> str:
        """The teeth as text in the case's notation."""
        return ", ".join(write(tooth, self.notation) for tooth in teeth)

    def state(self, tooth: Tooth) -> ToothState:
        """What is different about a tooth, whether by its own entry or in one of the lists."""
        for state in self.states:
            if state.tooth == tooth:
                return state
        return ToothState(tooth, missing=tooth in self.missing, present=tooth in self.present)

    @property
    def special(self) -> tuple[ToothState, ...]:
        """Every tooth that differs from the usual, in arch order."""
        teeth = {*self.missing, *self.present, *(state.tooth for state in self.states)}
        states = (self.state(tooth) for tooth in in_arch_order(teeth))
        return tuple(state for state in states if state != ToothState(state.tooth))

    @property
    def _exposed_singly(self) -> tuple[Tooth, ...]:
        return tuple(item for item in self.expose if isinstance(item, Tooth))

    def _check_jaw(self) -> None:
        named = [*self.treat, *self.anchors]
        for item in (*self.expose, *self.slits):
            named += [item.start, item.end] if isinstance(item, Run) else [item]
        if len({tooth.jaw for tooth in named}) > 1:
            raise InputError(
                f"teeth {self.write(dict.fromkeys(named))}: both jaws in one case; one sheet "
                f"serves one jaw, so make one overlay for the upper and one for the lower"
            )

    def _check_lists(self) -> None:
        contradiction = in_arch_order(set(self.missing) & set(self.present))
        if contradiction:
            raise InputError(
                f"tooth {self.write(contradiction)}: listed as missing and as present; "
                f"leave it out of one of the lists"
            )
        for what, teeth in (
            ("treated or exposed", (*self.treat, *self._exposed_singly)),
            ("the anchor", self.anchors),
            ("the end of a slit", [t for slit in self.slits for t in (slit.start, slit.end)]),
        ):
            for tooth in in_arch_order(set(teeth)):
                state = self.state(tooth)
                if not state.real:
                    is_now = "a pontic" if state.pontic else "missing"
                    raise InputError(
                        f"tooth {self.write([tooth])}: listed as {is_now} and as {what}; "
                        f"leave it out of one of the lists"
                    )
        for slit in self.slits:
            if slit.start == slit.end:
                raise InputError(f"slit {self.write([slit.start])}: needs two teeth to join")

    def _check_states(self) -> None:
        seen: set[Tooth] = set()
        for state in self.states:
            name = self.write([state.tooth])
            if state.tooth in seen or state.tooth in {*self.missing, *self.present}:
                raise InputError(f"tooth {name}: described twice; say all of it in one place")
            seen.add(state.tooth)
            _check_state(state, name)


def check_age(years: int | None) -> None:
    """Raises InputError for an age that nobody has."""
    low, high = AGE_LIMITS
    if years is not None and not low <= years <= high:
        raise InputError(f"age {years}: must be {low} to {high} completed years")


def _check_state(state: ToothState, name: str) -> None:
    if state.gap_mm is not None and not 0 <= state.gap_mm <= GAP_LIMIT_MM:
        raise InputError(f"tooth {name}: gap {state.gap_mm:g} mm must be 0 to {GAP_LIMIT_MM:g} mm")
    for what, mm in (("facial", state.facial_mm), ("mesial", state.mesial_mm)):
        if not (isfinite(mm) and abs(mm) <= MOVE_LIMIT_MM):
            raise InputError(
                f"tooth {name}: moved {mm:g} mm {what}; the most is {MOVE_LIMIT_MM:g} mm either way"
            )
    if not (isfinite(state.rotated_deg) and abs(state.rotated_deg) <= 180):
        raise InputError(f"tooth {name}: rotated {state.rotated_deg:g} degrees; the most is 180")
    kinds = {
        "missing": state.missing,
        "pontic": state.pontic,
        "abutment": state.abutment,
        "implant": state.implant,
    }
    stated = [kind for kind, is_so in kinds.items() if is_so]
    clash = len(stated) > 1 and set(stated) != {"abutment", "implant"}
    others = {
        "present": state.present,
        "partly erupted": state.partly_erupted,
        "gumline lesion": state.lesion,
        "broken down": state.broken_down,
        "moved": state.moved,
        "rotated": bool(state.rotated_deg),
    }
    of_a_tooth = [] if state.real else [what for what, is_so in others.items() if is_so]
    if clash or of_a_tooth:
        raise InputError(
            f"tooth {name}: {', '.join((*stated, *of_a_tooth))} contradict each other; "
            f"leave one out"
        )


def read_expose(texts: Iterable[str], notation: Notation) -> tuple[Tooth | Run, ...]:
    """`17-13`, `17,16,15` or both, in the stated notation."""
    return tuple(
        read_run(word, notation) if "-" in word else read(word, notation)
        for text in texts
        for word in text.replace(",", " ").split()
    )


def read_procedure(text: str) -> Procedure:
    """A procedure by its name. Raises InputError, with what a practice's own word may stand for."""
    return pick("procedure", text, PROCEDURES, Choice.FOR, meant(text, known_terms("procedure")))


def read_run(word: str, notation: Notation) -> Run:
    """Two teeth with a dash between, such as `24-26`."""
    start, dash, end = word.partition("-")
    if not dash:
        raise InputError(f"{word!r}: not two teeth; write them with a dash, such as 24-26")
    return Run(read(start, notation), read(end, notation))


def write_number(number: float) -> str:
    """The shortest text that reads back as the same number, to the last bit."""
    return repr(float(number)).removesuffix(".0")


def write_run(run: Run, notation: Notation) -> str:
    """The inverse of `read_run`."""
    return f"{write(run.start, notation)}-{write(run.end, notation)}"


def write_expose(items: Iterable[Tooth | Run], notation: Notation) -> str:
    """The inverse of `read_expose`."""
    return ",".join(
        write_run(item, notation) if isinstance(item, Run) else write(item, notation)
        for item in items
    )
