"""Arches fitted to callipers, the model file that comes of it, and the command. Lengths in mm.

What a fit gave is measured on the finished model, laid out by `build_arch`, never asked of the fit.
"""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import msgspec
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sheetmark.anatomy.arch_model import ArchModel, JawModel, Width, load_model, model_names
from sheetmark.anatomy.curves import SixthOrder
from sheetmark.anatomy.jaw import Arch, build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Notation, tooth_of_slot
from sheetmark.base.findings import InputError
from sheetmark.fitting.fit import JawFit, Origin, own_model
from sheetmark.fitting.from_callipers import CUSP_SHARE, fit_callipers
from sheetmark.fitting.measures import MeasuringPoint, read_measures
from sheetmark.fitting.model_file import write_model
from tests.helpers.casts import curved
from tests.helpers.fits import DAY, MEASURED, codes, width
from tests.helpers.model_files import written

Capture = pytest.CaptureFixture[str]


def origin(base: str = "adult-mean", notation: Notation = "iso") -> Origin:
    return Origin(curved(base), DAY, notation)


def fitted(
    *texts: str,
    base: str = "adult-mean",
    point: MeasuringPoint = "centres",
    notation: Notation = "iso",
    jaw: Jaw | None = None,
) -> tuple[ArchModel, JawFit]:
    """The model from measures of one jaw, and how they were met."""
    start = origin(base, notation)
    (measures,) = read_measures(texts, start.base, notation, jaw)
    fit = fit_callipers(measures, point, start)
    return own_model("own", start, [fit]), fit


def refusal(*texts: str, base: str = "adult-mean", jaw: Jaw | None = None) -> str:
    with pytest.raises(InputError) as refused:
        fitted(*texts, base=base, jaw=jaw)
    (problem,) = refused.value.problems
    return problem


def cusp_width(arch: Arch, slot: str) -> float:
    """Between points a quarter of the crown facial of the centres."""
    place = arch.place(tooth_of_slot(arch.jaw, "left", slot))
    facial = 0.0 if place.tooth.front else 0.25 * place.size.labiolingual_mm
    return 2 * (place.centre[0] + facial * place.facial[0])


def depth(arch: Arch, slot: str = "6") -> float:
    """From the incisal point straight back to the line of the centres."""
    place = arch.place(tooth_of_slot(arch.jaw, "left", slot))
    return abs(arch.incisal_y_mm - place.centre[1])


CANINE = {"adult-mean": "3", "age-8": "C"}
PAIRS = [
    {"canines": 0.6, "molars": -0.8},
    {"molars": 0.8, "depth": -0.5},
    {"canines": 0.3, "depth": -0.6},
]


def measures_of(base: str, jaw: Jaw) -> dict[str, float]:
    """What callipers would find on the base's own arch."""
    arch = build_arch(curved(base), jaw)
    return {
        "canines": width(arch, CANINE[base]),
        "molars": width(arch, "6"),
        "depth": depth(arch),
    }


def found_on(model: ArchModel, base: str, jaw: Jaw) -> dict[str, float]:
    arch = build_arch(model, jaw)
    return {
        "canines": width(arch, CANINE[base]),
        "molars": width(arch, "6"),
        "depth": depth(arch),
    }


def words(jaw: Jaw, wanted: dict[str, float]) -> list[str]:
    return [f"{jaw} {what} {mm!r}" for what, mm in wanted.items()]


# Callipers: widths across, depth


@pytest.mark.parametrize("changes", PAIRS, ids="-".join)
@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("base", CANINE)
def test_two_of_three_measures_are_met_exactly(
    base: str, jaw: Jaw, changes: dict[str, float]
) -> None:
    own = measures_of(base, jaw)
    wanted = {what: own[what] + change for what, change in changes.items()}
    model, fit = fitted(*words(jaw, wanted), base=base)
    found = found_on(model, base, jaw)
    for what, mm in wanted.items():
        assert found[what] == pytest.approx(mm, abs=1e-9)
    (third,) = set(own) - set(wanted)
    printed = [figure for figure in fit.figures if figure.measured_mm is None]
    assert [figure.fitted_mm for figure in printed] == pytest.approx([found[third]], abs=1e-9)


@pytest.mark.parametrize("what", list(combinations(("canines", "molars", "depth"), 2)))
@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("base", CANINE)
def test_measures_of_the_base_give_the_base(base: str, jaw: Jaw, what: tuple[str, str]) -> None:
    own = measures_of(base, jaw)
    model, _ = fitted(*words(jaw, {key: own[key] for key in what}), base=base)
    there, here = model.jaw(jaw).curve, curved(base).jaw(jaw).curve
    assert isinstance(there, SixthOrder)
    assert isinstance(here, SixthOrder)
    assert there.b == pytest.approx(here.b, rel=1e-6)
    assert there.a == pytest.approx(here.a, rel=1e-6)


def test_canines_and_depth_that_fit_two_arches_say_so() -> None:
    model, fit = fitted("upper canines 31.75", "upper depth 30.3")
    assert codes(fit) == ["two-arches"]
    message = fit.findings[0].line
    found = re.search(r"16-26 ([\d.]+) or ([\d.]+) mm apart", message)
    assert found
    near, far = map(float, found.groups())
    # The one taken is nearer to the base's 45.3; measuring the molars as the other gives depth too.
    assert abs(near - 45.3) < abs(far - 45.3)
    assert width(build_arch(model, "upper"), "6") == pytest.approx(near, abs=0.05)
    other, _ = fitted("upper canines 31.75", f"upper molars {far}")
    assert depth(build_arch(other, "upper")) == pytest.approx(30.3, abs=0.01)


def test_three_measures_that_agree_are_met_without_a_word() -> None:
    own = measures_of("adult-mean", "lower")
    model, fit = fitted(*words("lower", own))
    assert found_on(model, "adult-mean", "lower") == pytest.approx(own, abs=1e-6)
    assert codes(fit) == []


def squares(model: ArchModel, base: str, wanted: dict[str, float]) -> float:
    found = found_on(model, base, "upper")
    return sum((found[what] - mm) ** 2 for what, mm in wanted.items())


def test_three_measures_that_disagree_are_met_by_least_squares() -> None:
    wanted = {"canines": 31.75, "molars": 45.3, "depth": 32.0}
    model, fit = fitted(*words("upper", wanted))
    least = squares(model, "adult-mean", wanted)
    assert least > 0.1  # they do disagree
    curve = model.upper.curve
    assert isinstance(curve, SixthOrder)
    for a, b in ((1.002, 1), (0.998, 1), (1, 1.002), (1, 0.998), (1.01, 0.99), (0.99, 1.01)):
        moved = SixthOrder(a=curve.a * a, b=curve.b * b, source=curve.source, flag=curve.flag)
        upper = msgspec.structs.replace(model.upper, curve=moved)
        changed = msgspec.structs.replace(model, upper=upper)
        assert squares(changed, "adult-mean", wanted) > least
    found = found_on(model, "adult-mean", "upper")
    printed = {figure.what: figure for figure in fit.figures}
    names = {"canines": "13-23, centres", "molars": "16-26, centres", "depth": "depth to 16-26"}
    for what, name in names.items():
        assert printed[name].fitted_mm == pytest.approx(found[what], abs=1e-9)
        assert printed[name].measured_mm == wanted[what]


@pytest.mark.parametrize(("mm", "expected"), [(31.3, []), (31.6, ["measures-disagree"])])
def test_a_residual_over_half_a_millimetre_is_warned_of(mm: float, expected: list[str]) -> None:
    model, fit = fitted("upper canines 31.75", "upper molars 45.3", f"upper depth {mm}")
    found = found_on(model, "adult-mean", "upper")
    wanted = {"canines": 31.75, "molars": 45.3, "depth": mm}
    worst = max(abs(found[what] - wanted[what]) for what in wanted)
    assert (worst > 0.5) == bool(expected)
    assert codes(fit) == expected


def test_measures_that_no_arch_carries_together_are_refused_with_the_figures() -> None:
    problem = refusal("upper canines 31.75", "upper molars 45.3", "upper depth 40")
    found = re.search(r"depth to 16-26 40 \(([\d.]+)\).*is ([\d.]+) mm off, limit 3", problem)
    assert found
    assert 40 - float(found[1]) == pytest.approx(float(found[2]), abs=0.11)
    assert "13-23 31.75 (" in problem


@pytest.mark.parametrize(
    ("text", "slot", "taken"),
    [
        ("upper canines 33", "6", 45.3),
        ("upper molars 46", "3", 31.75),
        ("upper depth 30", "6", 45.3),
        ("14-24 36", "6", 45.3),
        ("15-25 41", "3", 31.75),
    ],
)
def test_one_measure_takes_a_width_of_the_base_and_says_so(
    text: str, slot: str, taken: float
) -> None:
    model, fit = fitted(text)
    assert width(build_arch(model, "upper"), slot) == pytest.approx(taken, abs=1e-9)
    (finding,) = fit.findings
    assert finding.code == "width-from-base"
    assert f"adult-mean's own width is taken, {taken:g} (SD " in finding.message
    row = model.upper.centre_width(slot)
    assert row == curved("adult-mean").upper.centre_width(slot)


def test_any_pair_of_teeth_can_be_measured() -> None:
    model, _ = fitted("14-24 37", "16-26 45")
    arch = build_arch(model, "upper")
    assert width(arch, "4") == pytest.approx(37, abs=1e-9)
    assert width(arch, "6") == pytest.approx(45, abs=1e-9)
    row = model.upper.centre_width("4")
    assert (row.mm, row.source, row.flag) == (37, "measured", "measured")


def test_a_primary_arch_is_measured_at_its_own_teeth() -> None:
    model, fit = fitted("lower canines 23", "75-85 38", base="primary")
    arch = build_arch(model, "lower")
    assert width(arch, "C") == pytest.approx(23, abs=1e-9)
    assert width(arch, "E") == pytest.approx(38, abs=1e-9)
    assert [figure.what for figure in fit.figures] == [
        "83-73, centres",
        "85-75, centres",
        "depth to 85-75",
    ]
    # The first permanent molar is still to come; its row follows from the curve, and says so.
    row = model.lower.centre_width("6")
    assert (row.source, row.flag, row.note) == ("noroozi-2001", "D", "as the curve has it")


@pytest.mark.parametrize(
    ("notation", "texts"),
    [
        ("iso", ("13-23 33", "16-26 46", "16 10")),
        ("universal", ("6-11 33", "3-14 46", "3 10")),
        ("palmer", ("UR3-UL3 33", "ur6-ul6 46", "UR6 10")),
    ],
)
def test_teeth_are_written_in_the_stated_notation(
    notation: Notation, texts: tuple[str, ...]
) -> None:
    model, fit = fitted(*texts, notation=notation)
    assert fitted("upper canines 33", "upper molars 46", "16 10")[0] == model
    assert fit.figures[0].what.startswith(texts[0].upper().split()[0])


def test_words_may_stand_in_one_text_and_leave_out_the_jaw() -> None:
    alike = fitted("upper canines 33", "upper molars 46", "16 10")[0]
    assert fitted("canines 33,0 mm; Molars 46mm", "16 10 mm", jaw="upper")[0] == alike


# Callipers: measuring points


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("base", CANINE)
def test_cusp_tips_stand_wider_and_give_the_same_arch(base: str, jaw: Jaw) -> None:
    arch = build_arch(curved(base), jaw)
    canines, molars = cusp_width(arch, CANINE[base]), cusp_width(arch, "6")
    assert CUSP_SHARE == 0.25
    assert molars > width(arch, "6") + 4  # about half a crown of 10 to 11 mm
    texts = (f"{jaw} canines {canines!r}", f"{jaw} molars {molars!r}")
    model, _ = fitted(*texts, base=base, point="cusp-tips")
    again = build_arch(model, jaw)
    for slot in (CANINE[base], "6"):
        assert width(again, slot) == pytest.approx(width(arch, slot), abs=1e-9)
    row = model.jaw(jaw).centre_width("6")
    assert row.mm == pytest.approx(width(arch, "6"), abs=1e-9)
    assert (row.source, row.flag) == ("measured", "assumption")
    assert row.note.startswith(f"{molars:g} between cusp tips")


def test_the_same_figures_between_centres_are_a_wider_arch() -> None:
    texts = ("upper canines 32", "upper molars 50")
    tips, centres = fitted(*texts, point="cusp-tips")[0], fitted(*texts)[0]
    assert width(build_arch(centres, "upper"), "6") == pytest.approx(50, abs=1e-9)
    assert width(build_arch(tips, "upper"), "6") == pytest.approx(44.6, abs=0.5)


# Callipers: teeth


def test_right_and_left_are_averaged() -> None:
    model, fit = fitted("16 10.4", "26 10.9", "13 8")
    rows: dict[str, Width] = {row.tooth: row for row in model.upper.mesiodistal}
    assert rows["6"].mm == pytest.approx(10.65)
    assert rows["6"].note == "right 10.40, left 10.90"
    assert rows["3"].mm == 8
    assert {rows[slot].source for slot in "63"} == {"measured"}
    assert [figure.what for figure in fit.figures[-2:]] == ["tooth 13", "tooth 16, 26"]
    base = curved("adult-mean").upper.mesiodistal
    assert [row for row in model.upper.mesiodistal if row.tooth not in "63"] == [
        row for row in base if row.tooth not in "63"
    ]


@pytest.mark.parametrize(("left", "warned"), [(10.89, False), (10.92, True)])
def test_sides_that_differ_by_more_than_half_a_millimetre_are_named(
    left: float, warned: bool
) -> None:
    _, fit = fitted("16 10.4", f"26 {left}", "canines 32; molars 45", jaw="upper")
    assert codes(fit) == ["sides-differ"] * warned
    if warned:
        assert f"16 10.40 and 26 {left:.2f}" in fit.findings[0].message


@pytest.mark.parametrize(
    ("text", "limit"), [("16 {}", 10.665 + 2 * 0.55), ("canines {}", 31.75 - 2 * 2.0)]
)
def test_a_measure_beyond_two_sd_is_shown_beside_the_published_figures(
    text: str, limit: float
) -> None:
    outwards = 1 if text.startswith("16") else -1
    known = {"16": "10.665 (SD 0.55; moorrees-1957, M)", "ca": "31.75 (SD 2; moyers-1976, M)"}
    molars = "molars 44"
    _, inside = fitted(text.format(limit - outwards * 0.01), molars, jaw="upper")
    _, outside = fitted(text.format(limit + outwards * 0.01), molars, jaw="upper")
    assert "unusual-measure" not in codes(inside)
    (finding,) = (one for one in outside.findings if one.code == "unusual-measure")
    assert f"more than 2 SD from the published mean {known[text[:2]]}" in finding.message
    assert finding.limit == pytest.approx(limit)


def test_cusp_tips_are_held_against_the_published_centres() -> None:
    # 54 between tips is about 48.6 between centres, inside 45.3 + 2 x 2.5; 57 is not.
    _, usual = fitted("canines 33; molars 54", jaw="upper", point="cusp-tips")
    _, unusual = fitted("canines 35; molars 57", jaw="upper", point="cusp-tips")
    assert codes(usual) == []
    assert codes(unusual) == ["unusual-measure"]
    assert "45.3 (SD 2.5; moyers-1976, M)" in unusual.findings[0].message


# Refusals


REFUSALS = {
    "canines wider than molars": (
        ("upper canines 46", "upper molars 45"),
        "13-23 46 mm and 16-26 45 mm: no arch grows narrower backwards",
    ),
    "canines too wide for the front teeth": (
        ("upper canines 40", "upper molars 45"),
        "13-23 width 40 mm: too large for its teeth, which reach only 38.0 mm",
    ),
    "molars too wide": (
        ("upper canines 31.75", "upper molars 60"),
        "16-26 60 mm: too large for these teeth; with 13-23 31.75 mm it can be 41.21 to 55.81 mm",
    ),
    "molars too near": (
        ("upper canines 31.75", "upper molars 40"),
        "16-26 40 mm: too small for these teeth; with 13-23 31.75 mm it can be 41.21 to 55.81 mm",
    ),
    "too deep": (
        ("lower canines 24", "lower depth 35"),
        "depth to 46-36 35 mm: too large for these teeth; with 43-33 24 mm it can be",
    ),
    "one measure against the base": (
        ("upper canines 37.9",),
        "16-26 (from adult-mean) 45.3 mm: too small for these teeth; with 13-23 37.9 mm",
    ),
    "tooth outside the loader's bounds": (("16 1.9",), "1.9 mm must be 2 to 16 mm"),
    "width outside the loader's bounds": (("upper molars 91",), "91 mm must be 10 to 90 mm"),
    "depth out of all bounds": (("upper depth 300",), "300 mm must be 5 to 70 mm"),
    "NaN": (("16 nan",), "nan mm must be 2 to 16 mm"),
    "given twice": (("upper canines 33", "13-23 34"), "'13-23 34': given twice"),
    "depth twice": (("upper depth 30", "upper depth 31"), "'upper depth 31': given twice"),
    "tooth twice": (("16 10", "16 10"), "'16 10': given twice"),
    "two unlike teeth": (("16-27 46",), "use 16-26"),
    "no tooth": (("19 10",), "tooth '19': not a tooth in iso notation"),
    "no number": (("16 wide",), "'wide' is no number of mm"),
    "no words": (("upper",), "measure 'upper': not understood"),
    "other words": (("upper premolars 36",), "measure 'upper premolars 36': not understood"),
    "no jaw": (("canines 33",), 'which jaw? use "upper canines 33"'),
}


@pytest.mark.parametrize(("texts", "problem"), REFUSALS.values(), ids=REFUSALS)
def test_impossible_measures_are_refused_with_the_figures(
    texts: tuple[str, ...], problem: str
) -> None:
    assert problem in refusal(*texts)


def test_a_base_without_first_molars_takes_no_measure_to_them() -> None:
    assert 'such as "55-65 40"' in refusal("upper molars 40", base="primary")
    assert "no first molars in its upper row" in refusal("upper depth 25", base="primary")


def test_measures_of_another_jaw_than_the_one_meant_are_refused() -> None:
    assert "measures of the lower jaw, but the jaw meant is upper" in refusal("36 11", jaw="upper")


# The model and its file


def fields(row: object) -> tuple[object, object]:
    return getattr(row, "source", None), getattr(row, "flag", None)


def test_every_row_says_where_it_comes_from() -> None:
    model, _ = fitted("upper canines 33", "upper molars 46", "16 10.4")
    base = curved("adult-mean")
    assert model.sources["measured"] == MEASURED
    assert model.lower == base.lower
    assert fields(model.upper.curve) == ("noroozi-2001", "D")
    rows = {row.tooth: row for row in model.upper.centre_widths}
    assert fields(rows["3"]) == fields(rows["6"]) == ("measured", "measured")
    assert rows["4"] == base.upper.centre_width("4")
    assert set(model.sources) == {
        "measured",
        "noroozi-2001",
        "moorrees-1957",
        "moyers-1976",
        "woelfel-scheid",
    }
    assert model.widths_from == base.widths_from
    assert model.ages is None


def test_only_sources_in_use_are_kept() -> None:
    base = curved("adult-mean")
    start = Origin(base, DAY, "iso")
    texts = [f"{tooth} {8 + tooth % 10 / 8}" for tooth in (*range(11, 19), *range(41, 49))]
    both = ["canines 32", "molars 46"]
    texts += [f"{jaw} {text}" for jaw in JAWS for text in both if jaw == "upper"]
    texts += ["lower canines 27", "lower molars 43", "14-24 37", "44-34 33"]
    fits = [fit_callipers(m, "centres", start) for m in read_measures(texts, base, "iso")]
    assert set(own_model("own", start, fits).sources) == {"measured", "noroozi-2001"}


def test_a_base_measured_on_another_day_keeps_its_own_source(tmp_path: Path) -> None:
    first, _ = fitted("upper canines 33", "upper molars 46")
    base = load_model(written(tmp_path, write_model(first)))
    later = Origin(base, "2027-01-31", "iso")
    (measures,) = read_measures(["lower molars 43"], base, "iso")
    model = own_model("later", later, [fit_callipers(measures, "centres", later)])
    assert model.upper == first.upper
    assert model.sources["measured"] == MEASURED
    row = model.lower.centre_width("6")
    assert model.sources[row.source] == "measured, 2027-01-31, date given by the user"


@pytest.mark.parametrize("name", model_names())
def test_a_written_model_reads_back_the_same(name: str, tmp_path: Path) -> None:
    model = load_model(name)
    assert load_model(written(tmp_path, write_model(model, ["a remark"]))) == model


@given(
    st.text(max_size=30),
    st.text(min_size=1, max_size=30),
    st.floats(2, 16),
    st.lists(st.text(max_size=20), max_size=3),
)
@settings(max_examples=40, derandomize=True, deadline=None)
@example(note='a "quoted" \x7f \\ note', key="käse\n", mm=7.1, remarks=["two\nlines\x7f"])
def test_odd_texts_and_long_numbers_survive_the_file(
    note: str, key: str, mm: float, remarks: list[str]
) -> None:
    model = curved("adult-mean")
    first = msgspec.structs.replace(model.upper.mesiodistal[0], note=note, mm=mm, source=key)
    upper = msgspec.structs.replace(model.upper, mesiodistal=(first, *model.upper.mesiodistal[1:]))
    changed = msgspec.structs.replace(
        model, upper=upper, sources={**model.sources, key: f"as {key}"}
    )
    assert through_toml(write_model(changed, remarks)) == changed


def through_toml(text: str) -> ArchModel:
    return msgspec.toml.decode(text.encode(), type=ArchModel)


def test_a_model_without_what_may_be_left_out_is_written_too(tmp_path: Path) -> None:
    model = curved("adult-mean")

    def bare(jaw: JawModel) -> JawModel:
        return msgspec.structs.replace(jaw, curve=None, mesiodistal=(), spaces=())

    changed = msgspec.structs.replace(
        model, upper=bare(model.upper), lower=bare(model.lower), widths_from=("adult-mean",)
    )
    assert load_model(written(tmp_path, write_model(changed))) == changed
