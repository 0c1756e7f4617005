"""A scan opened on the page: teeth proposed, corrected by hand, saved, and used for a case."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cache
from math import dist
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.teeth import Jaw, Notation
from sheetmark.base.user_folder import models_folder
from sheetmark.desk.server import guard
from sheetmark.fitting.scan import jaw as scanning
from sheetmark.fitting.scan.turns import Turn
from tests.helpers.fit_view import table_rows
from tests.helpers.running_desk import Running
from tests.helpers.scan_files import as_file, drawn, scaled
from tests.helpers.scans import Recipe

pytestmark = pytest.mark.usefixtures("few_mouths")

if TYPE_CHECKING:
    from playwright.sync_api import Page

SCAN = drawn(Recipe("upper", 7000, crowding=0.4, triangles=20_000))
FILE = as_file(SCAN.mesh)
PATH = "/api/arch/scan"


@pytest.fixture(scope="module", autouse=True)
def looked_at_once() -> Iterator[None]:
    """What is found in a scan hangs on the scan, the jaw and the turns alone."""
    real = cache(scanning.scanned_jaw)

    def found(
        content: bytes, name: str, notation: Notation, jaw: Jaw | None, turns: Sequence[Turn]
    ) -> scanning.ScannedJaw:
        return real(content, name, notation, jaw, tuple(turns))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(scanning, "scanned_jaw", found)
        yield


def scanned(client: TestClient, **query: Any) -> dict[str, Any]:
    answer = client.post(PATH, params={"name": "upper.stl", **query}, content=FILE)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_the_teeth_of_a_scan_are_proposed_in_its_picture(client: TestClient) -> None:
    found = scanned(client)
    assert found["jaw"] == "upper"
    assert found["picture"].startswith("data:image/png;base64,")
    middles = {tooth["tooth"]: tooth["middle"] for tooth in found["teeth"]}
    assert set(middles) == {tooth.iso for tooth in SCAN.centres}
    # Distances in the picture are those of the drawn crowns.
    true = {tooth.iso: centre for tooth, centre in SCAN.centres.items()}
    for first, other in (("16", "26"), ("13", "23"), ("11", "17")):
        mm = dist(middles[first], middles[other]) / found["pixels_per_mm"]
        assert mm == pytest.approx(float(np.linalg.norm(true[first] - true[other])), abs=1.0)
    # Seen from the biting side the upper right teeth are on the left, the front teeth above.
    assert middles["16"][0] < middles["26"][0]
    assert middles["11"][1] < middles["16"][1]
    assert all(0 <= tooth["sure"] <= 1 for tooth in found["teeth"])


def test_the_jaw_can_be_named_and_the_scan_be_turned(client: TestClient) -> None:
    other = scanned(client, jaw="lower")
    assert other["jaw"] == "lower"
    assert "scan-jaw" in [finding["code"] for finding in other["findings"]]
    usual = scanned(client)
    assert scanned(client, turn=["front-down"])["picture"] != usual["picture"]
    whole_turn = scanned(client, turn=["left", "left", "right", "right"])
    assert whole_turn["teeth"] == usual["teeth"]
    over = client.post(PATH, params={"name": "a.stl", "turn": ["over"]}, content=FILE)
    codes = [f["code"] for f in over.json().get("findings", [])]
    assert over.status_code == 422 or "scan-inside-out" in codes


def test_a_scan_that_cannot_be_used_is_a_line(client: TestClient) -> None:
    metres = as_file(scaled(SCAN.mesh, 0.001))
    refused = client.post(PATH, params={"name": "upper.stl"}, content=metres)
    assert refused.status_code == 422
    assert "looks like metres" in refused.json()["problems"][0]
    refused = client.post(PATH, params={"name": "upper.zip"}, content=b"PK")
    assert refused.status_code == 422


def test_a_scan_may_be_larger_than_other_requests_but_is_bounded(client: TestClient) -> None:
    padded = FILE + b" " * (guard.MOST_BYTES + 1)
    assert client.post(PATH, params={"name": "a.stl"}, content=padded).status_code == 422
    answer = client.post("/api/printer", content=padded)
    assert answer.status_code == 413
    too_large = b" " * (guard.MOST_LARGE_BYTES + 1)
    assert client.post(PATH, params={"name": "a.stl"}, content=too_large).status_code == 413


def open_scan(page: Page, desk: Running) -> None:
    page.goto(f"{desk.url}#/arch")
    page.get_by_label("Open a scan of one jaw").set_input_files(
        {"name": "upper.stl", "mimeType": "model/stl", "buffer": FILE}
    )
    page.locator(".photo-marks text").first.wait_for()


def middle_of(page: Page, name: str) -> tuple[float, float]:
    """Where a tooth's circle is in the window."""
    label = page.locator(".photo-marks text", has_text=name)
    box = page.locator(".stage").bounding_box()
    assert box is not None
    x, y = (float(label.get_attribute(key) or "nan") for key in ("x", "y"))
    return box["x"] + x, box["y"] + y + 12


def drag(page: Page, name: str) -> None:
    """Drag a tooth's circle a little with the mouse."""
    page.locator(".photo").scroll_into_view_if_needed()
    x, y = middle_of(page, name)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 10, y + 6, steps=4)
    page.mouse.up()


def shown_middles(page: Page) -> dict[str, tuple[str, str]]:
    """The table: the middle in pixels, and how sure, by tooth."""
    return {name: (buttons[0], cells[1]) for name, buttons, cells in table_rows(page)}


def test_two_teeth_are_corrected_and_the_arch_used_for_a_case(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    open_scan(page, desk)
    axe(page)
    before = shown_middles(page)
    assert len(before) == len(SCAN.centres)
    assert all(sure.endswith("%") or "look" in sure for _, sure in before.values())
    # Dragged with the mouse.
    drag(page, "16")
    moved = shown_middles(page)
    assert moved["16"][1] == "by hand"
    assert moved["16"][0] != before["16"][0]
    assert {name: moved[name] for name in moved if name != "16"} == {
        name: before[name] for name in before if name != "16"
    }
    # One undo takes the whole drag back, and the drag is done again.
    page.get_by_role("button", name="Undo").click()
    assert shown_middles(page)["16"][0] == before["16"][0]
    drag(page, "16")
    # Removed, and added again with the keyboard and a click.
    was = middle_of(page, "15")
    page.get_by_role("button", name="Delete 15").click()
    assert "15" not in shown_middles(page)
    page.get_by_label("Go to tooth").select_option("15")
    assert page.inner_text(".now") == "Now: 15, middle"
    page.mouse.click(was[0] + 3, was[1] - 3)
    assert shown_middles(page)["15"][1] == "by hand"
    # Moved by keys.
    page.get_by_role("button", name="15, middle: move").click()
    at = shown_middles(page)["15"][0]
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    assert shown_middles(page)["15"][0] != at
    page.get_by_label("Name of the model").fill("our-arch")
    page.get_by_role("button", name="Fit the arch").click()
    page.locator(".worst, .fit-result .problems").wait_for()
    assert page.locator(".fit-result .problems").all_inner_texts() == []
    assert "MIRRORED" not in page.inner_text(".fit-result")
    axe(page)
    page.get_by_role("button", name="Save as our-arch").click()
    page.get_by_text("Saved as our-arch.").first.wait_for()
    model = load_model(str(models_folder() / "our-arch.toml"))
    assert set(model.upper.seen) == {tooth.iso for tooth in SCAN.centres}
    page.get_by_role("link", name="Use it for a case").click()
    page.wait_for_url("**/#/case?arch=our-arch*")


def test_a_finger_drags_a_tooth_and_pans_beside_it(page: Page, desk: Running) -> None:
    open_scan(page, desk)
    page.locator(".photo").scroll_into_view_if_needed()
    before = shown_middles(page)
    x, y = middle_of(page, "12")
    swipe(page, (x, y), (x + 14, y - 9))
    after = shown_middles(page)
    assert after["12"][1] == "by hand"
    moved = [float(n) for n in after["12"][0].split(", ")]
    was = [float(n) for n in before["12"][0].split(", ")]
    assert moved[0] > was[0]
    assert moved[1] < was[1]
    assert {n: v for n, v in after.items() if n != "12"} == {
        n: v for n, v in before.items() if n != "12"
    }
    # Beside the teeth the finger scrolls the picture, and nothing is placed.
    for _ in range(4):
        page.get_by_role("button", name="Larger").click()
    page.locator(".photo").scroll_into_view_if_needed()
    scroll = "document.querySelector('.photo').scrollTop"
    at = page.evaluate(scroll)
    box = page.locator(".photo").bounding_box()
    assert box is not None
    middle = box["x"] + box["width"] / 2
    swipe(page, (middle, box["y"] + box["height"] - 60), (middle, box["y"] + 60))
    page.wait_for_function(f"{scroll} > {at} + 100")
    assert shown_middles(page) == after


def swipe(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """One finger from a place of the window to another, as a touch screen sends it."""
    session = page.context.new_cdp_session(page)
    for step in range(9):
        x, y = (a + (b - a) * step / 8 for a, b in zip(start, end, strict=True))
        kind = "touchMove" if step else "touchStart"
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    session.detach()


def test_a_scan_is_turned_and_named_by_buttons(page: Page, desk: Running) -> None:
    open_scan(page, desk)
    page.get_by_label("lower", exact=True).check()
    page.get_by_text("looks like the upper jaw").wait_for()
    assert "46" in shown_middles(page)
    page.get_by_role("button", name="Turn over").click()
    page.locator(".problems, .findings >> text=inside out").first.wait_for()
