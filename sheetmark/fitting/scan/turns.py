"""How a person turns a scan that was seen from the wrong side, from behind, or tilted."""

from __future__ import annotations

from typing import Literal

# Seen in the picture: `over` shows the other side, left and right are quarter turns, the others
# tilt a little.
Turn = Literal["over", "left", "right", "front-down", "front-up", "left-down", "right-down"]
TILT_DEG = 3.0
