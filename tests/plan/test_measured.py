"""Plans of mouths that were measured: in the case itself, or in an arch model of the clinic's."""

from __future__ import annotations

from itertools import pairwise
from math import dist
from pathlib import Path
from typing import Any

import pytest

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import Tooth, read
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case
from sheetmark.case.exceptions import read_states
from sheetmark.case.file import read_case, write_case
from sheetmark.fitting.fit import Origin, own_model
from sheetmark.fitting.from_callipers import fit_callipers
from sheetmark.fitting.measures import read_measures
from sheetmark.fitting.model_file import write_model
from sheetmark.plan.choices import case_with
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from tests.helpers.fits import DAY, seen_model
from tests.helpers.model_files import written

pytestmark = pytest.mark.usefixtures("few_mouths")

ROW = "row 14-17 33.0"


def plan_of(
    teeth: str, *measures: str, states: str = "", model: ArchModel | None = None, **more: Any
) -> Plan:
    if "procedure" in more:
        more["for"] = more.pop("procedure")
    choices = {"measure": measures, "with": [states] if states else [], **more}
    treat = tuple(read(tooth, "iso") for tooth in teeth.split(","))
    return make_plan(case_with(treat, choices, "iso"), model)


def pitches(plan: Plan) -> list[float]:
    centres = [hole.centre_mm for hole in plan.holes]
    return [dist(first, other) for first, other in pairwise(centres)]


def codes(plan: Plan) -> list[str]:
    return [finding.code for finding in plan.findings]


# Measured in the case


def test_a_short_row_brings_its_holes_together() -> None:
    usual, short = plan_of("16"), plan_of("16", ROW)
    # The row of the average is 34.5 from mesial to distal; three pitches share the difference.
    assert sum(pitches(usual)) - sum(pitches(short)) == pytest.approx(1.2, abs=0.4)
    assert all(s < u for s, u in zip(pitches(short), pitches(usual), strict=True))


def test_the_plan_says_what_was_measured() -> None:
    plan = plan_of("16", ROW, "16 10.4")
    data = plan_json(plan)
    assert data["arch"]["model"] == "adult-mean, measured"
    assert data["arch"]["measured"] == ["row 14-17 33", "16 10.4"]
    assert plan.command == "sheetmark overlay 16 --measure 'row 14-17 33; 16 10.4'"
    plain = plan_json(plan_of("16"))
    assert plain["arch"]["model"] == "adult-mean"
    assert plain["arch"]["measured"] == []


def test_measures_of_the_other_jaw_change_nothing_and_say_so() -> None:
    plan = plan_of("16", "lower canines 28")
    assert [h.centre_mm for h in plan.holes] == [h.centre_mm for h in plan_of("16").holes]
    assert plan.arch_text == "adult-mean"
    (reported,) = (finding for finding in plan.findings if finding.code == "other-jaw")
    assert (
        reported.message == "Measured in the other jaw: lower canines 28. It changes nothing here."
    )


def test_the_case_and_a_fitted_model_of_the_same_measures_agree(tmp_path: Path) -> None:
    texts = ("upper canines 34", "upper molars 48", "upper depth 27", "row 24-27 35")
    origin = Origin(load_model("adult-mean"), DAY, "iso")
    fit = fit_callipers("upper", read_measures(texts, "iso"), origin)
    model = load_model(written(tmp_path, write_model(own_model("own", origin, [fit]))))
    here = plan_of("14", *texts, procedure="full-arch")
    there = plan_of("14", model=model, procedure="full-arch")
    assert len(here.holes) == 14
    # Both hang on the first molars, so the whole mouth lies alike under the sheet.
    for place in here.arch.places:
        assert place.centre == pytest.approx(there.arch.place(place.tooth).centre, abs=2e-4)
    for first, other in zip(here.holes, there.holes, strict=True):
        assert first.centre_mm == pytest.approx(other.centre_mm, abs=2e-4)
        assert first.hole == pytest.approx(other.hole) or first.hole.diameter_mm == (
            other.hole.diameter_mm
        )


def test_a_closed_gap_is_measured_over() -> None:
    """With 15 gone and closed the row from 14 to 17 holds three teeth, and the usual length of
    three is nothing unusual."""
    plan = plan_of("16", "row 14-17 27.8", states="15 missing gap 0")
    assert not {"unusual-measure", "measures-disagree"} & set(codes(plan))
    assert "unusual-measure" in codes(plan_of("16", "row 14-17 27.8"))


@pytest.mark.parametrize(
    ("measures", "states", "problem"),
    [
        (("15 6.5",), "15 missing", "tooth 15 does not stand in this row"),
        (("upper depth 60",), "", "no mouth has that"),
        (("55 9",), "", "tooth 55 does not stand in this row"),
    ],
)
def test_what_cannot_be_is_refused(measures: tuple[str, ...], states: str, problem: str) -> None:
    with pytest.raises(InputError, match=problem):
        plan_of("16", *measures, states=states)


def test_children_are_measured_too() -> None:
    plan = plan_of("55", "row 54-55 15", "upper canines 28", age=5)
    assert plan.arch_text == "adult-mean, measured"
    assert all(hole.tooth.primary for hole in plan.holes)


def test_a_case_file_holds_its_measures(tmp_path: Path) -> None:
    case = plan_of("16", ROW, "upper canines contacts 35").case
    path = tmp_path / "case.toml"
    path.write_text(write_case(case), "utf-8")
    assert 'measure = ["row 14-17 33", "upper canines contacts 35"]' in path.read_text("utf-8")
    assert read_case(path) == case


# Measured in the arch model


def test_seen_teeth_stay_whatever_the_case_says_of_the_others() -> None:
    model = seen_model()
    whole = plan_of("17", model=model, expose=["17-13"])
    gone = plan_of("17", model=model, expose=["17-13"], states="15 missing gap 0")
    assert {hole.tooth.iso for hole in gone.holes} == {"17", "16", "14", "13"}
    kept = {hole.tooth: hole.centre_mm for hole in whole.holes}
    shift = None
    for hole in gone.holes:
        by = (hole.centre_mm[0] - kept[hole.tooth][0], hole.centre_mm[1] - kept[hole.tooth][1])
        shift = by if shift is None else shift
        assert by == pytest.approx(shift, abs=1e-9)
    assert "place-kept" in codes(gone)
    assert "place-kept" not in codes(whole)


def arch_centres(states: str, model: ArchModel) -> dict[Tooth, tuple[float, float]]:
    case = Case(treat=(Tooth(1, 6),), states=read_states([states], "iso") if states else ())
    return {place.tooth: place.centre for place in make_plan(case, model).arch.places}


def test_predicted_teeth_move_up_as_the_model_has_it_and_past_no_seen_tooth() -> None:
    base = load_model("adult-mean")
    # Only the left was seen: 14 gone, the right closes up as in the base.
    model = seen_model(without=tuple(f"1{p}" for p in range(3, 8)))
    before, after = arch_centres("", model), arch_centres("14 missing gap 0", model)
    own, moved = arch_centres("", base), arch_centres("14 missing gap 0", base)
    for position in (5, 6, 7):
        tooth = Tooth(1, position)
        by = (after[tooth][0] - before[tooth][0], after[tooth][1] - before[tooth][1])
        wanted = (moved[tooth][0] - own[tooth][0], moved[tooth][1] - own[tooth][1])
        assert by == pytest.approx(wanted, abs=1e-9)
        assert abs(by[1]) > 4
    assert all(after[Tooth(2, p)] == before[Tooth(2, p)] for p in range(1, 8))
    # 16 was seen: the predicted 17 behind it does not close up either.
    model = seen_model(without=("17",))
    before, after = arch_centres("", model), arch_centres("14 missing gap 0", model)
    for position in (6, 7):
        assert after[Tooth(1, position)] == before[Tooth(1, position)]


def test_the_places_of_a_file_are_laid_out_exactly(tmp_path: Path) -> None:
    model = seen_model()
    rows = {row.tooth: row for row in model.upper.placed}
    arch = build_arch(load_model(written(tmp_path, write_model(model))), "upper")
    assert {tooth.iso for tooth in arch.seen} == {r.tooth for r in rows.values() if r.seen}
    first = arch.place(Tooth(1, 1))
    for place in arch.places:
        row = rows[place.tooth.iso]
        assert place.centre.x == row.x_mm
        assert first.centre.y - place.centre.y == pytest.approx(
            row.y_mm - rows["11"].y_mm, abs=1e-12
        )
        assert place.size.mesiodistal_mm == row.width_mm
    # The mouth hangs on the middle of both first molars.
    molars = [arch.place(Tooth(q, 6)).centre.y for q in (1, 2)]
    assert sum(molars) / 2 == pytest.approx(23.0, abs=1e-9)


def test_teeth_that_were_not_seen_are_named_where_they_get_a_hole() -> None:
    plan = plan_of("16", model=seen_model(without=("15", "25")))
    (reported,) = (finding for finding in plan.findings if finding.code == "predicted-place")
    assert reported.message == "15: not seen when the arch was measured, so predicted."
    assert "predicted-place" not in codes(plan_of("16", model=seen_model()))


def test_a_measured_model_takes_no_further_measure() -> None:
    with pytest.raises(InputError, match="its upper jaw was measured already"):
        plan_of("16", ROW, model=seen_model())
    assert plan_of("46", "46 11", model=seen_model()).arch_text == "own, measured"
