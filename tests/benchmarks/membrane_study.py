"""The rule of placement against the most even pull, and what ease does to the strips.

    python -m tests.benchmarks.membrane_study starts

Tables in Markdown, a row as soon as it is known, on the mesh that the search uses;
`tests.benchmarks.studies` writes them to files. What is left out of the model and assumed in it
stands in `sheetmark/studies/membrane`.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import product

from msgspec.structs import replace

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model, model_for_age
from sheetmark.anatomy.teeth import Tooth, read
from sheetmark.base.findings import InputError, NoAnswerError
from sheetmark.base.frames import MouthPoint
from sheetmark.case.case import Case, Procedure
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import STANDARD_SHEETS, Practice, Sheet
from sheetmark.studies.membrane import solve
from sheetmark.studies.membrane.frame import Frame, Rubber, frame_for
from sheetmark.studies.membrane.laid import SEARCH_DENSITY, lay, tidy
from sheetmark.studies.membrane.placement import best_placement
from sheetmark.studies.membrane.report import TELLABLE
from sheetmark.studies.membrane.scene import scene_of, teeth_of
from sheetmark.studies.membrane.solve import ALIKE, SolveError
from sheetmark.studies.membrane.strain import Strain, measure
from sheetmark.studies.membrane.stretched import stretch

CHILD = 8  # completed years
# One side stands for both: mirrored cases have mirrored answers.
SITUATIONS: tuple[tuple[str, Procedure, int | None], ...] = (
    *((tooth, "restoration", None) for tooth in ("17", "16", "15", "14", "13", "11")),
    *((tooth, "restoration", None) for tooth in ("47", "46", "45", "44", "43", "41")),
    ("11", "full-arch", None),
    ("41", "full-arch", None),
    ("16", "root-canal", None),
    ("46", "root-canal", None),
    *((tooth, "restoration", CHILD) for tooth in ("16", "55", "54", "11", "46", "85", "84", "41")),
)


def cases() -> Iterator[tuple[str, Case, Sheet]]:
    for sheet, (tooth, procedure, age) in product(reversed(STANDARD_SHEETS), SITUATIONS):
        who = "adult" if age is None else f"age {age}"
        wording = procedure.replace("-", " ")
        yield (
            f"{tooth} {wording} | {who}",
            Case(treat=(read(tooth, "iso"),), procedure=procedure, age=age),
            sheet,
        )


def planned(case: Case, practice: Practice) -> Plan:
    model = load_model(DEFAULT_MODEL) if case.age is None else model_for_age(case.age)
    return make_plan(case, model, practice)


def strain_at(plan: Plan, shift: MouthPoint, frame: Frame | None = None) -> Strain:
    scene = scene_of(plan, frame or frame_for(plan.sheet))
    return measure(stretch(lay(scene, shift, SEARCH_DENSITY)), teeth_of(plan), Rubber())


def at(point: tuple[float, float]) -> str:
    return f"{point[0] + 0.0:.0f}, {point[1] + 0.0:.0f}"


def placement() -> None:
    """Unevenness (SD over mean of the pulls) of the three placements."""
    print("| case | patient | sheet | rule at x, y mm | best at x, y mm | centred | rule | best |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |", flush=True)
    for name, case, sheet in cases():
        try:
            plan = planned(case, Practice(sheet=sheet))
            best = best_placement(plan)
            centred, rule = (
                strain_at(plan, shift) for shift in (MouthPoint(0.0, 0.0), plan.shift_mm)
            )
        except (InputError, NoAnswerError) as error:
            print(f"| {name} | {sheet.width_mm:g} | {error} | | | | |", flush=True)
            continue
        print(
            f"| {name} | {sheet.width_mm:g} | {at(plan.shift_mm)} | {at(best.shift_mm)} | "
            f"{centred.evenness:.2f} | {rule.evenness:.2f} | {best.evenness:.2f} |",
            flush=True,
        )


def scaled() -> None:
    """The rule's shift made smaller, across and down: mean unevenness over all situations, and in
    how many of them the pull is clearly more or less even than by the rule as it is."""
    print("| share across | share down | adult 152 | adult 127 | age 8, 152 | age 8, 127 | all | "
          "more even | less even |")  # fmt: skip
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |", flush=True)
    plans = [(sheet, case.age, planned(case, Practice(sheet=sheet))) for _, case, sheet in cases()]
    rule: list[float] = []
    for across, down in ((1, 1), (0.65, 1), (1, 0.65), (0.65, 0.65), (0.5, 0.5)):
        groups: dict[tuple[float, int | None], list[float]] = {}
        every: list[float] = []
        for sheet, age, plan in plans:
            x, y = plan.shift_mm
            every.append(strain_at(plan, MouthPoint(across * x, down * y)).evenness)
            groups.setdefault((sheet.width_mm, age), []).append(every[-1])
        rule = rule or every
        keys = ((152.0, None), (127.0, None), (152.0, CHILD), (127.0, CHILD))
        means = [sum(groups[key]) / len(groups[key]) for key in keys]
        wording = " | ".join(f"{mean:.2f}" for mean in (*means, sum(every) / len(every)))
        changes = [own - old for own, old in zip(every, rule, strict=True)]
        more, less = (sum(sign * change > TELLABLE for change in changes) for sign in (-1, 1))
        print(f"| {across:g} | {down:g} | {wording} | {more} | {less} |", flush=True)


EASES_MM = (0.0, 0.5, 1.0, 2.0)


def ease() -> None:
    """Strips between neighbours by class, the rule's placement: what share of each is wrinkled,
    and its least thickness as a share of that at rest, for each ease."""
    heads = [f"{wording} at {mm:g}" for wording in ("wrinkled %", "thinnest") for mm in EASES_MM]
    print(f"| strip | at rest mm | between necks mm | {' | '.join(heads)} |")
    print(f"| {' | '.join(['---'] * (3 + len(heads)))} |", flush=True)
    for tooth in ("11", "41"):
        classes: dict[str, list[Means]] = {}
        for mm in EASES_MM:
            plan = planned(
                Case(treat=(read(tooth, "iso"),), procedure="full-arch"), Practice(ease_mm=mm)
            )
            for name, means in _by_class(strain_at(plan, plan.shift_mm)).items():
                classes.setdefault(name, []).append(means)
        for name, rows in classes.items():
            before, after, _, _ = rows[0]
            cells = [f"{before:.1f}", f"{after:.1f}"]
            cells += [f"{100 * wrinkled:.0f}" for _, _, wrinkled, _ in rows]
            cells += [f"{thin:.2f}" for _, _, _, thin in rows]
            print(f"| {name} | {' | '.join(cells)} |", flush=True)


Means = tuple[float, float, float, float]


def _by_class(strain: Strain) -> dict[str, Means]:
    """Of the strips between teeth of the same classes: width at rest and between the necks, share
    wrinkled, least thickness."""
    groups: dict[str, list[Means]] = {}
    for strip in strain.strips:
        first, other = (read(iso, "iso") for iso in strip.teeth)
        classes = sorted({first.tooth_class, other.tooth_class}, key=_front_first)
        row = (strip.before_mm, strip.after_mm, strip.wrinkled_share, strip.thickness_share)
        groups.setdefault(f"{first.jaw} {'-'.join(classes)}", []).append(row)
    return {name: _means(rows) for name, rows in groups.items()}


def _means(rows: list[Means]) -> Means:
    before, after, wrinkled, thin = (sum(row[i] for row in rows) / len(rows) for i in range(4))
    return (before, after, wrinkled, thin)


def _front_first(name: str) -> int:
    return ("incisor", "canine", "premolar", "molar").index(name)


def starts() -> None:
    """How far the answers are known: the kept equilibrium, and what other starts end at. Each goes
    over teeth that are as slim, as low or as tall as its numbers say."""
    other = ((1.0, 1.0), (1.0, 2.0), (0.1, 0.25), (0.3, 1.0), (0.3, 0.5))
    lower, uneven, rims, count = 0, 0.0, 1.0, 0
    for _, case, sheet in cases():
        plan = planned(case, Practice(sheet=sheet))
        scene = scene_of(plan, frame_for(plan.sheet))
        for shift in (MouthPoint(0.0, 0.0), plan.shift_mm):
            laid = lay(scene, tidy(shift), SEARCH_DENSITY)
            ends = [stretch(laid)]
            for path in other:
                with patched_paths(path), suppress(SolveError):
                    ends.append(stretch(laid))
            kept, best = ends[0], min(ends, key=lambda end: end.found.energy)
            count += 1
            if best.found.energy < (1 - ALIKE) * kept.found.energy:
                lower += 1
                a, b = (measure(end, teeth_of(plan), Rubber()) for end in (kept, best))
                uneven = max(uneven, abs(a.evenness - b.evenness))
                ratios = [a.rim_stretch[tooth] / b.rim_stretch[tooth] for tooth in a.rim_stretch]
                rims = max(rims, *ratios, *(1 / ratio for ratio in ratios))
    print(f"{count} sheets; other paths end lower in {lower}; there unevenness differs by "
          f"{uneven:.3f} at most, a rim's largest stretch {rims:.2f} times")  # fmt: skip


@contextmanager
def patched_paths(*paths: tuple[float, float]) -> Iterator[None]:
    """Solve along these paths only."""
    usual, solve.PATHS = solve.PATHS, paths  # type: ignore[assignment]
    try:
        yield
    finally:
        solve.PATHS = usual


def frame() -> None:
    """How much the answer hangs on the frame's and the mouth's assumed figures: 16 and 36."""
    print("| figure | 16 best at | 16 rule | 16 best | 36 best at | 36 rule | 36 best |")
    print("| --- | --- | --- | --- | --- | --- | --- |", flush=True)
    usual = frame_for(STANDARD_SHEETS[1])
    changes: tuple[tuple[str, dict[str, float]], ...] = (
        ("as assumed", {}),
        ("frame 10 higher", {"top_mm": usual.top_mm + 10, "bottom_mm": usual.bottom_mm - 10}),
        ("frame 10 lower", {"top_mm": usual.top_mm - 10, "bottom_mm": usual.bottom_mm + 10}),
        ("frame 142 wide", {"width_mm": 142.0}),
        ("arch tilted 45 degrees", {"tilt_deg": 45.0}),
        ("incisors 25 behind", {"incisors_behind_mm": 25.0}),
        ("crowns 4 tall", {"crown_mm": 4.0}),
    )
    for wording, change in changes:
        cells = []
        for tooth in (Tooth(1, 6), Tooth(3, 6)):
            plan = planned(Case(treat=(tooth,)), Practice())
            changed = replace(usual, **change)
            best = best_placement(plan, changed)
            rule = strain_at(plan, plan.shift_mm, changed)
            cells += [at(best.shift_mm), f"{rule.evenness:.2f}", f"{best.evenness:.2f}"]
        print(f"| {wording} | {' | '.join(cells)} |", flush=True)


if __name__ == "__main__":
    studies = (placement, scaled, ease, frame, starts)
    {study.__name__: study for study in studies}[sys.argv[1]]()
