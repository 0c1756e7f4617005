"""What the desk's answers let a browser do, and that no other program hears of a request."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import urljoin

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from sheetmark.desk.server import pages

PDF = "/api/case.pdf?treat=26"
SCRIPT = pages.page_address("main.js")
KEPT = "max-age=31536000, immutable"


@pytest.mark.parametrize("path", ["/", "/api/start", PDF, "/api/nothing", SCRIPT])
def test_every_answer_has_the_headers_of_owasp_s_list(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    assert headers["cross-origin-embedder-policy"] == "require-corp"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert headers["x-permitted-cross-domain-policies"] == "none"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cache-control"] == (KEPT if path == SCRIPT else "no-store")
    for name in ("camera", "microphone", "geolocation", "usb", "payment", "display-capture"):
        assert f"{name}=()" in headers["permissions-policy"].split(", ")
    policy = headers["content-security-policy"]
    for part in ("form-action ", "frame-ancestors 'none'", "base-uri 'none'"):
        assert part in policy
    assert ("default-src 'none'" in policy) == (path != PDF)


def test_the_page_s_files_are_packed_and_not_sent_twice(client: TestClient) -> None:
    plain, packed = (client.get(SCRIPT, headers={"Accept-Encoding": e}) for e in ("", "gzip"))
    assert "content-encoding" not in plain.headers
    assert packed.headers["content-encoding"] == "gzip"
    assert packed.content == plain.content == pages.page_files()["main.js"]
    assert int(packed.headers["content-length"]) < 0.5 * int(plain.headers["content-length"])
    again = client.get(SCRIPT, headers={"If-None-Match": packed.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_an_address_of_the_page_s_files_holds_what_they_hold(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a browser keeps for a year must never be another version's."""
    made = pages.page_version.__wrapped__
    files = pages.page_files()
    assert made() == pages.page_version() in client.get("/").text
    renamed = {"other.js" if name == "main.js" else name: data for name, data in files.items()}
    for changed in (files | {"main.js": b"//"}, renamed):
        monkeypatch.setattr(pages, "page_files", lambda changed=changed: changed)
        assert made() != pages.page_version()
    for version in ("", "0123456789abcdef/"):
        answer = client.get(f"/page/{version}main.js")
        assert answer.status_code == 404
        assert answer.headers["cache-control"] == "no-store"


def test_the_page_names_every_script_of_its_first_view(client: TestClient) -> None:
    found = re.findall(r'<link rel="modulepreload" href="([^"]+)">', client.get("/").text)
    names = {pages.page_address(f"{name}.js") for name in ("main", "case/chart", "day/list")}
    assert names < set(found)
    assert len(set(found)) == len(found)
    texts = {address: client.get(address).text for address in found}
    # Whatever they import is among them.
    for address, text in texts.items():
        for other in re.findall(r'^[^/* ].*from "([^"]+)";$', text, re.MULTILINE):
            assert urljoin(address, other) in texts


def test_no_request_is_traced(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """FastAPI hands spans to whatever an environment has set up; an address holds a case."""
    trace = pytest.importorskip("opentelemetry.trace")
    monkeypatch.setattr(trace, "get_tracer_provider", trace.NoOpTracerProvider)
    usual = getattr(FastAPI(), "_native_telemetry", None)
    if usual is None:
        pytest.skip("this FastAPI traces nothing")
    assert usual.enabled(), "without a word of ours it would"
    app: Any = client.app
    while not isinstance(app, FastAPI):
        app = app.app
    assert not app._native_telemetry.enabled()
    assert app._telemetry["auto_configure"] is False
