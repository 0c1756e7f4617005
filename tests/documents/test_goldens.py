"""Golden pages, and for each a twin that works its key figures out again from published tables.

The twins read the golden files alone; nothing of sheetmark computes what they expect.
"""

from __future__ import annotations

import re
from itertools import pairwise
from math import dist

import pytest

from tests.helpers.cases import json_of
from tests.helpers.golden_pages import CASES, FOLDER, HANDOUTS, handout_listing, listing
from tests.helpers.holes_by_hand import diameter

Point = tuple[float, float]

ROUNDED = 0.011  # two figures rounded to 0.01 each, of a page drawn to better than that

# Moorrees, Thomsen, Jensen, Yen 1957, J Dent Res 36:39-47 (from memory): mesiodistal widths by
# position, the average of the male and the female mean.
UPPER_WIDTHS = {
    1: (8.78 + 8.40) / 2,
    2: (6.64 + 6.47) / 2,
    3: (7.95 + 7.53) / 2,
    4: (7.01 + 6.85) / 2,
    5: (6.82 + 6.62) / 2,
    6: (10.81 + 10.52) / 2,
    7: (10.35 + 9.81) / 2,
}
LOWER_FIRST_MOLAR = (11.18 + 10.74) / 2
# Ash & Nelson, Wheeler's Dental Anatomy, Physiology and Occlusion (secondary source):
# labio- or buccolingual crown.
UPPER_DEPTHS = {1: 7.0, 2: 6.0, 3: 8.0, 4: 9.0, 5: 9.0, 6: 11.0, 7: 11.0}
LOWER_FIRST_MOLAR_DEPTH = 10.5
# Moyers, van der Linden, Riolo, McNamara 1976 as tabulated by Proffit (from memory): widths
# between centres at 18 years, male and female.
UPPER_CANINES = (32.3 + 31.2) / 2
UPPER_FIRST_MOLARS = (46.7 + 43.9) / 2
# Gum-line pitches over the half sums of the widths, as the gum line's table has them.
UPPER_SHARES = {(7, 6): 0.97, (6, 5): 1.0, (5, 4): 1.06}
LOWER_FIRST_MOLARS = (43.0 + 41.7) / 2


def golden(name: str) -> str:
    return (FOLDER / f"{name}.txt").read_text("utf-8")


def numbers(pattern: str, text: str) -> list[tuple[float, ...]]:
    """The figures of every line that matches; `#` in the pattern stands for a figure."""
    found = re.findall(f"(?m)^{pattern.replace('#', '(-?[0-9.]+)')}$", text)
    return [tuple(float(n) for n in point) for point in found]


def holes(text: str) -> list[tuple[Point, float]]:
    """Centre and diameter of the discs that are neither the dots nor the legend's."""
    found = numbers(r"disc \(#, #\) diameter #", text)
    return [((x, y), d) for x, y, d in found if d not in (2.4, 1.0)]


def sheet_centre(text: str) -> Point:
    """Where the cross is: the middle of its level line."""
    lines = numbers(r"line \(#, #\) to \(#, #\) line 0.50", text)
    ((x0, y0, x1, y1),) = (line for line in lines if line[1] == line[3])
    return ((x0 + x1) / 2, (y0 + y1) / 2)


@pytest.mark.parametrize("name", CASES)
def test_the_page_is_as_in_its_golden(name: str) -> None:
    assert listing(name) == golden(name), "python -m tests.renew_goldens, then read the difference"


@pytest.mark.parametrize("name", HANDOUTS)
def test_the_handout_is_as_in_its_golden(name: str) -> None:
    """Their twins are the tests of `test_handouts.py`, which measure these very pages."""
    wanted = golden(f"handout-{name}")
    assert handout_listing(name) == wanted, "python -m tests.renew_goldens"


def test_every_golden_has_its_case() -> None:
    names = [*CASES, *(f"handout-{name}" for name in HANDOUTS)]
    assert sorted(path.stem for path in FOLDER.iterdir()) == sorted(names)


@pytest.mark.parametrize(
    ("name", "paper", "side"),
    [
        ("16-restoration", (210.0, 297.0), 152.0),
        ("11-palmer-small-sheet-letter", (215.9, 279.4), 127.0),
        ("36-root-canal", (210.0, 297.0), 152.0),
    ],
)
def test_twin_of_paper_sheet_and_bars(name: str, paper: Point, side: float) -> None:
    text = golden(name)
    assert f"page 1: {paper[0]:.2f} x {paper[1]:.2f}\n" in text
    x, y = paper[0] / 2, paper[1] - 20 - side / 2
    low, high = (x - side / 2, y - side / 2), (x + side / 2, y + side / 2)
    ((ax, ay, bx, by, cx, cy, dx, dy),) = numbers(
        r"outline \(#, #\) \(#, #\) \(#, #\) \(#, #\) line 0.30 grey 0.00", text
    )
    assert (ax, ay, cx, cy) == pytest.approx((*low, *high), abs=ROUNDED)
    assert (bx, by, dx, dy) == pytest.approx((high[0], low[1], low[0], high[1]), abs=ROUNDED)
    assert sheet_centre(text) == pytest.approx((x, y), abs=ROUNDED)
    bars = [
        (x1 - x0, y1 - y0)
        for x0, y0, x1, y1 in numbers(r"line \(#, #\) to \(#, #\) line 0.40", text)
        if dist((x0, y0), (x1, y1)) > 10
    ]
    across, down = bars
    assert across == pytest.approx((100, 0), abs=ROUNDED)
    assert down == pytest.approx((0, 100), abs=ROUNDED)
    right, left = numbers(r"disc \(#, #\) diameter 2.40", text)
    assert right == pytest.approx((x - 12, high[1] - 10), abs=ROUNDED)
    assert left == pytest.approx((x + 12, high[1] - 10), abs=ROUNDED)


def test_twin_of_16() -> None:
    """One tooth behind, two in front; pitches, sizes and the middle from the tables."""
    text = golden("16-restoration")
    row = (7, 6, 5, 4)
    found = holes(text)
    assert len(found) == len(row)
    for (a, b), (first, other) in zip(pairwise(found), pairwise(row), strict=True):
        half_sum = (UPPER_WIDTHS[first] + UPPER_WIDTHS[other]) / 2
        share = UPPER_SHARES[first, other]
        assert dist(a[0], b[0]) == pytest.approx(share * half_sum, abs=2 * ROUNDED)
    for (_, d), p in zip(found, row, strict=True):
        assert d == diameter(UPPER_WIDTHS[p], UPPER_DEPTHS[p], larger=1 if p == 7 else 0)
    # The other first molar stands its table's width away at the gum line; its faint outline stands
    # at its contacts, so a little facial and mesial of that.
    teeth = numbers(r"tooth \(#, #\) within .*", text)
    molar, arch = found[1][0], json_of("16")["arch"]
    gum, contact = arch["centres_mm"]["26"], arch["contacts_mm"]["26"]
    assert gum[0] - arch["centres_mm"]["16"][0] == pytest.approx(UPPER_FIRST_MOLARS, abs=1e-6)
    expected = (
        molar[0] + UPPER_FIRST_MOLARS + contact[0] - gum[0],
        molar[1] + contact[1] - gum[1],
    )
    assert min(dist(tooth, expected) for tooth in teeth) < 2 * ROUNDED
    # Sideways the middle is 10 mm from the holes' centroid, at right angles to their row.
    (x0, y0), (x1, y1) = found[0][0], found[-1][0]
    centroid = sum(centre[0] for centre, _ in found) / len(found)
    inwards = 10 * (y1 - y0) / dist((x0, y0), (x1, y1))
    assert sheet_centre(text)[0] - centroid == pytest.approx(inwards, abs=2 * ROUNDED)


def test_twin_of_11() -> None:
    """First premolar to first premolar, mirror images about the paper's middle."""
    text = golden("11-palmer-small-sheet-letter").split("page 2")[0]
    row = (4, 3, 2, 1, 1, 2, 3, 4)
    found = holes(text)
    assert len(found) == len(row)
    for (centre, d), (other, e) in zip(found, reversed(found), strict=True):
        assert centre[0] + other[0] == pytest.approx(215.9, abs=ROUNDED)
        assert centre[1] == pytest.approx(other[1], abs=ROUNDED)
        assert d == e
    assert found[6][0][0] - found[1][0][0] == pytest.approx(UPPER_CANINES, abs=ROUNDED)
    for (_, d), p in zip(found, row, strict=True):
        assert d == diameter(UPPER_WIDTHS[p], UPPER_DEPTHS[p], larger=1 if p == 4 else 0)
    # The patient's right stands at the left, and each number at its hole.
    labels = numbers(r"text \(#, #\) to \(#, #\) size 4.80 bold: #", text)
    on_sheet = [label for label in labels if label[1] > 279.4 - 20 - 127]
    assert [int(label[4]) for label in on_sheet] == list(row)
    for x0, y, x1, _, position in on_sheet:
        (near, _) = min(found, key=lambda hole: dist(hole[0], ((x0 + x1) / 2, y)))
        assert position == row[[centre for centre, _ in found].index(near)]


def test_twin_of_36() -> None:
    """One hole, two sizes: its own anchor; half the molar width left of the midline."""
    text = golden("36-root-canal")
    (((x, y), d),) = holes(text)
    assert d == diameter(LOWER_FIRST_MOLAR, LOWER_FIRST_MOLAR_DEPTH, larger=1)
    teeth = numbers(r"tooth \(#, #\) within .*", text)
    # Its faint outline stands at the contacts, the hole at the gum line.
    arch = json_of("36", procedure="root-canal")["arch"]
    gum, contact = arch["centres_mm"]["46"], arch["contacts_mm"]["46"]
    assert arch["centres_mm"]["36"][0] - gum[0] == pytest.approx(LOWER_FIRST_MOLARS, abs=1e-6)
    expected = (x - LOWER_FIRST_MOLARS + contact[0] - gum[0], y + contact[1] - gum[1])
    assert min(dist(tooth, expected) for tooth in teeth) < 2 * ROUNDED
    middle = sheet_centre(text)
    assert x > middle[0], "the patient's left stands at the right"
