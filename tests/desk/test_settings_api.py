"""The endpoints of the settings: the file is read, checked and changed as the commands do it."""

from __future__ import annotations

import json
import os
import re
import tomllib
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING, Any

import httpx2
import pytest
from starlette.testclient import TestClient

from sheetmark.base.files import write_all
from sheetmark.cli.app import run
from sheetmark.desk.server import practice
from sheetmark.practice.file.check import check_text
from tests.helpers.running_desk import TOKEN, Running
from tests.helpers.settings_view import OWN, TEXT

if TYPE_CHECKING:
    pass

Output = pytest.CaptureFixture[str]


def read_settings(client: TestClient) -> dict[str, Any]:
    answer = client.get("/api/practice")
    assert answer.status_code == 200, answer.text
    data: dict[str, Any] = answer.json()
    return data


def save(client: TestClient, values: Mapping[str, object], fingerprint: str | None = None) -> Any:
    if fingerprint is None:
        fingerprint = read_settings(client)["fingerprint"]
    return client.post("/api/practice", json={"fingerprint": fingerprint, "values": values})


def value(data: dict[str, Any], key: str) -> Any:
    fields = [field for section in data["form"]["sections"] for field in section["fields"]]
    return next(field["value"] for field in fields if field["key"] == key)


def test_the_form_shows_the_file_but_not_where_it_is(client: TestClient, file: Path) -> None:
    answer = client.get("/api/practice")
    data = answer.json()
    assert data["file"] == "practice.toml"
    assert str(file.parent) not in answer.text
    assert (value(data, "name"), value(data, "page.margin_mm")) == ("Example practice", 10)
    (tray,) = (rows for rows in data["form"]["lists"] if rows["key"] == "tray")
    assert tray["rows"] == tomllib.loads(TEXT)["tray"]
    assert data["problems"] == data["found"] == []


def test_with_no_file_the_defaults_are_shown_and_none_is_made(
    client: TestClient, own_folder: Path
) -> None:
    data = read_settings(client)
    assert data["fingerprint"] == ""
    assert value(data, "page.margin_mm") is None
    assert list(own_folder.iterdir()) == []


@pytest.mark.parametrize("folder", ["there", "not there"])
def test_with_no_file_saving_makes_one(client: TestClient, own_folder: Path, folder: str) -> None:
    if folder == "not there":
        own_folder.rmdir()
    answer = save(client, {"name": "Quay", "page.paper": "letter"})
    assert answer.status_code == 200
    practice = check_text((own_folder / "practice.toml").read_text("utf-8"), "x").practice
    assert (practice.name, practice.paper) == ("Quay", "letter")
    assert answer.json() == read_settings(client)


def test_saving_changes_the_file_in_place(client: TestClient, file: Path) -> None:
    answer = save(client, {"page.margin_mm": 12, "numbers": None})
    assert answer.status_code == 200
    changed = OWN.replace("margin_mm = 10 #", "margin_mm = 12 #").replace('numbers = "comma"\n', "")
    assert file.read_text("utf-8") == changed
    data = answer.json()
    assert (value(data, "page.margin_mm"), value(data, "numbers")) == (12, None)
    assert data == read_settings(client)


def test_a_file_from_windows_keeps_its_ends_of_lines(client: TestClient, file: Path) -> None:
    file.write_bytes(OWN.replace("\n", "\r\n").encode())
    assert save(client, {"holes.ease_mm": 0.5}).status_code == 200
    changed = OWN.replace("ease_mm = 0\n", "ease_mm = 0.5\n")
    assert file.read_bytes() == changed.replace("\n", "\r\n").encode()


def test_nothing_is_written_where_nothing_changes(
    client: TestClient, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(practice, "write_all", lambda _: pytest.fail("it was written"))
    assert save(client, {"page.margin_mm": 10.0}).status_code == 200
    assert file.read_text("utf-8") == OWN


def test_a_bad_value_is_refused_under_the_label_of_its_field(
    client: TestClient, file: Path
) -> None:
    values = {"page.margin_mm": 4, "punch.labels": ["A", "B", "C", "D", "E", "\u6e2f"]}
    answer = save(client, {"name": "Quay", **values})
    assert answer.status_code == 422
    assert file.read_text("utf-8") == OWN, "nor is the rest saved"
    limit = "must be a number of 10 to 40 mm; correct it, or leave it out for 10"
    glyph = "the font has no glyph for '\u6e2f' (U+6E2F); write it with other letters"
    data = answer.json()
    assert data["problems"] == [
        f"practice.toml: Paper and printer, Page margin (4): {limit}",
        f'practice.toml: The punch, Labels on the punch, entry 6 ("\u6e2f"): {glyph}',
    ]
    assert data["found"] == [
        {"key": "page.margin_mm", "text": limit},
        {"key": "punch.labels[6]", "text": glyph},
    ]


def test_only_the_page_may_save(client: TestClient, file: Path) -> None:
    body = {"fingerprint": read_settings(client)["fingerprint"], "values": {"name": "x"}}
    printer = {"name": "x", "x": 150, "y": 150}
    for path, content in (("/api/practice", body), ("/api/printer", printer)):
        for headers in (
            {"X-Sheetmark-Token": "another"},
            {"X-Sheetmark-Token": ""},
            {"Origin": "http://elsewhere.test"},
            {"Sec-Fetch-Site": "cross-site"},
        ):
            assert client.post(path, json=content, headers=headers).status_code == 403
        assert file.read_text("utf-8") == OWN
        assert client.post(path, json=content).status_code == 200
        file.write_text(OWN, encoding="utf-8")


@pytest.mark.parametrize("other", [TEXT, None], ids=["changed", "gone"])
def test_a_file_that_changed_meanwhile_is_left_alone(
    client: TestClient, file: Path, other: str | None
) -> None:
    fingerprint = read_settings(client)["fingerprint"]
    file.write_text(other, encoding="utf-8") if other else file.unlink()
    answer = save(client, {"name": "Quay"}, fingerprint)
    assert answer.status_code == 422
    (problem,) = answer.json()["problems"]
    if other:
        assert problem == (
            "practice.toml: changed since this page read it; reload the page, then change it again"
        )
    else:
        assert problem.startswith(f"practice file {file}: cannot be read (")
    assert (file.read_text("utf-8") if other else file.exists()) == (other or False)


def test_of_many_who_save_at_once_one_does(
    desk: Running, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slowly(contents: Mapping[Path, bytes], *, force: bool) -> None:
        sleep(0.05)
        write_all(contents, force=force)

    monkeypatch.setattr(practice, "write_all", slowly)
    headers = {"X-Sheetmark-Token": TOKEN}
    fingerprint = httpx2.get(f"{desk.url}api/practice").json()["fingerprint"]

    def ask(number: int) -> int:
        body = {"fingerprint": fingerprint, "values": {"name": f"n{number}"}}
        return httpx2.post(f"{desk.url}api/practice", json=body, headers=headers).status_code

    with ThreadPoolExecutor(6) as pool:
        answers = list(pool.map(ask, range(6)))
    assert sorted(answers) == [200, 422, 422, 422, 422, 422]
    name = tomllib.loads(file.read_text("utf-8"))["name"]
    assert name == f"n{answers.index(200)}"


def test_on_a_full_disk_the_old_file_stays_whole(
    client: TestClient, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    answer = save(client, {"name": "Quay"})
    assert answer.status_code == 422
    (line,) = answer.json()["problems"]
    assert "cannot be written (No space left on device)" in line
    assert file.read_text("utf-8") == OWN
    assert [path for path in file.parent.iterdir() if path.suffix != ".lock"] == [file]


def test_a_link_to_the_file_stays_a_link(client: TestClient, file: Path) -> None:
    real = file.rename(file.with_name("kept.toml"))
    file.symlink_to(real)
    assert save(client, {"name": "Quay"}).status_code == 200
    assert file.is_symlink()
    assert tomllib.loads(real.read_text("utf-8"))["name"] == "Quay"


def test_a_file_with_problems_can_be_put_right(
    client: TestClient, file: Path, capsys: Output
) -> None:
    file.write_text(OWN.replace("margin_mm = 10 #", "margin_mm = 4 #"), encoding="utf-8")
    data = read_settings(client)
    run(["practice", "check", "--practice", str(file)])
    (line,) = data["problems"]
    in_file = line.replace("Paper and printer, Page margin (4)", "page.margin_mm = 4")
    assert capsys.readouterr().err == f"sheetmark: error: {in_file}\n"
    assert [problem["key"] for problem in data["found"]] == ["page.margin_mm"]
    assert save(client, {"page.margin_mm": 10}).status_code == 200
    assert file.read_text("utf-8") == OWN


def test_a_broken_file_is_reported_and_left_alone(client: TestClient, file: Path) -> None:
    file.write_text("name = ", encoding="utf-8")
    for answer in (client.get("/api/practice"), save(client, {"name": "x"}, "any")):
        assert answer.status_code == 422
        assert answer.json()["problems"][0].startswith("practice.toml: ")
    assert file.read_text("utf-8") == "name = "


ODD = [
    '"name": "\\ud800"',
    '"na\\ud800me": 1',
    '"page.margin_mm": NaN',
    '"page.margin_mm": -Infinity',
    f'"page.margin_mm": 1{"0" * 400}',
    f'"tray_turn_round_min": 1{"0" * 4000}',
    f'"tray_turn_round_min": 1{"0" * 5000}',
    f'"name": {"[" * 900}{"]" * 900}',
    f'"name": {"[" * 90000}',
    '"page": {"margin_mm": 4}',
    '"tray": [{"label": {"a": 1}}]',
    f'"tray": [{", ".join(["{}"] * 201)}]',
    '"tray": [null, [], [1]]',
    '"": ""',
    '"\\u0000": "\\u0000"',
]


@pytest.mark.parametrize("values", ODD, ids=range(len(ODD)))
def test_odd_bodies_are_refused_in_plain_text(client: TestClient, file: Path, values: str) -> None:
    fingerprint = read_settings(client)["fingerprint"]
    body = f'{{"fingerprint": "{fingerprint}", "values": {{{values}}}}}'
    answer = client.post(
        "/api/practice", content=body, headers={"Content-Type": "application/json"}
    )
    assert 400 <= answer.status_code < 500, answer.text
    assert answer.json()["problems"]
    assert file.read_text("utf-8") == OWN


def test_a_list_has_no_more_rows_than_any_clinic_needs(client: TestClient, file: Path) -> None:
    row = {"kind": "molar", "winged": True}
    for many, status in ((200, 200), (201, 422)):
        rows = [{"label": f"c{number}", **row} for number in range(many)]
        assert save(client, {"tray": rows}).status_code == status
    assert len(tomllib.loads(file.read_text("utf-8"))["tray"]) == 200


# --- the printer ------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_test_page_is_that_of_the_paper_in_use(
    client: TestClient, file: Path, tmp_path: Path, paper: str
) -> None:
    file.write_text(OWN.replace('paper = "a4"', f'paper = "{paper}"'), encoding="utf-8")
    answer = client.get("/api/printer-page.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    page = tmp_path / "page.pdf"
    assert run(["printer", "page", "-o", str(page), "--paper", paper]) == 0
    assert answer.content == page.read_bytes()


def test_a_printer_is_stored_as_the_command_stores_it(
    client: TestClient, file: Path, tmp_path: Path, capsys: Output
) -> None:
    copy = tmp_path / "copy.toml"
    copy.write_text(OWN, encoding="utf-8")
    command = ["printer", "set", "--name", "attic", "--x", "149.4", "--y", "150.2"]
    assert run([*command, "--practice", str(copy)]) == 0
    wording = capsys.readouterr().err.splitlines()[0]
    answer = client.post("/api/printer", json={"name": "attic", "x": 149.4, "y": 150.2})
    assert answer.status_code == 200
    assert file.read_bytes() == copy.read_bytes()
    data = answer.json()
    # The example writes numbers with a comma.
    assert data["text"] == (
        f"{wording}. Pages are drawn 0.40 % larger across and 0.13 % smaller down, so that they "
        "print true."
    ).replace(".", ",").replace(", Pages", ". Pages").replace("true,", "true.")
    assert data["settings"] == read_settings(client)


@pytest.mark.parametrize("bars", [(144.8, 150), (150, 141.1), (146.9, 153.1), (1e400, -1)])
def test_bars_out_of_bounds_are_refused_with_the_likely_cause(
    client: TestClient, file: Path, capsys: Output, bars: tuple[float, float]
) -> None:
    x, y = bars
    assert run(["printer", "set", "--x", f"{x}", "--y", f"{y}", "--practice", str(file)]) == 2
    lines = capsys.readouterr().err.replace("sheetmark: error: ", "").splitlines()
    body = json.dumps({"name": "main", "x": x, "y": y})
    answer = client.post("/api/printer", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 422
    assert answer.json()["problems"] == lines
    assert [problem["key"] for problem in answer.json()["found"]] == [line[4] for line in lines]
    assert file.read_text("utf-8") == OWN


@pytest.mark.parametrize("name", ["", " x", "none", 21 * "x", "\u6e2f"])
def test_a_printer_name_that_cannot_be_is_refused(
    client: TestClient, file: Path, capsys: Output, name: str
) -> None:
    set_ = ["printer", "set", "--name", name, "--x", "150", "--y", "150"]
    assert run([*set_, "--practice", str(file)]) == 2
    lines = capsys.readouterr().err.replace("sheetmark: error: ", "").splitlines()
    answer = client.post("/api/printer", json={"name": name, "x": 150, "y": 150})
    assert answer.status_code == 422
    labels = {
        "page.printer": "Paper and printer, Printer in use",
        "printers[2].name": "Printer 2, Name",
    }
    assert answer.json()["problems"] == [
        re.sub(
            r"(page\.printer|printers\[2\]\.name) = (\".*?\"): ",
            lambda key: f"{labels[key[1]]} ({key[2]}): ",
            line,
        )
        for line in lines
    ]
    assert file.read_text("utf-8") == OWN


def test_with_no_file_a_printer_makes_one(client: TestClient, own_folder: Path) -> None:
    answer = client.post("/api/printer", json={"name": "attic", "x": 150, "y": 151})
    assert answer.status_code == 200
    assert answer.json()["text"] == (
        "Printer attic: x 1.0000, y 0.9934; in use from now on. Pages are drawn unchanged across "
        "and 0.66 % smaller down, so that they print true."
    )
    practice = check_text((own_folder / "practice.toml").read_text("utf-8"), "x").practice
    assert practice.printer_in_use is not None
    assert practice.printer_in_use.bar_y_mm == 151
