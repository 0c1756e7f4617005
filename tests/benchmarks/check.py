"""How well made photographs are measured, and whether spoiled ones are refused by their reason:

    python -m tests.benchmarks.check --photographs 120 --spoiled 60

Writes `examples/guide/checking-figures.md`. Every photograph comes from its number as a seed.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache
from math import hypot
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.teeth import read
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case
from sheetmark.checking.drawn import mark_page
from sheetmark.checking.exercise import Exercise, ExercisePage
from sheetmark.checking.judge import judge
from sheetmark.checking.layout import check_layout
from sheetmark.checking.look import see_sheet
from sheetmark.checking.photo import read_photo
from sheetmark.checking.refusal import RefusedError
from sheetmark.checking.wanted import wanted_of
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from sheetmark.practice.settings import STANDARD_SHEETS, Practice
from tests.helpers.check_scenes import Hole, holes_of, scene_of
from tests.helpers.drawn_pages import IGNORE, cross_at, digit_at, drawn_scene, ring_at
from tests.helpers.photographs import RUBBERS, Camera, Light, Scene, photograph

FILE = Path(__file__).parents[2] / "examples" / "guide" / "checking-figures.md"
TEETH = ("16", "11", "26", "36", "46", "31", "14", "45")
NEAR_MM = 1.5
COLOURS = tuple(RUBBERS)


class Trial(Struct, frozen=True):
    """One photograph: its conditions, and how far off each place and size was measured."""

    number: int
    scene: Scene
    errors: tuple[float, ...]
    within: int
    """Places inside the uncertainty that the check gave."""
    sizes: Counter[str]
    missed: int
    false: int
    refused: str


@cache
def plan_for(tooth: str, small: bool) -> Plan:
    sheet = STANDARD_SHEETS[0] if small else STANDARD_SHEETS[1]
    return make_plan(Case(treat=(read(tooth, "iso"),)), practice=Practice(sheet=sheet))


def drawn(number: int) -> tuple[Plan, Scene, tuple[Hole, ...]]:
    """A plan, a photograph of its sheet, and the holes as punched."""
    rng = np.random.default_rng(number)
    plan = plan_for(str(rng.choice(TEETH)), bool(rng.random() < 0.3))
    holes = tuple((x + rng.normal(0, 0.7), y + rng.normal(0, 0.7), d) for x, y, d in holes_of(plan))
    camera = Camera(
        tilt_deg=float(rng.uniform(0, 17)),
        from_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.choice([0, 90, 180, 270]) + rng.normal(0, 6)),
        height_mm=float(rng.uniform(290, 400)),
        focal_35=float(rng.uniform(24, 28)),
        k1=float(rng.uniform(-0.08, 0.08)),
        k2=float(rng.uniform(-0.01, 0.01)),
        megapixels=float(rng.choice([2.0, 2.0, 3.0, 4.0])),
        aim_mm=(float(rng.normal(0, 6)), float(rng.normal(0, 6))),
        exif=bool(rng.random() < 0.7),
    )
    light = Light(
        slope=float(rng.uniform(0, 0.35)),
        slope_deg=float(rng.uniform(0, 360)),
        shadow=float(rng.choice([0.0, rng.uniform(0.1, 0.5)])),
        shadow_soft_mm=float(rng.uniform(3, 30)),
        shadow_at_mm=float(rng.uniform(-60, 60)),
        shadow_deg=float(rng.uniform(0, 360)),
        blur_px=float(rng.uniform(0.5, 1.4)),
        noise=float(rng.uniform(0.003, 0.014)),
        quality=int(rng.integers(78, 96)),
        glare=int(rng.integers(0, 4)),
    )
    scene = scene_of(
        plan,
        paper="a4" if rng.random() < 0.6 else "letter",
        camera=camera,
        light=light,
        holes=holes,
        colour=COLOURS[number % len(COLOURS)],
        opacity=float(rng.uniform(0.85, 1.0)),
        shift_mm=(float(rng.normal(0, 0.7)), float(rng.normal(0, 0.7))),
        turn_deg=float(rng.normal(0, 0.6)),
        specks=int(rng.integers(0, 12)),
    )
    return plan, replace(scene, seed=number), holes


def tried(number: int, change: Callable[[Scene], Scene] = lambda scene: scene) -> Trial:
    """One photograph checked against what is known of it."""
    plan, scene, holes = drawn(number)
    scene = change(scene)
    wanted = wanted_of(plan)
    try:
        photo = read_photo(photograph(scene), "made.jpg")
        seen = see_sheet(photo, check_layout(plan.sheet))
        check = judge(seen.found, wanted, 2.0)
    except InputError as error:
        kind = error.kind if isinstance(error, RefusedError) else str(error)
        return Trial(number, scene, (), 0, Counter(), 0, 0, kind)
    truths, errors, within, used = list(holes), [], 0, set()
    sizes: Counter[str] = Counter()
    for x, y, diameter in truths:
        gaps = [hypot(o.at.x - x, o.at.y - y) for o in seen.found.openings]
        nearest = int(np.argmin(gaps)) if gaps else -1
        if nearest < 0 or gaps[nearest] > NEAR_MM or nearest in used:
            continue
        used.add(nearest)
        errors.append(gaps[nearest])
        known = next((h for h in check.holes if h.found is seen.found.openings[nearest]), None)
        if known is not None:
            within += gaps[nearest] <= known.uncertain_mm
            sizes[known.size or "missing"] += 1
            assert known.wanted.diameter_mm == diameter or known.size != "right"
    return Trial(
        number,
        scene,
        tuple(errors),
        within,
        sizes,
        len(truths) - len(used),
        len(seen.found.openings) - len(used),
        "",
    )


def _covered(scene: Scene, rng: np.random.Generator) -> Scene:
    """Five or six neighbouring marks under a hand."""
    assert scene.rubber is not None
    w, h = (side / 2 for side in scene.rubber.size_mm)
    ring = [
        (-w + 5, h + 10),
        (w - 5, h + 10),
        (w + 10, h - 5),
        (w + 10, 0.0),
        (w + 10, -h + 5),
        (w - 5, -h - 10),
        (0.0, -h - 10),
        (-w + 5, -h - 10),
        (-w - 10, -h + 5),
        (-w - 10, h - 5),
    ]
    start, count = int(rng.integers(0, 10)), int(rng.integers(5, 7))
    return replace(scene, covered_mm=tuple((*ring[(start + i) % 10], 11.0) for i in range(count)))


def _curled(scene: Scene, curl_mm: float) -> Scene:
    assert scene.rubber is not None
    return replace(scene, rubber=replace(scene.rubber, curl_mm=curl_mm))


SPOILERS: dict[str, Callable[[Scene, np.random.Generator], Scene]] = {
    "too-few-marks": _covered,
    "blur": lambda scene, rng: replace(
        scene,
        light=replace(
            scene.light,
            blur_px=float(rng.uniform(4.5, 9.0)) * (scene.camera.megapixels / 2) ** 0.5,
        ),
    ),
    "mirrored": lambda scene, _: replace(scene, camera=replace(scene.camera, mirrored=True)),
    "page-bent": lambda scene, rng: replace(scene, bend_mm=float(rng.uniform(12, 25))),
    "tilt": lambda scene, rng: replace(
        scene, camera=replace(scene.camera, tilt_deg=float(rng.uniform(22.5, 35)), exif=True)
    ),
    "no-sheet": lambda scene, _: replace(scene, rubber=None),
    "sheet-not-flat": lambda scene, rng: _curled(scene, float(rng.uniform(7, 15))),
    "other-page": lambda scene, _: scene,
}


def spoiled(number: int, kind: str) -> str:
    """The reason that is given for refusing a spoiled photograph; empty where it is not refused."""
    plan, scene, _ = drawn(10_000 + number)
    scene = SPOILERS[kind](scene, np.random.default_rng(20_000 + number))
    sheet = plan.sheet
    if kind == "other-page":
        sheet = next(other for other in STANDARD_SHEETS if other != plan.sheet)
    others = [check_layout(known) for known in STANDARD_SHEETS]
    try:
        see_sheet(read_photo(photograph(scene), "made.jpg"), check_layout(sheet), others)
    except RefusedError as error:
        return error.kind
    return ""


def percentile(values: Sequence[float], share: float) -> str:
    return f"{np.quantile(values, share):.3f}" if values else "–"


def row(name: str, trials: Sequence[Trial]) -> str:
    errors = [error for trial in trials for error in trial.errors]
    missed, false = sum(t.missed for t in trials), sum(t.false for t in trials)
    sizes = sum((t.sizes for t in trials), Counter[str]())
    decided = sizes.total() or 1
    return (
        f"| {name} | {len(trials)} | {sum(bool(t.refused) for t in trials)} | "
        f"{len(errors) + missed} | {missed} | {false} | {percentile(errors, 0.5)} | "
        f"{percentile(errors, 0.95)} | {percentile(errors, 1.0)} | "
        f"{100 * sum(t.within for t in trials) / max(len(errors), 1):.0f} | "
        f"{100 * sizes['right'] / decided:.0f} | {100 * sizes['wrong'] / decided:.0f} |"
    )


HEAD = (
    "| condition | photographs | refused | holes | missed | false | place error, half within mm | "
    "95 % within | worst | inside its own ± % | size right % | size wrong % |\n"
    "|---|---|---|---|---|---|---|---|---|---|---|---|"
)


def matrix(trials: Sequence[Trial]) -> list[str]:
    groups: dict[str, list[Trial]] = {"all": list(trials)}
    for trial in trials:
        scene = trial.scene
        assert scene.rubber is not None
        tilt = scene.camera.tilt_deg
        for name in (
            f"rubber {scene.rubber.colour}",
            "tilt below 6" if tilt < 6 else "tilt 6 to 12" if tilt < 12 else "tilt 12 to 17",
            f"{scene.camera.megapixels:g} megapixels",
            "shadow" if scene.light.shadow else "no shadow",
            "noise above 0.009" if scene.light.noise > 0.009 else "noise below 0.009",
            "blur above 1 pixel" if scene.light.blur_px > 1 else "blur below 1 pixel",
            f"sheet {scene.rubber.size_mm[0]:g}",
        ):
            groups.setdefault(name, []).append(trial)
    first, *rest = groups
    return [HEAD, *(row(name, groups[name]) for name in (first, *sorted(rest)))]


def drawn_crosses(count: int) -> list[str]:
    """Crosses of a hand on white paper, with digits and rings beside them."""
    errors: list[float] = []
    there = missed = false = other = 0
    for number in range(count):
        rng = np.random.default_rng(40_000 + number)
        _, scene, _ = drawn(number)
        plan = plan_for(str(rng.choice(TEETH)), small=False)
        page = ExercisePage(code=1, name="1", notation="iso", holes=wanted_of(plan).holes)
        exercise = Exercise(sheet=plan.sheet, pages=(page,), ignore_mm=IGNORE)
        truths, strokes = [], []
        for hole in page.holes:
            at = (hole.at.x + rng.normal(0, 1.0), hole.at.y + rng.normal(0, 1.0))
            truths.append(at)
            strokes += cross_at(*at, rng)
        for index in range(int(rng.integers(0, 6))):
            at = (float(rng.uniform(25, 65)), float(rng.uniform(-65, -20)))
            strokes += digit_at(*at) if index % 2 else ring_at(*at, float(rng.uniform(0.8, 2.0)))
        made = drawn_scene(exercise, 1, strokes, camera=scene.camera, light=scene.light)
        done = mark_page(read_photo(photograph(made), "made.jpg"), exercise)
        crosses = [mark.at for mark in done.drawn if mark.is_cross]
        other += sum(not mark.is_cross for mark in done.drawn)
        used = set()
        for x, y in truths:
            gaps = [hypot(at.x - x, at.y - y) for at in crosses]
            nearest = int(np.argmin(gaps)) if gaps else -1
            there += 1
            if nearest < 0 or gaps[nearest] > NEAR_MM or nearest in used:
                missed += 1
                print("cross missed", number, x, y, file=sys.stderr, flush=True)
                continue
            used.add(nearest)
            errors.append(gaps[nearest])
        false += len(crosses) - len(used)
    return [
        "| pages | crosses | found % | false, of those found % | half within mm | 95 % within | "
        "worst | other ink |",
        "|---|---|---|---|---|---|---|---|",
        f"| {count} | {there} | {100 * (there - missed) / there:.1f} | "
        f"{100 * false / max(len(errors) + false, 1):.1f} | {percentile(errors, 0.5)} | "
        f"{percentile(errors, 0.95)} | {percentile(errors, 1.0)} | {other} |",
    ]


def lifts(count: int) -> list[str]:
    """What a sheet that stands up costs, by the height and the angle."""
    lines = [
        "| lift mm | tilt | photographs | median error mm | over lift x tan(tilt) |",
        "|---|---|---|---|---|",
    ]
    for lift in (0.5, 1.0):
        for tilt in (5.0, 10.0, 15.0):

            def change(scene: Scene, lift: float = lift, tilt: float = tilt) -> Scene:
                assert scene.rubber is not None
                return replace(
                    scene,
                    rubber=replace(scene.rubber, lift_mm=lift),
                    camera=replace(scene.camera, tilt_deg=tilt),
                )

            trials = [tried(30_000 + number, change) for number in range(count)]
            errors = [error for trial in trials for error in trial.errors]
            middle = float(np.median(errors))
            ratio = middle / (lift * np.tan(np.radians(tilt)))
            lines.append(f"| {lift:g} | {tilt:g} | {count} | {middle:.3f} | {ratio:.2f} |")
    return lines


def speed() -> list[str]:
    """Time and memory of one check at 12 megapixels, in a process of its own."""
    plan, scene, _ = drawn(6)
    with TemporaryDirectory() as folder:
        photo, file = Path(folder) / "made.jpg", Path(folder) / "case.json"
        photo.write_bytes(photograph(replace(scene, camera=replace(scene.camera, megapixels=12.0))))
        file.write_text(json.dumps(plan_json(plan)), "utf-8")
        done = subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.check_speed", str(photo), str(file)],
            check=True,
            capture_output=True,
            text=True,
        )
    return [done.stdout.strip()]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photographs", type=int, default=500)
    parser.add_argument("--spoiled", type=int, default=200)
    parser.add_argument("--drawn", type=int, default=100)
    parser.add_argument("--lifted", type=int, default=10)
    options = parser.parse_args()
    trials = []
    for number in range(options.photographs):
        trials.append(tried(number))
        trial = trials[-1]
        if trial.refused or trial.missed or trial.false or max(trial.errors) > 0.1:
            print(
                number,
                trial.refused,
                trial.missed,
                trial.false,
                [round(e, 3) for e in trial.errors if e > 0.1],
                file=sys.stderr,
                flush=True,
            )
    kinds = list(SPOILERS)
    named: Counter[str] = Counter()
    wrong = []
    for number in range(options.spoiled):
        kind = kinds[number % len(kinds)]
        given = spoiled(number, kind)
        named[kind] += given == kind
        if given != kind:
            wrong.append(f"{kind} (seed {number}): {given or 'not refused'}")
            print(wrong[-1], file=sys.stderr, flush=True)
    totals = Counter(kinds[number % len(kinds)] for number in range(options.spoiled))
    lines = [
        "# How well made photographs are measured",
        "",
        f"Made by `python -m tests.benchmarks.check --photographs {options.photographs} "
        f"--spoiled {options.spoiled} --drawn {options.drawn} --lifted {options.lifted}`. "
        "No real photograph is in it.",
        "",
        "## Flat sheets",
        "",
        *matrix(trials),
        "",
        "## Spoiled photographs",
        "",
        "| spoiled by | photographs | refused by that reason |",
        "|---|---|---|",
        *(f"| {kind} | {totals[kind]} | {named[kind]} |" for kind in kinds),
        f"| all | {sum(totals.values())} | {sum(named.values())} |",
        "",
        *(f"- not so: {line}" for line in wrong),
        *([""] if wrong else []),
        "## Drawn crosses",
        "",
        *(drawn_crosses(options.drawn) if options.drawn else ["Not run."]),
        "",
        "## Sheets that stand up",
        "",
        *(lifts(options.lifted) if options.lifted else ["Not run."]),
        "",
        "## Speed",
        "",
        *speed(),
    ]
    FILE.write_text("\n".join(lines) + "\n", "utf-8")
    print(FILE)


if __name__ == "__main__":
    main()
