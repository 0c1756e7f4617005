"""Who may ask the desk what: another site's page, a strange name and a flood get nothing."""

from __future__ import annotations

import asyncio
import json
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from starlette.types import Message

from sheetmark.desk.server import guard
from sheetmark.desk.server.app import make_app
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.pages import page_address, page_files
from tests.helpers.running_desk import TOKEN

CASE = "/api/case?treat=26"
PRINTER = {"name": "hall", "x": 149.5, "y": 150.2}


def test_the_page_itself_is_answered(client: TestClient) -> None:
    own = {"Origin": "http://desk.test", "Sec-Fetch-Site": "same-origin"}
    assert client.get(CASE).status_code == 200
    assert client.get(CASE, headers=own).status_code == 200
    assert client.get("/", headers={"Sec-Fetch-Site": "none"}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.test", "desk.test:81", "desk.test.evil.test", "127.0.0.1", "", "desk.test@evil"]
)
def test_a_name_that_was_pointed_at_this_machine_gets_nothing(
    client: TestClient, host: str
) -> None:
    """DNS rebinding: the browser then sends the other site's name."""
    for path in ("/", CASE, page_address("main.js"), "/api/openapi.json"):
        answer = client.get(path, headers={"Host": host})
        assert answer.status_code == 421
        assert TOKEN not in answer.text
        assert "svg" not in answer.text


@pytest.mark.parametrize(
    "origin",
    ["http://evil.test", "null", "https://desk.test", "http://desk.test:81", "http://[", ""],
)
def test_another_origin_is_refused(client: TestClient, origin: str) -> None:
    assert client.get(CASE, headers={"Origin": origin}).status_code == 403
    answer = client.post("/api/printer", json=PRINTER, headers={"Origin": origin})
    assert answer.status_code == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_site_may_link_to_the_page_but_use_nothing(client: TestClient, site: str) -> None:
    link = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": "navigate"}
    assert client.get("/", headers=link).status_code == 200
    for path in (CASE, "/api/case.pdf?treat=26", page_address("main.js")):
        assert client.get(path, headers=link).status_code == 403
    assert client.get("/", headers={"Sec-Fetch-Site": site}).status_code == 403


@pytest.mark.parametrize("token", [None, "", "wrong", TOKEN + " ", TOKEN.upper()])
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_nothing_but_looking_works_without_the_token(
    own_folder: Path, token: str | None, method: str
) -> None:
    desk = Desk(own_folder / "practice.toml", TOKEN, frozenset({"desk.test"}))
    headers = {} if token is None else {"X-Sheetmark-Token": token}
    with TestClient(make_app(desk), base_url="http://desk.test") as asking:
        for path in ("/api/printer", "/api/practice", "/api/day", "/", "/nowhere"):
            answer = asking.request(method, path, headers=headers, content=b"{}")
            assert answer.status_code == 403, path
    assert list(own_folder.iterdir()) == []


def test_no_answer_lets_another_site_read_or_frame_it(client: TestClient) -> None:
    for path in ("/", CASE, "/api/case.pdf?treat=26", "/api/case.svg?treat=26", "/nowhere"):
        headers = client.get(path).headers
        assert not [name for name in headers if name.startswith("access-control")]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert headers["cache-control"] == "no-store"
        assert headers["referrer-policy"] == "no-referrer"
        assert "server" not in headers


def test_the_page_may_run_and_load_only_its_own(client: TestClient) -> None:
    answer = client.get("/")
    policy = dict(
        part.strip().split(" ", 1) for part in answer.headers["content-security-policy"].split(";")
    )
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert policy["form-action"] == "'self'"
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert "style=" not in answer.text
    assert " on" not in answer.text.split("<body>")[1].split("noscript")[0]
    assert f'content="{TOKEN}"' in answer.text


def test_what_is_too_large_is_refused(client: TestClient) -> None:
    answer = client.post("/api/printer", content=b" " * (guard.MOST_BYTES + 1))
    assert answer.status_code == 413
    assert "larger than 4194304 bytes" in answer.json()["problems"][0]
    answer = client.get(f"/api/case?reference={'a' * guard.MOST_ADDRESS_BYTES}")
    assert answer.status_code == 414


def ask_slowly(seconds: float, own_folder: Path) -> list[Message]:
    """What the desk sends where the body never comes to its end."""
    app = make_app(Desk(own_folder / "practice.toml", TOKEN, frozenset({"desk.test"})))
    sent: list[Message] = []

    async def receive() -> Message:
        await asyncio.sleep(seconds)
        return {"type": "http.request", "body": b" ", "more_body": True}

    async def send(message: Message) -> None:
        sent.append(message)

    scope: dict[str, Any] = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "path": "/api/printer",
        "raw_path": b"/api/printer",
        "query_string": b"",
        "root_path": "",
        "scheme": "http",
        "headers": [(b"host", b"desk.test"), (b"x-sheetmark-token", TOKEN.encode())],
    }

    async def exchange() -> None:
        await app(scope, receive, send)

    # A browser that another test left open has a loop in this thread.
    with ThreadPoolExecutor(1) as pool:
        pool.submit(asyncio.run, exchange()).result()
    return sent


def test_what_takes_too_long_to_arrive_is_refused(
    own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "MOST_SECONDS", 0.2)
    begun = time.monotonic()
    start, body = ask_slowly(0.05, own_folder)
    assert time.monotonic() - begun < 5
    assert start["status"] == 408
    assert "more than 0.2 s" in json.loads(body["body"])["problems"][0]


@pytest.mark.parametrize(
    "name",
    [
        "index.html",
        "..%2fguard.py",
        "../guard.py",
        "%2e%2e%2fguard.py",
        "/etc/passwd",
        "case/../../server/guard.py",
        "case/%2e%2e/%2e%2e/server/guard.py",
        "case%2f..%2f..%2fserver%2fguard.py",
        "shared/style.css%00",
        "case",
        "case/",
        ".",
        "",
    ],
)
def test_no_address_reaches_the_disk(client: TestClient, name: str) -> None:
    answer = client.get(page_address(name))
    assert answer.status_code in (404, 307)
    assert "Guard" not in answer.text


def test_each_file_of_the_page_has_its_type(client: TestClient) -> None:
    types = {
        ".js": "text/javascript",
        ".css": "text/css",
        ".woff2": "font/woff2",
        ".svg": "image/svg+xml",
        ".png": "image/png",
        ".webmanifest": "application/manifest+json",
    }
    served = [name for name in page_files() if not name.endswith(".html")]
    assert {"main.js", "case/view.js", "shared/style.css", "fonts/common-bold.woff2"} <= set(served)
    for name in served:
        answer = client.get(page_address(name))
        assert answer.status_code == 200, name
        assert answer.headers["content-type"].split(";")[0] == types[Path(name).suffix], name
        assert answer.content == page_files()[name]


@pytest.mark.parametrize(
    "name", ["../../etc/passwd", "/etc/passwd", "mine.toml", "adult-mean.toml", "./adult-mean"]
)
def test_an_arch_is_never_a_path(client: TestClient, own_folder: Path, name: str) -> None:
    (own_folder / "mine.toml").write_text("secret = 1")
    answer = client.get("/api/case", params={"treat": "26", "arch": name})
    assert answer.status_code == 422
    assert "unknown" in answer.json()["problems"][0]
    assert "secret" not in answer.text


SPITEFUL = '"><script>alert(1)</script>&amp;<b>'


def test_text_from_people_is_escaped_wherever_it_goes(client: TestClient) -> None:
    query = {"treat": "26", "reference": SPITEFUL}
    svg = client.get("/api/case.svg", params=query).text
    assert "<script" not in svg
    assert "&lt;script&gt;" in svg
    picture = client.get("/api/case", params=query).json()["sheet"]["svg"]
    assert "<script" not in picture
    problem = client.get("/api/case.svg", params={"treat": SPITEFUL})
    assert problem.headers["content-type"] == "application/json"
    assert client.get("/api/case.pdf", params=query).content.startswith(b"%PDF-1.7")
    toml = client.get("/api/case.toml", params=query).text
    assert toml.count("\n# ") == 0, "nothing breaks out of its line"


def test_a_name_of_the_practice_is_escaped_too(client: TestClient, own_folder: Path) -> None:
    (own_folder / "practice.toml").write_text(
        f"format = 'sheetmark-practice/1'\nname = '{SPITEFUL}'\n"
    )
    assert client.get("/api/start").json()["practice"] == SPITEFUL
    assert "<script>alert" not in client.get("/").text
    assert "<script" not in client.get("/api/case.svg?treat=26").text
