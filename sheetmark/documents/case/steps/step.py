"""One step of the case card."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

StepName = Literal[
    "mark",
    "punch",
    "slit",
    "look-at-holes",
    "check-tooth",
    "lubricate",
    "tie-floss",
    "hook-wings",
    "set-together",
    "off-wings",
    "clamp-alone",
    "draw-over",
    "no-clamp",
    "frame",
    "fold",
    "slip-over",
    "later-clamp",
    "floss",
    "bridge",
    "hold-end",
    "turn-in",
    "ligature",
    "retract",
    "test-seal",
    "disinfect",
    "irrigate",
    "last-look",
    "ligatures-off",
    "cut",
    "clamp-off",
    "frame-off",
    "spread",
    "piece-missing",
    "look-at-gum",
]


class Step(Struct, frozen=True):
    """What is done, in a line or two for a person with gloves on; pages pick a drawing by name.

    `short` is the same in fewer words, for the card of a child, who waits less patiently.
    """

    name: StepName
    text: str
    short: str = ""


def for_patient(steps: Iterable[Step], *, child: bool) -> tuple[Step, ...]:
    """The steps as the card has them: for a child the short words, where there are any."""
    if not child:
        return tuple(steps)
    return tuple(replace(step, text=step.short or step.text) for step in steps)
