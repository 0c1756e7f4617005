"""Without the code of its start nobody opens the desk, or changes what it keeps."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from sheetmark.desk.server.app import desk_computes, make_app
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.door import Door, new_code
from tests.helpers.running_desk import TOKEN

CODE, FIRST = "k7p2-9xqm", "b3r8-tt4w"
CASE = "/api/case?treat=26"
# Posted, and open to whoever may look: each keeps nothing.
COMPUTES_ONLY = {
    *("/api/day", "/api/day.pdf", "/api/day/headings", "/api/day/list.csv"),
    *("/api/arch/fit", "/api/arch/scan"),
    *("/api/check", "/api/check/again", "/api/check.pdf"),
}
PRINTER = {"name": "hall", "x": 149.5, "y": 150.2}


def visitor(folder: Path, *, shared: bool = False, door: Door | None = None) -> TestClient:
    """Somebody at the door, who knows the page's token from wherever."""
    door = door or door_of(folder, shared=shared)
    return TestClient(door, base_url="http://desk.test", headers={"X-Sheetmark-Token": TOKEN})


def door_of(folder: Path, *, shared: bool = False) -> Door:
    desk = Desk(folder / "practice.toml", TOKEN, frozenset({"desk.test"}))
    return Door(
        make_app(desk), computes=desk_computes(), code=CODE, first=FIRST, port=80, shared=shared
    )


def test_another_user_of_this_machine_gets_neither_page_nor_token(own_folder: Path) -> None:
    other = visitor(own_folder)
    page = other.get("/")
    assert page.status_code == 403
    assert "Type the code" in page.text
    assert TOKEN not in page.text
    for path in (CASE, "/api/start", "/api/case.pdf?treat=26", "/api/openapi.json"):
        assert other.get(path).status_code == 403
    for path in (*COMPUTES_ONLY, "/api/practice", "/api/printer"):
        assert other.post(path, json=PRINTER).status_code == 403
    assert list(own_folder.iterdir()) == []


@pytest.mark.parametrize("shared", [False, True])
def test_the_code_opens_as_often_as_it_is_typed(own_folder: Path, *, shared: bool) -> None:
    door = door_of(own_folder, shared=shared)
    for typed in (CODE, f" {CODE.upper()} "):
        person = visitor(own_folder, door=door)
        answer = person.get("/", params={"code": typed})
        assert TOKEN in answer.text
        assert str(answer.url) == "http://desk.test/", "the code has left the address"
        assert person.get(CASE).status_code == 200
        assert person.post("/api/printer", json=PRINTER).status_code == 200


def test_the_code_in_the_address_of_the_browser_opens_once(own_folder: Path) -> None:
    door = door_of(own_folder)
    person, watcher = visitor(own_folder, door=door), visitor(own_folder, door=door)
    assert TOKEN in person.get("/", params={"code": FIRST}).text
    answer = watcher.get("/", params={"code": FIRST})
    assert answer.status_code == 403
    assert "That was not the code." in answer.text
    assert person.get("/").status_code == 200, "reloaded"


@pytest.mark.parametrize("typed", ["", "wrong", CODE[:-1], "0" * 4000, "\u6b6f"])
def test_another_code_opens_nothing(own_folder: Path, typed: str) -> None:
    person = visitor(own_folder)
    assert person.get("/", params={"code": typed}).status_code == 403
    assert not person.cookies


@pytest.mark.parametrize("cookie", ["sheetmark-80=", "sheetmark-80=guess", "other=1", "=;;\x7f"])
def test_another_cookie_opens_nothing(own_folder: Path, cookie: str) -> None:
    assert visitor(own_folder).get(CASE, headers={"Cookie": cookie}).status_code == 403


def test_the_cookie_is_this_start_s_and_out_of_reach_of_scripts(own_folder: Path) -> None:
    first, second = door_of(own_folder), door_of(own_folder)
    answer = visitor(own_folder, door=first).get("/", params={"code": CODE}, follow_redirects=False)
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    sent = {"Cookie": cookie.partition(";")[0]}
    assert visitor(own_folder, door=first).get(CASE, headers=sent).status_code == 200
    assert visitor(own_folder, door=second).get(CASE, headers=sent).status_code == 403


def test_on_a_shared_address_everybody_looks_and_nobody_changes(own_folder: Path) -> None:
    guest = visitor(own_folder, shared=True)
    assert guest.get("/").status_code == 200
    assert guest.get(CASE).status_code == 200
    assert guest.get("/api/case.pdf?treat=26").status_code == 200
    day = guest.post("/api/day", params={"name": "x.csv"}, content=b"teeth\n16\n")
    assert day.status_code == 200
    refused = guest.post("/api/printer", json=PRINTER)
    assert refused.status_code == 403
    assert "open /unlock here and type the code" in refused.json()["problems"][0]
    assert list(own_folder.iterdir()) == []


def test_every_posted_address_but_those_that_only_compute_needs_the_code(own_folder: Path) -> None:
    guest = visitor(own_folder, shared=True)
    posted = {
        path
        for path, methods in guest.get("/api/openapi.json").json()["paths"].items()
        if set(methods) - {"get"}
    }
    assert {path for path in posted if desk_computes()("POST", path)} == COMPUTES_ONLY
    assert len(posted) > len(COMPUTES_ONLY) + 3
    for path in posted - COMPUTES_ONLY:
        assert guest.post(path, json={}).status_code == 403, path


@pytest.mark.parametrize(
    ("method", "path", "computes"),
    [
        ("GET", "/api/drawer.pdf", True),
        ("GET", "/api/strain.pdf", True),
        ("GET", "/api/day", False),
        ("GET", "/api/case", False),
        ("POST", "/api/day/teach", False),
        ("POST", "/api/day.pdf/", False),
    ],
)
def test_what_computes_is_marked_where_it_is_declared(
    method: str, path: str, *, computes: bool
) -> None:
    assert desk_computes()(method, path) == computes


def test_the_door_says_what_the_browser_may_do_with_it(own_folder: Path) -> None:
    headers = visitor(own_folder).get("/").headers
    assert headers["x-frame-options"] == "DENY"
    assert "default-src 'none'" in headers["content-security-policy"]


def test_codes_are_of_signs_that_look_different() -> None:
    codes = {new_code() for _ in range(200)}
    assert len(codes) == 200
    for code in codes:
        assert re.fullmatch(r"[2-9a-hjkmnp-z]{4}-[2-9a-hjkmnp-z]{4}", code)
