"""Arches from callipers: what the mouth comes to, what is said of it, and its model. mm.

What a fit gave is measured on the finished model, laid out by `build_arch`, never asked of the fit.
"""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sheetmark.anatomy.arch_model import ArchModel, JawModel, load_model, model_names
from sheetmark.anatomy.jaw import Arch, build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, tooth_at
from sheetmark.base.findings import InputError
from sheetmark.fitting.fit import JawFit, Origin, own_model
from sheetmark.fitting.from_callipers import fit_callipers
from sheetmark.fitting.measures import DEFAULT_POINT, MeasuringPoint, read_measures
from sheetmark.fitting.model_file import write_model
from tests.helpers.fits import DAY, MEASURED, codes, width
from tests.helpers.model_files import written

pytestmark = pytest.mark.usefixtures("few_mouths")


def fitted(
    *texts: str, base: str = "adult-mean", point: MeasuringPoint = DEFAULT_POINT
) -> tuple[ArchModel, JawFit]:
    """The model from measures of one jaw, and how they were met."""
    origin = Origin(load_model(base), DAY, "iso")
    measures = read_measures(texts, "iso", None, point)
    fit = fit_callipers(measures[0].jaw, measures, origin)
    return own_model("own", origin, [fit]), fit


def refusal(*texts: str, base: str = "adult-mean") -> str:
    with pytest.raises(InputError) as refused:
        fitted(*texts, base=base)
    return refused.value.problems[0]


def depth(arch: Arch) -> float:
    """From between the centrals to the molars' line, at the gum line."""
    front, back = (
        sum(arch.place(tooth_at(arch.jaw, side * p)).centre.y for side in (-1, 1)) / 2
        for p in (1, 6)
    )
    return abs(front - back)


def row(arch: Arch, first: int, last: int) -> float:
    """From the mesial contact point of one tooth to the distal one of another, left side."""
    ends = []
    for place, sign in (
        (arch.place(tooth_at(arch.jaw, first)), -1),
        (arch.place(tooth_at(arch.jaw, last)), 1),
    ):
        half = sign * place.size.mesiodistal_mm / 2
        ends.append(
            (place.contact.x + half * place.leftward.x, place.contact.y + half * place.leftward.y)
        )
    (x1, y1), (x2, y2) = ends
    return float(((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5)


# What was measured comes back


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize(("wording", "slot", "by"), [("canines", "3", 1.5), ("molars", "6", -2.0)])
def test_a_width_comes_back(jaw: Jaw, wording: str, slot: str, by: float) -> None:
    own = width(build_arch(load_model("adult-mean"), jaw), slot)
    model, fit = fitted(f"{jaw} {wording} {own + by:.2f}")
    # The callipers' own error leaves a little of the average in it.
    assert width(build_arch(model, jaw), slot) == pytest.approx(own + by, abs=0.06)
    assert not codes(fit)


@pytest.mark.parametrize("jaw", JAWS)
def test_the_base_measured_is_the_base(jaw: Jaw) -> None:
    base = build_arch(load_model("adult-mean"), jaw)
    texts = (
        f"{jaw} canines {width(base, '3')!r}",
        f"{jaw} molars {width(base, '6')!r}",
        f"{jaw} depth {depth(base)!r}",
        f"row {tooth_at(jaw, 4).iso}-{tooth_at(jaw, 7).iso} {row(base, 4, 7)!r}",
    )
    model, _ = fitted(*texts)
    for place in build_arch(model, jaw).places:
        there = base.place(place.tooth)
        assert place.centre == pytest.approx(there.centre, abs=2e-4)
        assert place.contact == pytest.approx(there.contact, abs=2e-4)
        assert place.size.mesiodistal_mm == pytest.approx(there.size.mesiodistal_mm, abs=1e-4)


@pytest.mark.parametrize("jaw", JAWS)
def test_depth_row_and_teeth_come_back(jaw: Jaw) -> None:
    base = build_arch(load_model("adult-mean"), jaw)
    wanted = depth(base) + 2, row(base, 4, 7) - 1.5
    tooth = tooth_at(jaw, 6)
    own = base.place(tooth).size.mesiodistal_mm
    model, fit = fitted(
        f"{jaw} depth {wanted[0]:.2f}",
        f"row {tooth_at(jaw, 4).iso}-{tooth_at(jaw, 7).iso} {wanted[1]:.2f}",
        f"{tooth.iso} {own - 0.6:.2f}",
    )
    arch = build_arch(model, jaw)
    assert depth(arch) == pytest.approx(wanted[0], abs=0.15)
    assert row(arch, 4, 7) == pytest.approx(wanted[1], abs=0.25)
    assert arch.place(tooth).size.mesiodistal_mm == pytest.approx(own - 0.6, abs=0.2)
    # A tooth's other side, and its neighbours, follow a little: large teeth go together.
    assert arch.place(tooth.mirrored).size.mesiodistal_mm < own - 0.2
    assert (
        arch.place(tooth_at(jaw, 5)).size.mesiodistal_mm
        < base.place(tooth_at(jaw, 5)).size.mesiodistal_mm
    )
    assert not codes(fit)


@pytest.mark.parametrize(
    "texts",
    [
        ("upper canines 34", "upper molars 47"),
        ("upper depth 31",),
        ("upper six fronts 44",),
        ("upper premolars 38",),
        ("row 14-24 40", "16 10", "26 10"),
    ],
)
def test_measures_alike_on_both_sides_give_exact_mirror_images(texts: tuple[str, ...]) -> None:
    model, _ = fitted(*texts)
    arch = build_arch(model, "upper")
    for place in arch.places:
        other = arch.place(place.tooth.mirrored)
        assert (place.centre.x, place.centre.y) == (-other.centre.x, other.centre.y)
        assert place.size == other.size


def test_contacts_and_cusp_tips_are_taken_back_to_the_gum_line() -> None:
    base = build_arch(load_model("adult-mean"), "upper")
    left = base.place(tooth_at("upper", 3))
    for texts, point in (
        ((f"upper canines contacts {2 * left.contact.x!r}",), DEFAULT_POINT),
        ((f"upper canines {width(base, '3') + 3.6!r}",), "cusp-tips"),
        ((f"upper molars cusp tips {width(base, '6') + 5.8!r}",), DEFAULT_POINT),
    ):
        model, _ = fitted(*texts, point=point)
        for place in build_arch(model, "upper").places:
            assert place.centre == pytest.approx(base.place(place.tooth).centre, abs=2e-4)
    # Their offset is less sure than the callipers, so they move the arch less.
    sure, _ = fitted("upper canines 34.75")
    unsure, _ = fitted("upper canines cusp tips 38.35")
    assert 31.75 < width(build_arch(unsure, "upper"), "3") < width(build_arch(sure, "upper"), "3")


def test_children_are_measured_at_the_teeth_that_stand() -> None:
    model, fit = fitted("lower canines 24", "75-85 38", base="primary")
    arch = build_arch(model, "lower")
    assert width(arch, "C") == pytest.approx(24, abs=0.1)
    assert width(arch, "E") == pytest.approx(38, abs=0.1)
    assert [figure.what for figure in fit.figures] == ["lower canines", "75-85"]
    assert {row.tooth for row in model.lower.placed} == {
        *(f"{quadrant}{p}" for quadrant in (7, 8) for p in range(1, 6)),
        "36",
        "46",
    }
    mixed, _ = fitted("upper molars 44", "54 7.5", base="age-8")
    arch = build_arch(mixed, "upper")
    assert width(arch, "6") == pytest.approx(44, abs=0.1)
    assert arch.place(tooth_at("upper", -4, primary=True)).size.mesiodistal_mm > 7.2


# What is odd


@pytest.mark.parametrize(
    ("texts", "expected"),
    [
        (("upper canines 38.5",), ["unusual-measure", "measures-disagree"]),
        (
            ("upper canines 33.5", "upper canines contacts 37.6", "upper canines cusp tips 33"),
            ["measures-disagree"],
        ),
        (("upper canines 37", "upper molars 42"), []),
    ],
)
def test_a_mouth_out_of_the_usual_is_named_with_what_is_missed(
    texts: tuple[str, ...], expected: list[str]
) -> None:
    _, fit = fitted(*texts)
    assert codes(fit) == expected
    if expected:
        message = fit.findings[-1].message
        measured, found = fit.figures[0].measured_mm, fit.figures[0].fitted_mm
        assert measured is not None
        assert f"{fit.figures[0].what} {measured - found:+.1f}" in message


REFUSALS = {
    "far too wide": (("upper canines 50",), "no mouth has that: 9."),
    "far too deep": (("upper depth 60",), "SDs from the 29.25 (SD "),
    "measures that contradict": (
        ("16-26 41", "row 16-26 53"),
        "contradicts the other measures",
    ),
    "a tooth that is not there": (
        ("55-65 40",),
        "tooth 55 does not stand in this row",
    ),
    "cusp tips not tabulated": (
        ("15-25 cusp tips 45",),
        "is known only for places 3, 4, 6 from the midline",
    ),
}


@pytest.mark.parametrize(("texts", "problem"), REFUSALS.values(), ids=REFUSALS)
def test_what_no_mouth_has_is_refused(texts: tuple[str, ...], problem: str) -> None:
    assert problem in refusal(*texts)


def test_a_base_without_first_molars_takes_no_measure_to_them() -> None:
    assert "tooth 16 does not stand in this row" in refusal("upper molars 40", base="primary")
    assert "does not stand in this row" in refusal("upper depth 25", base="primary")


def test_a_figure_says_what_is_usual_and_how_sure_it_is() -> None:
    _, fit = fitted("upper canines 33")
    figures = {figure.what: figure for figure in fit.figures}
    assert figures["upper canines"].measured_mm == 33
    assert figures["upper canines"].expected.startswith("31.75 (SD 2.0")
    molars = figures["16-26"]
    assert molars.measured_mm is None
    assert molars.fitted_mm > 45.3  # wide canines, wide molars
    assert molars.sd_mm == pytest.approx(1.95, abs=0.15)
    assert molars.sentence == f"16-26: {molars.fitted_mm:.2f} (SD {molars.sd_mm:.1f})"


# The model and its file


def test_the_model_holds_every_place_beside_the_rows_of_its_base() -> None:
    model, _ = fitted("upper canines 33")
    base = load_model("adult-mean")
    assert model.lower == base.lower
    assert msgspec.structs.replace(model.upper, placed=(), worst_hole=()) == base.upper
    assert [row.tooth for row in model.upper.placed] == [
        *(f"1{p}" for p in range(8, 0, -1)),
        *(f"2{p}" for p in range(1, 9)),
    ]
    assert {(row.source, row.flag) for row in model.upper.placed} == {("predicted", "D")}
    assert model.sources["measured"] == MEASURED
    assert model.sources["predicted"].startswith("predicted from what was measured")
    assert model.ages is None
    assert build_arch(model, "upper").seen == ()


def test_a_jaw_is_measured_once_with_all_its_measures(tmp_path: Path) -> None:
    first, _ = fitted("upper canines 33")
    path = written(tmp_path, write_model(first))
    origin = Origin(load_model(path), "2027-01-31", "iso")
    with pytest.raises(InputError, match="its upper jaw was measured already"):
        fit_callipers("upper", read_measures(["16 10"], "iso"), origin)
    lower = fit_callipers("lower", read_measures(["36 11"], "iso"), origin)
    model = own_model("both", origin, [lower])
    assert model.upper == first.upper
    assert model.sources["measured"] == MEASURED
    assert model.sources["measured-2027-01-31"] == ("measured, 2027-01-31, date given by the user")


@pytest.mark.parametrize("name", [*model_names(), "own"])
def test_a_written_model_reads_back_the_same(name: str, tmp_path: Path) -> None:
    model = fitted("upper canines 33", "16 10.4")[0] if name == "own" else load_model(name)
    assert load_model(written(tmp_path, write_model(model, ["a remark"]))) == model


PLACES = {
    "a tooth missing": lambda rows: rows[1:],
    "a tooth twice": lambda rows: (*rows[1:], rows[1]),
    "a tooth of the other jaw": lambda rows: (
        msgspec.structs.replace(rows[0], tooth="48"),
        *rows[1:],
    ),
}


@pytest.mark.parametrize("change", PLACES.values(), ids=PLACES)
def test_places_that_are_not_the_row_are_refused(change, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    model, _ = fitted("upper canines 33")
    upper = msgspec.structs.replace(model.upper, placed=change(model.upper.placed))
    path = written(tmp_path, write_model(msgspec.structs.replace(model, upper=upper)))
    with pytest.raises(InputError, match=r"upper\.placed: one tooth of this jaw is needed"):
        load_model(path)


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
    model = load_model("adult-mean")
    first = msgspec.structs.replace(model.upper.mesiodistal[0], note=note, mm=mm, source=key)
    upper = msgspec.structs.replace(model.upper, mesiodistal=(first, *model.upper.mesiodistal[1:]))
    changed = msgspec.structs.replace(
        model, upper=upper, sources={**model.sources, key: f"as {key}"}
    )
    text = write_model(changed, remarks)
    assert msgspec.toml.decode(text.encode(), type=ArchModel) == changed


def test_a_model_without_what_may_be_left_out_is_written_too(tmp_path: Path) -> None:
    model = load_model("adult-mean")

    def bare(jaw: JawModel) -> JawModel:
        return msgspec.structs.replace(jaw, curve=None, mesiodistal=(), spaces=())

    changed = msgspec.structs.replace(
        model, upper=bare(model.upper), lower=bare(model.lower), widths_from=("adult-mean",)
    )
    assert load_model(written(tmp_path, write_model(changed))) == changed
