"""The rows of `gum_line.toml`: what is derived is derived again here, the rest typed again."""

from __future__ import annotations

from itertools import pairwise
from math import atan2, degrees, hypot

import pytest

from sheetmark.anatomy.chords import ArchPoint
from sheetmark.anatomy.gum_line import gum_line
from sheetmark.anatomy.gum_line_table import gum_line_table, reference
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.sources import bibliography
from tests.helpers.mean_arches import DATA, SAMPLES, sample

every_jaw = pytest.mark.parametrize("jaw", JAWS)
# The first sample alone holds the gum line (weights: assumption).
WEIGHTS = {"gum-line": 0.5, "crowns": 0.25, "whole-teeth": 0.25}

# Width between cusp tips less width between gum-line centres, mm: canine, first premolar, first
# molar (mesiobuccal); the gum-line sample, P.
CUSP_TIPS: dict[Jaw, tuple[float, float, float]] = {
    "upper": (3.6, 5.5, 5.8),
    "lower": (2.0, 1.6, 1.0),
}


@every_jaw
def test_directions_are_those_of_the_mean_of_three_arches(jaw: Jaw) -> None:
    each = {
        name: [degrees(atan2(b[1] - a[1], b[0] - a[0])) for a, b in pairwise(sample(name, jaw))]
        for name in SAMPLES
    }
    for at in range(6):
        mean = sum(WEIGHTS[name] * links[at] for name, links in each.items())
        assert reference(jaw).direction_deg[at] == pytest.approx(mean, abs=0.06)
    rows = gum_line_table().jaw(jaw).directions
    assert [row.flag for row in rows] == ["D"] * 6 + ["assumption"]
    assert rows[-1].deg == rows[-2].deg


@every_jaw
def test_lingual_offsets_are_those_of_the_sample(jaw: Jaw) -> None:
    *rows, last = gum_line_table().jaw(jaw).lingual
    assert [[row.mm, row.sd_mm] for row in rows] == DATA["lingual"][jaw]
    assert {(row.source, row.flag) for row in rows} == {("gum-line-landmarks", "P")}
    assert (last.mm, last.sd_mm, last.flag) == (rows[-1].mm, rows[-1].sd_mm, "assumption")


@every_jaw
def test_mesial_offsets_follow_from_the_samples_two_mean_arches(jaw: Jaw) -> None:
    # Both arches count from their own central incisors, so how far the contacts stand ahead of the
    # gum line is not in them: it is the shift that gives the lingual offsets best.
    gums, contacts = sample("gum-line", jaw), sample("contact", jaw)
    lingual = [mm for mm, _ in DATA["lingual"][jaw]]
    slopes = gum_line([ArchPoint(*point) for point in gums]).slopes
    parts = []
    for (x, y), (cx, cy), slope in zip(gums, contacts, slopes, strict=True):
        unit = hypot(1.0, slope)
        parts.append((cx - x, y - cy, slope / unit, 1 / unit))
    ahead = sum(
        fy * (mm - fx * dx - fy * dy) for (dx, dy, fx, fy), mm in zip(parts, lingual, strict=True)
    ) / sum(fy * fy for *_, fy in parts)
    *rows, last = gum_line_table().jaw(jaw).mesial
    for (dx, dy, fx, fy), mm, row in zip(parts, lingual, rows, strict=True):
        assert fx * dx + fy * (dy + ahead) == pytest.approx(mm, abs=0.1)
        assert row.mm == pytest.approx(fx * (dy + ahead) - fy * dx, abs=0.006)
        assert (row.source, row.flag) == ("gum-line-landmarks", "D")
    assert (last.mm, last.flag) == (rows[-1].mm, "assumption")


@every_jaw
def test_cusp_tips_are_those_of_the_sample(jaw: Jaw) -> None:
    rows = gum_line_table().jaw(jaw).cusp_tips
    assert [row.tooth for row in rows] == ["3", "4", "6"]
    assert tuple(row.wider_mm for row in rows) == CUSP_TIPS[jaw]
    for row in rows:
        assert (row.source, row.flag) == ("gum-line-landmarks", "P")
        assert (row.sd_mm, row.sd_flag) == (1.0, "assumption")


@every_jaw
def test_fitted_shares_are_called_an_assumption_and_lie_where_the_samples_do(jaw: Jaw) -> None:
    rows = gum_line_table().jaw(jaw).shares
    assert {row.flag for row in rows} == {"assumption"}
    assert all(0.89 <= row.share <= 1.07 for row in rows)


def test_the_samples_are_in_the_bibliography() -> None:
    for name in ("gum-line", "contact", "crowns", "whole-teeth", "lingual"):
        assert DATA[name]["flag"] == "P"
        assert bibliography()[DATA[name]["source"]].seen == "P"
