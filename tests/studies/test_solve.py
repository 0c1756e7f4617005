"""Equilibria against closed forms, an ordinary differential equation and the laws of statics."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.sparse import csc_matrix

from sheetmark.base.findings import NoAnswerError
from sheetmark.base.frames import SheetPoint
from sheetmark.studies.membrane import solve
from sheetmark.studies.membrane.contact import Columns
from sheetmark.studies.membrane.energy import Floats, energy
from sheetmark.studies.membrane.matrix import Pattern, factor
from sheetmark.studies.membrane.mesh import Opening
from sheetmark.studies.membrane.solve import (
    Equilibrium,
    Problem,
    SolveError,
    equilibria,
    equilibrium,
)
from sheetmark.studies.membrane.step import step_within
from tests.helpers.membrane_sheets import (
    forces,
    on_edge,
    rectangle,
    ring_by_equation,
    stretched_ring,
)

HOLES = (Opening((SheetPoint(-9.0, 3.0),), 1.5, 16), Opening((SheetPoint(8.0, -4.0),), 1.0, 14))
TURN, _ = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))


@pytest.mark.parametrize(
    "deformation",
    [
        np.array([[1.4, 0.2], [-0.1, 1.3], [0.3, 0.5]]),
        np.array([[3.0, 0.0], [0.0, 1.1], [0.0, 0.0]]),
        2.0 * TURN[:, :2] + 0.1 * TURN[:, 1:],
    ],
    ids=["sheared in space", "stretched", "turned"],
)
def test_a_patch_under_an_even_stretch_keeps_it(deformation: Floats) -> None:
    mesh, sheet = rectangle(*HOLES)
    goal = mesh.rest @ deformation.T
    edge = on_edge(mesh, 0, 1) | on_edge(mesh, 0, -1) | on_edge(mesh, 1, 1) | on_edge(mesh, 1, -1)
    edge[np.concatenate(mesh.rims)] = True
    assert 50 < edge.sum() < len(edge) - 50
    random = np.random.default_rng(6)
    start = goal + np.where(edge[:, None], 0.0, random.normal(size=goal.shape) * 0.3)
    held = np.repeat(edge[:, None], 3, axis=1)
    found = equilibrium(Problem(sheet, held), goal, start)
    assert np.abs(found.positions - goal).max() < 1e-8


def pulled(stretch: float, *, sides_held: bool) -> tuple[Equilibrium, Floats]:
    """A rectangle pulled along x, its ends free to draw in; or along both."""
    mesh, sheet = rectangle()
    held = np.zeros((len(mesh.rest), 3), dtype=bool)
    ends = on_edge(mesh, 0, 1) | on_edge(mesh, 0, -1)
    held[ends, 0] = True
    if sides_held:
        held[on_edge(mesh, 1, 1) | on_edge(mesh, 1, -1), 1] = True
    else:
        held[on_edge(mesh, 1, -1), 1] = True
    held[:, 2] = True
    goal = np.column_stack([stretch * mesh.rest, np.zeros(len(mesh.rest))])
    if not sides_held:
        goal[:, 1] = mesh.rest[:, 1]
    found = equilibrium(Problem(sheet, held), goal)
    return found, found.gradient[on_edge(mesh, 0, 1), 0]


@pytest.mark.parametrize("stretch", [1.1, 2.0, 5.0])
def test_a_sheet_in_simple_tension_follows_the_closed_form(stretch: float) -> None:
    found, end = pulled(stretch, sides_held=False)
    assert end.sum() / 40.0 == pytest.approx(stretch - stretch**-2, rel=0.005)
    width = np.ptp(found.positions[:, 1])
    assert width == pytest.approx(40.0 * stretch**-0.5, rel=0.005)


@pytest.mark.parametrize("stretch", [1.1, 2.0, 5.0])
def test_a_sheet_in_even_tension_follows_the_closed_form(stretch: float) -> None:
    _, end = pulled(stretch, sides_held=True)
    assert end.sum() / 40.0 == pytest.approx(stretch - stretch**-5, rel=0.005)


@pytest.mark.parametrize(
    ("outer_stretch", "rim_stretch"), [(1.5, None), (3.0, None), (2.5, 4.0), (3.3, 6.0)]
)
def test_a_ring_follows_the_equation_and_more_triangles_follow_it_better(
    outer_stretch: float, rim_stretch: float | None
) -> None:
    """Rivlin & Thomas 1951, Phil Trans R Soc A 243:289: rim free, and carried outwards."""
    expected = np.array(ring_by_equation(1.0, 8.0, outer_stretch, rim_stretch))
    errors = [
        np.abs(stretched_ring(outer_stretch, rim_stretch, around) / expected - 1).max()
        for around in (12, 24, 48)
    ]
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 0.02


def tent() -> tuple[Problem, Floats, Equilibrium]:
    """A sheet held at its edge, its hole lifted and drawn over a column."""
    mesh, sheet = rectangle(HOLES[0])
    held = np.zeros((len(mesh.rest), 3), dtype=bool)
    for axis in (0, 1):
        held[on_edge(mesh, axis, 1) | on_edge(mesh, axis, -1)] = True
    (rim,) = mesh.rims
    held[rim] = True
    goal = np.column_stack([1.05 * mesh.rest, np.zeros(len(mesh.rest))])
    middle = np.array([-9.0, 3.0])
    goal[rim, :2] = middle + 3.0 * (mesh.rest[rim] - middle)
    goal[rim, 2] = -15.0
    columns = Columns(np.array([[-9.0, 3.0, -15.0]]), np.eye(3)[None], np.array([[4.5, 4.5, 7.0]]))
    problem = Problem(sheet, held, columns)
    return problem, goal, equilibrium(problem, goal)


def test_forces_balance_at_every_free_node_and_as_a_whole() -> None:
    problem, goal, found = tent()
    assert found.residual <= 1e-8
    assert np.array_equal(found.positions[problem.held], goal[problem.held])
    scale = np.abs(found.gradient).max()
    assert np.abs(found.gradient.sum(axis=0)).max() < 1e-6 * scale
    # What a column pushes back is all that is left at free nodes.
    free = np.linalg.norm(found.gradient, axis=1) * ~problem.held.all(axis=1)
    assert problem.columns is not None
    local = found.positions - problem.columns.centre[0]
    outside = np.hypot(*local[:, :2].T) > 4.5001
    assert free[outside].max() < 1e-6 * scale
    assert free[~outside].max() > 1e-3 * scale


def test_the_sheet_stays_out_of_the_column_by_hundredths_of_its_size() -> None:
    problem, _, found = tent()
    assert problem.columns is not None
    local = found.positions - problem.columns.centre[0]
    low = local[:, 2] < 3.0
    assert np.hypot(*local[low, :2].T).min() > 4.5 * 0.95
    bare = equilibrium(Problem(problem.sheet, problem.held), found.positions)
    local = bare.positions - problem.columns.centre[0]
    low = local[:, 2] < 3.0
    assert np.hypot(*local[low, :2].T).min() < 4.5 * 0.95, "the column is what holds it out"


def test_no_other_place_has_less_energy() -> None:
    problem, _, found = tent()
    free = ~problem.held
    random = np.random.default_rng(8)
    bare = Problem(problem.sheet, problem.held)
    lowest = equilibrium(bare, found.positions)
    for size in (1e-3, 0.1, 1.0):
        moved = lowest.positions + free * random.normal(size=free.shape) * size
        assert energy(problem.sheet, moved) > lowest.energy
    assert np.abs(forces(problem.sheet, lowest.positions)[free]).max() < 1e-6


def test_a_sheet_that_nothing_holds_is_refused() -> None:
    mesh, sheet = rectangle()
    held = np.zeros((len(mesh.rest), 3), dtype=bool)
    held[:, 2] = True
    with pytest.raises(SolveError, match="held nowhere"):
        equilibrium(Problem(sheet, held), np.zeros((len(mesh.rest), 3)))


def test_newton_that_does_not_arrive_says_how_far_it_came(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solve, "MOST_ITERATIONS", 1)
    with pytest.raises(NoAnswerError, match=r"no equilibrium in \d+ steps: .* out of balance by"):
        tent()


def test_a_bad_start_is_left_for_the_paths(monkeypatch: pytest.MonkeyPatch) -> None:
    problem, goal, usual = tent()
    original, runs = solve._solved, list[Problem]()

    def runs_short(problem: Problem, plan: Pattern, positions: Floats) -> Equilibrium:
        runs.append(problem)
        found = original(problem, plan, positions)
        return replace(found, residual=1.0) if len(runs) == 1 else found

    monkeypatch.setattr(solve, "_solved", runs_short)
    found = equilibrium(problem, goal, usual.positions)
    assert len(runs) == 1 + 2 * len(solve.PATHS) + 1
    assert np.abs(found.positions - usual.positions).max() < 1e-3


def test_of_the_ends_of_two_paths_that_with_less_energy_is_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem, goal, usual = tent()
    energies = iter((2.0, 1.0, 1.015, 1.0, 1.005, 1.0, 1.00001, 1.0))

    def along(*_: object) -> Equilibrium:
        return replace(usual, energy=next(energies))

    monkeypatch.setattr(solve, "_along", along)
    counts = [[end.energy for end in equilibria(problem, goal)] for _ in range(4)]
    assert counts == [[1.0], [1.0], [1.0, 1.005], [1.0]]


def test_without_teeth_there_is_one_path(monkeypatch: pytest.MonkeyPatch) -> None:
    problem, goal, _ = tent()
    taken, original = [], solve._along

    def along(path: tuple[float, float], *rest: Any) -> Equilibrium:
        taken.append(path)
        return original(path, *rest)

    monkeypatch.setattr(solve, "_along", along)
    equilibrium(Problem(problem.sheet, problem.held), goal)
    assert taken == [solve.PATHS[0]]


def bowl() -> tuple[Floats, csc_matrix, Floats]:
    """A positive definite matrix, and a gradient."""
    random = np.random.default_rng(11)
    half = random.normal(size=(8, 8))
    return half @ half.T + np.eye(8), csc_matrix(half @ half.T + np.eye(8)), random.normal(size=8)


def test_a_step_that_may_go_far_is_newtons() -> None:
    dense, safe, slope = bowl()
    round_teeth = csc_matrix(dense - 0.3 * np.diag([1.0, 1, 0, 0, 0, 0, 0, 0]))
    step = step_within(1e9, slope, round_teeth, factor(safe), 1e-10)
    newton = np.linalg.solve(round_teeth.toarray(), -slope)
    assert step.by == pytest.approx(newton, abs=1e-8)
    assert not step.cut
    assert step.length == pytest.approx(np.sqrt(newton @ dense @ newton), rel=1e-9)
    fall = -(slope @ newton + newton @ round_teeth @ newton / 2)
    assert step.fall == pytest.approx(fall, rel=1e-9)


def test_a_step_ends_at_its_reach_and_follows_the_way_down() -> None:
    dense, safe, slope = bowl()
    saddle = csc_matrix(dense - 60.0 * np.diag([1.0, 0, 0, 0, 0, 0, 0, 0]))
    assert np.linalg.eigvalsh(saddle.toarray()).min() < -1
    for reach in (0.01, 1.0, 30.0):
        step = step_within(reach, slope, saddle, factor(safe), 1e-10)
        assert step.cut
        assert np.sqrt(step.by @ dense @ step.by) == pytest.approx(reach, rel=1e-9)
        fall = -(slope @ step.by + step.by @ saddle @ step.by / 2)
        assert step.fall == pytest.approx(fall, rel=1e-9)
        assert fall > 0
    # The safe matrix alone would promise no more than this.
    assert step.fall > slope @ np.linalg.solve(dense, slope)
