"""Where a sheet's middle is, in words."""

from __future__ import annotations

from sheetmark.plan.plan import Plan


def shift_text(plan: Plan) -> str:
    """Where the sheet's middle is in the mouth, in whole mm and plain words."""
    x, y = (round(c) for c in plan.shift_mm)
    across = "on the midline" if x == 0 else f"{abs(x)} mm to the patient's {_side(x)}"
    up = "half way between the jaws" if y == 0 else f"{abs(y)} mm towards the {_jaw(y)} jaw"
    return f"{across}, {up}"


def _side(x: float) -> str:
    return "left" if x > 0 else "right"


def _jaw(y: float) -> str:
    return "upper" if y > 0 else "lower"
