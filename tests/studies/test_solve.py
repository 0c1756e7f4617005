"""Equilibria against closed forms, an ordinary differential equation and the laws of statics."""

from __future__ import annotations

import numpy as np
import pytest

from sheetmark.base.findings import NoAnswerError
from sheetmark.base.frames import SheetPoint
from sheetmark.studies.membrane import solve
from sheetmark.studies.membrane.contact import Columns
from sheetmark.studies.membrane.energy import TRACE, Floats, energy
from sheetmark.studies.membrane.mesh import Opening
from sheetmark.studies.membrane.solve import Equilibrium, Problem, SolveError, equilibrium
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


def test_a_stiffer_trace_helps_when_the_short_way_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    _, _, usual = tent()
    runs = []
    original = solve._Newton.run

    def run(self: solve._Newton, positions: Floats, trace: float) -> Equilibrium:
        found = original(self, positions, trace)
        runs.append(trace)
        if len(runs) <= 2:  # the short way
            return Equilibrium(
                positions=positions,
                gradient=found.gradient,
                energy=0.0,
                iterations=0,
                residual=1.0,
                free_nodes=0,
            )
        return found

    monkeypatch.setattr(solve._Newton, "run", run)
    _, _, found = tent()
    assert runs[2:] == [*solve.STIFFER[1], TRACE]
    assert np.abs(found.positions - usual.positions).max() < 1e-3
