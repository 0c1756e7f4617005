"""The endpoints of a case, in this process: the same answers as the command line gives."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from sheetmark.anatomy.arch_model import data_folder
from sheetmark.base.user_folder import models_folder
from sheetmark.cli.app import run
from sheetmark.plan.plan_json import plan_json
from tests.helpers.cases import run_json
from tests.helpers.corpus import Mouth, mouths
from tests.helpers.page_check import check_page
from tests.helpers.readback import Drawing, read_first_page, read_pdf

RIGHT = (1, 4, 5, 8)


def shown(client: TestClient, **query: Any) -> dict[str, Any]:
    answer = client.get("/api/case", params=query)
    assert answer.status_code == 200, answer.text
    data: dict[str, Any] = answer.json()
    return data


def test_what_draws_the_gum_back_stands_behind_the_clamps(client: TestClient) -> None:
    clamps = shown(client, treat="14", **{"for": "cervical"})["sheet"]["clamps"]
    assert [clamp["tooth"] for clamp in clamps][-1] == "14"
    assert clamps[-1]["clamp"] == "ligature for the gum"
    assert clamps[-1]["reason"] == "the tray has no clamp for the gum line that fits"


def chart_teeth(data: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {t["tooth"]: t for jaw in ("upper", "lower") for t in data["chart"][jaw]}


def middle(tooth: dict[str, Any]) -> tuple[float, float]:
    xs, ys = zip(*tooth["outline"], strict=True)
    return sum(xs) / len(xs), sum(ys) / len(ys)


@pytest.mark.parametrize("age", [None, 4, 6, 8, 10, 13])
def test_the_chart_is_seen_by_the_operator(client: TestClient, age: int | None) -> None:
    """Quadrant 1 at the upper left of the picture, whose y runs downwards; mirrored in x."""
    data = shown(client, **({} if age is None else {"age": age}))
    teeth = chart_teeth(data)
    assert len(teeth) >= 20
    for iso, tooth in teeth.items():
        x, y = middle(tooth)
        assert (x < 0) == (int(iso[0]) in RIGHT), iso
        assert (y < 0) == (int(iso[0]) in (1, 2, 5, 6)), iso
        assert abs(tooth["label_at"][0]) > abs(x) or abs(tooth["label_at"][1]) > abs(y)
    foremost = min(teeth, key=lambda iso: middle(teeth[iso])[1])
    assert foremost in ("11", "21", "51", "61")


def test_the_chart_is_the_arch_of_the_plan(client: TestClient) -> None:
    """Crowns of the picture stand at the plan's contacts; the jaws are only moved apart."""
    teeth = chart_teeth(shown(client, arch="adult-large"))
    contacts = run_json("26", "--arch", "adult-large")["arch"]["contacts_mm"]
    lowered = {iso: middle(teeth[iso])[1] + contacts[iso][1] for iso in contacts}
    assert max(lowered.values()) - min(lowered.values()) < 0.02
    for iso, (x, _) in contacts.items():
        assert middle(teeth[iso])[0] == pytest.approx(x, abs=0.01)


def test_no_two_outlines_of_the_jaws_touch(client: TestClient) -> None:
    for query in ({}, {"age": 5}, {"with": ["18 present", "48 present"]}):
        data = shown(client, **query)
        upper = max(y for tooth in data["chart"]["upper"] for _, y in tooth["outline"])
        lower = min(y for tooth in data["chart"]["lower"] for _, y in tooth["outline"])
        assert lower - upper >= 4.99


@pytest.mark.parametrize("mouth", mouths()[::4], ids=lambda mouth: mouth.name)
def test_a_mouth_is_drawn_as_it_was_planned(client: TestClient, mouth: Mouth) -> None:
    """Odd mouths, through their command line and through the page: one plan."""
    plan = mouth.plan()
    data = plan_json(plan)
    case = data["case"]
    query: dict[str, Any] = {
        "treat": case["treat"],
        "for": case["procedure"],
        "more": case["more"],
        "access": case["access"],
        "reference": case["reference"],
        "with": [
            *case["with"],
            *(f"{iso} missing" for iso in case["missing"]),
            *(f"{iso} present" for iso in case["present"]),
        ],
        "anchor": case["anchors"],
        "slit": case["slits"],
        "arch": plan.arch.model,
        "sheet": f"{plan.sheet.width_mm!r}x{plan.sheet.height_mm!r}",
        "material": plan.practice.material,
        "shift": "rule" if plan.practice.shift else "none",
    }
    if case["expose"]:
        query["expose"] = case["expose"].split(",")
    if case["age"] is not None:
        query["age"] = case["age"]
    answer = client.get("/api/case.json", params=query)
    assert answer.status_code == 200, answer.text
    made = answer.json()
    for key in ("isolated", "anchors", "sheet", "arch", "centre_mark_mm"):
        assert made[key] == data[key], key
    if plan.practice.punch.diameters_mm == (0.5, 1.0, 1.5, 2.0, 2.5, 2.6):
        assert [hole["x_mm"] for hole in made["holes"]] == [hole["x_mm"] for hole in data["holes"]]
    first = read_first_page(client.get("/api/case.pdf", params=query).content)
    check_page(first, made)


def test_the_stencil_is_that_of_the_command(client: TestClient, tmp_path: Path) -> None:
    for form in ("dxf", "cut.svg"):
        made = tmp_path / f"case.{form}"
        assert run(["overlay", "26", "-o", str(made)]) == 0
        assert client.get(f"/api/case.{form}?treat=26").content == made.read_bytes()


def test_what_is_printed_is_chosen(client: TestClient) -> None:
    """Which pages, and how often; each copy is whole before the next begins."""
    data = run_json("26", "--expose", "16-26")

    def printed(**query: Any) -> tuple[Drawing, ...]:
        choices = {"treat": "26", "expose": "16-26", **query}
        answer = client.get("/api/case.print", params=choices)
        assert answer.headers["content-disposition"] == 'inline; filename="sheet-26.pdf"'
        return read_pdf(answer.content)

    both, overlay, card = (printed(part=part) for part in ("both", "overlay", "card"))
    check_page(both[0], data)
    check_page(overlay[0], data)
    assert len(overlay) == 1
    assert len(both) == 2
    assert "case card" in " ".join(word.text for word in card[0].texts)
    assert not card[0].circles, "no hole to punch by"
    assert printed(part="both", copies=2) == both * 2
    for wrong in ({"copies": 0}, {"copies": 21}, {"copies": 1.5}, {"part": "half"}):
        assert client.get("/api/case.print", params={"treat": "26", **wrong}).status_code == 422


def test_the_numbers_of_this_case_alone(client: TestClient) -> None:
    answer = client.get("/api/case?treat=26&notation=universal").json()
    assert answer["notation"] == "universal"
    assert {tooth["tooth"]: tooth["label"] for tooth in answer["chart"]["upper"]}["26"] == "14"
    assert answer["sheet"]["title"].startswith("14 (Universal)")
    assert client.get("/api/case?treat=26").json()["sheet"]["title"].startswith("26 (ISO)")


def test_a_child_is_offered_the_smaller_sheet_in_stock(
    client: TestClient, own_folder: Path
) -> None:
    def suggested(query: str) -> list[dict[str, str]]:
        suggestions: list[dict[str, str]] = client.get(f"/api/case?{query}").json()["suggestions"]
        return suggestions

    child = "treat=85&age=7"
    assert suggested(child) == [], "no stock is known"
    head = 'format = "sheetmark-practice/1"\n'
    big, small = (
        f'[[sheets]]\nwidth_mm = {side}\nheight_mm = {side}\nmaterial = "latex"\n'
        for side in (152, 127)
    )
    (own_folder / "practice.toml").write_text(head + big + small)
    (suggestion,) = suggested(child)
    assert (suggestion["name"], suggestion["value"]) == ("sheet", "127x127")
    assert "127 x 127 mm" in suggestion["text"]
    assert suggested(f"{child}&sheet=127") == [], "it is taken"
    assert suggested("treat=46") == [], "no child"
    assert suggested(f"{child}&material=nitrile") == [], "not of this material"
    (own_folder / "practice.toml").write_text(head + big)
    assert suggested(child) == [], "none smaller is kept"


def test_every_file_has_a_name_and_a_type(client: TestClient) -> None:
    forms = dict.fromkeys(("svg", "json", "toml", "dxf", "cut.svg"), "attachment")
    for form, kind in ({"pdf": "inline"} | forms).items():
        headers = client.get(f"/api/case.{form}?treat=26&treat=25").headers
        assert headers["content-disposition"] == f'{kind}; filename="sheet-26-25.{form}"'
    assert client.get("/api/case.doc?treat=26").status_code == 422
    assert client.get("/api/case.pdf").status_code == 422


def test_own_models_can_be_chosen(client: TestClient) -> None:
    models_folder().mkdir()
    text = (data_folder() / "adult-small.toml").read_text("utf-8")
    ours = text.replace('name = "adult-small"', 'name = "ours"', 1)
    (models_folder() / "ours.toml").write_text(ours, "utf-8")
    names = [arch["value"] for arch in client.get("/api/start").json()["archs"]]
    assert names[-1] == "ours"
    assert "adult-mean" in names
    data = client.get("/api/case.json?treat=26&arch=ours").json()
    assert data["arch"]["model"] == "ours"
    assert (
        data["arch"]["centres_mm"] == run_json("26", "--arch", "adult-small")["arch"]["centres_mm"]
    )


def test_the_practice_file_presets_everything(client: TestClient, own_folder: Path) -> None:
    file = own_folder / "practice.toml"
    arguments = [
        "--notation",
        "palmer",
        "--sheet",
        "127 nitrile",
        "--no-shift",
        "--paper",
        "letter",
    ]
    assert run(["practice", "init", "--yes", "-o", str(file), *arguments]) == 0
    start = client.get("/api/start").json()
    assert (start["sheet_in_use"], start["material_in_use"]) == ("127 x 127 mm", "nitrile")
    assert start["shift_in_use"] == "none"
    made = client.get("/api/case.json?treat=26").json()
    assert made == run_json("UL6", "--practice", str(file))
    assert made["page"]["paper"] == "letter"
    assert shown(client, treat="26")["sheet"]["title"].startswith("UL6")


def test_a_practice_file_with_a_problem_is_reported_and_never_passed_over(
    client: TestClient, own_folder: Path
) -> None:
    (own_folder / "practice.toml").write_text('format = "sheetmark-practice/1"\npaper = "a4"\n')
    for path in ("/api/start", "/api/case?treat=26", "/api/case.pdf?treat=26"):
        answer = client.get(path)
        assert answer.status_code == 422
        assert 'practice.toml: “paper” ("a4"): unknown key' in answer.json()["problems"][0]


def test_a_practice_file_is_read_anew(client: TestClient, own_folder: Path) -> None:
    file = own_folder / "practice.toml"
    for notation, written in (("universal", "14"), ("palmer", "UL6"), ("iso", "26")):
        file.write_text(f'format = "sheetmark-practice/1"\nnotation = "{notation}"\n')
        assert shown(client, treat="26")["sheet"]["title"].startswith(written)


@pytest.mark.parametrize(
    ("path", "wording"),
    [
        ("/api/case?treat=26&age=abc", "age 'abc'"),
        ("/api/case?colour=red", "colour 'red'"),
        ("/api/case?treat=26&view=inside", "view 'inside'"),
        (f"/api/case?{'&'.join(['treat=26'] * 65)}", "treat"),
        ("/api/case?with=26", "says nothing of the tooth"),
        ("/api/case?treat=26&age=-1", "must be 0 to 120"),
        ("/api/case.pdf?treat=26&shift=sideways", "use one of rule, even, none"),
    ],
)
def test_what_cannot_be_is_reported_in_one_line(
    client: TestClient, path: str, wording: str
) -> None:
    data = client.get(path).json()
    assert len(data["problems"]) == 1
    assert wording in data["problems"][0]
    assert "\n" not in data["problems"][0]


def test_a_problem_keeps_the_mouth_on_the_page(client: TestClient) -> None:
    data = shown(client, treat="26", **{"with": "26 missing"})
    assert data["sheet"] is None
    assert data["problems"] == [
        "tooth 26: listed as missing and as treated or exposed; leave it out of one of the lists"
    ]
    assert not chart_teeth(data)["26"]["stands"]
    assert data["different"] == [{"tooth": "26", "label": "26", "states": ["missing"]}]


def test_what_cannot_be_computed_is_reported(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from sheetmark.studies.membrane import placement
    from sheetmark.studies.membrane.solve import SolveError

    def fails(*_: object) -> None:
        raise SolveError("it did not settle")

    monkeypatch.setattr(placement, "best_placement", fails)
    data = shown(client, treat="26", shift="even")
    assert data["sheet"] is None
    assert data["problems"] == ["no answer: it did not settle"]
    answer = client.get("/api/case.pdf?treat=26&shift=even")
    assert answer.status_code == 422
    assert answer.json()["problems"] == ["no answer: it did not settle"]


def test_the_endpoints_describe_themselves(client: TestClient) -> None:
    spec = client.get("/api/openapi.json").json()
    assert spec["openapi"].startswith("3.")
    assert {"/api/start", "/api/case", "/api/case.{form}"} <= set(spec["paths"])
    parameters = {
        parameter["name"] for parameter in spec["paths"]["/api/case"]["get"]["parameters"]
    }
    assert {"treat", "for", "with", "age", "view"} <= parameters
    for path in ("/docs", "/redoc"):
        assert client.get(path).status_code == 404, "their pages come from elsewhere"
