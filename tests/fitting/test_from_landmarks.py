"""Arches from landmarks: holes at the teeth that were seen, errors named, bad casts refused. mm.

What a fit gave is measured on the finished model, laid out by `build_arch`, never asked of the fit.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from math import dist
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.jaw import Arch, build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, in_arch_order, read
from sheetmark.base.findings import Action, Choice, InputError
from sheetmark.cli.app import run
from sheetmark.fitting.fit import JawFit, Origin, own_model
from sheetmark.fitting.from_landmarks import fit_landmarks
from sheetmark.fitting.landmarks import CastPoint, Kind, Landmark
from sheetmark.fitting.model_file import write_model
from tests.helpers.casts import as_csv, cast
from tests.helpers.fits import DAY, codes
from tests.helpers.model_files import written
from tests.helpers.paths import ROOT

pytestmark = pytest.mark.usefixtures("few_mouths")

TO_SECOND_MOLAR = "1234567"
KINDS: tuple[Kind, ...] = ("contacts", "gum line", "middle")
# The file keeps a tenth of a micrometre of each coordinate.
EXACT = 2e-4


def fitted(
    landmarks: Sequence[Landmark], base: str = "adult-mean", *, y_down: bool = False
) -> tuple[ArchModel, JawFit]:
    origin = Origin(load_model(base), DAY, "iso")
    fit = fit_landmarks(landmarks, y_down, origin)
    return own_model("own", origin, [fit]), fit


def refusal(landmarks: Sequence[Landmark], base: str = "adult-mean") -> str:
    with pytest.raises(InputError) as refused:
        fitted(landmarks, base)
    (problem,) = refused.value.problems
    return problem


def apart(arch: Arch, first: Tooth, other: Tooth) -> float:
    return dist(arch.place(first).centre, arch.place(other).centre)


def worst_distance(here: Arch, there: Arch, teeth: Collection[Tooth]) -> float:
    """The largest difference of any distance between two of the teeth: no move hides it."""
    return max(
        abs(apart(here, first, other) - apart(there, first, other))
        for first in teeth
        for other in teeth
    )


def teeth_of(marks: Sequence[Landmark]) -> list[Tooth]:
    return [mark.tooth for mark in marks]


# Teeth that were seen


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("known", "base", "jaw", "turn_deg"),
    [
        ("adult-mean", "adult-mean", "upper", 0),
        ("adult-mean", "adult-mean", "lower", 200),
        ("adult-small", "adult-mean", "lower", 90),
        ("age-8", "age-8", "lower", 37),
        ("primary", "primary", "upper", -60),
    ],
)
def test_exact_landmarks_give_the_mouth_itself(
    known: str, base: str, jaw: Jaw, turn_deg: float, kind: Kind
) -> None:
    marks = cast(known, jaw, kind=kind, turn_deg=turn_deg, shift=(120, -35))
    model, fit = fitted(marks, base)
    there, here = build_arch(load_model(known), jaw), build_arch(model, jaw)
    # Landmarks off the gum line are taken back by the base's directions: a touch off in a mouth
    # whose row is turned otherwise.
    bound = EXACT if known == base or kind == "gum line" else 0.1
    assert worst_distance(here, there, teeth_of(marks)) < bound
    assert here.seen == tuple(teeth_of(marks))
    assert fit.predicted == ()
    assert not codes(fit)


@pytest.mark.parametrize("kind", KINDS)
def test_a_tooth_out_of_line_gets_its_hole_where_it_stands(kind: Kind) -> None:
    marks = cast(kind=kind, slots=TO_SECOND_MOLAR, moves={"13": (-2.0, 1.5)}, turn_deg=12)
    model, _ = fitted(marks)
    here, there = build_arch(model, "upper"), build_arch(load_model("adult-mean"), "upper")
    for other in teeth_of(marks):
        own = there.place(other).centre
        x, y = there.place(Tooth(1, 3)).centre
        moved = (x - 2.0, y + 1.5) if other != Tooth(1, 3) else (x, y)
        # The tooth out of line turns the whole a little, and the way back to the gum line with it.
        bound = EXACT if kind == "gum line" else 2e-3
        assert apart(here, Tooth(1, 3), other) == pytest.approx(dist(own, moved), abs=bound)


def test_a_canine_far_out_is_named_and_keeps_its_place() -> None:
    _, fit = fitted(cast(slots=TO_SECOND_MOLAR, moves={"13": (-3.0, 2.0)}))
    (reported,) = (finding for finding in fit.findings if finding.code == "stray-point")
    assert reported.message.startswith("13 stands away from where the other teeth would put it: ")
    assert "mm facial" in reported.message
    assert fit.seen[0].tooth == Tooth(1, 3)
    assert fit.seen[0].odd
    assert fit.seen[0].off_mm == pytest.approx(dist((0, 0), (3.0, 2.0)), abs=0.3)


def test_neighbours_points_are_not_laid_end_to_end() -> None:
    # A shared point serves two teeth; points of neighbours that lie 1 mm apart invent no space.
    marks = [
        replace(
            mark,
            points=tuple(CastPoint(x, y + 0.5 * (mark.tooth.position % 2)) for x, y in mark.points),
        )
        for mark in cast(slots=TO_SECOND_MOLAR)
    ]
    model, _ = fitted(marks)
    there = build_arch(load_model("adult-mean"), "upper")
    here = build_arch(model, "upper")
    assert apart(here, Tooth(1, 7), Tooth(1, 6)) == pytest.approx(
        apart(there, Tooth(1, 7), Tooth(1, 6)), abs=0.51
    )
    assert apart(here, Tooth(1, 7), Tooth(1, 1)) == pytest.approx(
        apart(there, Tooth(1, 7), Tooth(1, 1)), abs=1e-3
    )


@pytest.mark.parametrize("jaw", JAWS)
def test_where_and_how_the_cast_lies_does_not_matter(jaw: Jaw) -> None:
    first, _ = fitted(cast(jaw=jaw, noise_mm=0.2, seed=3))
    for turn, shift in ((33, (0.0, 0.0)), (180, (500.0, -80.0)), (271, (-3.0, 4.0))):
        again, _ = fitted(cast(jaw=jaw, noise_mm=0.2, seed=3, turn_deg=turn, shift=shift))
        here, there = build_arch(again, jaw), build_arch(first, jaw)
        assert worst_distance(here, there, here.teeth) < 4 * EXACT


def test_right_and_left_exchanged_and_mirrored_give_the_mirror_image() -> None:
    marks = cast(noise_mm=0.3, seed=5, slots=TO_SECOND_MOLAR)
    image = [
        Landmark(mark.tooth.mirrored, tuple(CastPoint(-x, y) for x, y in mark.points))
        for mark in marks
    ]
    fit, _ = fitted(marks)
    other, _ = fitted(sorted(image, key=lambda mark: mark.tooth.along))
    here, there = build_arch(fit, "upper"), build_arch(other, "upper")
    for place in here.places:
        x, y = there.place(place.tooth.mirrored).centre
        assert place.centre == pytest.approx((-x, y), abs=EXACT)


# Teeth that were not


def test_teeth_without_a_point_are_predicted_and_marked(tmp_path: Path) -> None:
    marks = cast(slots=TO_SECOND_MOLAR, without=("15", "22"))
    model, fit = fitted(marks)
    assert [tooth.iso for tooth in fit.predicted] == ["18", "15", "22", "28"]
    rows = {row.tooth: row for row in model.upper.placed}
    assert {iso for iso, row in rows.items() if row.seen} == {t.iso for t in teeth_of(marks)}
    assert rows["15"].flag == "D"
    assert model.sources[rows["15"].source].startswith("predicted from what was measured")
    assert load_model(written(tmp_path, write_model(model))) == model
    # Here the mouth is the model's own, so the best prediction is the model's place.
    here, there = build_arch(model, "upper"), build_arch(load_model("adult-mean"), "upper")
    assert worst_distance(here, there, in_arch_order(here.teeth)) < EXACT


def test_a_predicted_tooth_follows_its_neighbours() -> None:
    """A quadrant 1 mm facial of the model takes the tooth that was not seen along."""
    moves = {f"1{p}": (-1.0, 0.0) for p in (4, 6, 7)} | {"15": (-1.0, 0.0)}
    model, _ = fitted(cast(slots=TO_SECOND_MOLAR, moves=moves, without=("15",)))
    whole = build_arch(load_model("adult-mean"), "upper")
    here = build_arch(model, "upper")
    x, y = whole.place(Tooth(1, 5)).centre
    moved = x - 1.0, y
    off = [
        abs(apart(here, Tooth(1, 5), other) - dist(moved, whole.place(other).centre))
        for other in (Tooth(2, 4), Tooth(2, 6))
    ]
    assert max(off) < 0.5


def test_two_teeth_are_enough() -> None:
    model, fit = fitted(cast(slots="47", without=("24", "27", "17")) + cast(slots="6")[:1])
    assert {tooth.iso for tooth in build_arch(model, "upper").seen} == {"14", "16"}
    assert codes(fit) == ["mirror-unknown"]


def test_the_row_follows_the_teeth_that_were_seen() -> None:
    # An 8-year-old's cast on the base for adults: primary teeth in three places, and said so.
    model, fit = fitted(cast("age-8", "upper"))
    assert model.upper.row == ("1", "2", "C", "D", "E", "6", "7", "8")
    assert "row-differs" in codes(fit)
    here, there = build_arch(model, "upper"), build_arch(load_model("age-8"), "upper")
    teeth = [tooth for tooth in here.teeth if tooth.primary]
    assert len(teeth) == 6
    assert worst_distance(here, there, teeth) < 0.2


def test_sides_that_hold_different_teeth_keep_the_row_of_the_base() -> None:
    primary, permanent = cast("age-8", "upper"), cast("age-10", "upper")
    mixed = [m for m in primary if m.tooth.side == "right" or not m.tooth.primary]
    mixed += [m for m in permanent if m.tooth.iso == "24"]
    model, fit = fitted(sorted(mixed, key=lambda m: m.tooth.along), "age-8")
    assert model.upper.row == load_model("age-8").upper.row
    assert Tooth(2, 4) in fit.teeth


def test_a_molar_behind_the_row_of_the_base_joins_it() -> None:
    marks = [*cast("primary"), *cast("age-10", slots="6")]
    model, fit = fitted(sorted(marks, key=lambda m: m.tooth.along), "primary")
    assert model.upper.row == ("A", "B", "C", "D", "E", "6")
    assert Tooth(1, 6) in build_arch(model, "upper").seen
    assert "row-differs" in codes(fit)


# What is odd


@pytest.mark.parametrize("jaw", JAWS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_mirrored_picture_is_fitted_and_named(jaw: Jaw, kind: Kind) -> None:
    marks = cast(jaw=jaw, kind=kind, slots=TO_SECOND_MOLAR, mirrored=True, turn_deg=50)
    model, fit = fitted(marks)
    (reported,) = fit.findings
    assert reported.code == "mirrored"
    assert reported.message.startswith("MIRRORED PICTURE")
    assert reported.actions == (Action(Choice.Y_DOWN),)
    here, there = build_arch(model, jaw), build_arch(load_model("adult-mean"), jaw)
    assert worst_distance(here, there, teeth_of(marks)) < EXACT


@pytest.mark.parametrize("jaw", JAWS)
def test_y_counted_downwards_is_taken_in(jaw: Jaw) -> None:
    marks = [
        replace(mark, points=tuple(CastPoint(x, -y) for x, y in mark.points))
        for mark in cast(jaw=jaw, slots=TO_SECOND_MOLAR)
    ]
    model, fit = fitted(marks, y_down=True)
    assert not codes(fit)
    here, there = build_arch(model, jaw), build_arch(load_model("adult-mean"), jaw)
    assert worst_distance(here, there, teeth_of(marks)) < EXACT


def test_points_too_near_together_are_named() -> None:
    marks = list(cast(slots=TO_SECOND_MOLAR))
    (x1, y1), (x2, y2) = marks[0].points
    middle = ((x1 + x2) / 2, (y1 + y2) / 2)
    short = tuple(
        CastPoint(middle[0] + 0.6 * (x - middle[0]), middle[1] + 0.6 * (y - middle[1]))
        for x, y in marks[0].points
    )
    marks[0] = replace(marks[0], points=short)
    _, fit = fitted(marks)
    (reported,) = fit.findings
    assert reported.code == "odd-width"
    assert reported.message.startswith("17: its points lie 6.05 mm apart; from the other teeth 10.")


def test_a_picture_out_of_scale_is_doubted_or_refused() -> None:
    assert not codes(fitted(cast(slots=TO_SECOND_MOLAR, scale=1.1, kind="middle"))[1])
    assert "unusual-scale" in codes(fitted(cast(slots=TO_SECOND_MOLAR, scale=1.15))[1])
    assert "unusual-scale" in codes(fitted(cast(slots=TO_SECOND_MOLAR, scale=0.85))[1])
    for by in (0.5, 10.0):
        problem = refusal(cast(slots=TO_SECOND_MOLAR, scale=by))
        assert "times as far apart as those of adult-mean; limits 0.7 to 1.4" in problem


def exchanged(landmarks: Sequence[Landmark], first: str, other: str) -> list[Landmark]:
    names = {first: other, other: first}
    return [
        replace(m, tooth=read(names[m.tooth.iso], "iso")) if m.tooth.iso in names else m
        for m in landmarks
    ]


REFUSALS: dict[str, tuple[Callable[[], Sequence[Landmark]], str]] = {
    "none": (list, "landmarks: teeth: 0; at least 2 of one jaw are needed"),
    "one": (lambda: cast()[:1], "landmarks: teeth: 1; at least 2"),
    "two teeth in one place": (
        lambda: [*cast(without=("14",)), replace(cast(slots="3")[0], tooth=Tooth(1, 4))],
        "teeth 14 and 13 lie along the arch in the other order, or in one place",
    ),
    "names exchanged": (
        lambda: exchanged(cast(), "14", "15"),
        "teeth 15 and 14 lie along the arch in the other order",
    ),
}


@pytest.mark.parametrize(("marks", "problem"), REFUSALS.values(), ids=REFUSALS)
def test_landmarks_that_are_no_jaw_are_refused(
    marks: Callable[[], Sequence[Landmark]], problem: str
) -> None:
    assert problem in refusal(marks())


def test_a_jaw_that_was_measured_before_is_no_base(tmp_path: Path) -> None:
    first, _ = fitted(cast(slots=TO_SECOND_MOLAR))
    base = load_model(written(tmp_path, write_model(first)))
    origin = Origin(base, "2027-01-31", "iso")
    with pytest.raises(InputError, match="its upper jaw was measured already"):
        fit_landmarks(cast(slots=TO_SECOND_MOLAR), False, origin)
    lower = fit_landmarks(cast(jaw="lower"), False, origin)
    both = own_model("both", origin, [lower])
    assert both.upper == first.upper
    assert {row.source for row in both.upper.placed if row.seen} == {"measured"}
    assert {row.source for row in both.lower.placed if row.seen} == {"measured-2027-01-31"}


@given(st.data())
@settings(max_examples=20, derandomize=True, deadline=None)
def test_any_numbers_end_in_a_fit_or_a_refusal(data: st.DataObject) -> None:
    number = st.floats(-40, 40).map(lambda value: round(value, 2))
    point = st.builds(CastPoint, number, number)
    marks = list(cast(jaw=data.draw(st.sampled_from(JAWS)), noise_mm=0.3, seed=1))
    for at in data.draw(st.sets(st.integers(0, 15), max_size=6)):
        points = (data.draw(point), data.draw(point))
        if points[0] != points[1]:
            marks[at] = replace(marks[at], points=points)
    try:
        fit = fitted(marks)[1]
    except InputError as error:
        lines = error.problems
    else:
        lines = tuple(finding.line for finding in fit.findings)
        assert len(fit.seen) == 16
    assert not any("\n" in line for line in lines)


# The command


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path


def test_the_command_prints_each_tooth_and_writes_the_model(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for jaw in JAWS:
        marks = cast(jaw=jaw, slots=TO_SECOND_MOLAR, moves={"14": (-3.5, 0.0)}, without=("15",))
        (folder / f"{jaw}.csv").write_text(as_csv(marks, ";", ","), "utf-8")
    command = ["arch", "fit", "--date", DAY, "-o", "own.toml"]
    assert run([*command, "--landmarks", "lower.csv", "--landmarks", "upper.csv"]) == 0
    captured = capsys.readouterr()
    table = captured.out[captured.out.index("  tooth  width  facial") :].splitlines()
    assert table[1].split()[0] == "14"
    assert float(table[1].split()[-1].rstrip("*")) == pytest.approx(3.5, abs=0.4)
    assert table[1].endswith("*")
    assert len([line for line in table[1:14] if line.startswith(("  1", "  2"))]) == 13
    assert "  predicted from the teeth that were seen: 18 15 28\n" in captured.out
    assert "warning: 14 stands away from where the other teeth would put it" in captured.err
    assert captured.err.endswith("wrote own.toml\n")
    assert run(["overlay", "46", "--arch", "own.toml"]) == 0


def test_an_overlay_says_which_of_its_teeth_were_not_seen(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "upper.csv").write_text(as_csv(cast(slots=TO_SECOND_MOLAR, without=("15",))))
    assert run(["arch", "fit", "--date", DAY, "--landmarks", "upper.csv", "-o", "own.toml"]) == 0
    assert run(["overlay", "16", "--arch", "own.toml"]) == 0
    assert "warning: 15: not seen when the arch was measured" in capsys.readouterr().err
    assert run(["overlay", "13", "--row", "short", "--arch", "own.toml"]) == 0
    assert "not seen" not in capsys.readouterr().err


def test_the_shipped_landmarks_can_be_tried(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shipped = ROOT / "examples" / "landmarks.csv"
    command = ["arch", "fit", "--date", DAY, "--landmarks", str(shipped), "-o", "own.toml"]
    assert run(command) == 0
    assert "warning" not in (warned := capsys.readouterr().err)
    assert warned.endswith("wrote own.toml\n")
    assert load_model("own.toml").name == "own"


@pytest.mark.parametrize(
    ("more", "problem"),
    [
        (["--landmarks", "copy.csv"], "copy.csv: the upper jaw was measured already"),
        (["--measure", "16 10"], "upper.csv: the upper jaw was measured already"),
        (["--jaw", "lower"], "upper.csv: teeth of the upper jaw, but --jaw lower"),
    ],
)
def test_a_jaw_is_measured_in_one_way(
    folder: Path, capsys: pytest.CaptureFixture[str], more: list[str], problem: str
) -> None:
    for name in ("upper.csv", "copy.csv"):
        (folder / name).write_text(as_csv(cast()), "utf-8")
    command = ["arch", "fit", "--date", DAY, "-o", "own.toml", "--landmarks", "upper.csv"]
    assert run([*command, *more]) == 2
    captured = capsys.readouterr()
    assert problem in captured.err
    assert captured.err.count("\n") == 1
    assert not (folder / "own.toml").exists()
