"""One step of the case card."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

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


@dataclass(frozen=True, slots=True)
class Step:
    """What is done, in a line or two for a person with gloves on; pages pick a drawing by name."""

    name: StepName
    words: str
