"""The endpoints that fit an arch to points of a picture: the model, its file, and refusals."""

from __future__ import annotations

import json
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from sheetmark.anatomy.arch_model import data_folder, load_model
from sheetmark.anatomy.teeth import Jaw
from sheetmark.base.user_folder import models_folder
from sheetmark.cli.app import run
from sheetmark.fitting.landmarks import COLUMNS, Kind
from tests.helpers.fit_view import PIXELS_A_MM, Pixels, centre_errors, fit_request, picked_of

pytestmark = pytest.mark.usefixtures("few_mouths")

if TYPE_CHECKING:
    pass


def test_what_a_fit_may_start_from(client: TestClient, own_folder: Path) -> None:
    start = client.get("/api/arch/start").json()
    bases = {base["value"]: base for base in start["bases"]}
    assert {"adult-mean", "age-6"} <= set(bases)
    assert (start["usual_base"], start["own"], start["problems"]) == ("adult-mean", [], [])
    usual = [tooth["tooth"] for tooth in bases["adult-mean"]["upper"] if tooth["usual"]]
    assert usual == [*(f"1{n}" for n in range(7, 0, -1)), *(f"2{n}" for n in range(1, 8))]
    assert "55" in [tooth["tooth"] for tooth in bases["age-6"]["upper"] if tooth["usual"]]
    models_folder().mkdir()
    (models_folder() / "broken.toml").write_text("x", "utf-8")
    start = client.get("/api/arch/start").json()
    assert start["own"] == ["broken"]
    assert start["problems"] == [
        "arch model broken: your own file of it cannot be used; "
        "to see what is wrong, run: sheetmark arch list"
    ]
    assert len(start["bases"]) == len(bases)


@pytest.mark.parametrize("jaw", ["upper", "lower"])
def test_exact_points_give_back_the_model_that_they_were_drawn_from(
    client: TestClient, tmp_path: Path, jaw: Jaw
) -> None:
    fitted = client.post("/api/arch/fit", json=fit_request(picked_of(jaw))).json()
    path = tmp_path / "our-arch.toml"
    path.write_text(fitted["model"], "utf-8")
    # The base's directions take a large mouth's points back to the gum line a touch wrong.
    assert max(centre_errors(load_model(str(path)), jaw)) < 0.1
    assert fitted["findings"] == []
    offs = [hypot(tooth["facial_mm"], tooth["mesial_mm"]) for tooth in fitted["residuals"]]
    assert len(offs) == 14
    assert max(offs) < 1.0
    assert offs == sorted(offs, reverse=True)
    assert fitted["worst"].endswith(f"{fitted['residuals'][0]['name']}, {offs[0]:.1f} mm.")
    assert fitted["picture"].startswith("<?xml")


@pytest.mark.parametrize("kind", ["middle", "gum line"])
def test_other_points_give_back_the_model_too(
    client: TestClient, tmp_path: Path, kind: Kind
) -> None:
    fitted = client.post("/api/arch/fit", json=fit_request(picked_of(kind=kind))).json()
    path = tmp_path / "our-arch.toml"
    path.write_text(fitted["model"], "utf-8")
    assert max(centre_errors(load_model(str(path)))) < 0.1
    assert fitted["landmarks"].splitlines()[0] == ",".join(COLUMNS[kind])


def test_a_fit_has_points_of_one_kind(client: TestClient) -> None:
    mixed = {**picked_of(), **dict(list(picked_of(kind="gum line").items())[:3])}
    answer = client.post("/api/arch/fit", json=fit_request(mixed))
    assert answer.status_code == 422
    assert answer.json()["problems"] == [
        "teeth with points of different kinds; use one kind for all"
    ]
    same = {"16": {"facial": (5.0, 5.0), "lingual": (5.0, 5.0)}}
    answer = client.post("/api/arch/fit", json=fit_request(same))
    assert answer.json()["problems"] == [
        "tooth 16: its facial and lingual points are the same; pick both again"
    ]


def test_the_points_and_the_recipe_make_the_same_model_again(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fitted = client.post("/api/arch/fit", json=fit_request(base="adult-male")).json()
    monkeypatch.chdir(tmp_path)
    Path("our-arch.csv").write_text(fitted["landmarks"], "utf-8")
    program, *arguments = fitted["command"].split()
    assert program == "sheetmark"
    assert run([*arguments, "-o", "again.toml"]) == 0
    assert Path("again.toml").read_text("utf-8") == fitted["model"]


def test_a_tooth_that_is_off_is_the_worst_and_is_named_first(client: TestClient) -> None:
    picked = picked_of()
    for end, (x, y) in picked["24"].items():
        picked["24"][end] = (x + 3.5 * PIXELS_A_MM, y)
    fitted = client.post("/api/arch/fit", json=fit_request(picked)).json()
    assert fitted["residuals"][0]["tooth"] == "24"
    assert fitted["residuals"][0]["odd"]
    assert "24, 3." in fitted["worst"]
    assert fitted["findings"][0]["severity"] == "warning"
    assert fitted["findings"][0]["text"].startswith("24")


def test_teeth_are_written_as_the_practice_writes_them(
    client: TestClient, own_folder: Path
) -> None:
    (own_folder / "practice.toml").write_text(
        'format = "sheetmark-practice/1"\nnotation = "palmer"\nnumbers = "comma"\n', "utf-8"
    )
    fitted = client.post("/api/arch/fit", json=fit_request()).json()
    assert {tooth["name"] for tooth in fitted["residuals"]} >= {"UR6", "UL6"}
    assert {tooth["tooth"] for tooth in fitted["residuals"]} >= {"16", "26"}
    assert "," in fitted["figures"][0]["fitted"]
    assert fitted["landmarks"].splitlines()[1].startswith("UR7,")
    assert "--notation palmer" in fitted["command"]


def test_a_kept_model_is_known_by_its_name_everywhere(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    fitted = client.post("/api/arch/fit", json=fit_request()).json()
    kept = client.post("/api/arch/save", json=fit_request())
    assert kept.json() == {"name": "our-arch", "title": fitted["title"]}
    path = models_folder() / "our-arch.toml"
    assert path.read_text("utf-8") == fitted["model"]
    assert run(["arch", "show", "our-arch"]) == 0
    assert capsys.readouterr().out.startswith("our-arch: Upper jaw measured 2026-11-25")
    case = client.get("/api/case", params={"treat": ["16"], "arch": "our-arch"}).json()
    assert "--arch our-arch" in case["sheet"]["command"]
    assert client.get("/api/arch/start").json()["own"] == ["our-arch"]


def test_a_kept_model_is_replaced_only_when_wanted(client: TestClient) -> None:
    path = models_folder() / "our-arch.toml"
    assert client.post("/api/arch/save", json=fit_request()).status_code == 200
    first = path.read_bytes()
    other = fit_request(date="2026-11-26")
    refused = client.post("/api/arch/save", json=other)
    assert refused.status_code == 422
    assert refused.json()["problems"] == [
        "name 'our-arch': you have an arch model of that name; choose another name, or replace it"
    ]
    assert path.read_bytes() == first
    assert client.post("/api/arch/save", json=other | {"replace": True}).status_code == 200
    assert b"2026-11-26" in path.read_bytes()
    assert [file.name for file in models_folder().glob("*.toml")] == ["our-arch.toml"]


@pytest.mark.parametrize(
    "name", ["", "../our-arch", "our/arch", "Our", "x" * 41, "adult-mean", "a.toml", "C:\\a", "\0"]
)
def test_a_name_that_will_not_do_writes_nothing(
    client: TestClient, own_folder: Path, name: str
) -> None:
    answer = client.post("/api/arch/save", json=fit_request(name=name, replace=True))
    assert answer.status_code == 422
    assert answer.json()["problems"]
    assert [file.name for file in own_folder.parent.rglob("*")] == [own_folder.name]


def test_a_folder_that_cannot_be_had_is_reported(client: TestClient, own_folder: Path) -> None:
    models_folder().write_text("a file in its place", "utf-8")
    answer = client.post("/api/arch/save", json=fit_request())
    assert answer.status_code == 422
    (problem,) = answer.json()["problems"]
    assert "arch_models: cannot be used" in problem


@pytest.mark.parametrize(
    ("more", "wording"),
    [
        ({"base": "ours.toml"}, "arch model 'ours.toml': unknown"),
        ({"base": "../ours"}, "unknown"),
        ({"date": "25.11.2026"}, "not a date"),
        ({"teeth": []}, "landmarks: teeth: 0; at least 2"),
        ({"scale": {"first": [0, 0], "second": [0, 0], "mm": 50}}, "both points are the same"),
        ({"scale": {"first": [0, 0], "second": [9, 0], "mm": 50}}, "9 pixels apart, at least 100"),
        ({"scale": {"first": [0, 0], "second": [999, 0], "mm": 5000}}, "limits 5 to 500 mm"),
        ({"scale": {"first": [0, 0], "second": [2000, 0], "mm": 50}}, "scale the picture to mm"),
        ({"teeth": [{"tooth": "19", "mesial": [0, 0], "distal": [9, 9]}]}, "not a tooth in iso"),
        ({"teeth": [{"tooth": "16", "mesial": [0], "distal": [9, 9]}]}, "teeth.0.ends.mesial.1"),
        ({"teeth": [{"tooth": "16", "middle": [0]}]}, "teeth.0.middle.middle.1"),
        ({"teeth": [16]}, "teeth.0.ends 16"),
        ({"teeth": None}, "teeth None"),
        ({"picture": "x"}, "picture 'x'"),
    ],
)
def test_what_cannot_be_fitted_is_refused_in_one_line(
    client: TestClient, own_folder: Path, more: dict[str, Any], wording: str
) -> None:
    (own_folder / "ours.toml").write_bytes((data_folder() / "adult-large.toml").read_bytes())
    for path in ("/api/arch/fit", "/api/arch/save"):
        answer = client.post(path, json=fit_request(**more))
        assert answer.status_code == 422
        (problem,) = answer.json()["problems"]
        assert wording in problem
        assert "\n" not in problem
    assert not models_folder().exists()


NUMBERS = st.one_of(
    st.floats(-100, 3000),
    st.sampled_from([float("nan"), float("inf"), 1e308, -0.0, 0, 10**400]),
)
POINTS = st.tuples(NUMBERS, NUMBERS)


@settings(
    max_examples=60,
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    changes=st.dictionaries(
        st.tuples(st.sampled_from(list(picked_of())), st.sampled_from(["mesial", "distal"])),
        POINTS,
        max_size=8,
    ),
    more=st.fixed_dictionaries(
        {},
        optional={
            "name": st.text(max_size=8),
            "date": st.text(max_size=8),
            "base": st.text(max_size=8),
            "scale": st.fixed_dictionaries({"first": POINTS, "second": POINTS, "mm": NUMBERS}),
        },
    ),
)
def test_no_points_break_the_desk(
    client: TestClient, changes: dict[tuple[str, str], Pixels], more: dict[str, Any]
) -> None:
    picked = picked_of()
    for (tooth, end), point in changes.items():
        picked[tooth][end] = point
    headers = {"Content-Type": "application/json"}
    answer = client.post(
        "/api/arch/fit", content=json.dumps(fit_request(picked, **more)), headers=headers
    )
    assert answer.status_code in (200, 422)
    if answer.status_code == 422:
        assert answer.json()["problems"]
