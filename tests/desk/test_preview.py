"""A preview is made at once, and its small picture of the callipers once for a row."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from sheetmark.anatomy.teeth import read
from sheetmark.case.case import Case
from sheetmark.desk.server import cases
from sheetmark.documents.figures.callipers import calliper_picture, callipers
from sheetmark.plan.make import make_plan
from sheetmark.render.svg import render_svg


@pytest.mark.parametrize(
    ("choices", "handed"),
    [
        ({"treat": "16"}, 0),
        ({"treat": "46", "view": "arch"}, 0),
        ({"treat": "16", "shift": "none"}, 0),
        ({"treat": "16", "measure": "row 14-17 33"}, 1),
    ],
)
def test_only_what_is_slow_is_handed_to_a_thread(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, choices: dict[str, str], handed: int
) -> None:
    calls: list[object] = []

    async def count(work: Any, *arguments: Any) -> object:
        calls.append(work)
        return work(*arguments)

    monkeypatch.setattr(cases, "run_in_threadpool", count)
    assert client.get("/api/case", params=choices).json()["sheet"]
    assert len(calls) == handed


def test_the_picture_of_the_callipers_is_drawn_once_for_a_row(client: TestClient) -> None:
    cases.calliper_svg.cache_clear()

    def drawn(**choices: str) -> str:
        sheet = client.get("/api/case", params=choices).json()["sheet"]
        svg: str = sheet["callipers"]["svg"]
        return svg

    for tooth in ("16", "46"):
        plan = make_plan(Case(treat=(read(tooth, "iso"),)))
        found = callipers(plan)
        assert found
        picture = calliper_picture(plan.arch, plan.isolation.row, found)
        expected = render_svg(picture, inline=True).decode()
        assert drawn(treat=tooth) == expected
        assert drawn(treat=tooth, sheet="127x127", reference="again") == expected
    assert drawn(treat="16") != drawn(treat="46")
    # Another row, and a mouth that was measured.
    assert drawn(treat="26") != drawn(treat="16") != drawn(treat="16", measure="row 14-17 33")
    assert cases.calliper_svg.cache_info().misses == 4
