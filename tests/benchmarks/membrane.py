"""The membrane's speed as ratios from one run, and how its answers settle with the mesh.

    python -m tests.benchmarks.membrane
    python -m tests.benchmarks.membrane ring growth

Without names all is run: assembly, searches, lbfgs, ring, growth. Times are processor seconds, so
that other work on the machine disturbs them less.
"""

from __future__ import annotations

import sys
from math import log
from time import process_time

import numpy as np
from scipy.optimize import minimize

from sheetmark.anatomy.teeth import Tooth
from sheetmark.case.case import Case
from sheetmark.plan.make import make_plan
from sheetmark.studies.membrane.contact import contact
from sheetmark.studies.membrane.energy import Floats, energy_forces_tangent, triangles
from sheetmark.studies.membrane.frame import Rubber, frame_for
from sheetmark.studies.membrane.laid import Density, lay
from sheetmark.studies.membrane.placement import best_placement
from sheetmark.studies.membrane.scene import columns_of, scene_of, teeth_of
from sheetmark.studies.membrane.solve import TOLERANCE, Equilibrium, Problem, equilibrium, harmonic
from sheetmark.studies.membrane.strain import measure
from sheetmark.studies.membrane.stretched import first_guesses, settled
from tests.helpers.membrane_sheets import ring_by_equation, stretched_ring

PLAN = make_plan(Case(treat=(Tooth(1, 6),)))
SCENE = scene_of(PLAN, frame_for(PLAN.sheet))
# About 1,000, 3,000, 10,000 and 30,000 free nodes.
DENSITIES = (
    Density(hole_sides=14, hook_sides=10, coarsest_mm=8.5),
    Density(hole_sides=27, hook_sides=15, coarsest_mm=4.5),
    Density(hole_sides=52, hook_sides=24, coarsest_mm=2.6),
    Density(hole_sides=96, hook_sides=40, coarsest_mm=1.5),
)


def growth() -> None:
    """How time and answers go with the number of nodes, each mesh started from a coarse one."""
    print(
        "| free nodes | steps | time grows as | unevenness | largest pull, N | rim of 17 | of 16 |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- |", flush=True)
    last: tuple[int, float] | None = None
    # The second is what `sheetmark strain` takes.
    for density in (DENSITIES[0], Density(), *DENSITIES[1:]):
        start = process_time()
        first_guesses.cache_clear()
        found = settled(lay(SCENE, PLAN.shift_mm, density))
        seconds = process_time() - start
        strain = measure(found, teeth_of(PLAN), Rubber())
        nodes = strain.free_nodes
        power = f"n^{log(seconds / last[1]) / log(nodes / last[0]):.2f}" if last else ""
        pull = max(pull.newton for pull in strain.pull)
        print(
            f"| {nodes} | {found.found.iterations} | {power} | {strain.evenness:.4f} | "
            f"{pull:.3f} | {strain.rim_stretch['17']:.2f} | {strain.rim_stretch['16']:.2f} |",
            flush=True,
        )
        last = (nodes, seconds)


def against_lbfgs(most_seconds: float) -> None:
    """One solve from the same first guess by Newton and by SciPy's L-BFGS-B."""
    laid = lay(SCENE, PLAN.shift_mm, DENSITIES[1])
    sheet = triangles(laid.mesh.rest, laid.mesh.corners)
    columns = columns_of(SCENE)
    problem = Problem(sheet, laid.held, columns)
    start = process_time()
    newton = equilibrium(problem, laid.goal)
    newton_seconds = process_time() - start
    print(f"Newton: {newton.free_nodes} free nodes, {newton.iterations} steps, residual "
          f"{newton.residual:.1e}, {newton_seconds:.2f} s")  # fmt: skip
    free = ~laid.held
    thirds = np.repeat(sheet.area / 3, 3)
    area: Floats = np.bincount(
        sheet.corners.ravel(), weights=thirds, minlength=len(laid.held)
    ).astype(np.float64)
    first = harmonic(sheet, laid.held, laid.goal)
    holding = float(np.linalg.norm(newton.gradient[laid.held.all(axis=1)], axis=1).mean())

    def value(flat: Floats) -> tuple[float, Floats]:
        at = first.copy()
        at[free] = flat
        total, gradient, _ = _without_tangent(at)
        pushed = contact(columns, at, area)
        return total + pushed.energy, (gradient + pushed.gradient)[free]

    def _without_tangent(at: Floats) -> tuple[float, Floats, None]:
        from sheetmark.studies.membrane.energy import energy
        from tests.helpers.membrane_sheets import forces

        return energy(sheet, at), forces(sheet, at), None

    begun = process_time()
    best = [np.inf, 0.0]

    class OutOfTime(Exception):  # noqa: N818
        pass

    def watch(flat: Floats) -> None:
        if process_time() - begun > most_seconds:
            raise OutOfTime

    def watched(flat: Floats) -> tuple[float, Floats]:
        total, slope = value(flat)
        residual = float(np.abs(slope).max()) / holding
        if residual < best[0]:
            best[:] = [residual, process_time() - begun]
        return total, slope

    try:
        minimize(
            watched, first[free], jac=True, method="L-BFGS-B", callback=watch,
            options={"maxiter": 10**6, "maxfun": 10**7, "maxcor": 20, "ftol": 0.0,
                     "gtol": TOLERANCE * holding},
        )  # fmt: skip
        seconds = process_time() - begun
        ended = "ended"
    except OutOfTime:
        seconds, ended = process_time() - begun, "was stopped"
    print(f"L-BFGS-B {ended} after {seconds:.1f} s at residual {best[0]:.1e}: "
          f"{seconds / newton_seconds:.0f} times Newton's time")  # fmt: skip
    rough = _seconds_to(problem, laid.goal, max(best[0], TOLERANCE))
    print(f"Newton to that residual: {rough:.2f} s, ratio {best[1] / rough:.0f}")


def _seconds_to(problem: Problem, goal: Floats, tolerance: float) -> float:
    from msgspec.structs import replace

    start = process_time()
    found: Equilibrium = equilibrium(replace(problem, tolerance=tolerance), goal)
    assert found.residual <= tolerance
    return process_time() - start


def searches() -> None:
    """Solves and time that the best placement takes."""
    for tooth, procedure in ((16, "restoration"), (11, "restoration"), (46, "full-arch")):
        case = Case(treat=(Tooth(*divmod(tooth, 10)),), procedure=procedure)  # type: ignore[arg-type]
        start = process_time()
        best = best_placement(make_plan(case))
        print(f"best placement {tooth} {procedure}: {best.solves} solves, "
              f"{process_time() - start:.1f} s")  # fmt: skip


def assembly() -> None:
    """What one assembly costs beside one Newton step."""
    laid = lay(SCENE, PLAN.shift_mm, DENSITIES[1])
    sheet = triangles(laid.mesh.rest, laid.mesh.corners)
    at = harmonic(sheet, laid.held, laid.goal)
    start = process_time()
    for _ in range(10):
        energy_forces_tangent(sheet, at)
    print(f"energy, forces and tangent of {len(sheet.area)} triangles: "
          f"{(process_time() - start) / 10 * 1000:.0f} ms")  # fmt: skip


def ring() -> None:
    """A ring drawn out at its rim and its edge against the equation of Rivlin & Thomas 1951."""
    print("| points round | outer stretch | rim | rim's stretch off by % | force off by % |")
    print("| --- | --- | --- | --- | --- |", flush=True)
    for outer_stretch, rim_stretch in ((3.0, None), (3.3, 6.0)):
        expected = np.array(ring_by_equation(1.0, 8.0, outer_stretch, rim_stretch))
        for around in (12, 24, 48, 96):
            found = stretched_ring(outer_stretch, rim_stretch, around)
            rim, force = 100 * np.abs(found / expected - 1)
            cells = (
                f"{around} | {outer_stretch} | {rim_stretch or 'free'} | {rim:.2f} | {force:.2f}"
            )
            print(f"| {cells} |", flush=True)


def lbfgs() -> None:
    """Stopped after five minutes."""
    against_lbfgs(300.0)


PARTS = {
    "assembly": assembly,
    "searches": searches,
    "lbfgs": lbfgs,
    "ring": ring,
    "growth": growth,
}

if __name__ == "__main__":
    for part in sys.argv[1:] or PARTS:
        PARTS[part]()
