"""Where each hole and the sheet's middle go.

All distances of the rules are assumptions, those of a gumline lesion Sturdevant's (from memory).
Expected figures are worked out here: from the tooth centres that the plan states, by search
among the points where a limit could bind.
"""

from __future__ import annotations

from itertools import combinations, pairwise
from math import atan2, degrees, dist, hypot, inf, nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import load_model, model_for_age
from sheetmark.anatomy.jaw import build_arch
from sheetmark.base.findings import InputError
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from sheetmark.practice.rules import PlacementRules
from sheetmark.practice.settings import Sheet
from tests.helpers.cases import (
    MODELS,
    Setup,
    chart,
    codes,
    few,
    finding,
    json_of,
    mirror,
    plan_of,
    setups,
)

Point = tuple[float, float]

INWARDS = 10.0
UPPER_EDGE = (15.0, 30.0)  # above the upper incisal line, adult
NOSTRILS = 24.0  # above it, adult
LOWER_EDGE = 85.0  # below it, adult
SIDE_EDGE = 45.0  # from the midline
HOLE_TO_EDGE = 20.0
REFUSED = 15.0
ROUNDING = 2e-9  # the JSON holds lengths to 1e-9


def incisal_line(model: str) -> float:
    return build_arch(load_model(model), "upper").incisal_y_mm


def share(model: str, age: int | None = None) -> float:
    """A child's face as a share of an adult's: 0.80 at 6 years, 1 at 16."""
    ages = load_model(model).ages
    usual = 40.0 if ages is None else sum(ages) / 2
    years = usual if age is None else age + 0.5
    return min(1.0, 0.80 + 0.02 * (years - 6))


def face(model: str, age: int | None = None) -> list[tuple[float, float]]:
    """From and to of the sheet's upper edge, of its nostrils, and of its lower edge, mm above the
    upper incisal line, in the order in which they give way, the last one first."""
    size = share(model, age)
    return [
        (size * UPPER_EDGE[0], size * UPPER_EDGE[1]),
        (-inf, -size * LOWER_EDGE),
        (-inf, size * NOSTRILS),
    ]


def holes(plan: dict[str, Any]) -> dict[str, Point]:
    """Hole centres in the sheet frame."""
    return {hole["tooth"]: (hole["x_mm"], hole["y_mm"]) for hole in plan["holes"]}


def holes_in_mouth(plan: dict[str, Any]) -> dict[str, Point]:
    shift_x, shift_y = plan["sheet"]["shift_mm"]
    return {iso: (x + shift_x, y + shift_y) for iso, (x, y) in holes(plan).items()}


def row_in_mouth(setup: Setup) -> list[Point]:
    """Hole centres in the mouth frame, unrounded."""
    plan = setup.plan()
    return [plus(planned.centre_mm, plan.shift_mm) for planned in plan.holes]


def centres(plan: dict[str, Any]) -> dict[str, Point]:
    return {iso: (x, y) for iso, (x, y) in plan["arch"]["centres_mm"].items()}


def middle(points: list[Point]) -> Point:
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))


def minus(first: Point, other: Point) -> Point:
    return (first[0] - other[0], first[1] - other[1])


def plus(first: Point, other: Point, times: float = 1.0) -> Point:
    return (first[0] + times * other[0], first[1] + times * other[1])


def unit(vector: Point) -> Point:
    return (vector[0] / hypot(*vector), vector[1] / hypot(*vector))


def angle(vector: Point) -> float:
    return degrees(atan2(vector[1], vector[0]))


def target(points: list[Point], along: Point, jaw: str) -> Point:
    """The middle of the holes and 10 mm inwards, at right angles to the row."""
    at = middle(points)
    across = unit((along[1], -along[0]))
    # A point that lies inside of every row: on the midline, in the other jaw's half.
    inside = minus((0.0, -15.0 if jaw == "upper" else 15.0), at)
    sign = 1 if across[0] * inside[0] + across[1] * inside[1] > 0 else -1
    return plus(at, across, sign * INWARDS)


def best(wanted: float, *limits: tuple[float, float]) -> float:
    """The coordinate that breaks the first limit least, then the next, then is nearest."""

    def excess(at: float, low: float, high: float) -> float:
        return round(max(low - at, at - high, 0.0), 9)

    ends = [end for low, high in limits for end in (low, high, (low + high) / 2) if abs(end) < inf]
    return min(
        [wanted, *ends], key=lambda at: (*(excess(at, *ends) for ends in limits), abs(at - wanted))
    )


def expected_shift(plan: dict[str, Any], along: Point, setup: Setup) -> Point:
    incisal = incisal_line(setup.model)
    upper, lower, nostrils = face(setup.model, setup.case.age)
    points, jaw = list(holes_in_mouth(plan).values()), plan["arch"]["jaw"]
    x, y = target(points, along, jaw)
    y = max(y, 0.0) if jaw == "upper" else min(y, 0.0)  # not into the other jaw's half
    quadrants = {tooth.iso[0] for tooth in setup.case.treat}
    if quadrants in ({"1"}, {"4"}):
        x = min(x, 0.0)
    elif len(quadrants) == 1:
        x = max(x, 0.0)
    half_w, half_h = plan["sheet"]["width_mm"] / 2, plan["sheet"]["height_mm"] / 2
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (
        best(
            x,
            (max(xs) + HOLE_TO_EDGE - half_w, min(xs) - HOLE_TO_EDGE + half_w),
            (SIDE_EDGE - half_w, half_w - SIDE_EDGE),
        ),
        best(
            y,
            (max(ys) + HOLE_TO_EDGE - half_h, min(ys) - HOLE_TO_EDGE + half_h),
            (incisal + upper[0] - half_h, incisal + upper[1] - half_h),
            (-inf, incisal + lower[1] + half_h),
            (-inf, incisal + nostrils[1] - half_h),
        ),
    )


# Where the teeth stand, there the holes are.


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("treat", ["16", "11", "36", "42"])
def test_holes_stand_where_the_teeth_stand(treat: str, model: str) -> None:
    plan = json_of(treat, model=model, procedure="full-arch")
    for iso, at in holes_in_mouth(plan).items():
        assert at == pytest.approx(centres(plan)[iso], abs=ROUNDING)


def test_a_gap_stays_a_gap() -> None:
    whole, gap = json_of("16"), json_of("16", missing="15")
    at, with_gap = holes_in_mouth(whole), holes_in_mouth(gap)
    assert "15" not in with_gap
    for iso in ("17", "16", "14"):
        assert with_gap[iso] == pytest.approx(at[iso], abs=ROUNDING)


# Ease.


@given(setups(), st.floats(0, 1))
@few
def test_ease_adds_its_amount_to_each_pitch_and_turns_none(setup: Setup, ease: float) -> None:
    if setup.case.procedure == "cervical":  # its facial move comes after, see below
        setup = replace(setup, case=replace(setup.case, procedure="crown"))
    usual, eased = (
        row_in_mouth(replace(setup, practice=replace(setup.practice, ease_mm=mm)))
        for mm in (0.0, ease)
    )
    for (a, b), (c, d) in zip(pairwise(usual), pairwise(eased), strict=True):
        assert dist(c, d) - dist(a, b) == pytest.approx(ease, abs=1e-9)
        assert unit(minus(d, c)) == pytest.approx(unit(minus(b, a)), abs=1e-9)
    assert middle(eased) == pytest.approx(middle(usual), abs=1e-9)


@pytest.mark.parametrize("treat", ["16", "11", "36", "41"])
def test_the_most_ease_is_allowed_with_a_warning(treat: str) -> None:
    usual, eased = (list(holes(json_of(treat, ease_mm=mm)).values()) for mm in (0.0, 5.0))
    for (a, b), (c, d) in zip(pairwise(usual), pairwise(eased), strict=True):
        assert dist(c, d) - dist(a, b) == pytest.approx(5, abs=2 * ROUNDING)
    assert finding(json_of(treat, ease_mm=5.0), "much-ease")["value"] == 5
    assert "much-ease" not in codes(json_of(treat, ease_mm=2.0))
    assert "much-ease" in codes(json_of(treat, ease_mm=2.01))


@pytest.mark.parametrize("ease", [-0.1, 5.01, nan, inf, -inf])
def test_any_other_ease_is_refused(ease: float) -> None:
    with pytest.raises(InputError, match=rf"^ease {ease:g} mm: must be 0 to 5 mm at each pitch"):
        json_of("16", ease_mm=ease)


# A gumline lesion: about 1 mm facial of the line, about 1 mm more to each neighbour.


@pytest.mark.parametrize("treat", ["15", "25", "11", "34", "43", "46"])
def test_a_lesion_has_more_room_and_then_moves_facially(treat: str) -> None:
    plan = json_of(treat, procedure="cervical")
    at, stand = holes(plan), centres(plan)
    row = plan["isolated"]
    i = row.index(treat)
    before, after = row[i - 1], row[i + 1]
    to_it, from_it = minus(stand[treat], stand[before]), minus(stand[after], stand[treat])
    # The neighbours: both pitches 1 mm longer, in the directions the teeth have.
    wider = plus(plus(to_it, unit(to_it)), plus(from_it, unit(from_it)))
    assert minus(at[after], at[before]) == pytest.approx(wider, abs=ROUNDING)
    # The lesion's hole: 1 mm from its place on that line, out of the mouth, square to the tooth.
    facial = minus(at[treat], plus(at[before], plus(to_it, unit(to_it))))
    assert hypot(*facial) == pytest.approx(1.0, abs=ROUNDING)
    chord = minus(stand[after], stand[before])
    assert abs(angle(facial) - angle(chord)) % 180 == pytest.approx(90, abs=8)
    inside = minus((0.0, 0.0), stand[treat])
    assert facial[0] * inside[0] + facial[1] * inside[1] < 0
    # All other pitches stay as the teeth stand.
    for first, other in pairwise(row):
        if treat not in (first, other):
            pitch = minus(stand[other], stand[first])
            assert minus(at[other], at[first]) == pytest.approx(pitch, abs=ROUNDING)


def test_a_lesion_at_the_end_of_a_row_has_one_neighbour() -> None:
    plan = json_of("47", procedure="cervical", expose="47,46")
    at, stand = holes(plan), centres(plan)
    pitch = dist(stand["46"], stand["47"])
    assert dist(at["46"], at["47"]) == pytest.approx(hypot(pitch + 1, 1), abs=0.15)


# The sheet's middle.


def test_17_on_a_usual_sheet_step_by_step() -> None:
    plan = json_of("17")
    row = [centres(plan)[iso] for iso in ("17", "16", "15")]
    x, y = (sum(point[i] for point in row) / 3 for i in (0, 1))
    dx, dy = minus(row[2], row[0])
    # Forward along the patient's right, the inside of the mouth is on the right hand.
    inwards = unit((dy, -dx))
    wanted = [x + 10 * inwards[0], y + 10 * inwards[1]]
    assert 10 < -wanted[0] < 20
    # Upwards the nostrils stop it: 24 mm above the incisal line, the edge 76 above the middle.
    nose = incisal_line("adult-mean") + NOSTRILS - 76
    assert wanted[1] > nose
    assert plan["sheet"]["shift_mm"] == pytest.approx([wanted[0], nose], abs=ROUNDING)


def test_16_on_a_usual_sheet_stops_where_the_nostrils_begin() -> None:
    plan = json_of("16")
    points = list(holes_in_mouth(plan).values())
    x, y = target(points, minus(points[-1], points[0]), "upper")
    assert y + 76 - incisal_line("adult-mean") > NOSTRILS
    wanted = [x, incisal_line("adult-mean") + NOSTRILS - 76]
    assert plan["sheet"]["shift_mm"] == pytest.approx(wanted, abs=ROUNDING)
    assert plan["sheet"]["fold_line_mm"] is None
    assert codes(plan) == []


# The nose, the upper lip and the lower edge, on the sheet as it is shifted.


def above_incisors(plan: dict[str, Any], model: str) -> tuple[float, float]:
    """How far the shifted sheet's upper and lower edge lie above the upper incisal line, mm."""
    y, half = plan["sheet"]["shift_mm"][1], plan["sheet"]["height_mm"] / 2
    return (y + half - incisal_line(model), y - half - incisal_line(model))


@pytest.mark.parametrize(
    ("treat", "sheet"),
    [
        *((iso, "152") for iso in ("17", "16", "14", "13", "11", "26", "36", "34", "33", "41")),
        # An adult's lower teeth are too far from the upper lip for a small sheet, see below.
        *((iso, "127") for iso in ("17", "16", "14", "13", "11", "26")),
    ],
)
def test_the_lip_is_covered_and_the_nose_free_in_every_usual_adult_case(
    treat: str, sheet: str
) -> None:
    plan = json_of(treat, sheet=sheet)
    upper, lower = above_incisors(plan, "adult-mean")
    assert UPPER_EDGE[0] - ROUNDING <= upper <= NOSTRILS + ROUNDING
    assert -lower >= LOWER_EDGE - ROUNDING
    assert plan["sheet"]["fold_line_mm"] is None


@given(setups())
@few
def test_a_sheet_over_the_nostrils_has_a_line_to_fold_it_along(setup: Setup) -> None:
    plan = setup.json()
    upper, _ = above_incisors(plan, setup.model)
    nostrils = NOSTRILS * share(setup.model, setup.case.age)
    line = plan["sheet"]["fold_line_mm"]
    assert (line is not None) == (upper > nostrils + 1e-8)
    if line is not None:
        # The same height over the incisors, counted from the sheet's own middle.
        on_sheet = incisal_line(setup.model) + nostrils - plan["sheet"]["shift_mm"][1]
        assert line == pytest.approx(on_sheet, abs=1e-8)
        assert "above-nostrils" in codes(plan)


def test_a_child_s_face_is_lower() -> None:
    # 152 mm sheets at 8 and at 40 years: the edge follows the nostrils down.
    child, adult = (json_of("16", model=model) for model in ("age-8", "adult-mean"))
    child_edge, adult_edge = (
        above_incisors(child, "age-8")[0],
        above_incisors(adult, "adult-mean")[0],
    )
    assert child_edge == pytest.approx(NOSTRILS * share("age-8"), abs=ROUNDING)
    assert child_edge < adult_edge - 3


AGES = range(3, 21)


def central_incisor(age: int, **fields: Any) -> Plan:
    iso = "11" if age >= 7 else "51"  # upper central incisors erupt at 7.5 on average
    model = model_for_age(age).name
    return plan_of(iso, age=age, model=model, procedure="root-canal", **fields)


@pytest.mark.parametrize("age", AGES)
def test_upper_incisors_lie_under_a_centred_sheet_alike_at_every_age(age: int) -> None:
    """Their holes about 25 below the upper edge of a 152 sheet (Sturdevant, from memory)."""
    assert central_incisor(age, shift=False).margins.upper_mm == pytest.approx(25, abs=4)


@pytest.mark.parametrize("age", AGES[1:])
@pytest.mark.parametrize("shift", [True, False])
def test_no_birthday_moves_the_mouth_under_the_sheet(age: int, shift: bool) -> None:
    """The mouth hangs on the first molars, so new second molars at 12 do not push it by 14 mm."""
    before, after = (central_incisor(years, shift=shift) for years in (age - 1, age))
    assert abs(after.margins.upper_mm - before.margins.upper_mm) < 2


@pytest.mark.parametrize(
    ("treat", "fields"),
    [
        ("11", {"procedure": "root-canal", "more": 2}),
        ("21", {"procedure": "root-canal", "more": 2}),
        ("11", {"missing": "12,13,14"}),
        ("41", {"expose": "41-35"}),
    ],
)
def test_a_front_row_that_reaches_further_on_the_other_side_has_its_middle_on_the_midline(
    treat: str, fields: dict[str, Any]
) -> None:
    """The sheet never moves away from the treated tooth."""
    plan = plan_of(treat, **fields)
    xs = [hole.centre_mm.x + plan.shift_mm.x for hole in plan.holes]
    assert (sum(xs) > 0) == (treat[0] in "14"), "most holes are on the other side"
    assert plan.shift_mm.x == 0


@pytest.mark.parametrize("sheet", ["127", "152"])
@pytest.mark.parametrize("place", range(1, 8))
def test_the_middle_may_move_on_the_treated_side_alone(place: int, sheet: str) -> None:
    """Both sides of the mouth, both jaws: to the midline, and as far as the limits let it."""
    half = {"127": 127 / 2, "152": 152 / 2}[sheet]
    for right, left in (("1", "2"), ("4", "3")):
        (low, high), up = plan_of(f"{right}{place}", sheet=sheet).range_mm
        assert high == 0
        assert low == pytest.approx(SIDE_EDGE - half)
        mirrored = plan_of(f"{left}{place}", sheet=sheet).range_mm
        assert mirrored[0] == pytest.approx((-high, -low))
        assert mirrored[1] == pytest.approx(up)


@pytest.mark.parametrize(
    ("treat", "fields"),
    [
        ("11", {"expose": "11-27"}),
        ("12", {"expose": "12-24"}),
        ("21", {"expose": "14-21"}),
        ("41", {"expose": "41-35"}),
        ("32", {"expose": "32-44"}),
        ("51", {"age": 5, "expose": "51-64"}),
    ],
)
def test_a_row_over_the_midline_lets_the_middle_no_further_than_its_treated_tooth(
    treat: str, fields: dict[str, Any]
) -> None:
    plan = plan_of(treat, **fields)
    low, high = plan.range_mm[0]
    assert low < high
    assert (high if treat[0] in "145" else low) == 0
    assert low <= plan.shift_mm.x <= high


def test_teeth_on_both_sides_let_the_middle_move_to_either() -> None:
    for treat in ("11,21", "13,23", "16,26", "41,31"):
        low, high = plan_of(treat).range_mm[0]
        assert low == pytest.approx(-high)
        assert high > 20


@pytest.mark.parametrize("jaw", ["12", "21", "43", "34"])
def test_a_full_arch_is_the_same_whichever_tooth_names_it(jaw: str) -> None:
    missing = ",".join(f"{jaw[0]}{place}" for place in (4, 5, 6))
    plans = [plan_of(f"{quadrant}1", procedure="full-arch", missing=missing) for quadrant in jaw]
    assert plans[0].shift_mm == plans[1].shift_mm
    assert plans[0].range_mm == plans[1].range_mm
    low, high = plans[0].range_mm[0]
    assert low < 0 < high


def test_limits_come_before_the_treated_side() -> None:
    """On a narrow sheet the holes' distance to its edge pushes the middle over the midline."""
    plan = plan_of("11", expose="11-27", sheet="80x152")
    low, high = plan.range_mm[0]
    assert low == high == plan.shift_mm.x > 0
    xs = [hole.centre_mm.x for hole in plan.holes]
    assert max(xs) == pytest.approx(40 - HOLE_TO_EDGE)


@pytest.mark.parametrize("treat", ["16", "14", "26", "37", "44"])
def test_more_teeth_in_front_never_move_the_middle_over_the_midline(treat: str) -> None:
    right = treat[0] in "14"
    xs = [plan_of(treat, more=more).shift_mm.x for more in range(16)]
    assert all((x < 0) == right for x in xs)
    assert all(abs(x) > 2 for x in xs)


def test_a_sheet_that_ends_too_high_below_the_mouth_says_so() -> None:
    plan = json_of("11", sheet="150x100")
    found = finding(plan, "lower-edge")
    _, lower = above_incisors(plan, "adult-mean")
    assert found["value"] == pytest.approx(LOWER_EDGE + lower, abs=1e-8)
    assert found["advice"] == "Take the next sheet size, 152 x 152 mm."


@pytest.mark.parametrize("iso", ["17", "14", "11", "23", "36", "33", "41"])
def test_a_single_hole_has_the_middle_10_mm_inside(iso: str) -> None:
    """At right angles to the tooth; its neighbours on the arch tell which way that is."""
    free = PlacementRules(
        upper_edge_above_incisal_mm=(-200.0, 200.0),
        nostrils_above_incisal_mm=200.0,
        lower_edge_below_incisal_mm=-200.0,
        side_edge_from_midline_mm=0.0,
        hole_to_edge_mm=15.0,
    )
    plan = json_of(iso, procedure="root-canal", rules=free)
    at, jaw = centres(plan), chart(iso)
    i = jaw.index(iso)
    chord = minus(at[jaw[i + 1]], at[jaw[i - 1]])
    shift_x, shift_y = plan["sheet"]["shift_mm"]
    to_middle = minus((shift_x, shift_y), at[iso])
    assert hypot(*to_middle) == pytest.approx(10, abs=ROUNDING)
    assert abs(angle(to_middle) - angle(chord)) % 180 == pytest.approx(90, abs=8)
    assert hypot(shift_x, shift_y) < hypot(*at[iso])


@given(setups())
@few
def test_the_middle_is_the_nearest_point_that_keeps_the_limits(setup: Setup) -> None:
    plan = setup.json()
    shift = plan["sheet"]["shift_mm"]
    if not setup.practice.shift:
        assert shift == [0.0, 0.0]
        return
    points = list(holes_in_mouth(plan).values())
    if len(points) > 1:
        along = minus(points[-1], points[0])
    else:
        facial = setup.plan().holes[0].facial
        along = (facial[1], -facial[0])
    wanted = expected_shift(plan, along, setup)
    assert shift == pytest.approx(wanted, abs=1e-6)


def test_no_shift_leaves_the_sheet_centred() -> None:
    for treat in ("16", "11", "36"):
        plan = json_of(treat, shift=False)
        assert plan["sheet"]["shift_mm"] == [0, 0]
        assert plan["settings"]["shift"] is False
        for iso, at in holes(plan).items():
            assert at == pytest.approx(centres(plan)[iso], abs=ROUNDING)


@given(setups())
@few
def test_the_middle_lies_in_the_working_quadrant(setup: Setup) -> None:
    plan = setup.json()
    x, y = plan["sheet"]["shift_mm"]
    low, high = setup.plan().range_mm[1]
    if plan["arch"]["jaw"] == "upper":
        assert y >= min(0, high) - ROUNDING  # a child's nostrils may hold a large sheet down
    else:
        assert y <= max(0, low) + ROUNDING  # an adult's upper lip a small one up
    treated = {tooth.iso[0] for tooth in setup.case.treat}
    if treated <= {"1", "4"}:
        assert x <= 0
    elif treated <= {"2", "3"}:
        assert x >= 0


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("sheet", ["127", "152"])
@pytest.mark.parametrize(
    ("treat", "fields"),
    [
        ("11", {}),
        ("41", {}),
        ("16", {"procedure": "full-arch"}),
        ("46", {"procedure": "full-arch"}),
        ("16,26", {}),
        ("31", {"expose": "43-33"}),
        ("11,21", {"procedure": "root-canal"}),
        ("13,23", {"procedure": "cervical"}),
        ("21", {"missing": "12,22"}),
        ("38", {"expose": "48,38", "present": "38,48"}),
    ],
)
def test_a_symmetrical_row_has_the_middle_on_the_midline(
    treat: str, fields: dict[str, Any], sheet: str, model: str
) -> None:
    plan = json_of(treat, sheet=sheet, model=model, **fields)
    assert plan["isolated"] == [mirror(iso) for iso in reversed(plan["isolated"])]
    assert plan["sheet"]["shift_mm"][0] == pytest.approx(0, abs=1e-9)


@given(setups())
@few
def test_a_mirrored_case_gives_the_mirrored_plan(setup: Setup) -> None:
    plan, other = setup.plan(), setup.mirrored().plan()
    assert other.shift_mm == pytest.approx((-plan.shift_mm[0], plan.shift_mm[1]), abs=1e-9)
    for here, there in zip(plan.holes, reversed(other.holes), strict=True):
        x, y = here.centre_mm
        assert there.centre_mm == pytest.approx((-x, y), abs=1e-9)
        assert there.hole == here.hole
    reported = {f["code"]: f["value"] for f in plan_json(plan)["findings"] if f["field"] == "sheet"}
    assert reported == {
        f["code"]: pytest.approx(f["value"], abs=1e-8)
        for f in plan_json(other)["findings"]
        if f["field"] == "sheet"
    }


@given(setups())
@few
def test_shifting_never_changes_the_distance_between_two_holes(setup: Setup) -> None:
    plans = [
        replace(
            setup, practice=replace(setup.practice, sheet=Sheet(size, size), shift=shift)
        ).plan()
        for size, shift in ((127.0, True), (152.0, True), (152.0, False))
    ]
    first, *others = ([planned.centre_mm for planned in plan.holes] for plan in plans)
    for other in others:
        for i, j in combinations(range(len(first)), 2):
            assert dist(other[i], other[j]) == pytest.approx(dist(first[i], first[j]), abs=1e-9)


# The limits, and what is said when they give way.


@given(setups())
@few
def test_every_hole_is_well_inside_and_the_dots_are_near_the_upper_edge(setup: Setup) -> None:
    plan = setup.json()
    half_w, half_h = plan["sheet"]["width_mm"] / 2, plan["sheet"]["height_mm"] / 2
    for x, y in holes(plan).values():
        assert min(half_w - abs(x), half_h - abs(y)) >= REFUSED - ROUNDING
    (left, y), (right, other_y) = plan["orientation_marks_mm"]
    assert y == other_y
    assert half_h - y == 10
    assert right == -left == 12
    assert plan["centre_mark_mm"] == [0, 0]


@given(setups())
@few
def test_the_limits_hold_or_a_finding_says_by_how_much_they_do_not(setup: Setup) -> None:
    plan = setup.json()
    half_w, half_h = plan["sheet"]["width_mm"] / 2, plan["sheet"]["height_mm"] / 2
    shift_x, shift_y = plan["sheet"]["shift_mm"]
    at = holes(plan).values()
    margins = {
        "left": min(x for x, _ in at) + half_w,
        "right": half_w - max(x for x, _ in at),
        "lower": min(y for _, y in at) + half_h,
        "upper": half_h - max(y for _, y in at),
    }
    assert plan["sheet"]["margins_mm"] == pytest.approx(margins, abs=ROUNDING)
    above = shift_y + half_h - incisal_line(setup.model)
    upper, lower, nostrils = face(setup.model, setup.case.age)
    missed = {
        "hole-to-edge": HOLE_TO_EDGE - min(margins.values()),
        "side-edge": SIDE_EDGE - (half_w - abs(shift_x)),
        "upper-edge": max(upper[0] - above, above - upper[1]),
        "lower-edge": above - 2 * half_h - lower[1],
        "above-nostrils": above - nostrils[1],
    }
    reported = {f["code"]: f for f in plan["findings"] if f["code"] in missed}
    assert set(reported) == {code for code, mm in missed.items() if mm > 1e-8}
    for code, found in reported.items():
        assert found["value"] == pytest.approx(missed[code], abs=1e-8)
        assert f"off by {missed[code]:.1f} mm" in found["message"]
        assert found["severity"] == "warning"


@pytest.mark.parametrize("model", MODELS)
def test_a_lower_front_on_a_small_sheet_gives_up_the_upper_edge_first(model: str) -> None:
    plan = json_of("31", sheet="127", model=model)
    assert codes(plan) == ["upper-edge"]
    assert plan["sheet"]["margins_mm"]["lower"] == pytest.approx(HOLE_TO_EDGE, abs=ROUNDING)
    # The distance kept below the lowest hole fixes the sheet; the upper edge then is too low by:
    lowest = min(y for iso, (_, y) in centres(plan).items() if iso in plan["isolated"])
    missed = incisal_line(model) + UPPER_EDGE[0] - (lowest - HOLE_TO_EDGE + 127)
    found = finding(plan, "upper-edge")
    assert found["value"] == pytest.approx(missed, abs=1e-8)
    assert found["message"] == (
        f"The upper edge is not 15 to 30 mm above the upper incisors: off by {missed:.1f} mm."
    )
    assert found["advice"] == "Take the next sheet size, 152 x 152 mm."
    assert codes(json_of("31", sheet="152", model=model)) == []


@pytest.mark.parametrize(("treat", "end", "edge"), [("16", "17", "left"), ("26", "27", "right")])
def test_a_narrow_sheet_gives_up_its_side_edges_before_the_30_mm(
    treat: str, end: str, edge: str
) -> None:
    plan = json_of(treat, sheet="90x152")
    assert codes(plan) == ["side-edge"]
    assert plan["sheet"]["margins_mm"][edge] == pytest.approx(HOLE_TO_EDGE, abs=ROUNDING)
    # The distance kept beside the last tooth fixes the sheet, 90 wide; its other edge is off by:
    missed = 45 - (90 - HOLE_TO_EDGE - abs(centres(plan)[end][0]))
    found = finding(plan, "side-edge")
    assert found["value"] == pytest.approx(missed, abs=1e-8)
    assert found["message"] == (
        f"A side edge is nearer than 45 mm to the midline: off by {missed:.1f} mm."
    )


def test_the_holes_distance_gives_way_last_and_alike_on_both_sides() -> None:
    plan = json_of("11", expose="15-25", sheet="80x152")
    assert codes(plan) == ["hole-to-edge", "side-edge"]
    margins = plan["sheet"]["margins_mm"]
    missed = HOLE_TO_EDGE - (40 - centres(plan)["25"][0])
    assert margins["left"] == pytest.approx(HOLE_TO_EDGE - missed, abs=ROUNDING)
    assert margins["right"] == pytest.approx(HOLE_TO_EDGE - missed, abs=ROUNDING)
    found = finding(plan, "hole-to-edge")
    assert found["message"] == (f"A hole is nearer than 20 mm to an edge: off by {missed:.1f} mm.")


@pytest.mark.parametrize("sheet", ["87x80", "92x80"])
def test_of_two_directions_the_worse_one_is_named(sheet: str) -> None:
    fields = {"present": "18,28", "expose": "18-28"}
    plan = json_of("11", sheet=sheet, **fields)
    row = centres(json_of("11", **fields))
    width, height = (float(side) for side in sheet.split("x"))
    across = HOLE_TO_EDGE - (width / 2 - row["28"][0])
    down = HOLE_TO_EDGE - (height - (row["11"][1] - row["18"][1])) / 2
    assert min(across, down) > 0
    assert finding(plan, "hole-to-edge")["value"] == pytest.approx(max(across, down), abs=1e-8)


@pytest.mark.parametrize(
    ("sheet", "advice"),
    [
        ("80", "Take the next sheet size, 127 x 127 mm."),
        ("85x127", "Take the next sheet size, 127 x 127 mm."),
        ("85x140", "Take the next sheet size, 152 x 152 mm."),
        ("89x152", "Take the next sheet size, 152 x 152 mm."),
        (
            "89x153",
            "No larger standard sheet exists; expose fewer teeth or cut a larger sheet.",
        ),
    ],
)
def test_the_next_sheet_is_one_that_holds_this_one(sheet: str, advice: str) -> None:
    assert finding(json_of("16", sheet=sheet), "side-edge")["advice"] == advice


def test_a_centred_sheet_has_no_larger_one_to_name() -> None:
    plan = json_of("31", shift=False, sheet="153x130")
    lowest = min(y for iso, (_, y) in centres(plan).items() if iso in plan["isolated"])
    found = finding(plan, "hole-to-edge")
    assert found["value"] == pytest.approx(HOLE_TO_EDGE - (65 + lowest), abs=1e-8)
    assert found["advice"].startswith("No larger standard sheet exists")


def test_less_than_15_mm_to_an_edge_is_refused() -> None:
    fields = {"present": "48,38", "expose": "48-38"}
    stand = centres(json_of("48", **fields))
    margin = 80 / 2 - stand["38"][0]
    assert 10 < margin < 15
    with pytest.raises(InputError) as caught:
        json_of("48", sheet="80", **fields)
    assert caught.value.problems == (
        f"sheet 80 x 80: a hole would be {margin:.1f} mm from its edge, less than 15 mm; "
        f"take the next sheet size, 127 x 127 mm",
    )


def test_15_mm_themselves_are_allowed() -> None:
    lowest = min(y for _, y in centres(json_of("31")).values())
    edge = 2 * (15 - lowest)
    plan = json_of("31", shift=False, sheet=f"120x{edge + 1e-6:.9f}")
    assert plan["sheet"]["margins_mm"]["lower"] == pytest.approx(15, abs=1e-5)
    assert finding(plan, "hole-to-edge")["value"] == pytest.approx(HOLE_TO_EDGE - 15, abs=1e-5)
    with pytest.raises(InputError, match=r"a hole would be 15\.0 mm from its edge, less than 15"):
        json_of("31", shift=False, sheet=f"120x{edge - 1e-6:.9f}")
