"""The chain of gum-line centres, and the curve through it. Arch axes, mm (see `gum_line`)."""

from __future__ import annotations

from itertools import pairwise
from math import atan2, degrees, dist, hypot
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sheetmark.anatomy.arch_model import load_model, model_names
from sheetmark.anatomy.chords import ArchPoint
from sheetmark.anatomy.gum_line import (
    FLATTEST_DEG,
    FRONT_SHARES,
    STEEPEST_DEG,
    Chain,
    RowTooth,
    gum_line,
    lay_chain,
)
from sheetmark.anatomy.gum_line_table import reference
from sheetmark.anatomy.jaw import SideRow, build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, tooth_at
from tests.helpers.model_files import changed, shipped, written

few = settings(max_examples=60, derandomize=True, deadline=None)
every_jaw = pytest.mark.parametrize("jaw", JAWS)

# Round figures for one side, central incisor to second molar (assumption: only for these tests).
WIDTHS = (8.5, 6.5, 7.5, 7.0, 7.0, 10.5, 10.0)
ROW = tuple(RowTooth(place, mm) for place, mm in enumerate(WIDTHS, start=1))
ACROSS = {3: 32.0, 4: 36.5, 6: 46.0}


def laid(jaw: Jaw = "upper", across: dict[int, float] | None = None) -> Chain:
    return lay_chain(ROW, across or ACROSS, reference(jaw))


def width(chain: Chain, place: int) -> float:
    return 2 * chain.centres[[tooth.position for tooth in chain.row].index(place)].x


@given(
    st.floats(24, 38),
    st.floats(2, 8),
    st.floats(6, 14),
    st.lists(st.floats(-1, 1), min_size=7, max_size=7),
    st.sampled_from(JAWS),
)
@few
def test_every_width_is_carried_or_the_miss_is_stated(
    canines: float, more: float, still_more: float, wider: list[float], jaw: Jaw
) -> None:
    row = [RowTooth(p, mm + by) for (p, mm), by in zip(enumerate(WIDTHS, 1), wider, strict=True)]
    across = {3: canines, 4: canines + more, 6: canines + more + still_more}
    chain = lay_chain(row, across, reference(jaw))
    for place, mm in across.items():
        assert width(chain, place) - mm == pytest.approx(chain.missed_mm.get(place, 0.0), abs=1e-9)


@every_jaw
def test_links_keep_their_lengths_and_the_front_its_shape(jaw: Jaw) -> None:
    chain, table = laid(jaw), reference(jaw)
    for place, (first, other) in enumerate(pairwise(chain.centres), start=1):
        contact = (WIDTHS[place - 1] + WIDTHS[place]) / 2
        share = chain.front_share if place < 3 else table.share[place - 1]
        assert dist(first, other) == pytest.approx(contact * share, abs=1e-9)
        if place in (1, 2, 6):  # the front, and what lies behind the last width
            link = degrees(atan2(other.y - first.y, other.x - first.x))
            assert link == pytest.approx(table.direction_deg[place - 1], abs=1e-9)
    assert chain.centres[0] == pytest.approx((8.5 / 2 * chain.front_share, 0.0))


@pytest.mark.parametrize(
    ("across", "place", "missed"),
    [
        # The premolars' link may not run straighter back than 88 degrees, nor flatter than 10.
        ({3: 32.0, 4: 31.0, 6: 46.0}, 4, 1.49),
        ({3: 32.0, 4: 47.0, 6: 56.0}, 4, -1.29),
        # Nor may the front be stretched or pressed without end.
        ({3: 70.0, 4: 56.0, 6: 68.0}, 3, -20.54),
        ({3: 12.0, 4: 20.0, 6: 30.0}, 3, 4.49),
    ],
)
def test_a_width_out_of_reach_gets_the_nearest_arch(
    across: dict[int, float], place: int, missed: float
) -> None:
    chain = laid(across=across)
    assert set(chain.missed_mm) == {place}
    assert chain.missed_mm[place] == pytest.approx(missed, abs=0.006)
    links = [degrees(atan2(b.y - a.y, b.x - a.x)) for a, b in pairwise(chain.centres)]
    assert all(FLATTEST_DEG - 1e-9 <= link <= STEEPEST_DEG + 1e-9 for link in links)
    assert FRONT_SHARES[0] <= chain.front_share <= FRONT_SHARES[1]


def test_without_a_width_between_the_stretch_turns_as_one() -> None:
    chain, table = laid(across={3: 32.0, 6: 46.0}), reference("upper")
    links = [degrees(atan2(b.y - a.y, b.x - a.x)) for a, b in pairwise(chain.centres)]
    turns = [link - own for link, own in zip(links, table.direction_deg, strict=False)]
    assert turns[2:5] == pytest.approx([turns[2]] * 3, abs=1e-9)
    assert width(chain, 6) == pytest.approx(46.0, abs=1e-9)


@given(st.lists(st.tuples(st.floats(2, 9), st.floats(0.5, 11)), min_size=3, max_size=8))
@few
def test_the_curve_goes_through_its_points_and_never_forwards(
    steps: list[tuple[float, float]],
) -> None:
    points, x, y = [], 0.0, 0.0
    for number, (across, back) in enumerate(steps):
        x, y = x + across, y + (back if number else 0.0)
        points.append(ArchPoint(x, y))
    assume(all(b.y > a.y for a, b in pairwise(points)))
    line = gum_line(points)
    for point, slope in zip(points, line.slopes, strict=True):
        assert line.depth(point.x) == pytest.approx(point.y, abs=1e-9)
        assert line.depth(-point.x) == line.depth(point.x)
        assert line.slope(point.x) == pytest.approx(slope, abs=1e-9)
    far = points[-1].x + 5
    depths = [line.depth(far * n / 400) for n in range(401)]
    assert all(b >= a - 1e-12 for a, b in pairwise(depths))
    # The slope is that of the curve.
    for n in range(1, 400):
        at, h = far * n / 400, 1e-6
        if all(abs(at - point.x) > 1e-3 for point in points):
            found = (line.depth(at + h) - line.depth(at - h)) / (2 * h)
            assert line.slope(at) == pytest.approx(found, rel=1e-4, abs=1e-6)


@every_jaw
def test_another_row_is_laid_by_its_pitches_along_the_same_line(jaw: Jaw) -> None:
    chain, table = laid(jaw), reference(jaw)
    # A second premolar gone and the gap closed; a gap of 4 in place of the first molar.
    row = [*ROW[:4], RowTooth(6, 4.0), ROW[6]]
    centres = chain.lay(row)
    for centre in centres:
        assert centre.y == pytest.approx(chain.line.depth(centre.x), abs=1e-9)
    assert centres[:4] == chain.centres[:4]
    across_the_gap = (table.share[3] + table.share[4]) / 2
    assert dist(centres[3], centres[4]) == pytest.approx(5.5 * across_the_gap, abs=1e-9)
    assert dist(centres[4], centres[5]) == pytest.approx(7.0 * table.share[5], abs=1e-9)


def test_a_space_widens_the_pitch_by_itself() -> None:
    chain = laid()
    spaced = chain.lay([*ROW[:3], RowTooth(4, 7.0, 2.0), *ROW[4:]])
    plain = chain.lay(ROW)
    share = reference("upper").share[3]
    grown = dist(spaced[3], spaced[4]) - dist(plain[3], plain[4])
    assert grown == pytest.approx(2.0 * share, abs=1e-9)


@every_jaw
def test_the_own_row_is_laid_the_same_either_way(jaw: Jaw) -> None:
    chain = laid(jaw)
    # A row that differs behind its end is walked along the line, and meets the chain's centres.
    walked = chain.lay([*ROW, RowTooth(8, 9.0)])
    for first, other in zip(walked, chain.centres, strict=False):
        assert first == pytest.approx(other, abs=1e-9)


# A whole mouth.


def gap(position: int, mm: float | None, model: str = "adult-mean", jaw: Jaw = "upper") -> SideRow:
    """The model's row with a gap of that length in one place; None leaves the place out."""
    row = [(slot, None) for slot in load_model(model).jaw(jaw).row]
    at = position - 1
    filled: list[tuple[str, float | None]] = [*row]
    filled[at : at + 1] = [] if mm is None else [(row[at][0], mm)]
    return tuple(filled)


@pytest.mark.parametrize("mm", [0.3, 4.0, 9.0, None])
@pytest.mark.parametrize("position", [1, 2, 4, 6, 8])
@every_jaw
def test_a_gap_on_one_side_leaves_the_other_as_it_was(
    jaw: Jaw, position: int, mm: float | None
) -> None:
    model = load_model("adult-mean")
    plain = build_arch(model, jaw)
    arch = build_arch(model, jaw, gap(position, mm, jaw=jaw), None)
    for place in plain.places:
        if place.tooth.side == "left" or place.tooth.position < position:
            assert arch.place(place.tooth) == place
    assert arch.incisal_y_mm == plain.incisal_y_mm
    gone = tooth_at(jaw, -position)
    assert (gone in arch.teeth) == (mm is not None)
    own = plain.place(gone).size.mesiodistal_mm
    for place in plain.places:
        if place.tooth.side == "right" and place.tooth.position > position:
            # A shorter gap lets those behind it come forwards, a longer one moves them back.
            moved = abs(place.centre.y) - abs(arch.place(place.tooth).centre.y)
            up = 1 if jaw == "upper" else -1
            forwards = up * (arch.place(place.tooth).centre.y - place.centre.y)
            assert (forwards > 0) == ((mm or 0.0) < own), moved


@every_jaw
def test_teeth_behind_a_gap_move_by_what_it_is_shorter(jaw: Jaw) -> None:
    model = load_model("adult-mean")
    plain, arch = build_arch(model, jaw), build_arch(model, jaw, gap(4, 3.0, jaw=jaw), None)
    first, other = tooth_at(jaw, -3), tooth_at(jaw, -5)
    before = sum(
        dist(a.centre, b.centre)
        for a, b in pairwise([plain.place(tooth_at(jaw, -p)) for p in (3, 4, 5)])
    )
    after = sum(
        dist(a.centre, b.centre)
        for a, b in pairwise([arch.place(tooth_at(jaw, -p)) for p in (3, 4, 5)])
    )
    shorter = plain.place(tooth_at(jaw, -4)).size.mesiodistal_mm - 3.0
    shares = reference(jaw).share[2:4]
    assert before - after == pytest.approx(shorter / 2 * sum(shares), abs=1e-9)
    assert arch.place(first) == plain.place(first)
    assert arch.place(other) != plain.place(other)


@pytest.mark.parametrize("name", model_names())
@every_jaw
def test_crowns_nearly_touch_where_the_model_has_no_spaces(name: str, jaw: Jaw) -> None:
    # Contact middles are laid from the gum line by offsets of another sample; what neighbours then
    # overlap or leave open is small. Canines face outwards, the tooth behind them less: 1.3.
    model = load_model(name)
    places = build_arch(model, jaw).places
    for first, other in pairwise(places):
        mesial = min(first.tooth, other.tooth, key=lambda tooth: tooth.position)
        space = model.jaw(jaw).space_after(mesial.slot)
        if first.tooth.side != other.tooth.side:
            space = 0.0
        half_sum = (first.size.mesiodistal_mm + other.size.mesiodistal_mm) / 2
        assert abs(dist(first.contact, other.contact) - half_sum - space) < 1.3


@every_jaw
def test_contacts_lie_facial_and_mesial_of_the_gum_line_by_the_table(jaw: Jaw) -> None:
    offsets = reference(jaw)
    for place in build_arch(load_model("adult-mean"), jaw).places:
        dx, dy = place.contact.x - place.centre.x, place.contact.y - place.centre.y
        along = dx * place.leftward.x + dy * place.leftward.y
        at = place.tooth.position - 1
        assert dx * place.facial.x + dy * place.facial.y == pytest.approx(offsets.lingual_mm[at])
        mesial = -along if place.tooth.side == "left" else along
        assert mesial == pytest.approx(offsets.mesial_mm[at])
        assert hypot(*place.facial) == pytest.approx(1.0)


def test_a_tooth_that_stands_off_moves_with_both_its_points() -> None:
    place = build_arch(load_model("adult-mean"), "upper").place(Tooth(1, 3))
    moved = place.moved(facial_mm=1.5, mesial_mm=-0.5, turned_deg=20.0)
    by = (moved.centre.x - place.centre.x, moved.centre.y - place.centre.y)
    assert hypot(*by) == pytest.approx(hypot(1.5, 0.5))
    assert (moved.contact.x - place.contact.x, moved.contact.y - place.contact.y) == (
        pytest.approx(by)
    )


def test_a_width_that_the_teeth_cannot_reach_is_named_on_the_arch(
    tmp_path: Path,
) -> None:
    text = changed(shipped(), "mm = 35.65", "mm = 29.65")
    model = load_model(written(tmp_path, text))
    arch = build_arch(model, "upper")
    ((place, missed),) = arch.missed_mm
    assert place == 4
    assert missed == pytest.approx(2.6, abs=0.2)
    assert build_arch(model, "lower").missed_mm == ()
