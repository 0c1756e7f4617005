"""Arches fitted to landmarks: known ones found again, errors named, bad casts refused. mm.

What a fit gave is measured on the finished model, laid out by `build_arch`, never asked of the fit.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from math import dist
from pathlib import Path
from statistics import median

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.curves import SixthOrder
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth
from sheetmark.base.findings import Action, Choice, InputError
from sheetmark.cli.app import run
from sheetmark.fitting.fit import JawFit, Origin, own_model, solved_pair
from sheetmark.fitting.from_landmarks import fit_landmarks
from sheetmark.fitting.landmarks import CastPoint, Landmark
from sheetmark.fitting.model_file import write_model
from tests.helpers.casts import as_csv, cast, curved
from tests.helpers.fits import DAY, codes, width
from tests.helpers.model_files import written
from tests.helpers.paths import ROOT

TO_SECOND_MOLAR = "1234567"


def fitted(
    landmarks: Sequence[Landmark], base: str = "adult-mean", *, y_down: bool = False
) -> tuple[ArchModel, JawFit]:
    origin = Origin(curved(base), DAY, "iso")
    fit = fit_landmarks(landmarks, y_down, origin)
    return own_model("own", origin, [fit]), fit


def refusal(landmarks: Sequence[Landmark], base: str = "adult-mean") -> str:
    with pytest.raises(InputError) as refused:
        fitted(landmarks, base)
    (problem,) = refused.value.problems
    return problem


def worst_tooth(model: ArchModel, known: ArchModel, jaw: Jaw, slots: Collection[str]) -> float:
    """The largest distance between where both models lay a tooth, incisal points together."""
    here, there = build_arch(model, jaw), build_arch(known, jaw)
    away = []
    for place in here.places:
        if place.tooth.slot in slots:
            x, y = there.place(place.tooth).centre
            y += here.incisal_y_mm - there.incisal_y_mm
            away.append(dist(place.centre, (x, y)))
    assert len(away) == 2 * len(slots)
    return max(away)


# Known arches found again


@pytest.mark.parametrize("turn_deg", [0, 37, 90, 200])
@pytest.mark.parametrize(
    ("known", "base", "jaw"),
    [
        ("adult-mean", "adult-mean", "upper"),
        ("adult-mean", "adult-mean", "lower"),
        ("adult-large", "adult-mean", "upper"),
        ("adult-small", "adult-mean", "lower"),
        ("age-8", "age-8", "lower"),
    ],
)
def test_exact_landmarks_give_the_arch_itself(
    known: str, base: str, jaw: Jaw, turn_deg: float
) -> None:
    marks = cast(known, jaw, turn_deg=turn_deg, shift=(120, -35))
    model, fit = fitted(marks, base)
    there = curved(known)
    here_curve, there_curve = model.jaw(jaw).curve, there.jaw(jaw).curve
    assert isinstance(here_curve, SixthOrder)
    assert isinstance(there_curve, SixthOrder)
    assert here_curve.a == pytest.approx(there_curve.a, rel=1e-6)
    assert here_curve.b == pytest.approx(there_curve.b, rel=1e-6)
    assert worst_tooth(model, there, jaw, there.jaw(jaw).row) < 1e-6
    assert max(abs(off) for seen in fit.seen for off in seen.off_mm) < 1e-6
    assert max(seen.off_place_mm for seen in fit.seen) < 1e-6
    assert not {"stray-point", "mirrored", "crowding"} & set(codes(fit))


def test_small_spaces_are_measured_along_the_row() -> None:
    # The 0.3 mm behind each canine counts along the line of the neighbours' centres, not along its
    # own chord: 5.3e-5 mm off as measured.
    model, _ = fitted(cast("age-8", "upper"), "age-8")
    known = curved("age-8")
    assert worst_tooth(model, known, "upper", known.upper.row) < 1e-4
    (space,) = model.upper.spaces
    assert (space.after, space.source, space.flag) == ("C", "measured", "measured")
    assert space.mm == pytest.approx(0.3, abs=1e-4)


# Normal errors of SD 0.2 mm on each coordinate, seeds 0 to 9, the picture turned by 37 degrees
# times the seed. Largest errors as measured over these seeds: width between the canines, between
# the first molars, centre of the worst tooth. The bounds give them a quarter more.
NOISY = [
    ("adult-mean", "upper", "adult-mean", TO_SECOND_MOLAR, (0.20, 0.15, 0.27)),
    ("adult-large", "lower", "adult-mean", TO_SECOND_MOLAR, (0.27, 0.14, 0.31)),
    ("age-8", "lower", "age-8", ("1", "2", "C", "D", "E", "6"), (0.46, 0.22, 0.49)),
    ("adult-mean", "upper", "adult-mean", "346", (0.45, 0.42, 0.81)),
]


@pytest.mark.parametrize(("known", "jaw", "base", "slots", "errors"), NOISY)
def test_noisy_landmarks_give_nearly_the_arch(
    known: str, jaw: Jaw, base: str, slots: Collection[str], errors: tuple[float, float, float]
) -> None:
    there = curved(known)
    canine, molar = solved_pair(there.jaw(jaw))
    worst = [0.0, 0.0, 0.0]
    for seed in range(10):
        marks = cast(known, jaw, slots=slots, noise_mm=0.2, seed=seed, turn_deg=37 * seed)
        model, fit = fitted(marks, base)
        assert "stray-point" not in codes(fit)
        here_arch, there_arch = build_arch(model, jaw), build_arch(there, jaw)
        found = (
            *(abs(width(here_arch, s) - width(there_arch, s)) for s in (canine, molar)),
            worst_tooth(model, there, jaw, slots),
        )
        worst = [max(pair) for pair in zip(worst, found, strict=True)]
    for measured, bound in zip(worst, errors, strict=True):
        assert measured < 1.25 * bound


@given(
    st.floats(0, 360),
    st.floats(-500, 500),
    st.floats(-500, 500),
    st.sampled_from(JAWS),
    st.integers(0, 10**6),
)
@settings(max_examples=12, derandomize=True, deadline=None)
def test_where_and_how_the_cast_lies_does_not_matter(
    turn_deg: float, x: float, y: float, jaw: Jaw, seed: int
) -> None:
    straight = cast(jaw=jaw, slots=TO_SECOND_MOLAR, noise_mm=0.1, seed=seed)
    turned = cast(
        jaw=jaw, slots=TO_SECOND_MOLAR, noise_mm=0.1, seed=seed, turn_deg=turn_deg, shift=(x, y)
    )
    one, other = fitted(straight)[0], fitted(turned)[0]
    assert worst_tooth(one, other, jaw, TO_SECOND_MOLAR) < 1e-5


def test_right_and_left_exchanged_and_mirrored_give_the_same_arch() -> None:
    marks = cast(slots=TO_SECOND_MOLAR, noise_mm=0.1, seed=5)
    other = tuple(
        Landmark(
            mark.tooth.mirrored,
            CastPoint(-mark.mesial[0], mark.mesial[1]),
            CastPoint(-mark.distal[0], mark.distal[1]),
        )
        for mark in reversed(marks)
    )
    assert worst_tooth(fitted(marks)[0], fitted(other)[0], "upper", TO_SECOND_MOLAR) < 1e-6


# Pictures the wrong way round


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("slots", [TO_SECOND_MOLAR, "346"])
def test_a_mirrored_picture_is_fitted_and_named(jaw: Jaw, slots: str) -> None:
    marks = cast(jaw=jaw, slots=slots, noise_mm=0.1, seed=2, turn_deg=61)
    image = cast(jaw=jaw, slots=slots, noise_mm=0.1, seed=2, turn_deg=61, mirrored=True)
    straight, clean = fitted(marks)
    turned, fit = fitted(image)
    assert "mirrored" not in codes(clean)
    assert codes(fit)[0] == "mirrored"
    assert fit.findings[0].message.startswith("MIRRORED PICTURE: as given, teeth stand ")
    assert "y counts downwards, not upwards" in fit.findings[0].advice
    assert fit.findings[0].actions == (Action(Choice.Y_DOWN),)
    assert worst_tooth(straight, turned, jaw, slots) < 1e-5


@pytest.mark.parametrize("jaw", JAWS)
def test_y_counted_downwards_is_taken_in(jaw: Jaw) -> None:
    marks = cast(jaw=jaw, noise_mm=0.1, seed=3, turn_deg=20)
    down = [
        Landmark(
            m.tooth, CastPoint(m.mesial[0], -m.mesial[1]), CastPoint(m.distal[0], -m.distal[1])
        )
        for m in marks
    ]
    assert codes(fitted(down)[1])[0] == "mirrored"
    model, fit = fitted(down, y_down=True)
    assert "mirrored" not in codes(fit)
    assert worst_tooth(model, fitted(marks)[0], jaw, TO_SECOND_MOLAR) < 1e-5
    again = fitted(marks, y_down=True)[1]
    assert codes(again)[0] == "mirrored"
    assert "y counts upwards, not downwards" in again.findings[0].advice
    assert again.findings[0].actions == (Action(Choice.Y_DOWN, drop=True),)


# Points that do not belong

STRAYS = {
    "5 mm out of the arch": ("14", "mesial", (-4.8, 1.4), "stray-point"),
    "5 mm into the arch": ("26", "distal", (-4.9, 0.9), "stray-point"),
    "a lost decimal point": ("15", "distal", (4000.0, 0.0), "stray-point"),
    "50 mm away": ("21", "mesial", (30.0, 40.0), "stray-point"),
    "4 mm along the row": ("16", "mesial", (0.9, 3.9), "odd-width"),
}


@pytest.mark.parametrize(("iso", "end", "move", "code"), STRAYS.values(), ids=STRAYS)
def test_a_gross_outlier_is_named_and_does_not_pull(
    iso: str, end: str, move: tuple[float, float], code: str
) -> None:
    clean, _ = fitted(cast(slots=TO_SECOND_MOLAR, noise_mm=0.1, seed=4))
    marks = cast(slots=TO_SECOND_MOLAR, noise_mm=0.1, seed=4, moves={(iso, end): move})
    model, fit = fitted(marks)
    (found,) = (finding for finding in fit.findings if finding.code in ("stray-point", "odd-width"))
    assert found.code == code
    assert found.message.startswith(iso)
    assert end in found.message
    if code == "stray-point" and dist(move, (0, 0)) < 10:
        # The upper right's outside is at smaller x, so is the upper left's inside.
        assert ("facial" if iso < "20" else "lingual") in found.message
    (seen,) = (seen for seen in fit.seen if seen.tooth.iso == iso)
    assert seen.kept == (end != "mesial", end != "distal")
    assert all(all(other.kept) for other in fit.seen if other is not seen)
    # The width then comes from the other side alone: 0.06 to 0.15 mm at the worst tooth, measured.
    assert worst_tooth(model, clean, "upper", TO_SECOND_MOLAR) < 0.18


def test_least_squares_alone_would_be_pulled() -> None:
    # What the test above guards against: the same outlier, only 0.9 mm, stays in and counts.
    clean, _ = fitted(cast(slots=TO_SECOND_MOLAR))
    marks = cast(slots=TO_SECOND_MOLAR, moves={("14", "mesial"): (-0.86, 0.25)})
    model, fit = fitted(marks)
    assert "stray-point" not in codes(fit)
    assert worst_tooth(model, clean, "upper", TO_SECOND_MOLAR) > 0.05


@pytest.mark.parametrize(("noise_mm", "seed"), [(0.1, 1), (0.4, 3), (0.4, 7)])
def test_the_limit_for_strays_follows_the_scatter(noise_mm: float, seed: int) -> None:
    # More than 1 mm and more than 3 robust SD off: 1.4826 times the median for a normal spread.
    moves = {("26", "mesial"): (1.3, 0.0)}
    marks = cast(slots=TO_SECOND_MOLAR, noise_mm=noise_mm, seed=seed, moves=moves)
    _, fit = fitted(marks)
    assert "odd-width" not in codes(fit)
    off = [abs(mm) for seen in fit.seen for mm in seen.off_mm]
    limit = max(1.0, 3 * 1.4826 * median(off))
    assert [kept for seen in fit.seen for kept in seen.kept] == [mm <= limit for mm in off]
    assert ("stray-point" in codes(fit)) == (seed != 3)
    assert (limit > 1.0) == (seed == 3)


def test_a_tooth_out_of_line_is_named_with_the_words_for_a_case() -> None:
    moves = {("13", end): (-1.6, 1.2) for end in ("mesial", "distal")}
    model, fit = fitted(cast(slots=TO_SECOND_MOLAR, moves=moves))
    (found,) = (finding for finding in fit.findings if finding.code == "stray-point")
    assert "say so in each case: 2.0 mm facial." in found.advice
    assert found.actions == (Action(Choice.WITH, "13 facial 2.0"),)
    known = curved("adult-mean")
    assert worst_tooth(model, known, "upper", TO_SECOND_MOLAR) < 1e-6


# Gaps, spaces, other rows


def test_a_space_becomes_part_of_the_model() -> None:
    # Everything behind the canines 1.2 mm further along the row, both sides.
    known = curved("age-6")
    model, fit = fitted(cast("age-6", "upper"), "age-6")
    spaces = {space.after: space for space in model.upper.spaces}
    assert spaces["B"].mm == pytest.approx(1.4, abs=1e-6)
    assert {space.source for space in spaces.values()} == {"measured"}
    assert worst_tooth(model, known, "upper", known.upper.row) < 1e-3  # 4.2e-4 as measured
    assert "crowding" not in codes(fit)


def bare(model: ArchModel) -> ArchModel:
    """Without the usual spaces of its lower jaw."""
    return msgspec.structs.replace(model, lower=msgspec.structs.replace(model.lower, spaces=()))


def test_a_space_that_the_base_does_not_know_is_found() -> None:
    known = curved("age-8")
    origin = Origin(bare(known), DAY, "iso")
    fit = fit_landmarks(cast("age-8", "lower"), False, origin)
    (space,) = fit.table.spaces
    assert (space.after, space.flag) == ("C", "measured")
    assert space.mm == pytest.approx(1.0, abs=1e-6)
    model = own_model("own", origin, [fit])
    assert worst_tooth(model, known, "lower", known.lower.row) < 1e-6


def test_a_space_of_the_base_that_is_not_there_is_left_out(tmp_path: Path) -> None:
    known = bare(curved("age-8"))
    marks = cast(written(tmp_path, write_model(known)), "lower")
    model, fit = fitted(marks, "age-8")
    assert model.lower.spaces == ()
    assert codes(fit) == []
    assert worst_tooth(model, known, "lower", known.lower.row) < 1e-6


def test_without_a_front_tooth_the_other_side_says_where_the_row_begins() -> None:
    known = curved("adult-large")
    model, fit = fitted(cast("adult-large", without=["11"]))
    assert codes(fit) == []
    assert worst_tooth(model, known, "upper", TO_SECOND_MOLAR) < 1e-6


def test_a_tooth_that_is_large_on_both_sides_is_believed() -> None:
    # 14 and 24 at 8.6 mm, 4 SD over the mean, by both points, along the row.
    moves = {}
    for mark in cast(slots="4"):
        (x1, y1), (x2, y2) = mark.mesial, mark.distal
        share = (8.6 / mark.width_mm - 1) / 2
        moves[mark.tooth.iso, "mesial"] = (share * (x1 - x2), share * (y1 - y2))
        moves[mark.tooth.iso, "distal"] = (share * (x2 - x1), share * (y2 - y1))
    model, fit = fitted(cast(slots=TO_SECOND_MOLAR, moves=moves))
    assert "odd-width" not in codes(fit)
    (found,) = (finding for finding in fit.findings if finding.code == "unusual-measure")
    assert found.message.startswith("Width of 14, 24 8.60 mm")
    # On one side only, it is not.
    one = {key: move for key, move in moves.items() if key[0] == "14"}
    _, fit = fitted(cast(slots=TO_SECOND_MOLAR, moves=one))
    assert "odd-width" in codes(fit)
    rows = {row.tooth: row.mm for row in model.upper.mesiodistal}
    assert rows["4"] == pytest.approx(8.6, abs=1e-6)


def test_a_point_is_as_far_off_as_the_nearest_of_the_curve() -> None:
    model, fit = fitted(cast(slots=TO_SECOND_MOLAR, noise_mm=0.3, seed=6))
    curve = model.upper.curve
    assert isinstance(curve, SixthOrder)
    for seen in fit.seen:
        for (x, y), off in zip(seen.points, seen.off_mm, strict=True):
            nearest = minimize_scalar(
                lambda at, x=x, y=y: (at - x) ** 2 + (curve.depth(at) - y) ** 2,
                bounds=(x - 2, x + 2),
                method="bounded",
                options={"xatol": 1e-9},
            )
            assert abs(off) == pytest.approx(float(nearest.fun) ** 0.5, abs=1e-6)


def test_touching_points_share_what_lies_between_them() -> None:
    # A contact 0.3 mm apart on both sides: the row is as long as the points say.
    marks = cast(slots=TO_SECOND_MOLAR)
    apart = [
        replace(
            m,
            mesial=CastPoint(
                m.mesial[0] * 0.97 + m.distal[0] * 0.03,
                m.mesial[1] * 0.97 + m.distal[1] * 0.03,
            ),
        )
        if m.tooth.slot == "6"
        else m
        for m in marks
    ]
    model, _ = fitted(apart)
    known = curved("adult-mean")
    rows = {row.tooth: row.mm for row in model.upper.mesiodistal}
    # 0.03 of 10.665 is 0.32, and half of it goes to each neighbour.
    assert rows["6"] == pytest.approx(10.665 * 0.985, abs=2e-3)
    assert rows["5"] == pytest.approx(6.72 + 10.665 * 0.015, abs=2e-3)
    assert worst_tooth(model, known, "upper", "7") < 0.01


def test_crowding_is_named_and_not_shared() -> None:
    moves = {("41", end): (-1.2, 0.0) for end in ("mesial", "distal")}
    model, fit = fitted(cast(jaw="lower", slots=TO_SECOND_MOLAR, moves=moves))
    (found,) = (finding for finding in fit.findings if finding.code == "crowding")
    # Pushed 1.2 mm across; along the line of the two centres, as laid and moved, that is less.
    arch = build_arch(curved("adult-mean"), "lower")
    (x1, y1), (x2, y2) = (arch.place(Tooth(4, p)).centre for p in (1, 2))
    along = 1.2 * abs(x2 - (x1 - 1.2)) / dist((x1 - 1.2, y1), (x2, y2))
    assert along < 1.05
    assert f"Neighbours overlap, mm: 41 and 42 {along:.1f}." in found.message
    rows = {row.tooth: row.mm for row in model.lower.mesiodistal}
    assert (rows["1"], rows["2"]) == pytest.approx((5.335, 5.865), abs=1e-6)


def test_a_gap_at_the_midline_is_said() -> None:
    marks = cast(slots=TO_SECOND_MOLAR)
    apart = [
        Landmark(
            m.tooth,
            CastPoint(m.mesial[0] + side, m.mesial[1]),
            CastPoint(m.distal[0] + side, m.distal[1]),
        )
        for m in marks
        for side in [1.0 if m.tooth.side == "left" else -1.0]
    ]
    _, fit = fitted(apart)
    (found,) = (finding for finding in fit.findings if finding.code == "midline-gap")
    assert "11 and 21 stand 2.0 mm apart at the midline" in found.message


def test_a_closed_gap_is_named_with_the_words_for_a_case() -> None:
    # 25 gone, and 26 and 27 moved forward by 4 mm, along their own straight line.
    moves = {(iso, end): (-0.7, 3.94) for iso in ("26", "27") for end in ("mesial", "distal")}
    _, fit = fitted(cast(slots=TO_SECOND_MOLAR, moves=moves, without=["25"]))
    (found,) = (finding for finding in fit.findings if finding.code == "gap-differs")
    assert (
        "25 not among the landmarks: 2.7 mm from 24 to 26, where the model has 6.7" in found.message
    )
    assert found.advice == "If it is missing, give the gap in each case."
    assert found.actions == (Action(Choice.WITH, "25 missing gap 2.7"),)
    (off,) = (finding for finding in fit.findings if finding.code == "off-place")
    assert "26 4." in off.message


def test_a_tooth_that_was_not_seen_keeps_the_width_of_the_base() -> None:
    model, fit = fitted(cast("adult-large", slots="134567"))
    rows = {row.tooth: row for row in model.upper.mesiodistal}
    base = {row.tooth: row for row in curved("adult-mean").upper.mesiodistal}
    assert rows["2"] == base["2"]
    assert rows["8"] == base["8"]
    assert rows["1"].flag == "measured"
    assert "tooth 12, 22" not in [figure.what for figure in fit.figures]


def test_the_row_follows_the_teeth_that_were_seen() -> None:
    # An 8-year-old's cast on the base for adults: primary teeth in three places, and said so.
    model, fit = fitted(cast("age-8", "upper"))
    assert model.upper.row == ("1", "2", "C", "D", "E", "6", "7", "8")
    assert model.upper.solve_from == ("C", "6")
    assert "row-differs" in codes(fit)
    arch, known = build_arch(model, "upper"), build_arch(curved("age-8"), "upper")
    for slot in ("C", "E", "6"):
        assert width(arch, slot) == pytest.approx(width(known, slot), abs=0.3)


def test_sides_that_hold_different_teeth_keep_the_row_of_the_base() -> None:
    primary, permanent = cast("age-8", "upper"), cast("age-10", "upper")
    mixed = [m for m in primary if m.tooth.side == "right" or not m.tooth.primary]
    mixed += [m for m in permanent if m.tooth.iso == "24"]
    model, _ = fitted(sorted(mixed, key=lambda m: m.tooth.along), "age-8")
    assert model.upper.row == curved("age-8").upper.row


# Rows of the result


def test_measured_rows_say_so() -> None:
    model, fit = fitted(cast(slots=TO_SECOND_MOLAR))
    assert model.sources["measured"] == f"measured, {DAY}, date given by the user"
    rows = {row.tooth: row for row in model.upper.mesiodistal}
    for slot in TO_SECOND_MOLAR:
        row = next(row for row in rows.values() if row.tooth == slot)
        assert (row.source, row.flag) == ("measured", "measured")
    for slot in ("3", "6"):
        centre = model.upper.centre_width(slot)
        assert (centre.source, centre.flag, centre.note) == ("measured", "D", "as the curve has it")
        assert centre.mm == pytest.approx(width(build_arch(model, "upper"), slot), abs=1e-9)
    assert fit.figures[0].what == "13-23, centres"
    assert fit.figures[0].fitted_mm == pytest.approx(31.75, abs=1e-6)
    assert fit.figures[2].fitted_mm == pytest.approx(30.339, abs=1e-3)


def test_a_picture_out_of_scale_is_doubted_or_refused() -> None:
    def scaled(by: float) -> list[Landmark]:
        return [
            Landmark(
                m.tooth,
                CastPoint(by * m.mesial[0], by * m.mesial[1]),
                CastPoint(by * m.distal[0], by * m.distal[1]),
            )
            for m in cast(slots=TO_SECOND_MOLAR)
        ]

    assert "unusual-scale" not in codes(fitted(scaled(1.1))[1])
    assert "unusual-scale" in codes(fitted(scaled(1.15))[1])
    assert "unusual-scale" in codes(fitted(scaled(0.85))[1])
    for by in (0.5, 10.0):
        problem = refusal(scaled(by))
        assert f"{by:.2f} times as wide as those of adult-mean; limits 0.7 to 1.4" in problem


# Refusals


def exchanged(landmarks: Sequence[Landmark], one: str, other: str) -> list[Landmark]:
    names = {one: other, other: one}
    return [
        replace(m, tooth=Tooth(int(names[m.tooth.iso][0]), int(names[m.tooth.iso][1])))
        if m.tooth.iso in names
        else m
        for m in landmarks
    ]


def only(*isos: str) -> list[Landmark]:
    return [mark for mark in cast() if mark.tooth.iso in isos]


REFUSALS: dict[str, tuple[Callable[[], Sequence[Landmark]], str]] = {
    "five teeth": (
        lambda: only("13", "14", "16", "23", "26"),
        "landmarks: 5 teeth (3 right, 2 left); at least 6 teeth are needed, 2 on each side",
    ),
    "one side": (
        lambda: only("11", "12", "13", "14", "15", "16", "17", "21"),
        "8 teeth (7 right, 1 left)",
    ),
    "no canine": (
        lambda: only("11", "12", "13", "16", "21", "25", "26"),
        "none near the left canine",
    ),
    "no molar": (lambda: only("11", "13", "14", "21", "23", "24"), "landmarks: no molar"),
    "two teeth in one place": (
        lambda: [
            *only("11", "13", "16", "21", "23", "26"),
            replace(only("13")[0], tooth=Tooth(1, 4)),
        ],
        "stand in one place",
    ),
    "names exchanged": (
        lambda: exchanged(cast(), "14", "15"),
        "teeth 14 and 15 lie along the arch in the other order",
    ),
    "ends exchanged": (
        lambda: [
            Landmark(m.tooth, m.distal, m.mesial) if m.tooth.iso == "16" else m for m in cast()
        ],
        "tooth 16: its distal point lies nearer to the midline than its mesial one",
    ),
    "a third of the points off": (
        lambda: cast(
            moves={
                (iso, end): (-4.0 if iso < "20" else 4.0, 0.0)
                for iso in ("14", "15", "16", "24", "25")
                for end in ("mesial", "distal")
            }
        ),
        "10 of 32 points do not belong (over",
    ),
    "none": (list, "landmarks: none"),
}


@pytest.mark.parametrize(("marks", "problem"), REFUSALS.values(), ids=REFUSALS)
def test_landmarks_that_tell_no_arch_are_refused(
    marks: Callable[[], Sequence[Landmark]], problem: str
) -> None:
    assert problem in refusal(marks())


def test_molars_of_one_side_are_enough_and_it_is_said() -> None:
    model, fit = fitted(only("11", "12", "13", "14", "21", "22", "23", "24", "25", "26"))
    (found,) = (finding for finding in fit.findings if finding.code == "one-sided-molars")
    assert found.message.startswith("No molar on the right")
    assert worst_tooth(model, curved("adult-mean"), "upper", TO_SECOND_MOLAR) < 1e-6


@given(st.data())
@settings(max_examples=20, derandomize=True, deadline=None)
def test_any_numbers_end_in_a_fit_or_a_refusal(data: st.DataObject) -> None:
    number = st.floats(-40, 40).map(lambda value: round(value, 2))
    point = st.builds(CastPoint, number, number)
    marks = list(cast(jaw=data.draw(st.sampled_from(JAWS)), noise_mm=0.3, seed=1))
    for at in data.draw(st.sets(st.integers(0, 15), max_size=6)):
        moved = Landmark(marks[at].tooth, data.draw(point), data.draw(point))
        marks[at] = moved if moved.mesial != moved.distal else marks[at]
    try:
        fit = fitted(marks)[1]
    except InputError as error:
        lines = error.problems
    else:
        lines = tuple(finding.line for finding in fit.findings)
        assert len(fit.seen) == 16
    assert not any("\n" in line for line in lines)


# The command


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path


def test_the_command_prints_each_tooth_and_writes_the_model(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for jaw in JAWS:
        moves = {("14", "mesial"): (-4.8, 1.4)}
        marks = cast(jaw=jaw, slots=TO_SECOND_MOLAR, noise_mm=0.1, seed=4, moves=moves)
        (folder / f"{jaw}.csv").write_text(as_csv(marks, ";", ","), "utf-8")
    command = ["arch", "fit", "--date", DAY, "-o", "own.toml"]
    assert run([*command, "--landmarks", "lower.csv", "--landmarks", "upper.csv"]) == 0
    captured = capsys.readouterr()
    table = captured.out[captured.out.index("  tooth  width  mesial") :].splitlines()
    stray = next(line for line in table if line.startswith("  14 "))
    assert stray.split()[2].endswith("*")
    assert float(stray.split()[2].rstrip("*")) == pytest.approx(5, abs=0.5)
    assert [line.split()[0] for line in table[1:15]] == [
        *(f"1{p}" for p in range(7, 0, -1)),
        *(f"2{p}" for p in range(1, 8)),
    ]
    assert table[15] == "  * does not belong and was left out"
    assert "warning: 14 left out: mesial point" in captured.err
    assert captured.err.endswith("wrote own.toml\n")
    model = load_model("own.toml")
    known = curved("adult-mean")
    for jaw in JAWS:
        assert worst_tooth(model, known, jaw, TO_SECOND_MOLAR) < 0.4  # 0.25 as measured
    assert run(["overlay", "46", "--arch", "own.toml"]) == 0


def test_the_shipped_landmarks_can_be_tried(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shipped = ROOT / "examples" / "landmarks.csv"
    command = ["arch", "fit", "--date", DAY, "--landmarks", str(shipped), "-o", "own.toml"]
    assert run(command) == 0
    assert capsys.readouterr().err == "wrote own.toml\n"
    assert load_model("own.toml").name == "own"


@pytest.mark.parametrize(
    ("more", "problem"),
    [
        (["--landmarks", "copy.csv"], "copy.csv: the upper jaw was measured already"),
        (["--measure", "16 10"], "upper.csv: the upper jaw was measured already"),
        (["--jaw", "lower"], "upper.csv: teeth of the upper jaw, but --jaw lower"),
    ],
)
def test_a_jaw_is_measured_in_one_way(
    folder: Path, capsys: pytest.CaptureFixture[str], more: list[str], problem: str
) -> None:
    for name in ("upper.csv", "copy.csv"):
        (folder / name).write_text(as_csv(cast()), "utf-8")
    command = ["arch", "fit", "--date", DAY, "-o", "own.toml", "--landmarks", "upper.csv"]
    assert run([*command, *more]) == 2
    captured = capsys.readouterr()
    assert problem in captured.err
    assert captured.err.count("\n") == 1
    assert not (folder / "own.toml").exists()
