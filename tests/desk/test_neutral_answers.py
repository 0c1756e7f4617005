"""No answer of the desk names an option of the command line or a key of a file."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from sheetmark.base.user_folder import models_folder
from tests.helpers.corpus import mouths
from tests.helpers.foreign_wording import foreign, texts

WARNED = {
    "implant as anchor": {"treat": "16", "with": "17 implant"},
    "more beyond the midline": {"treat": "11", "more": "2"},
}
REFUSED: dict[str, dict[str, str | list[str]]] = {
    "no such primary tooth": {"treat": "75"},
    "third molar": {"treat": "18"},
    "slit without holes": {"treat": "16", "slit": "24-26"},
    "holes run together": {"treat": "31", "with": "32 mesial 5"},
    "hole near the edge": {
        "treat": "48",
        "with": "48 present; 38 present",
        "expose": "48-38",
        "sheet": "80",
    },
    "both jaws": {"treat": ["16", "46"]},
    "expose and more": {"treat": "16", "expose": "17-14", "more": "1"},
    "not exposed": {"treat": "16", "expose": "15-13"},
    "unknown word": {"treat": "16", "with": "15 zzz"},
    "unknown arch": {"treat": "16", "arch": "huge"},
    "broken arch": {"treat": "16", "arch": "broken"},
    "unknown procedure": {"treat": "16", "for": "zzz"},
    "unknown shift": {"treat": "16", "shift": "zzz"},
    "unknown access": {"treat": "16", "access": "zzz"},
    "unknown material": {"treat": "16", "material": "zzz"},
    "age": {"treat": "16", "age": "-1"},
    "age without an arch": {"treat": "51", "age": "1"},
    "sheet": {"treat": "16", "sheet": "9x9"},
    "reference": {"treat": "16", "reference": 200 * "x"},
    "unknown parameter": {"treat": "16", "zzz": "1"},
}


def check(answer: str, name: str) -> None:
    read = list(texts(json.loads(answer)))
    assert read
    assert {text: found for text in read if (found := foreign(text))} == {}, name


@pytest.mark.parametrize("name", WARNED)
def test_a_warning_names_the_page_s_own_field(client: TestClient, name: str) -> None:
    answer = client.get("/api/case", params=WARNED[name])
    (found,) = (f for f in answer.json()["sheet"]["findings"] if "on this page" in f["text"])
    assert re.search(r" \(on this page: “[A-Z][A-Za-z ]+”\)$", found["text"])
    check(answer.text, name)


@pytest.mark.parametrize("name", REFUSED)
def test_a_case_that_cannot_be_done_is_refused_in_the_page_s_terms(
    client: TestClient, name: str
) -> None:
    models_folder().mkdir()
    text = 'format = "sheetmark-arch/1"\nname = "broken"\n[upper]\nmesiodistal = [{ tooth = 1 }]\n'
    (models_folder() / "broken.toml").write_text(text, "utf-8")
    answer = client.get("/api/case", params=REFUSED[name])
    assert answer.json()["problems"]
    check(answer.text, name)
    answer = client.get("/api/case.pdf", params=REFUSED[name])
    assert answer.status_code == 422
    check(answer.text, name)


def test_each_odd_mouth_is_shown_in_the_page_s_terms(client: TestClient) -> None:
    for mouth in mouths():
        case = mouth.case
        query = {
            "treat": [tooth.iso for tooth in case.treat],
            "for": case.procedure,
            "anchor": [tooth.iso for tooth in case.anchors],
            "more": case.more,
            "access": case.access,
            "sheet": mouth.sheet,
            "arch": mouth.model,
        }
        answer = client.get("/api/case", params=query)
        assert answer.status_code == 200
        check(answer.text, mouth.name)


def test_problems_of_the_practice_file_are_shown_in_the_page_s_terms(
    client: TestClient, own_folder: Path
) -> None:
    file = own_folder / "practice.toml"
    file.write_text(
        'format = "sheetmark-practice/1"\n'
        "[page]\nmargin_mm = 4\nprinter = 'back-room'\n"
        "[placement]\nhole_to_edge_mm = 20\nhole_to_edge_refused_mm = 25\n"
        "[holes]\nsizing = 'two-size'\n[punch]\ndiameters_mm = [1]\nlabels = ['long', 'B']\n"
        "[[sheets]]\nwidth_mm = 300\nheight_mm = 300\n[[sheets]]\nwidth_mm = 9\n"
        "[[tray]]\nlabel = 'A'\nkind = 'molar'\nwinged = 'maybe'\n"
        "[[tray]]\nlabel = 'A'\nkind = 'molar'\nwinged = true\njaws = 'larger-to-cheek'\n"
        "[[tray]]\nlabel = 'C'\nkind = 'molar'\nwinged = true\nversion = 'quadrants-1-3'\n",
        "utf-8",
    )
    settings = client.get("/api/practice").json()
    assert len(settings["problems"]) == len(settings["found"]) > 9
    for line in (*settings["problems"], *texts(settings["found"])):
        assert foreign(line) == []
    for path in ("/api/start", "/api/case?treat=16", "/api/arch/start"):
        answer = client.get(path)
        assert answer.status_code == 422
        check(answer.text, path)


def test_rows_of_a_list_are_refused_in_the_list_s_own_terms(client: TestClient) -> None:
    rows = "teeth;exceptions;age\n75;;\n18;;\n16;17 implant;\n31;32 mesial 5;\n16;15 zzz;\n16;;x\n"
    answer = client.post("/api/day", params={"name": "list.csv"}, content=rows)
    assert answer.status_code == 200
    assert answer.json()["left_out"] == 5
    check(answer.text, "list")
