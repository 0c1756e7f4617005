"""A case planned a second time, from the data files alone: nothing of sheetmark is used.

Gum-line centres are laid by bisection from the tables; the row, the sizes and the sheet's middle
follow the rules as they are written for people.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from math import cos, hypot, radians, sin

from tests.helpers.cases import mirror
from tests.helpers.holes_by_hand import diameter
from tests.helpers.paths import ROOT

Point = tuple[float, float]
MODELS = ROOT / "arch_models"
MEAN = tomllib.loads((MODELS / "adult-mean.toml").read_text("utf-8"))
GUM_LINE = tomllib.loads((ROOT / "sheetmark" / "anatomy" / "gum_line.toml").read_text("utf-8"))
CROWNS = tomllib.loads((MODELS / "crowns.toml").read_text("utf-8"))
SHEET_MM = 152.0


def jaw_of(iso: str) -> str:
    return "upper" if iso[0] in "12" else "lower"


def chart(jaw: str) -> list[str]:
    """Second molar to second molar, from the patient's right to the left."""
    right, left = ("1", "2") if jaw == "upper" else ("4", "3")
    return [right + str(p) for p in range(7, 0, -1)] + [left + str(p) for p in range(1, 8)]


def half(jaw: str) -> list[tuple[Point, Point]]:
    """Each tooth of the left side from the midline: its gum-line centre, x across and y back, and a
    step along the row there.

    Each stretch between two widths is turned bit by bit until it ends at half of the second.
    """
    table = GUM_LINE[jaw]
    across: dict[int, float] = {
        int(row["tooth"]): row["mm"] / 2 for row in MEAN[jaw]["centre_widths"]
    }
    wide: list[float] = [row["mm"] for row in MEAN[jaw]["mesiodistal"]]
    turns = [radians(row["deg"]) for row in table["directions"]]
    shares: list[float] = [1.0, 1.0, *(row["share"] for row in table["shares"])]
    links: list[float] = [(wide[n] + wide[n + 1]) / 2 * shares[n] for n in range(7)]

    def end(x: float, stretch: range, turn: float = 0.0) -> float:
        return x + sum(links[n] * cos(turns[n] + turn) for n in stretch)

    shrunk = across[3] / end(wide[0] / 2, range(2))
    links[:2] = [link * shrunk for link in links[:2]]
    for first, last in ((3, 4), (4, 6)):
        stretch = range(first - 1, last - 1)
        low, high = -0.5, 0.3  # a larger turn ends further in
        for _ in range(80):
            turn = (low + high) / 2
            inside = end(across[first], stretch, turn) < across[last]
            low, high = (low, turn) if inside else (turn, high)
        turns = [a + turn if n in stretch else a for n, a in enumerate(turns)]
    points = [(wide[0] / 2 * shrunk, 0.0)]
    for link, turn in zip(links, turns, strict=True):
        points.append((points[-1][0] + link * cos(turn), points[-1][1] + link * sin(turn)))
    return [(points[n], (1.0, slope(points, n))) for n in range(7)]


def slope(points: Sequence[Point], n: int) -> float:
    """Of the smooth curve at a point: the harmonic mean of the steps, weighted; at the midline that
    of a parabola."""
    (x, y), (further, back) = points[n], points[n + 1]
    if n == 0:
        return 2 * x * back / (further**2 - x**2)
    nearer, front = points[n - 1]
    first, other = x - nearer, further - x
    heavy, light = first + 2 * other, 2 * first + other
    return (heavy + light) / (heavy * first / (y - front) + light * other / (back - y))


def centres(jaw: str) -> dict[str, Point]:
    """In the mouth frame: first molars 23 mm off the middle between the jaws."""
    up = 1 if jaw == "upper" else -1
    laid = [centre for centre, _ in half(jaw)]
    front = up * (23 + laid[5][1])
    return {
        iso: (
            laid[int(iso[1]) - 1][0] * (-1 if iso[0] in "14" else 1),
            front - up * laid[int(iso[1]) - 1][1],
        )
        for iso in chart(jaw)
    }


def incisal_y() -> float:
    """The middle of the upper central incisors' crowns, facial and mesial of the gum line."""
    (_, y), (_, back) = half("upper")[0]
    table = GUM_LINE["upper"]
    facial, mesial = table["lingual"][0]["mm"], table["mesial"][0]["mm"]
    forwards = (facial + mesial * back) / hypot(1.0, back)
    return 23 + half("upper")[5][0][1] - y + float(forwards)


def row(iso: str, procedure: str, missing: Sequence[str]) -> tuple[list[str], list[str]]:
    """The teeth to isolate, and the anchors among them."""
    teeth = [tooth for tooth in chart(jaw_of(iso)) if tooth not in missing]
    at = teeth.index(iso)
    if procedure == "root-canal":
        return [iso], [iso]
    if procedure == "full-arch":
        found = teeth
    elif int(iso[1]) <= 2:
        back = [n for n, tooth in enumerate(teeth) if int(tooth[1]) >= 4]
        first = max(n for n in back if teeth[n][0] in "14")
        last = min(n for n in back if teeth[n][0] in "23")
        found = teeth[first : last + 1]
    else:
        right = iso[0] in "14"
        steps = (1, 2) if int(iso[1]) in {4, 5} else (1,)
        back = [at - step if right else at + step for step in steps]
        ahead = [at + 1, at + 2] if right else [at - 2, at - 1]
        if int(iso[1]) == 3:
            own = [n for n, tooth in enumerate(teeth) if tooth[0] == iso[0]]
            molars = [n for n in own if int(teeth[n][1]) >= 6] or own
            back = [max(molars) if right else min(molars)]
            other = [n for n, t in enumerate(teeth) if t[0] == mirror(iso)[0] and int(t[1]) <= 2]
            ahead += other
        reach = [n for n in (at, *back, *ahead) if 0 <= n < len(teeth)]
        found = teeth[min(reach) : max(reach) + 1]
    ends = [found[0], found[-1]]
    farthest = max(int(tooth[1]) for tooth in ends)
    if (ends[0][0] in "14") == (ends[1][0] in "14"):
        return found, [tooth for tooth in ends if int(tooth[1]) == farthest]
    return found, [t for t in ends if int(t[1]) == farthest or int(t[1]) > 2]


def hole_mm(iso: str, anchors: Sequence[str]) -> float:
    jaw, p = jaw_of(iso), int(iso[1])
    (deep,) = (crown["labiolingual_mm"] for crown in CROWNS[jaw] if crown["tooth"] == str(p))
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
        # One tooth: the line there is its row. y back is y down in the upper jaw.
        _, (dx, dy) = half(jaw)[int(row[0][1]) - 1]
        dy *= -up * one_side
    sides = [(x + s * 10 * dy / hypot(dx, dy), y - s * 10 * dx / hypot(dx, dy)) for s in (1, -1)]
    # The inner of the two is the one nearer to the mouth's own middle, behind the row.
    x, y = min(sides, key=lambda at: hypot(at[0], at[1]))
    y = up * max(up * y, 0.0)
    x = one_side * max(one_side * x, 0.0) if one_side else x
    edge = SHEET_MM / 2
    incisors = incisal_y()
    x = min(max(x, -(edge - 45)), edge - 45)
    # The upper edge 15 to 30 above the incisors, and below the nostrils, 24 above them.
    y = min(max(y, incisors + 15 - edge), incisors + 24 - edge)
    xs, ys = [p[0] for p in holes], [p[1] for p in holes]
    x = min(max(x, max(xs) + 20 - edge), min(xs) - 20 + edge)
    y = min(max(y, max(ys) + 20 - edge), min(ys) - 20 + edge)
    return (x, y)
