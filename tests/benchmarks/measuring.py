"""What each way of measuring buys, row by row, as a Markdown table of drawn mouths."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sheetmark.anatomy.teeth import JAWS, Jaw, tooth_at
from sheetmark.fitting.landmarks import Kind
from tests.helpers.drawn_mouths import Array, Mouths, draw
from tests.helpers.measuring import (
    ROWS,
    average_holes,
    measured_holes,
    seen_holes,
    sets,
    worst_by_row,
)

COUNT = 400
_NAMES = {
    "canines": "width across the canines",
    "premolars": "width across the first premolars",
    "molars": "width across the first molars",
    "canines and molars": "canines and molars",
    "canines and molars, contacts": "the same, taken at the contacts",
    "canines and molars, cusp tips": "the same, taken at the cusp tips",
    "depth": "depth",
    "depth, contacts": "depth, taken at the contacts",
    "canines, molars, depth": "canines, molars and depth",
    "row 7-4": "row from 4 to 7, right side",
    "row 6-3": "row from 3 to 6, right side",
    "row 4-4": "row from 4 to 4, straight across",
    "one tooth": "width of the right first molar",
    "six fronts": "sum of the six front teeth",
    "canines, molars, depth, rows": "canines, molars, depth, rows 4-7 of both sides",
}
_SEEN: dict[Kind, str] = {
    "contacts": "picture or scan: mesial and distal point of each tooth",
    "middle": "picture or scan: a click in the middle of each tooth",
    "gum line": "picture or scan: two points at the gum margin of each tooth",
}
POPULATION = """\
The mouths are drawn, not measured (flag: assumption). Their mean is that of hand-placed landmarks
at the gum line in intra-oral scans of orthodontic patients, with the widths' spread of that sample
(flag: P), so it is not that of the arch model, which is the mean adult. How far teeth stand from
it otherwise, and how the causes go together, is assumed, so that an average page is about as far
off as on real mouths. Every reading carries its error: callipers 0.3 mm, a point in a picture
0.3 mm (SD); contacts and cusp tips also how far they lie from the gum line in each mouth. A click
in the middle is taken to lie half way between the gum line and the contacts (flag: assumption).
The means of these offsets are those that the program corrects by: real mouths may do worse.
The rows of 4-7, 3-6 and 4-4 stand for 17-14, 16-13 and 14-24, and for 47-44, 46-43 and 44-34."""


def measuring() -> None:
    """Print the population and the table."""
    print(POPULATION.replace("\n", " "))
    print()
    print(f"Worst hole, mm: half of the {COUNT} mouths / 95 % stay within.")
    print()
    rows = [f"{name_of(jaw, row)}" for jaw in JAWS for row in ROWS]
    print(f"| measured | {' | '.join(rows)} |")
    print(f"|{' --- |' * (1 + len(rows))}")
    for name, cells in table():
        print(f"| {name} | {' | '.join(cells)} |")


def table() -> Iterator[tuple[str, list[str]]]:
    """Each way of measuring with its cells, upper rows first."""
    mouths: dict[Jaw, Mouths] = {jaw: draw(jaw, COUNT, seed=1) for jaw in JAWS}
    yield "nothing", _cells({jaw: average_holes(jaw, mouths[jaw]) for jaw in JAWS}, mouths)
    for key, name in _NAMES.items():
        holes = {jaw: measured_holes(jaw, mouths[jaw], sets(jaw)[key], seed=2)[0] for jaw in JAWS}
        yield name, _cells(holes, mouths)
    for kind, name in _SEEN.items():
        yield name, _cells({jaw: seen_holes(jaw, mouths[jaw], kind, 3) for jaw in JAWS}, mouths)


def name_of(jaw: Jaw, row: str) -> str:
    """The row on the patient's right, or across: `17-14`, `14-24`."""
    first, last = (int(place) for place in row.split("-"))
    other = last if first == last else -last
    return f"{tooth_at(jaw, -first).iso}-{tooth_at(jaw, other).iso}"


def _cells(holes: dict[Jaw, Array], mouths: dict[Jaw, Mouths]) -> list[str]:
    return [
        f"{np.median(off):.2f} / {np.quantile(off, 0.95):.2f}"
        for jaw in JAWS
        for off in worst_by_row(holes[jaw], mouths[jaw]).values()
    ]
