"""Files that go away or are broken while the page is open: a problem line, never other settings."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from sheetmark.cli.app import run
from sheetmark.desk.server.app import make_app
from sheetmark.desk.server.desk import Desk
from tests.helpers.model_files import BROKEN_MODELS, break_own_models


def shown(client: TestClient, **query: Any) -> dict[str, Any]:
    answer = client.get("/api/case", params=query)
    assert answer.status_code == 200, answer.text
    data: dict[str, Any] = answer.json()
    return data


@pytest.mark.parametrize("left", ["nothing", "a link to nothing", "a folder"])
def test_a_practice_file_that_went_away_is_a_problem_everywhere(
    client: TestClient, own_folder: Path, left: str
) -> None:
    """A share that is away must not bring other hole sizes and no correction of the printer."""
    file = own_folder / "practice.toml"
    paths = ("/api/start", "/api/case?treat=26", "/api/case.pdf?treat=26", "/api/practice")
    assert {client.get(path).status_code for path in paths} == {200}, "there never was one"
    file.write_text('format = "sheetmark-practice/1"\nnotation = "palmer"\n')
    assert shown(client, treat="26")["sheet"]["title"].startswith("UL6")
    kept = file.rename(own_folder / "kept.toml")
    if left == "a link to nothing":
        file.symlink_to(own_folder / "gone.toml")
    elif left == "a folder":
        file.mkdir()
    for path in (*paths, "/api/printer-page.pdf", "/api/arch/start"):
        answer = client.get(path)
        assert answer.status_code == 422, path
        (problem,) = answer.json()["problems"]
        assert problem.startswith(f"practice file {file}: cannot be read (")
    for path, body in (
        ("/api/practice", {"fingerprint": "", "values": {"name": "x"}}),
        ("/api/printer", {"name": "x", "x": 150, "y": 150}),
    ):
        answer = client.post(path, json=body)
        assert answer.status_code == 422, path
        assert "cannot be read (" in answer.text
    assert client.post("/api/day?name=a.csv", content=b"teeth\n16").status_code == 422
    if left == "a folder":
        file.rmdir()
    kept.replace(file)
    assert shown(client, treat="26")["sheet"]["title"].startswith("UL6")


def test_a_practice_file_that_was_named_must_be_there(own_folder: Path) -> None:
    file = own_folder / "clinic.toml"
    desk = Desk(file, "", frozenset({"desk.test"}), named=True)
    client = TestClient(make_app(desk), base_url="http://desk.test")
    answer = client.get("/api/case?treat=26")
    assert answer.status_code == 422
    assert answer.json()["problems"][0].startswith(f"practice file {file}: cannot be read (")


@pytest.mark.parametrize("named", [True, False])
def test_the_command_and_the_page_say_the_same_of_a_file_that_cannot_be_read(
    client: TestClient, own_folder: Path, named: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    file = own_folder / "practice.toml"
    file.symlink_to(own_folder / "gone.toml")
    assert run(["overlay", "16", *(["--practice", str(file)] if named else [])]) == 2
    line = capsys.readouterr().err.removeprefix("sheetmark: error: ").strip()
    assert client.get("/api/case?treat=16").json()["problems"] == [line]


def test_a_settings_folder_that_cannot_be_looked_into_is_a_problem_line(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The tests may run as root, whom no permission stops."""
    lstat = Path.lstat

    def refuse(path: Path) -> os.stat_result:
        if path.name == "practice.toml":
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return lstat(path)

    monkeypatch.setattr(Path, "lstat", refuse)
    for path in ("/api/start", "/api/practice", "/api/case?treat=26"):
        answer = client.get(path)
        assert answer.status_code == 422
        assert "cannot be read (" in answer.json()["problems"][0]


@pytest.mark.parametrize("left", ["a link to nothing", "a file"])
def test_a_settings_folder_that_leads_nowhere_is_no_empty_one(
    client: TestClient, own_folder: Path, left: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["overlay", "16"]) == 0, "the folder is there and has no file"
    own_folder.rmdir()
    assert run(["overlay", "16"]) == 0, "there is no folder"
    if left == "a file":
        own_folder.touch()
    else:
        own_folder.symlink_to(own_folder.parent / "share" / "settings")
    capsys.readouterr()
    assert run(["overlay", "16"]) == 2
    line = capsys.readouterr().err.removeprefix("sheetmark: error: ").strip()
    assert "practice.toml: cannot be read (" in line
    assert client.get("/api/case?treat=16").json()["problems"] == [line]
    assert run(["arch", "list"]) == 0
    assert "broken: " in capsys.readouterr().out.splitlines()[-1]


def test_a_broken_own_model_spoils_no_other(client: TestClient, own_folder: Path) -> None:
    break_own_models(own_folder / "arch_models")
    archs = {arch["value"]: arch["label"] for arch in client.get("/api/start").json()["archs"]}
    assert archs["ours"] == "ours: your own"
    for name in BROKEN_MODELS:
        assert archs[name] == f"{name}: your own, broken"
    assert client.get("/api/case?treat=26&arch=ours").json()["sheet"]
    assert "cannot be used" in client.get("/api/case?treat=26&arch=broken").text
    assert client.get("/api/case?treat=26").json()["sheet"]
