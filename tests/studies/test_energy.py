"""The membrane's energy against closed forms and finite differences."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sheetmark.studies.membrane.contact import Columns, contact
from sheetmark.studies.membrane.energy import (
    SLACK,
    TAUT,
    TRACE,
    WRINKLED,
    Floats,
    Triangles,
    energy,
    energy_forces_tangent,
    respond,
    triangles,
)
from tests.helpers.membrane_sheets import forces

SEEDS = st.integers(0, 2**32 - 1)


def diagonal(*stretches: tuple[float, float]) -> Floats:
    return np.array([np.diag([first**2, other**2]) for first, other in stretches])


def test_the_energy_of_a_taut_sheet_is_the_neo_hookean_one() -> None:
    for first, other in ((1.2, 1.1), (3.0, 0.9), (6.0, 2.0)):
        answer = respond(diagonal((first, other)))
        expected = (first**2 + other**2 + 1 / (first * other) ** 2 - 3) / 2
        assert answer.state[0] == TAUT
        assert answer.density[0] == pytest.approx(expected, rel=1e-13)


def test_simple_and_even_tension_follow_the_closed_forms() -> None:
    """Force per first area: l - l^-2 in simple tension, l - l^-5 in even tension (Treloar, from
    memory; derivable)."""
    for stretch in (1.05, 1.5, 3.0, 6.0):
        simple = respond(diagonal((stretch, 0.3)))
        assert simple.state[0] == WRINKLED
        assert stretch * simple.stress[0, 0, 0] == pytest.approx(stretch - stretch**-2, rel=1e-12)
        assert np.abs(simple.stress[0, 1]).max() < 1e-12
        even = respond(diagonal((stretch, stretch)))
        for i in (0, 1):
            nominal = stretch * even.stress[0, i, i]
            assert nominal == pytest.approx(stretch - stretch**-5, rel=1e-12)


def test_a_sheet_shorter_both_ways_is_slack() -> None:
    answer = respond(diagonal((0.99, 0.5), (0.2, 0.99)))
    assert list(answer.state) == [SLACK, SLACK]
    assert not answer.density.any()
    assert not answer.stress.any()


@pytest.mark.parametrize("stretch", [1.001, 1.5, 4.0])
def test_energy_and_stress_are_continuous_where_wrinkles_begin(stretch: float) -> None:
    border = stretch**-0.5
    inside, outside = (respond(diagonal((stretch, border + d))) for d in (1e-9, -1e-9))
    assert (inside.state[0], outside.state[0]) == (TAUT, WRINKLED)
    assert inside.density[0] == pytest.approx(outside.density[0], abs=1e-12)
    assert np.abs(inside.stress - outside.stress).max() < 1e-7


def random_triangle(seed: int) -> tuple[Triangles, Floats]:
    """A triangle of a fair shape, and any place of its corners in space."""
    random = np.random.default_rng(seed)
    turn = random.uniform(0, 2 * np.pi)
    angles = turn + np.array([0.0, 2.1, 4.2]) + random.uniform(-0.5, 0.5, 3)
    rest = np.stack([np.cos(angles), np.sin(angles)], axis=1) * random.uniform(0.5, 2.0)
    sheet = triangles(rest, np.array([[0, 1, 2]]))
    assert sheet.area[0] > 0.05
    return sheet, random.normal(size=(3, 3)) * random.choice([0.3, 1.0, 3.0])


def test_random_triangles_reach_all_three_states() -> None:
    states = {int(sheet.respond(at).state[0]) for sheet, at in map(random_triangle, range(60))}
    assert states == {SLACK, WRINKLED, TAUT}


@given(SEEDS)
@settings(max_examples=60, derandomize=True, deadline=None)
def test_the_gradient_is_that_of_the_energy(seed: int) -> None:
    sheet, at = random_triangle(seed)
    gradient = forces(sheet, at)
    step, numeric = 1e-6, np.zeros((3, 3))
    for node in range(3):
        for i in range(3):
            move = np.zeros((3, 3))
            move[node, i] = step
            numeric[node, i] = (energy(sheet, at + move) - energy(sheet, at - move)) / (2 * step)
    assert np.abs(numeric - gradient).max() <= 1e-6 * max(1.0, np.abs(gradient).max())


@given(SEEDS)
@settings(max_examples=60, derandomize=True, deadline=None)
def test_the_tangent_is_that_of_the_gradient_and_never_negative(seed: int) -> None:
    sheet, at = random_triangle(seed)
    value, _, blocks = energy_forces_tangent(sheet, at)
    assert value == energy(sheet, at)
    state = sheet.respond(at).state[0]
    step, numeric = 1e-6, np.zeros((9, 9))
    for i in range(9):
        move = np.zeros(9)
        move[i] = step
        ahead, behind = (at + s * move.reshape(3, 3) for s in (1, -1))
        if {sheet.respond(x).state[0] for x in (ahead, behind)} != {state}:
            return  # the tangent jumps where wrinkles begin
        numeric[:, i] = (forces(sheet, ahead) - forces(sheet, behind)).ravel() / (2 * step)
    scale = max(1.0, float(np.abs(blocks).max()))
    assert np.abs(numeric - blocks[0]).max() <= 1e-5 * scale
    assert np.linalg.eigvalsh(blocks[0]).min() >= -1e-10 * scale


@given(SEEDS)
@settings(max_examples=60, derandomize=True, deadline=None)
def test_the_energy_is_convex_in_the_positions(seed: int) -> None:
    """The reason why Newton finds the one answer; see the module."""
    sheet, triangle = random_triangle(seed)
    other = np.random.default_rng(seed + 1).normal(size=(3, 3)) * 2
    middle = energy(sheet, (triangle + other) / 2)
    assert middle <= (energy(sheet, triangle) + energy(sheet, other)) / 2 + 1e-12


def test_the_trace_is_a_thousandth_of_the_modulus_and_nothing_at_rest() -> None:
    sheet, _ = random_triangle(1)
    turn = np.random.default_rng(1).normal(size=(3, 2))
    flat = np.column_stack([turn, np.zeros(3)])
    at_rest = np.zeros((3, 3))  # corners that give F = identity
    at_rest[:, :2] = np.linalg.pinv(sheet.gradient[0]).T
    assert sheet.deformation(at_rest)[0] == pytest.approx(np.eye(3)[:, :2], abs=1e-12)
    assert energy(sheet, at_rest) == pytest.approx(0.0, abs=1e-12)
    assert TRACE == 1e-3
    difference = energy(sheet, flat, 1e-2) - energy(sheet, flat, 0.0)
    strain = sheet.deformation(flat)[0] - np.eye(3)[:, :2]
    assert difference == pytest.approx(sheet.area[0] * 5e-3 * np.sum(strain**2), rel=1e-9)


def columns() -> Columns:
    turn, _ = np.linalg.qr(np.random.default_rng(2).normal(size=(3, 3)))
    axes = np.stack([turn, np.eye(3)])
    return Columns(np.array([[0.0, 0, 0], [3, 1, 0]]), axes, np.array([[4.0, 5, 7], [3, 3.5, 6]]))


def test_contact_forces_are_those_of_its_energy() -> None:
    solid, random = columns(), np.random.default_rng(3)
    at, area = random.normal(size=(200, 3)) * 3, random.uniform(0.1, 1.0, 200)
    here = contact(solid, at, area)
    assert (np.abs(here.gradient).max(axis=1) > 0.1).sum() > 50
    step = 1e-6
    for i in range(3):
        move = np.zeros(3)
        move[i] = step
        for node in range(0, 200, 10):
            own = at[node : node + 1]
            values = [contact(solid, own + s * move, area[node : node + 1]) for s in (1, -1)]
            slope = (values[0].energy - values[1].energy) / (2 * step)
            assert slope == pytest.approx(here.gradient[node, i], abs=1e-5)
        ahead, behind = (contact(solid, at + s * move, area).gradient for s in (1, -1))
        assert np.abs((ahead - behind) / (2 * step) - here.exact[:, :, i]).max() < 1e-4
    assert np.linalg.eigvalsh(here.exact).min() < -0.1
    assert np.linalg.eigvalsh(here.safe).min() > -1e-9
    each = [contact(solid, at[i : i + 1], area[i : i + 1]).energy for i in range(200)]
    assert here.energy == pytest.approx(sum(each), rel=1e-12)


def test_nothing_outside_a_column_is_touched() -> None:
    solid = Columns(np.zeros((1, 3)), np.eye(3)[None], np.array([[4.0, 5.0, 7.0]]))
    outside = np.array([[4.01, 0, 0], [0, 5.01, -90], [0, 0, 7.01], [3.9, 3.9, 1]])
    inside = np.array([[3.99, 0, 0], [0, 4.99, -90], [0, 0, 6.99], [2.0, 2.0, 1]])
    unit = np.ones(1)
    assert all(contact(solid, at[None], unit).energy == 0 for at in outside)
    assert all(contact(solid, at[None], unit).energy > 0 for at in inside)
    slim = solid.slimmed(0.5, 0.25)
    assert contact(slim, np.array([[1.99, 0, -1]]), unit).energy > 0
    assert contact(slim, np.array([[2.01, 0, -1], [0, 0, 1.76]]), np.ones(2)).energy == 0
