"""What the desk's answers let a browser do, and that no other program hears of a request."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from sheetmark.desk.server import pages

PDF = "/api/case.pdf?treat=26"


@pytest.mark.parametrize("path", ["/", "/api/start", PDF, "/api/nothing", "/page/main.js"])
def test_every_answer_has_the_headers_of_owasp_s_list(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    assert headers["cross-origin-embedder-policy"] == "require-corp"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert headers["x-permitted-cross-domain-policies"] == "none"
    assert headers["referrer-policy"] == "no-referrer"
    kept = path.startswith("/page/")
    assert headers["cache-control"] == ("no-cache" if kept else "no-store")
    for name in ("camera", "microphone", "geolocation", "usb", "payment", "display-capture"):
        assert f"{name}=()" in headers["permissions-policy"].split(", ")
    policy = headers["content-security-policy"]
    for part in ("form-action ", "frame-ancestors 'none'", "base-uri 'none'"):
        assert part in policy
    assert ("default-src 'none'" in policy) == (path != PDF)


def test_the_page_s_files_are_packed_and_sent_again_only_when_changed(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = "/page/regular.ttf"
    plain, packed = (client.get(path, headers={"Accept-Encoding": e}) for e in ("", "gzip"))
    assert "content-encoding" not in plain.headers
    assert packed.headers["content-encoding"] == "gzip"
    assert packed.content == plain.content == pages.page_files()["regular.ttf"]
    assert int(packed.headers["content-length"]) < 0.5 * int(plain.headers["content-length"])
    kept = {"If-None-Match": packed.headers["etag"]}
    again = client.get(path, headers=kept)
    assert (again.status_code, again.content) == (304, b"")
    monkeypatch.setattr(pages, "_tag", lambda name: f'"another-{name}"')
    assert client.get(path, headers=kept).status_code == 200


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
