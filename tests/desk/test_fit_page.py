"""The fit of an arch on the page: points to a model, by mouse, touch and keyboard, with errors."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from math import dist
from typing import TYPE_CHECKING, Any

import pytest

from sheetmark.anatomy.arch_model import data_folder, load_model
from sheetmark.anatomy.teeth import read
from sheetmark.base.user_folder import models_folder
from sheetmark.cli.app import run
from sheetmark.desk.server import guard
from tests.helpers.browser import wait_until
from tests.helpers.fit_view import (
    HEIGHT,
    RULER,
    WIDTH,
    Pixels,
    centre_errors,
    click,
    enter_length,
    in_window,
    next_point,
    open_picture,
    picked_of,
    picture,
    press_fit,
    shown_points,
)
from tests.helpers.running_desk import Running

pytestmark = pytest.mark.usefixtures("few_mouths")

if TYPE_CHECKING:
    from playwright.sync_api import Browser, FilePayload, Page


@pytest.fixture
def bodies(monkeypatch: pytest.MonkeyPatch) -> list[bytes]:
    """Every body that reaches the desk, whatever it was sent as."""
    seen: list[bytes] = []
    real = guard._whole

    async def watched(receive: Any, most_bytes: int) -> bytes:
        whole = await real(receive, most_bytes)
        if whole:
            seen.append(whole)
        return whole

    monkeypatch.setattr(guard, "_whole", watched)
    return seen


def test_clicked_points_make_a_model_that_the_command_finds(
    page: Page,
    desk: Running,
    bodies: list[bytes],
    axe: Callable[[Page], None],
    capsys: pytest.CaptureFixture[str],
) -> None:
    open_picture(page, desk)
    axe(page)
    assert page.get_by_role("application", name="Picture cast.png").is_visible()
    assert next_point(page) == "Now: first end of the known length"
    for point in RULER:
        click(page, point)
    enter_length(page)
    for tooth, ends in picked_of().items():
        for end, point in ends.items():
            assert next_point(page) == f"Now: {tooth}, {end}"
            click(page, point)
    assert next_point(page) == "All picked. Fit the arch below."
    press_fit(page)
    axe(page)
    page.get_by_role("button", name="Save as our-arch").click()
    page.get_by_text("Saved as our-arch.").first.wait_for()

    # A click falls on a whole pixel of the window: half of one is 0.07 mm here. Measured: worst
    # centre 0.041 mm off, mean 0.021.
    assert max(centre_errors(load_model("our-arch"))) < 0.08
    assert run(["arch", "show", "our-arch"]) == 0
    assert "our-arch: Upper jaw measured" in capsys.readouterr().out
    link = page.get_by_role("link", name="Use it for a case")
    assert link.get_attribute("href") == "#/case?arch=our-arch"

    # The picture stays in the browser: what reached the desk is points, and nothing else.
    content = picture()
    assert len(bodies) == 2
    for sent in bodies:
        assert set(json.loads(sent)) <= {"name", "date", "base", "scale", "teeth", "replace"}
        assert content[1:4] not in sent
        assert base64.b64encode(content)[:12] not in sent
        assert b"cast.png" not in sent
        assert len(sent) < 4000 < len(content)


def test_other_points_of_each_tooth_can_be_picked(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    open_picture(page, desk)
    for point in RULER:
        click(page, point)
    enter_length(page)
    # A contact picked before is kept, and does not mix with the others.
    click(page, picked_of()["17"]["mesial"])
    kinds = page.get_by_label("Points of each tooth")
    kinds.select_option("middle")
    assert next_point(page) == "Now: 17, middle"
    click(page, picked_of(kind="middle")["17"]["middle"])
    assert next_point(page) == "Now: 16, middle"
    kinds.select_option("gum")
    axe(page)
    picked = picked_of(kind="gum line")
    for tooth, ends in picked.items():
        for end, point in ends.items():
            assert next_point(page) == f"Now: {tooth}, {end}"
            click(page, point)
    assert len(shown_points(page)) == 1 + len(picked)
    press_fit(page)
    page.get_by_role("button", name="Save as our-arch").click()
    page.get_by_text("Saved as our-arch.").first.wait_for()
    # Of clicks on whole pixels, half of one is 0.07 mm; a middle of two is half as far off.
    assert max(centre_errors(load_model("our-arch"))) < 0.1
    kinds.select_option("contacts")
    assert next_point(page) == "Now: 17, distal"


def move(page: Page, start: Pixels, end: Pixels) -> Pixels:
    """The cross from one pixel to the nearest whole one of another, by keys."""
    goal = (start[0] + round(end[0] - start[0]), start[1] + round(end[1] - start[1]))
    for axis, (back, forth), (leap_back, leap_forth) in (
        (0, ("ArrowLeft", "ArrowRight"), ("Home", "End")),
        (1, ("ArrowUp", "ArrowDown"), ("PageUp", "PageDown")),
    ):
        steps = int(goal[axis] - start[axis])
        hundreds, rest = divmod(abs(steps), 100)
        tens, ones = divmod(rest, 10)
        forwards = steps > 0
        for count, key in (
            (hundreds, leap_forth if forwards else leap_back),
            (tens, f"Shift+{forth if forwards else back}"),
            (ones, forth if forwards else back),
        ):
            for _ in range(count):
                page.keyboard.press(key)
    return goal


def test_picked_points_survive_a_reload(page: Page, desk: Running) -> None:
    open_picture(page, desk)
    for point in RULER:
        click(page, point)
    enter_length(page)
    (first, ends), *_ = picked_of().items()
    click(page, ends["mesial"])
    before = shown_points(page)
    page.reload()
    page.get_by_text("What you picked in cast.png is kept: open that picture again.").wait_for()
    open_picture(page, desk)
    assert next_point(page) == f"Now: {first}, distal"
    assert shown_points(page) == before
    assert page.get_by_role("textbox", name="Known length, mm").input_value() == "50"


def test_by_keyboard_alone_from_the_picture_to_the_kept_model(page: Page, desk: Running) -> None:
    file: FilePayload = {"name": "cast.png", "mimeType": "image/png", "buffer": picture()}
    # Told before the page is there: a chooser asked for later is at times not seen.
    page.on("filechooser", lambda chooser: chooser.set_files(file))
    page.goto(f"{desk.url}#/arch")
    page.get_by_label("Open a picture of the cast").wait_for()
    tab_to(page, "picture-file")
    page.keyboard.press("Enter")
    page.locator(".photo-marks path").first.wait_for()
    assert page.evaluate("document.activeElement.className") == "photo"
    cross: Pixels = (WIDTH / 2, HEIGHT / 2)
    for point in RULER:
        cross = move(page, cross, point)
        page.keyboard.press("Enter")
    picked = picked_of()
    # 16 and 22 are left out, and predicted from the others.
    for tooth in (tooth for tooth in picked if tooth not in ("16", "22")):
        while next_point(page) != f"Now: {tooth}, mesial":
            tab_to(page, "Skip this tooth")
            page.keyboard.press("Enter")
        for end in ("mesial", "distal"):
            cross = move(page, cross, picked[tooth][end])
            page.keyboard.press("Enter")
    assert next_point(page) == "All picked. Fit the arch below."
    tab_to(page, "known-length", backwards=True)
    page.keyboard.type("50")
    tab_to(page, "model-name")
    page.keyboard.press("Control+a")
    page.keyboard.type("by-keys")
    tab_to(page, "Fit the arch")
    page.keyboard.press("Enter")
    page.locator(".worst").wait_for()
    tab_to(page, "Save as by-keys")
    page.keyboard.press("Enter")
    page.get_by_text("Saved as by-keys.").first.wait_for()
    # The cross falls on whole pixels of the picture: half of one is 0.025 mm. Measured: worst
    # tooth that was seen 0.04 mm off, and those predicted 0.19.
    *seen, first, second = sorted(centre_errors(load_model("by-keys")))
    assert max(seen) < 0.06
    assert max(first, second) < 0.25


def tab_to(page: Page, what: str, *, backwards: bool = False) -> None:
    """Tab until the element of that id or those words has the focus."""
    for _ in range(80):
        found = page.evaluate(
            "[document.activeElement.id, document.activeElement.textContent.trim()]"
        )
        if what in found:
            return
        page.keyboard.press("Shift+Tab" if backwards else "Tab")
    raise AssertionError(f"{what!r} is not reached by Tab")


def test_points_are_moved_taken_back_deleted_and_picked_out_of_turn(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    open_picture(page, desk)
    for point in (*RULER, (300, 900), (350, 800)):
        click(page, point)
    before = shown_points(page)["17"]
    page.get_by_role("button", name="17, distal: move").click()
    assert next_point(page) == "Moving: 17, distal"
    axe(page)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    mesial, distal = shown_points(page)["17"]
    x, y = (int(number) for number in before[1].split(", "))
    assert (mesial, distal) == (before[0], f"{x + 1}, {y + 10}")
    page.keyboard.press("Enter")
    assert next_point(page) == "Now: 16, mesial"
    page.get_by_role("button", name="Undo").click()
    assert shown_points(page)["17"] == before

    page.get_by_label("Go to tooth").select_option("23")
    assert next_point(page) == "Now: 23, mesial"
    click(page, (1200, 300))
    assert next_point(page) == "Now: 23, distal"
    page.get_by_label("Go to tooth").select_option("16")
    page.get_by_role("button", name="Skip this tooth").click()
    assert next_point(page) == "Now: 15, mesial"
    teeth = page.get_by_label("Go to tooth").locator("option")
    assert {"16 (skipped)", "17 (picked)", "23 (one point)"} <= set(teeth.all_inner_texts())
    page.get_by_role("button", name="Undo").click()
    assert next_point(page) == "Now: 16, mesial"
    assert "16" in teeth.all_inner_texts()
    page.get_by_role("button", name="Delete 17").click()
    assert set(shown_points(page)) == {"Length", "23"}
    assert next_point(page) == "Now: 17, mesial"
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Undo").click()
    assert shown_points(page)["17"] == before

    page.get_by_label("lower").check()
    assert next_point(page) == "Now: 47, mesial"
    assert set(shown_points(page)) == {"Length"}
    page.get_by_label("upper").check()
    assert set(shown_points(page)) == {"Length", "17", "23"}


def test_a_click_means_the_same_pixel_at_every_zoom(page: Page, desk: Running) -> None:
    open_picture(page, desk)
    # A wheel is told of in whole pixels of the window: turn it over one.
    x, y = (float(round(place)) for place in in_window(page, (430.0, 250.0)))
    (left, top), (right, bottom) = in_window(page, (0, 0)), in_window(page, (WIDTH, HEIGHT))
    wanted = (WIDTH * (x - left) / (right - left), HEIGHT * (y - top) / (bottom - top))
    page.mouse.move(x, y)
    for _ in range(14):
        page.mouse.wheel(0, -120)
    page.wait_for_function("parseInt(document.querySelector('.zoomed').textContent) > 150")
    click(page, wanted)
    shown = shown_points(page)["Length"][0]
    assert dist([float(number) for number in shown.split(", ")], wanted) < 1.5
    under = in_window(page, wanted)
    assert dist(under, (x, y)) < 3  # what lies under the pointer stays under it
    page.get_by_role("button", name="Whole picture").click()
    box, room = (page.locator(name).bounding_box() for name in (".stage", ".photo"))
    assert box is not None
    assert room is not None
    assert box["width"] <= room["width"]
    assert box["height"] <= room["height"]
    page.get_by_role("button", name="Larger").click()
    page.get_by_role("button", name="Larger").click()
    before = page.evaluate("document.querySelector('.photo').scrollLeft")
    page.mouse.move(x + 100, y + 100)
    page.mouse.down()
    page.mouse.move(x + 60, y + 90, steps=4)
    page.mouse.up()
    after = page.evaluate("document.querySelector('.photo').scrollLeft")
    assert after - before == pytest.approx(40, abs=2)
    assert shown_points(page)["Length"][1] == "pick"  # a drag is no click


@pytest.mark.parametrize(("width", "height"), [(768, 1024), (1280, 800)])
def test_a_large_picture_scrolls_in_its_own_frame(
    page: Page, desk: Running, width: int, height: int
) -> None:
    page.set_viewport_size({"width": width, "height": height})
    open_picture(page, desk)
    for _ in range(6):
        page.get_by_role("button", name="Larger").click()
    box = page.locator(".stage").bounding_box()
    assert box is not None
    assert box["width"] > 2 * width
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    # The cross stays in sight, in the middle of the frame's own scrolling.
    frame = page.locator(".photo").bounding_box()
    assert frame is not None
    x, y = in_window(page, (WIDTH / 2, HEIGHT / 2))
    assert frame["x"] < x < frame["x"] + frame["width"]
    assert frame["y"] < y < frame["y"] + frame["height"]


def test_a_tap_places_a_point(browser: Browser, desk: Running) -> None:
    context = browser.new_context(viewport={"width": 768, "height": 1024}, has_touch=True)
    tablet = context.new_page()
    open_picture(tablet, desk)
    for point in RULER:
        tablet.locator(".photo").scroll_into_view_if_needed()
        tablet.touchscreen.tap(*in_window(tablet, point))
    wait_until(tablet, lambda: next_point(tablet) == "Now: 17, mesial")
    (x, y) = (float(number) for number in shown_points(tablet)["Length"][1].split(", "))
    assert dist((x, y), RULER[1]) < 3
    context.close()


def test_what_is_missing_or_wrong_is_reported(page: Page, desk: Running) -> None:
    page.goto(f"{desk.url}#/arch")
    page.get_by_label("Open a picture of the cast").set_input_files(
        {"name": "notes.txt", "mimeType": "image/png", "buffer": b"no picture"}
    )
    page.locator(".problems").wait_for()
    assert "notes.txt cannot be opened as a picture" in page.inner_text(".problems")
    open_picture(page, desk)
    press_fit(page)
    assert page.locator(".problems li").all_inner_texts() == [
        "Pick both ends of the known length.",
        "Give the known length in mm, such as 50.",
    ]
    click(page, (100, 100))
    click(page, (150, 100))
    enter_length(page, "50,5")
    page.get_by_role("button", name="Fit the arch").click()
    page.get_by_text("pixels apart, at least 100 are needed").wait_for()


def test_a_kept_model_is_replaced_only_by_a_tick(
    page: Page, desk: Running, bodies: list[bytes]
) -> None:
    models_folder().mkdir()
    text = (data_folder() / "adult-large.toml").read_text("utf-8")
    ours = models_folder() / "our-arch.toml"
    ours.write_text(text.replace('name = "adult-large"', 'name = "our-arch"', 1), "utf-8")
    old = ours.read_bytes()
    open_picture(page, desk)
    for point in RULER:
        click(page, point)
    enter_length(page)
    for ends in picked_of().values():
        for point in ends.values():
            click(page, point)
    press_fit(page)
    page.get_by_role("button", name="Save as our-arch").click()
    page.locator(".saved .problems").wait_for()
    assert "you have an arch model of that name" in page.inner_text(".saved .problems")
    assert ours.read_bytes() == old
    page.get_by_label("Replace the saved our-arch").check()
    page.get_by_role("button", name="Save as our-arch").click()
    page.get_by_text("Saved as our-arch.").first.wait_for()
    assert ours.read_bytes() != old

    # A change after the fit asks for a new one; another view in between loses nothing.
    points = shown_points(page)
    page.get_by_role("link", name="Case", exact=True).click()
    page.locator(".photo").wait_for(state="detached")
    page.get_by_role("link", name="Own arch").click()
    page.locator(".worst").wait_for()
    assert shown_points(page) == points
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("The picked points have changed. Fit the arch again.").wait_for()
    assert page.get_by_role("button", name="Save as our-arch").count() == 0


def test_the_start_of_a_child(page: Page, desk: Running) -> None:
    open_picture(page, desk)
    page.get_by_label("Start from").select_option("age-6")
    for point in RULER:
        click(page, point)
    first = next_point(page).removeprefix("Now: ").removesuffix(", mesial")
    assert read(first, "iso").side == "right"
    options = page.get_by_label("Go to tooth").locator("option").all_inner_texts()
    assert {"55", "65"} <= set(options)
