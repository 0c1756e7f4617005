"""Plausible mouths are fitted, however crowded, spaced or incomplete; no other is. mm."""

from __future__ import annotations

from itertools import product
from typing import Literal, get_args

import numpy as np
import pytest
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.teeth import JAWS, Jaw, tooth_at
from sheetmark.base.findings import InputError
from sheetmark.fitting.fit import JawFit, Origin
from sheetmark.fitting.from_landmarks import fit_landmarks
from sheetmark.fitting.landmarks import COLUMNS, CastPoint, Kind, Landmark, read_landmarks
from sheetmark.fitting.measured import measure_arch
from tests.helpers.casts import as_csv, cast
from tests.helpers.drawn_mouths import ALONG, Array, draw
from tests.helpers.fits import DAY, codes
from tests.helpers.measuring import prior, sets

pytestmark = pytest.mark.usefixtures("few_mouths")

ORIGIN = Origin(load_model("adult-mean"), DAY, "iso")
COUNT = 4
# Of somebody who measures for the first time (assumption).
ROUGH_MM = 0.6
Mouth = Literal["usual", "crowded", "spaced", "gaps", "one side", "third molars", "two teeth"]


@pytest.mark.parametrize("jaw", JAWS)
def test_no_plausible_mouth_is_refused_for_what_callipers_read(jaw: Jaw) -> None:
    mouths, dice = draw(jaw, COUNT, seed=99), np.random.default_rng(77)
    arch = prior(jaw)[0]
    for number in range(COUNT):
        for takes in sets(jaw).values():
            measures = [take(mouths, number, dice) for take in takes]
            rough = [replace(m, mm=m.mm + ROUGH_MM * dice.standard_normal()) for m in measures]
            measure_arch(arch, ORIGIN.base, rough, arch.teeth, "iso")


def seen(jaw: Jaw, number: int, mouth: Mouth, kind: Kind, dice: np.random.Generator) -> JawFit:
    """The fit to a drawn mouth's landmarks, anywhere in their plane, 0.2 off each way."""
    mouths = draw(jaw, COUNT, seed=99)
    centres, contacts = mouths.centres[number], mouths.contacts[number]
    half = (mouths.distal[number] - mouths.mesial[number]) / 2
    moved: Array = np.zeros((14, 2))
    if mouth == "crowded":
        moved[dice.choice(14, 4, replace=False)] = dice.normal(0, 1.8, (4, 2))
    spread = 1.06 if mouth == "spaced" else 1.0
    kept = {
        "gaps": sorted(dice.choice(14, 6, replace=False)),
        "one side": range(7),
        "two teeth": sorted(dice.choice(14, 2, replace=False)),
    }.get(mouth, range(14))
    angle = dice.uniform(0, 2 * np.pi)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    # Seen from the biting side, y upwards.
    upwards = np.array([1.0, -1.0 if jaw == "upper" else 1.0])

    def mark(along: int, centre: Array, contact: Array, half: Array) -> Landmark:
        across = np.array([-half[1], half[0]]) * 3.5 / np.hypot(*half)
        points = {
            "contacts": [contact - half, contact + half],
            "middle": [(centre + contact) / 2],
            "gum line": [centre + across, centre - across],
        }[kind]
        placed = [(p + dice.normal(0, 0.2, 2)) * upwards @ turn for p in points]
        return Landmark(tooth_at(jaw, along), tuple(CastPoint(*p.tolist()) for p in placed), kind)

    marks = [
        mark(ALONG[n], spread * centres[n] + moved[n], spread * contacts[n] + moved[n], half[n])
        for n in kept
    ]
    if mouth == "third molars":
        for last, before in ((0, 1), (13, 12)):
            on = 0.95 * (contacts[last] - contacts[before])
            marks.append(
                mark(
                    8 if last else -8,
                    centres[last] + on,
                    contacts[last] + on,
                    0.42 * on,
                )
            )
    return fit_landmarks(marks, y_down=False, origin=ORIGIN)


@pytest.mark.parametrize("mouth", get_args(Mouth))
def test_no_plausible_mouth_is_refused_for_its_landmarks(mouth: Mouth) -> None:
    dice = np.random.default_rng(7)
    for number, (jaw, kind) in enumerate(product(JAWS, COLUMNS)):
        fit = seen(jaw, number % COUNT, mouth, kind, dice)
        assert "mirrored" not in codes(fit)


def test_a_tooth_behind_its_neighbour_is_fitted_and_named() -> None:
    """41 stands 3 mm lingual and 0.5 mm past 42, as in a crowded front."""
    plain = {mark.tooth.iso: mark.middle for mark in cast(jaw="lower", kind="middle")}
    past = plain["42"].x - plain["41"].x - 0.5
    marks = cast(jaw="lower", kind="middle", slots="1234567", moves={"41": (past, 3.0)})
    fit = fit_landmarks(marks, y_down=False, origin=ORIGIN)
    assert "stray-point" in codes(fit)


@pytest.mark.parametrize(
    "moves",
    [
        pytest.param({"41": (-5.1, 0.3), "42": (5.1, -0.3)}, id="two names exchanged"),
        pytest.param({"16": (0.0, 9.3)}, id="a tooth in its neighbour's place"),
    ],
)
def test_wrong_names_are_refused(moves: dict[str, tuple[float, float]]) -> None:
    jaw: Jaw = "upper" if "16" in moves else "lower"
    if jaw == "upper":
        plain = {mark.tooth.iso: mark.middle for mark in cast(kind="middle")}
        x, y = (a - b for a, b in zip(plain["15"], plain["16"], strict=True))
        moves = {"16": (x + 0.3, y + 0.3)}
    marks = cast(jaw=jaw, kind="middle", slots="1234567", moves=moves)
    with pytest.raises(InputError, match="in the other order, or in one place"):
        fit_landmarks(marks, y_down=False, origin=ORIGIN)


@pytest.mark.parametrize(("unit", "scale"), [("cm", 0.1), ("inches", 1 / 25.4), ("pixels", 11.8)])
@pytest.mark.parametrize("kind", list(COLUMNS))
def test_a_table_that_is_not_in_mm_is_refused(kind: Kind, unit: str, scale: float) -> None:
    marks = cast(kind=kind, scale=scale, slots="1234567", without=("15", "24"))
    table = read_landmarks(as_csv(marks).encode(), f"{unit}.csv", "iso")
    with pytest.raises(InputError, match=r"limits 0\.7 to 1\.4; scale the picture to mm"):
        fit_landmarks(table, y_down=False, origin=ORIGIN)


@pytest.mark.parametrize("kind", list(COLUMNS))
def test_rows_in_any_order_and_mirrored_tables_are_read(kind: Kind) -> None:
    marks = cast(kind=kind, slots="1234567", without=("15", "24"))
    head, *rows = as_csv(marks).splitlines()
    mixed = "\n".join([head, *sorted(rows, key=lambda row: row[::-1])])
    table = read_landmarks(mixed.encode(), "mixed.csv", "iso")
    assert table == marks
    image = read_landmarks(as_csv(cast(kind=kind, mirrored=True)).encode(), "m.csv", "iso")
    assert "mirrored" in codes(fit_landmarks(image, y_down=False, origin=ORIGIN))
