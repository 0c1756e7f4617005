"""How a person turns a scan that was seen from the wrong side or from behind."""

from __future__ import annotations

from typing import Literal

Turn = Literal["over", "left", "right"]
