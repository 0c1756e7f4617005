"""How sure we are of a figure from outside. Every figure carries one of these beside its source."""

from __future__ import annotations

from typing import Literal

Flag = Literal["S", "S2", "M", "D", "measured", "common practice", "assumption"]

MEANING: dict[Flag, str] = {
    "S": "seen in print",
    "S2": "seen in a secondary source that credits the first",
    "M": "from memory, not checked against the page",
    "D": "derived here, recomputed by a test",
    "measured": "measured by the user",
    "common practice": "common practice, no source",
    "assumption": "an assumption of sheetmark's",
}
