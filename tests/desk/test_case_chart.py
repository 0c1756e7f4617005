"""The chart by keyboard, by touch and by mouse: what picks a tooth, and what does not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from tests.helpers.browser import let_draw
from tests.helpers.case_view import open_case, tooth, wait_for_exception, wait_for_sheet
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, CDPSession, Page, ViewportSize

TITLE = "26 (ISO) · upper left first molar · restoration"
TELEPHONE: ViewportSize = {"width": 390, "height": 844}
# Choices whose words have no room; 20 px are the arrow's.
CUT_CHOICES = """[...document.querySelectorAll("select")].flatMap((node) => {
  const style = getComputedStyle(node);
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = style.font;
  const room = node.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
  return [...node.options].map(({ text }) => text)
    .filter((text) => pen.measureText(text).width > room - 20);
})"""
LEAST_TOOTH_PX = 32
# The outline of each tooth as it is drawn, and its width on the screen.
OUTLINES = """Object.fromEntries([...document.querySelectorAll(".tooth")].map((node) => {
  const polygon = node.querySelector("polygon");
  const points = [...polygon.points].map(({ x, y }) => [x, y]);
  return [node.dataset.tooth, { points, width: polygon.getBoundingClientRect().width }];
}))"""


def focused(page: Page) -> str | None:
    iso: str | None = page.evaluate("document.activeElement?.dataset?.tooth ?? null")
    return iso


def enter_chart(page: Page) -> None:
    """Go on by Tab until the chart has the focus."""
    for _ in range(30):
        page.keyboard.press("Tab")
        if focused(page):
            return
    raise AssertionError("Tab does not lead to the chart")


def test_the_jaws_are_one_tab_stop_and_focus_picks_nothing(page: Page, desk: Running) -> None:
    open_case(page, desk)
    enter_chart(page)
    first = focused(page)
    assert page.locator('.tooth[tabindex="0"]').count() == 1
    for key, place in (("End", "28"), ("ArrowDown", "38"), ("Home", "48"), ("ArrowRight", "47")):
        page.keyboard.press(key)
        assert focused(page) == place
    assert "treat" not in page.url
    assert page.locator('.tooth[aria-pressed="true"]').count() == 0
    assert page.locator(".hand button").count() == 0, "no button for a tooth that was not pressed"
    page.keyboard.press("Tab")
    assert focused(page) is None, "one Tab leaves the chart"
    page.keyboard.press("Shift+Tab")
    assert focused(page) == "47" != first, "Tab comes back to where the arrows led"


def test_a_typed_number_picks_its_tooth(page: Page, desk: Running) -> None:
    open_case(page, desk)
    enter_chart(page)
    page.keyboard.type("26")
    wait_for_sheet(page, TITLE)
    assert focused(page) == "26"
    page.keyboard.type("9")  # the beginning of no number
    page.keyboard.type("25")
    wait_for_sheet(page, "25, 26 (ISO)")
    page.keyboard.type("25")
    wait_for_sheet(page, TITLE)


def test_a_number_is_typed_in_the_notation_in_use(page: Page, desk: Running) -> None:
    """In the Universal system 1 and 14 both begin with 1: Enter or a pause ends it."""
    open_case(page, desk, "notation=universal")
    enter_chart(page)
    page.keyboard.type("14")
    wait_for_sheet(page, "14 (Universal) · upper left first molar · restoration")
    page.keyboard.type("1")
    page.keyboard.press("Enter")
    page.wait_for_selector("dialog[open]")  # the absent third molar is described
    assert page.locator("#tooth-title").inner_text() == "1 upper right third molar"
    page.keyboard.press("Escape")
    page.wait_for_selector("dialog", state="detached")
    page.keyboard.type("3")
    wait_for_sheet(page, "3, 14 (Universal)")
    open_case(page, desk, "notation=palmer")
    enter_chart(page)
    page.keyboard.type("ul6")
    wait_for_sheet(page, "UL6 (Palmer) · upper left first molar · restoration")


def test_the_switch_describes_and_the_button_names_its_tooth(page: Page, desk: Running) -> None:
    open_case(page, desk)
    page.get_by_label("describes it").check()
    tooth(page, "36").click()
    page.wait_for_selector("dialog[open]")
    page.get_by_label("Missing", exact=True).check()
    page.get_by_role("button", name="Done").click()
    wait_for_exception(page, "36 missing")
    assert "treat" not in page.url
    assert page.get_by_label("describes it").is_checked(), "the switch stays"
    page.get_by_label("treats it").check()
    tooth(page, "37").click()
    wait_for_sheet(page, "37 (ISO) · lower left second molar · restoration")
    rows = page.locator(".hand li")
    assert rows.count() == 1
    assert rows.inner_text().split("\n")[0] == "37 (ISO 3950) lower left second molar"
    page.get_by_role("button", name="Describe 37 …").click()
    page.wait_for_selector("dialog[open]")
    assert page.locator("#tooth-title").inner_text() == "37 lower left second molar"


def test_numbers_change_for_this_case_alone(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, TITLE)
    assert page.title() == f"{TITLE} · sheetmark"
    page.get_by_label("Numbers", exact=True).select_option("palmer")
    wait_for_sheet(page, "UL6 (Palmer)")
    assert "UL6 (Palmer) upper left first molar" in page.locator(".hand").inner_text()
    assert page.title().startswith("UL6 (Palmer)")
    assert "notation=palmer" in page.url
    assert not desk.practice_file.exists()


def test_undo_is_a_button(page: Page, desk: Running) -> None:
    open_case(page, desk)
    undo = page.get_by_role("button", name="Undo")
    assert undo.is_disabled()
    tooth(page, "26").click()
    wait_for_sheet(page, TITLE)
    page.get_by_label("Procedure").select_option("crown")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · crown")
    undo.click()
    wait_for_sheet(page, TITLE)
    assert page.get_by_label("Procedure").input_value() == "restoration"
    undo.click()
    page.locator(".empty").wait_for()
    assert undo.is_disabled()


def test_a_suggestion_is_taken_over_by_its_button(page: Page, desk: Running) -> None:
    desk.practice_file.write_text(
        'format = "sheetmark-practice/1"\n'
        '[[sheets]]\nwidth_mm = 152\nheight_mm = 152\nmaterial = "latex"\n'
        '[[sheets]]\nwidth_mm = 127\nheight_mm = 127\nmaterial = "latex"\n'
    )
    open_case(page, desk, "treat=85&age=7")
    page.locator(".suggestion", has_text="the smaller sheet, 127 x 127 mm").wait_for()
    page.get_by_role("button", name="Use it").click()
    page.locator(".suggestion").wait_for(state="detached")
    assert "sheet=127x127" in page.url
    assert page.get_by_label("Sheet", exact=True).input_value() == "127x127"


@pytest.fixture
def telephone(browser: Browser, desk: Running) -> Iterator[Page]:
    context = browser.new_context(viewport=TELEPHONE, has_touch=True, is_mobile=True)
    shown = context.new_page()
    open_case(shown, desk)
    yield shown
    context.close()


def rest_finger(page: Page, iso: str, *, moved_px: int = 0) -> None:
    """A finger rests on a tooth for 0.7 s, as the touch screen reports it, and is lifted."""
    touch: CDPSession = page.context.new_cdp_session(page)
    box = tooth(page, iso).bounding_box()
    assert box is not None
    point = {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [point]})
    if moved_px:
        point["y"] -= moved_px
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    page.wait_for_timeout(700)
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_a_finger_that_rests_describes_the_tooth(telephone: Page) -> None:
    tooth(telephone, "16").scroll_into_view_if_needed()
    rest_finger(telephone, "16")
    telephone.wait_for_selector("dialog[open]")
    assert telephone.locator("dialog").count() == 1
    assert telephone.locator("#tooth-title").inner_text() == "16 upper right first molar"
    box = telephone.get_by_role("button", name="Done").bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= TELEPHONE["height"], "in reach, however long the menu"
    telephone.get_by_label("Broken down", exact=True).tap()
    telephone.get_by_role("button", name="Done").tap()
    wait_for_exception(telephone, "16 broken-down")
    assert "treat" not in telephone.url, "what rests there is not pressed as well"
    tooth(telephone, "16").tap()
    wait_for_sheet(telephone, "16 (ISO) · upper right first molar · restoration")


@pytest.mark.parametrize("size", [TELEPHONE, {"width": 768, "height": 1024}])
def test_no_choice_is_cut(telephone: Page, size: ViewportSize) -> None:
    telephone.set_viewport_size(size)
    tooth(telephone, "11").tap()
    wait_for_sheet(telephone, "11 (ISO) · upper right central incisor · restoration")
    telephone.get_by_text("More choices").tap()
    assert telephone.locator("#c-arch").is_visible()
    assert telephone.get_by_label("Widths across are taken at").is_visible()
    assert telephone.evaluate(CUT_CHOICES) == []


@pytest.mark.parametrize("arch", ["", "arch=adult-small", "arch=primary", "age=6", "age=9"])
def test_on_a_telephone_each_tooth_is_wide_enough(
    telephone: Page, desk: Running, client: TestClient, arch: str
) -> None:
    telephone.goto("about:blank")
    open_case(telephone, desk, arch)
    chart = client.get(f"/api/case?{arch}").json()["chart"]
    teeth = {drawn["tooth"]: drawn["outline"] for drawn in (*chart["upper"], *chart["lower"])}
    narrow = telephone.evaluate(OUTLINES)
    assert narrow.keys() == teeth.keys()
    assert min(drawn["width"] for drawn in narrow.values()) >= LEAST_TOOTH_PX
    for iso, drawn in narrow.items():
        # Only further from the midline, and never on the other side of it.
        for (x, y), (true_x, true_y) in zip(drawn["points"], teeth[iso], strict=True):
            assert y == pytest.approx(true_y, abs=1e-4)
            assert x * true_x >= 0
    # On its side the screen is wide: all as the desk drew it.
    telephone.set_viewport_size({"width": 844, "height": 390})
    let_draw(telephone)
    wide = telephone.evaluate(OUTLINES)
    for iso, drawn in wide.items():
        assert drawn["points"] == [pytest.approx(point, abs=1e-4) for point in teeth[iso]]


def test_a_finger_that_scrolls_describes_nothing(telephone: Page) -> None:
    tooth(telephone, "16").scroll_into_view_if_needed()
    rest_finger(telephone, "16", moved_px=40)
    assert telephone.locator("dialog").count() == 0
    assert "treat" not in telephone.url


def test_on_a_telephone_print_is_in_reach_and_all_is_large_enough(telephone: Page) -> None:
    tooth(telephone, "16").tap()
    wait_for_sheet(telephone, "16 (ISO) · upper right first molar · restoration")
    for place in (0, 700, 2000):
        telephone.evaluate(f"window.scrollTo(0, {place})")
        box = telephone.get_by_role("button", name="Print").bounding_box()
        assert box is not None
        assert 0 <= box["y"] <= TELEPHONE["height"] - box["height"]
    pressed = telephone.locator("button, .main-action, select, summary, label:has(input), nav a")
    boxes = [box for button in pressed.all() if (box := button.bounding_box()) and box["height"]]
    assert len(boxes) > 10
    assert min(box["height"] for box in boxes) >= 44
    assert telephone.evaluate("document.documentElement.scrollWidth") <= TELEPHONE["width"]
    telephone.evaluate("window.scrollTo(0, 0)")
    tooth(telephone, "47").evaluate("node => node.scrollIntoView({ block: 'nearest' })")
    box = tooth(telephone, "47").bounding_box()
    bar = telephone.locator(".print-bar").bounding_box()
    assert box is not None
    assert bar is not None
    assert box["y"] + box["height"] <= bar["y"], "what is scrolled to is not under the bar"
