"""A case planned a second time, from the data files alone: nothing of sheetmark is used.

Teeth are laid by bisection along the model's sixth-order curve; the row, the sizes and the
sheet's middle follow the rules as they are written for people.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from math import dist, hypot

from tests.helpers.holes_by_hand import diameter
from tests.helpers.paths import ROOT

Point = tuple[float, float]
MODELS = ROOT / "arch_models"
MEAN = tomllib.loads((MODELS / "adult-mean.toml").read_text("utf-8"))
CROWNS = tomllib.loads((MODELS / "crowns.toml").read_text("utf-8"))
SHEET_MM = 152.0


def jaw_of(iso: str) -> str:
    return "upper" if iso[0] in "12" else "lower"


def chart(jaw: str) -> list[str]:
    """Second molar to second molar, from the patient's right to the left."""
    right, left = ("1", "2") if jaw == "upper" else ("4", "3")
    return [right + str(p) for p in range(7, 0, -1)] + [left + str(p) for p in range(1, 8)]


def half(jaw: str) -> list[tuple[Point, Point]]:
    """Each tooth of the left side from the midline, x across and y back: its chord's middle, and
    the chord itself."""
    a, b = (MEAN[jaw]["curve"][key] for key in "ab")
    start, found = (0.0, 0.0), []
    for row in MEAN[jaw]["mesiodistal"][:7]:
        low, high = start[0], start[0] + row["mm"]
        for _ in range(80):
            x = (low + high) / 2
            end = (x, a * x**6 + b * x**2)
            low, high = (x, high) if dist(start, end) < row["mm"] else (low, x)
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        found.append((middle, (end[0] - start[0], end[1] - start[1])))
        start = end
    return found


def centres(jaw: str) -> dict[str, Point]:
    """In the mouth frame: second molars 10 mm off the middle between the jaws."""
    up = 1 if jaw == "upper" else -1
    laid = [centre for centre, _ in half(jaw)]
    front = up * (10 + laid[6][1])
    return {
        iso: (
            laid[int(iso[1]) - 1][0] * (-1 if iso[0] in "14" else 1),
            front - up * laid[int(iso[1]) - 1][1],
        )
        for iso in chart(jaw)
    }


def row(iso: str, procedure: str, missing: Sequence[str]) -> tuple[list[str], list[str]]:
    """The teeth to isolate, and the anchors among them."""
    teeth = [tooth for tooth in chart(jaw_of(iso)) if tooth not in missing]
    at = teeth.index(iso)
    if procedure == "root-canal":
        return [iso], [iso]
    if procedure == "full-arch":
        found = teeth
    elif int(iso[1]) <= 3:
        back = [n for n, tooth in enumerate(teeth) if int(tooth[1]) >= 4]
        first = max(n for n in back if teeth[n][0] in "14")
        last = min(n for n in back if teeth[n][0] in "23")
        found = teeth[first : last + 1]
    else:
        right = iso[0] in "14"
        behind = [n for n in ((at - 1,) if right else (at + 1,)) if 0 <= n < len(teeth)]
        ahead = (at + 1, at + 2) if right else (at - 2, at - 1)
        reach = [at, *behind, *ahead]
        found = teeth[min(reach) : max(reach) + 1]
    ends = [found[0], found[-1]]
    farthest = max(int(tooth[1]) for tooth in ends)
    if (ends[0][0] in "14") == (ends[1][0] in "14"):
        return found, [tooth for tooth in ends if int(tooth[1]) == farthest]
    return found, [t for t in ends if int(t[1]) == farthest or int(t[1]) > 2]


def hole_mm(iso: str, anchors: Sequence[str]) -> float:
    jaw, p = jaw_of(iso), int(iso[1])
    (deep,) = (one["labiolingual_mm"] for one in CROWNS[jaw] if one["tooth"] == str(p))
    wide = MEAN[jaw]["mesiodistal"][p - 1]["mm"]
    return diameter(wide, deep, larger=int(iso in anchors))


def middle(row: Sequence[str], holes: Sequence[Point]) -> Point:
    """Ten inside the holes' centroid at right angles to their row, within the sheet's limits."""
    n, jaw = len(holes), jaw_of(row[0])
    up = 1 if jaw == "upper" else -1
    x, y = sum(p[0] for p in holes) / n, sum(p[1] for p in holes) / n
    dx, dy = holes[-1][0] - holes[0][0], holes[-1][1] - holes[0][1]
    sides_of_row = {iso[0] in "14" for iso in row}
    one_side = 0 if len(sides_of_row) == 2 else -1 if True in sides_of_row else 1
    if n == 1:
        # One tooth: its own chord is its row. y back is y down in the upper jaw.
        _, (dx, dy) = half(jaw)[int(row[0][1]) - 1]
        dy *= -up * one_side
    sides = [(x + s * 10 * dy / hypot(dx, dy), y - s * 10 * dx / hypot(dx, dy)) for s in (1, -1)]
    # The inner of the two is the one nearer to the mouth's own middle, behind the row.
    x, y = min(sides, key=lambda at: hypot(at[0], at[1]))
    y = up * max(up * y, 0.0)
    x = one_side * max(one_side * x, 0.0) if one_side else x
    edge = SHEET_MM / 2
    incisors = 10 + half("upper")[6][0][1]
    x = min(max(x, -(edge - 45)), edge - 45)
    y = min(max(y, incisors + 10 - edge), incisors + 45 - edge)
    xs, ys = [p[0] for p in holes], [p[1] for p in holes]
    x = min(max(x, max(xs) + 30 - edge), min(xs) - 30 + edge)
    y = min(max(y, max(ys) + 30 - edge), min(ys) - 30 + edge)
    return (x, y)
