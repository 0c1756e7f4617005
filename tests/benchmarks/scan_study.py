"""How well the teeth of a scan are found: drawn scans of many kinds, by number and by place.

    python -m tests.benchmarks.studies scan

Tables in Markdown. The scans are drawn by `tests.helpers.scans`; their seeds served no tuning.
"""

from __future__ import annotations

import tracemalloc
from time import process_time

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from sheetmark.anatomy.teeth import JAWS
from sheetmark.base.findings import InputError
from sheetmark.fitting.scan.plausible import checked_jaw
from sheetmark.fitting.scan.propose import Proposals, propose
from sheetmark.fitting.scan.read import read_scan
from tests.helpers.scan_files import as_file
from tests.helpers.scans import DrawnScan, Recipe, draw_scan

MOUTHS = 3  # of each jaw in each row
FIRST_SEED = 9000
USUAL = Recipe("upper", crowding=0.4, triangles=60_000)
ROWS = {
    "usual": USUAL,
    "crowded": replace(USUAL, crowding=1.0),
    "4 spaces": replace(USUAL, spaces=4),
    "1 tooth missing": replace(USUAL, missing=1),
    "3 teeth missing": replace(USUAL, missing=3),
    "crowns alone": replace(USUAL, gum=False),
    "no palate": replace(USUAL, palate=False),
    "3,000 triangles": replace(USUAL, triangles=3_000),
    "noise 0.15 mm": replace(USUAL, noise_mm=0.15),
    "blurred by 0.4 mm": replace(USUAL, blur_mm=0.4),
}
NEAR_MM = 1.0
SURE = ((0.0, 0.6), (0.6, 0.8), (0.8, 0.9), (0.9, 0.97), (0.97, 1.01))


class Tally(Struct):
    """What was found in the scans of one row."""

    teeth: int = 0
    right: int = 0
    missed: int = 0
    extra: int = 0
    off_mm: list[float] = field(default_factory=list)
    sure: list[tuple[float, bool]] = field(default_factory=list)
    jaws_right: int = 0
    refused: int = 0

    def add(self, scan: DrawnScan, found: Proposals) -> None:
        axes = found.frame.axes
        true = {tooth: ((c - found.frame.origin) @ axes.T)[:2] for tooth, c in scan.centres.items()}
        met = set()
        for proposal in found.teeth:
            away = {t: float(np.hypot(*(at - proposal.view_mm))) for t, at in true.items()}
            near = min(away, key=lambda tooth: away[tooth])
            if away[near] > 3.0 or near in met:
                self.extra += 1
                self.sure.append((proposal.sure, False))
                continue
            met.add(near)
            named = near == proposal.tooth
            self.right += named
            self.off_mm.append(away[near])
            self.sure.append((proposal.sure, named and away[near] < NEAR_MM))
        self.missed += len(true) - len(met)


def scan() -> None:
    """Both tables, a row as soon as it is known."""
    print(
        "Tried on drawn scans only, which the same hand made as the finder: gum and palate of real "
        "mouths were not tried, nor braces, undercuts or primary teeth. The jaw is guessed; where "
        "it is guessed wrong, its teeth count as not found.\n\n"
        f"Each row has {MOUTHS} upper and {MOUTHS} lower jaws. Places: distance from the middle of "
        "the drawn crown, mm.\n"
    )
    print(
        "| scans | teeth | number right, % | not found | found too much | place: half | 95 % | "
        "worst | jaw right | refused |\n|---|---|---|---|---|---|---|---|---|---|"
    )
    sure: list[tuple[float, bool]] = []
    for name, recipe in ROWS.items():
        tally = tallied(recipe)
        sure += tally.sure
        half, most, worst = np.percentile(tally.off_mm, (50, 95, 100))
        print(
            f"| {name} | {tally.teeth} | {100 * tally.right / tally.teeth:.1f} | {tally.missed} | "
            f"{tally.extra} | {half:.2f} | {most:.2f} | {worst:.2f} | "
            f"{tally.jaws_right} of {2 * MOUTHS} | {tally.refused} |",
            flush=True,
        )
    print(f"\n| sure | teeth | number right and within {NEAR_MM:g} mm, % |\n|---|---|---|")
    for low, high in SURE:
        inside = [good for share, good in sure if low <= share < high]
        if inside:
            share = 100 * sum(inside) / len(inside)
            print(f"| {low:.0%} to {min(high, 1):.0%} | {len(inside)} | {share:.0f} |")
    cost()


def tallied(recipe: Recipe) -> Tally:
    tally = Tally()
    for number in range(MOUTHS):
        for jaw in JAWS:
            seed = FIRST_SEED + 7 * number + (jaw == "lower")
            drawn = draw_scan(replace(recipe, jaw=jaw, seed=seed))
            tally.teeth += len(drawn.centres)
            try:
                found = propose(checked_jaw(drawn.mesh, "drawn")[0])
            except InputError:
                tally.refused += 1
                tally.missed += len(drawn.centres)
                continue
            tally.jaws_right += found.jaw == jaw
            if found.jaw == jaw:
                tally.add(drawn, found)
            else:
                tally.missed += len(drawn.centres)
    return tally


def cost() -> None:
    """Time and memory of 600,000 triangles, by format."""
    seed = FIRST_SEED
    few, many = (
        draw_scan(replace(USUAL, seed=seed, triangles=count)).mesh for count in (60_000, 600_000)
    )
    print(
        f"\nA scan of {len(many.faces)} triangles against {len(few.faces)}, from the bytes of the "
        "file to the proposals; memory is the most that was held at a time, without the file.\n\n"
        "| format | file, MB | times as long | memory, MB |\n|---|---|---|---|"
    )
    for kind, name in (
        ("stl", "a.stl"),
        ("stl_ascii", "a.stl"),
        ("ply", "a.ply"),
        ("obj", "a.obj"),
    ):
        small, large = as_file(few, kind), as_file(many, kind)
        ratio = _seconds(large, name) / _seconds(small, name)
        tracemalloc.start()
        _seconds(large, name)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        label = "STL, text" if kind == "stl_ascii" else kind.upper()
        print(f"| {label} | {len(large) / 1e6:.0f} | {ratio:.1f} | {peak / 1e6:.0f} |", flush=True)


def _seconds(content: bytes, name: str) -> float:
    start = process_time()
    propose(checked_jaw(read_scan(content, name), name)[0])
    return process_time() - start
