"""Model files from before the gum line: a curve of their own, and two widths by name. In mm."""

from __future__ import annotations

from itertools import pairwise
from math import dist
from pathlib import Path

import pytest

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.chords import lay_chords
from sheetmark.anatomy.curves import Beta, Catenary, SixthOrder
from sheetmark.anatomy.jaw import build_arch
from sheetmark.base.findings import InputError
from tests.helpers.model_files import changed, shipped, with_curve, written

# Widths and depths are assumptions, for these tests only.
BETA = """form = "beta"
width_mm = 64.0
depth_mm = 58.0
source = "moorrees-1957"
flag = "assumption"
"""
CATENARY = """form = "catenary"
a_mm = 14.0
source = "moorrees-1957"
flag = "assumption"
"""


@pytest.fixture
def older(tmp_path: Path) -> ArchModel:
    return load_model(written(tmp_path, with_curve()))


def test_a_curve_of_its_own_is_still_what_the_teeth_are_laid_along(older: ArchModel) -> None:
    curve = older.upper.curve
    assert isinstance(curve, SixthOrder)
    arch = build_arch(older, "upper")
    lengths = [older.width("upper", slot)[0].mm for slot in older.upper.row]
    chords = lay_chords(curve.depth, lengths, curve.reach_mm)
    left = [place for place in arch.places if place.tooth.side == "left"]
    molar = chords[5].centre.y
    for place, chord in zip(left, chords, strict=True):
        assert place.centre.x == pytest.approx(chord.centre.x, abs=1e-9)
        assert place.centre.y == pytest.approx(23 + molar - chord.centre.y, abs=1e-9)
        # Such a curve knows one point of a tooth: it stands for both.
        assert place.contact == place.centre
    assert arch.incisal_y_mm == pytest.approx(23 + molar, abs=1e-9)
    # The coefficients are those that carried these two widths.
    by_slot = {place.tooth.slot: place.centre.x for place in left}
    assert (2 * by_slot["3"], 2 * by_slot["6"]) == pytest.approx((31.75, 45.3), abs=0.01)


def test_the_other_jaw_is_laid_by_its_widths(older: ArchModel) -> None:
    assert build_arch(older, "lower") == build_arch(load_model("adult-mean"), "lower")


def test_left_and_right_are_mirror_images(older: ArchModel) -> None:
    arch = build_arch(older, "upper")
    for place in arch.places:
        other = arch.place(place.tooth.mirrored)
        assert (-place.centre.x, place.centre.y) == other.centre


def test_names_of_two_widths_alone_change_nothing(tmp_path: Path) -> None:
    text = changed(shipped(), "\n[lower]\n", 'solve_from = ["4", "6"]\n\n[lower]\n')
    model = load_model(written(tmp_path, text))
    assert build_arch(model, "upper") == build_arch(load_model("adult-mean"), "upper")


@pytest.mark.parametrize(("form", "kind"), [(BETA, Beta), (CATENARY, Catenary)])
def test_another_published_form_is_laid_too(tmp_path: Path, form: str, kind: type) -> None:
    model = load_model(written(tmp_path, with_curve(form)))
    curve = model.upper.curve
    assert curve is not None
    assert isinstance(curve, kind)
    arch = build_arch(model, "upper")
    assert len(arch.places) == 16
    for place in arch.places:
        # The middle of a chord lies a little inside the curve (under 2 mm: the teeth are short).
        depth = arch.incisal_y_mm - place.centre.y
        assert 0 <= depth - curve.depth(place.centre.x) < 2
    assert all(first.centre.x < other.centre.x for first, other in pairwise(arch.places))


def test_a_gap_and_a_space_are_chords_of_their_own(older: ArchModel) -> None:
    plain = build_arch(older, "upper")
    row = tuple((slot, 3.0 if slot == "4" else None) for slot in older.upper.row)
    arch = build_arch(older, "upper", row, None)
    for place in plain.places:
        if place.tooth.side == "left":
            assert arch.place(place.tooth) == place
    three, five = (
        next(p for p in arch.places if p.tooth.iso == iso).centre for iso in ("13", "15")
    )
    # Half a canine, the gap and half a premolar, bent a little at each end of the gap.
    assert dist(three, five) == pytest.approx(7.74 / 2 + 3.0 + 6.72 / 2, abs=0.2)


def test_a_curve_too_short_for_the_models_teeth_is_refused(tmp_path: Path) -> None:
    short = changed(changed(BETA, "64.0", "50.0"), "58.0", "30.0")
    model = load_model(written(tmp_path, with_curve(short)))
    with pytest.raises(InputError, match=r"^arch curve: it ends 25\.0 mm from the midline, before"):
        build_arch(model, "upper")


def test_a_curve_needs_no_widths(tmp_path: Path) -> None:
    text = with_curve()
    start, end = text.index("centre_widths = ["), text.index("solve_from")
    model = load_model(written(tmp_path, text[:start] + "centre_widths = []\n" + text[end:]))
    assert build_arch(model, "upper").places
