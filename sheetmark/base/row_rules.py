"""The names of the rules that choose a row of teeth, and of what holds its ends.

What the rules do stands in `plan/rows.py`; the names stand here because a practice sets them too.
"""

from __future__ import annotations

from typing import Literal, get_args

RowRule = Literal["textbook", "short", "wide"]
Hold = Literal["clamp", "ligature", "wedge"]
ROW_RULES: tuple[RowRule, ...] = get_args(RowRule)
HOLDS: tuple[Hold, ...] = get_args(Hold)
DEFAULT_ROW: RowRule = "textbook"
DEFAULT_HOLD: Hold = "clamp"
