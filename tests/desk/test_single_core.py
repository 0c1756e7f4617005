"""What the page in one file answers is what the desk answers, byte for byte."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from sheetmark.base.extras import PARTS
from sheetmark.documents.handouts.names import HANDOUTS
from tests.helpers.corpus import mouths
from tests.helpers.fit_view import fit_request
from tests.helpers.paths import ROOT
from tests.helpers.single_page import Answer, Figures, Request, ask, query_of

DAY = (ROOT / "examples" / "day.csv").read_text("utf-8")
LIST = "application/octet-stream"
JSON = "application/json"
# Every file of a few cases, the picture and the PDF of all.
FORMS = ("svg", "json", "toml")
WRONG = (
    "treat=99",
    "treat=16&with=16+purple",
    "treat=16&age=300",
    "treat=16&arch=nobody",
    "treat=16&sheet=10x10",
    "treat=16&unknown=1",
    "treat=11&missing=11",
)
MEASURED = (
    "treat=16&measure=row+14-17+35.2&measure=upper+molars+47",
    "treat=31&treat=41&measure=lower+canines+26&measure=lower+depth+25",
    "treat=26&measure=upper+canines+90",
)
# What differs from the desk.
LEFT_OUT = (
    "/api/left-out",
    "/api/handouts",
    "/api/start",
    "/api/strain.pdf?treat=16",
    "/api/case?treat=16&shift=even",
    "/api/case.dxf?treat=16",
    "/api/case.cut.svg?treat=16",
    "/api/handout.pdf?name=why-the-middle-moves",
)
# Of every page, seconds of processor time until ready over those of the bare core (measured 2.7 to
# 3.3), and the size of the file, MB (measured 16.2).
MOST_READY = 4.5
MOST_MB = 17.0


def requests() -> list[Request]:
    """Reads before what changes the settings, and after it."""
    queries = [query_of(mouth.plan().command) for mouth in mouths()]
    reads = ["/api/practice", "/api/day/columns", "/api/printer-page.pdf", "/api/nothing"]
    reads += [f"/api/case?{query}" for query in (*queries, *WRONG)]
    reads += [f"/api/case.pdf?{query}" for query in (*queries, *WRONG)]
    reads += [f"/api/case.{form}?{query}" for form in FORMS for query in queries[::7]]
    reads += [
        f"/api/case{form}?{measured}" for measured in MEASURED for form in ("", ".pdf", ".json")
    ]
    reads += [f"/api/case?{query}&view=arch" for query in queries[::9]]
    reads += [f"/api/handout.pdf?name={name}" for name in HANDOUTS if name not in PARTS]
    change = {"fingerprint": "", "values": {"notation": "universal", "page.paper": "letter"}}
    bars = {"name": "front desk", "x": 149.4, "y": 150.2}
    return [
        *(("GET", read, "", "") for read in reads),
        ("POST", "/api/day?name=day.csv", LIST, DAY),
        ("POST", "/api/day.pdf?name=day.csv&cards=true", LIST, DAY),
        ("POST", "/api/day?name=day.csv", LIST, "time,teeth\n9:00,99\n"),
        ("POST", "/api/arch/fit", JSON, json.dumps(fit_request())),
        ("POST", "/api/arch/save", JSON, json.dumps(fit_request())),
        ("GET", "/api/case.pdf?treat=16&arch=our-arch", "", ""),
        ("POST", "/api/practice", JSON, json.dumps(change)),
        ("POST", "/api/practice", JSON, json.dumps(change)),
        ("POST", "/api/printer", JSON, json.dumps(bars)),
        ("POST", "/api/printer", JSON, json.dumps(bars | {"x": 20})),
        ("GET", "/api/practice", "", ""),
        ("GET", f"/api/case?{queries[0]}", "", ""),
        ("GET", f"/api/case.pdf?{queries[0]}", "", ""),
    ]


@pytest.fixture(scope="module")
def answers(
    single_page: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[list[Answer], Figures]:
    every_request = [*requests(), *(("GET", address, "", "") for address in LEFT_OUT)]
    return ask(single_page, every_request, tmp_path_factory.mktemp("asked"))


def test_every_answer_is_the_desks_own(
    answers: tuple[list[Answer], Figures], client: TestClient
) -> None:
    differing = []
    every_request = requests()
    found_for_all = answers[0][: len(every_request)]
    for (method, address, kind, body), found in zip(every_request, found_for_all, strict=True):
        headers = {"Content-Type": kind} if kind else {}
        wanted = client.request(method, address, headers=headers, content=body.encode())
        same = (wanted.status_code, dict(wanted.headers), wanted.content)
        if same != (found.status, found.headers, found.content):
            differing.append(
                f"{method} {address}: {wanted.content[:300]!r} {found.content[:300]!r}"
            )
    assert differing == []
    statuses = [answer.status for answer in found_for_all]
    assert statuses.count(200) > 140
    assert statuses.count(422) > len(WRONG)


def test_what_it_does_not_carry_is_named_and_refused(
    answers: tuple[list[Answer], Figures],
) -> None:
    found = dict(zip(LEFT_OUT, answers[0][len(requests()) :], strict=True))
    listed = json.loads(found.pop("/api/left-out").content)
    assert listed["parts"] == list(PARTS)
    offered = [handout["name"] for handout in json.loads(found.pop("/api/handouts").content)]
    assert set(HANDOUTS) - set(offered) == set(PARTS) & set(HANDOUTS) != set()
    assert "even" not in json.loads(found.pop("/api/start").content)["shifts"]
    for address, answer in found.items():
        assert answer.status == 422, address
        (line,) = json.loads(answer.content)["problems"]
        assert line == "this is not in the page in one file; use the installed program"


def test_it_is_ready_soon_and_weighs_little(
    answers: tuple[list[Answer], Figures], single_page: Path
) -> None:
    figures = answers[1]
    assert figures.ready / figures.bare < MOST_READY, figures
    assert single_page.stat().st_size / 1e6 < MOST_MB


def test_the_page_is_the_same_each_time_and_names_no_server(
    single_page: Path,
) -> None:
    text = single_page.read_text("utf-8")
    head = text[: text.index("</head>")]
    assert "connect-src" not in head
    assert "default-src 'none'" in head
    assert 'src="' not in head
    assert set(re.findall(r'<link[^>]* href="(.{5})', head)) == {"data:"}
