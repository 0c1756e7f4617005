"""The case view in a real browser: from the first click to the PDF that comes out."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from sheetmark.case.file import read_case
from sheetmark.cli.app import run
from tests.helpers.case_view import (
    check_pdf,
    download,
    open_case,
    tooth,
    wait_for_exception,
    wait_for_sheet,
)
from tests.helpers.cases import run_json
from tests.helpers.page_check import check_page
from tests.helpers.readback import read_svg
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


def test_from_the_first_click_to_the_pdf(page: Page, desk: Running) -> None:
    open_case(page, desk)
    assert "No tooth chosen yet" in page.locator(".sheet").inner_text()
    tooth(page, "26").click()
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    assert page.url.endswith("#/case?treat=26")
    check_pdf(download(page, "PDF"), run_json("26"))
    rows = [row.inner_text().split("\t") for row in page.locator("tbody tr").all()]
    assert rows[:3] == [["3", "1.5", "24, 25"], ["4", "2", "26"], ["5", "2.5", "27"]]
    assert rows[3][0] == "27"
    assert "molar winged" in rows[3][1]


def test_a_finger_on_a_place_of_the_chart_treats_the_tooth_that_stands_there(
    page: Page, desk: Running
) -> None:
    """Seen by the operator who faces the patient: the patient's right is on the left."""
    open_case(page, desk)
    chart = page.locator(".chart").bounding_box()
    assert chart is not None
    for iso, side, height in (
        ("16", "left", "top"),
        ("26", "right", "top"),
        ("36", "right", "low"),
        ("46", "left", "low"),
    ):
        shape = tooth(page, iso).bounding_box()
        assert shape is not None
        x, y = shape["x"] + shape["width"] / 2, shape["y"] + shape["height"] / 2
        assert (x < chart["x"] + chart["width"] / 2) == (side == "left"), iso
        assert (y < chart["y"] + chart["height"] / 2) == (height == "top"), iso
        page.mouse.click(x, y)
        wait_for_sheet(page, f"{iso} (ISO)")
        plan = run_json(iso)
        check_pdf(download(page, "PDF"), plan)
        hole = next(hole for hole in plan["holes"] if hole["tooth"] == iso)
        centre = plan["arch"]["centres_mm"][iso]
        assert (centre[0] < 0) == (side == "left"), iso
        assert hole["role"] == "treated"
        page.get_by_role("button", name="New case").click()
        page.locator(".empty").wait_for()


def test_the_picture_on_screen_is_the_sheet(page: Page, desk: Running) -> None:
    """Holes of the picture, measured, against the plan; L stands on the right."""
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    markup = page.locator(".picture").evaluate("node => node.outerHTML")
    drawing = read_svg(markup.encode())
    plan = run_json("26")
    middle = (drawing.width / 2, drawing.height / 2)
    for hole in plan["holes"]:
        near = [
            circle
            for circle in drawing.circles
            if abs(circle.centre[0] - middle[0] - hole["x_mm"]) < 0.01
            and abs(circle.centre[1] - middle[1] - hole["y_mm"]) < 0.01
        ]
        assert near, hole["tooth"]
    sides = {w.text: w.middle[0] < middle[0] for w in drawing.texts if w.text in ("R", "L")}
    assert sides == {"R": True, "L": False}
    width = page.locator('.picture [data-name="sheet"]').bounding_box()
    assert width is not None
    assert width["width"] == pytest.approx(width["height"], rel=0.01), "no side is stretched"


def test_by_keyboard_alone(page: Page, desk: Running) -> None:
    open_case(page, desk)
    page.locator("body").press("Tab")
    for _ in range(60):
        if page.evaluate("document.activeElement?.dataset?.tooth"):
            break
        page.keyboard.press("Tab")
    for _ in range(20):
        if page.evaluate("document.activeElement.dataset.tooth") == "26":
            break
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    assert page.evaluate("document.activeElement.dataset.tooth") == "26", "the focus stays"
    assert tooth(page, "26").get_attribute("aria-pressed") == "true"
    # What is different, by the menu key's event; closed by Escape, then filled in.
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+F10")
    page.wait_for_selector("dialog[open]")
    page.keyboard.press("Escape")
    page.wait_for_selector("dialog", state="detached")
    assert page.evaluate("document.activeElement.dataset.tooth") == "25"
    page.keyboard.press("Shift+F10")
    page.wait_for_selector("dialog[open]")
    page.keyboard.press("ArrowDown")  # from "As usual" to "Missing"
    page.keyboard.press("Enter")
    page.wait_for_selector("dialog", state="detached")
    wait_for_exception(page, "25 missing")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    # On to the print button and the files, which Enter opens.
    for _ in range(60):
        if page.evaluate("document.activeElement.textContent") == "Print":
            break
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Print"
    check_pdf(download(page, "PDF"), run_json("26", "--missing", "25"))


def test_a_child(page: Page, desk: Running) -> None:
    open_case(page, desk)
    page.get_by_label("Age", exact=True).fill("7")
    page.keyboard.press("Tab")
    tooth(page, "85").click()
    wait_for_sheet(page, "85 (ISO) · lower right primary second molar · restoration")
    plan = run_json("85", "--age", "7")
    check_pdf(download(page, "PDF"), plan)
    assert plan["isolated"] == ["46", "85", "84", "83"]
    assert tooth(page, "46").get_attribute("aria-label") == (
        "46, lower right first molar, anchor: takes the clamp"
    )


def test_back_reload_and_a_bookmark(page: Page, desk: Running) -> None:
    open_case(page, desk)
    tooth(page, "26").click()
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    tooth(page, "25").click()
    wait_for_sheet(page, "25, 26 (ISO) · upper left second premolar and first molar · restoration")
    page.go_back()
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    assert tooth(page, "25").get_attribute("aria-pressed") == "false"
    page.reload()
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_label("Procedure").select_option("root-canal")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · root canal")
    kept = page.url
    page.get_by_role("button", name="New case").click()
    page.locator(".empty").wait_for()
    assert page.get_by_label("Procedure").input_value() == "restoration"
    page.goto(kept)
    wait_for_sheet(page, "26 (ISO) · upper left first molar · root canal")


def test_every_choice_reaches_the_sheet(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_text("More choices").click()
    page.get_by_label("Arch", exact=True).select_option("adult-large")
    page.get_by_label("Sheet", exact=True).select_option("127x127")
    page.get_by_label("Material", exact=True).select_option("nitrile")
    page.get_by_label("Access", exact=True).select_option("tight")
    page.get_by_label("More teeth in front").fill("1")
    page.keyboard.press("Tab")
    page.get_by_label("Middle of the sheet", exact=True).select_option("none")
    page.get_by_label("Reference").fill("room 2")
    page.keyboard.press("Tab")
    page.locator("code", has_text="room 2").wait_for(state="attached")
    page.wait_for_selector(".view-case:not([aria-busy])")
    wording = ["--arch", "adult-large", "--sheet", "127", "--material", "nitrile", "--more", "1"]
    wording += ["--access", "tight", "--no-shift", "--reference", "room 2"]
    plan = run_json("26", *wording)
    check_pdf(download(page, "PDF"), plan)
    assert page.locator("code").inner_text() == plan["command"]


def test_the_other_files_are_the_same_case(page: Page, desk: Running, tmp_path: Path) -> None:
    open_case(page, desk, "treat=24&for=crown&with=24-26 bridge&age=40")
    wait_for_sheet(page, "24 (ISO) · upper left first premolar · crown")
    plan = run_json("24", "--for", "crown", "--with", "24-26 bridge", "--age", "40")
    check_page(read_svg(download(page, "SVG")), plan)
    (tmp_path / "plan.json").write_bytes(download(page, "JSON"))
    case = tmp_path / "case.toml"
    case.write_bytes(download(page, "Case file"))
    made = tmp_path / "made.json"
    assert run(["overlay", "--case", str(case), "-o", str(made)]) == 0
    assert made.read_text() == (tmp_path / "plan.json").read_text()
    assert read_case(case).age == 40


def test_both_jaws_are_refused_in_the_text_of_the_command(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=16")
    wait_for_sheet(page, "16 (ISO) · upper right first molar · restoration")
    tooth(page, "36").click()
    problem = page.get_by_role("alert")
    problem.wait_for()
    assert "teeth 16, 36: both jaws in one case" in problem.inner_text()
    assert page.locator(".picture").count() == 0
    assert page.get_by_role("button", name="Print").count() == 0
    tooth(page, "36").click()
    wait_for_sheet(page, "16 (ISO) · upper right first molar · restoration")


def test_an_address_that_says_nonsense_is_answered_in_plain_text(page: Page, desk: Running) -> None:
    for wording in ("treat=99", "treat=26&age=999", "arch=../../etc/passwd&treat=26"):
        page.goto(f"{desk.url}#/case?{wording}")
        page.get_by_role("alert").wait_for()
        assert page.locator(".picture").count() == 0, wording
        page.get_by_role("button", name="New case").click()
        page.wait_for_selector(".chart .tooth")
        page.goto("about:blank")


def test_on_the_arch_the_middle_is_seen_to_move(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_label("on the arch").check()
    page.locator('.picture [data-name="sheet-centred"]').first.wait_for(state="attached")
    assert page.locator('.picture [data-name^="tooth-"]').count() == 28, "both jaws lie under it"
    assert "on its own" in page.locator(".sheet .switch").inner_text()
    check_pdf(download(page, "PDF"), run_json("26"))


def test_the_most_even_place_is_shown_and_printed(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26&shift=even&view=arch")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    assert page.locator('.picture [data-name="sheet-rule"]').count() > 0
    check_pdf(download(page, "PDF"), run_json("26", "--shift", "even"))


def test_findings_are_read_aloud_and_not_by_colour(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=24&with=24-26 bridge")
    wait_for_sheet(page, "24 (ISO) · upper left first premolar · restoration")
    warning = page.locator(".findings .warning").first.inner_text()
    assert warning.startswith("Warning: 25 pontic")
    live = page.locator("#live")
    assert live.get_attribute("aria-live") == "polite"
    spoken = live.inner_text()
    assert re.match(
        r"24 \(ISO\) · upper left first premolar · restoration\. \d holes\. Clamp: ", spoken
    )
    assert warning.removeprefix("Warning: ") in spoken


def test_universal_numbers_and_letters(page: Page, desk: Running) -> None:
    desk.practice_file.write_text(
        'format = "sheetmark-practice/1"\nnotation = "universal"\nnumbers = "comma"\n'
    )
    open_case(page, desk)
    assert tooth(page, "26").get_attribute("aria-label") == "14, upper left first molar"
    tooth(page, "26").click()
    wait_for_sheet(page, "14 (Universal) · upper left first molar · restoration")
    assert "1,5" in page.locator(".facts table").first.inner_text()
    check_pdf(download(page, "PDF"), run_json("14", "--notation", "universal"))


def test_a_narrow_and_a_wide_screen(page: Page, desk: Running) -> None:
    """Nothing runs out of the screen sideways, and what is pressed is large enough."""
    open_case(page, desk, "treat=85&age=7")
    wait_for_sheet(page, "85 (ISO) · lower right primary second molar · restoration")
    for width, height in ((768, 1024), (1024, 768), (1280, 800), (390, 844)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        heights = page.evaluate(
            """[...document.querySelectorAll("button, .main-action, select, summary")]
            .map((node) => node.getBoundingClientRect().height).filter((height) => height)"""
        )
        assert len(heights) > 5
        assert min(heights) >= 32


# How a person may have set up the screen, one after another; the last is the usual way. What they
# change is colours and lines, so that all rules are asked in the usual way alone.
SCREENS: tuple[dict[str, Any], ...] = (
    {"color_scheme": "dark"},
    {"color_scheme": "light", "forced_colors": "active"},
    {"forced_colors": "none", "contrast": "more"},
    {"contrast": "no-preference"},
)
COLOURS = ("color-contrast", "link-in-text-block")


def test_axe_finds_nothing_on_a_case(page: Page, desk: Running, axe: Callable[..., None]) -> None:
    def check_screens() -> None:
        for screen in SCREENS:
            page.emulate_media(**screen)
            axe(page, *(() if screen is SCREENS[-1] else COLOURS))

    open_case(page, desk)
    check_screens()
    tooth(page, "24").click()
    wait_for_sheet(page, "24 (ISO) · upper left first premolar · restoration")
    page.get_by_text("More choices").click()
    page.get_by_text("Files and command line").click()
    check_screens()
    tooth(page, "25").click(button="right")
    page.wait_for_selector("dialog[open]")
    check_screens()
    page.get_by_label("Bridge from here to", exact=True).select_option("27")
    page.get_by_role("button", name="Done").click()
    page.get_by_role("button", name=re.compile("Change: 26 pontic")).wait_for()
    check_screens()
    tooth(page, "34").click()
    page.get_by_role("alert").wait_for()
    check_screens()


def test_axe_would_find_something(page: Page, desk: Running, axe: Callable[[Page], None]) -> None:
    open_case(page, desk)
    page.evaluate("document.querySelector('label[for=\"c-procedure\"]').remove()")
    with pytest.raises(AssertionError, match="select-name"):
        axe(page)


def test_by_touch(browser: Browser, desk: Running) -> None:
    """A finger taps a tooth; the button that then comes says what is different about it."""
    context = browser.new_context(viewport={"width": 768, "height": 1024}, has_touch=True)
    page = context.new_page()
    open_case(page, desk)
    tooth(page, "46").tap()
    wait_for_sheet(page, "46 (ISO) · lower right first molar · restoration")
    page.get_by_role("button", name="Describe 46 …").tap()
    page.get_by_label("Broken down", exact=True).tap()
    page.get_by_role("button", name="Done").tap()
    wait_for_exception(page, "46 broken-down")
    context.close()


def test_the_command_line_is_copied(page: Page, desk: Running) -> None:
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    open_case(page, desk, "treat=26&age=40")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_text("Files and command line").click()
    page.get_by_role("button", name="Copy").click()
    page.get_by_role("button", name="Copied").wait_for()
    assert page.evaluate("navigator.clipboard.readText()") == "sheetmark overlay 26 --age 40"


def test_the_printer_in_use_is_shown_beside_print(page: Page, desk: Running) -> None:
    desk.practice_file.write_text(
        'format = "sheetmark-practice/1"\npage = { printer = "hall" }\n'
        'printers = [{ name = "hall", bar_x_mm = 149.4, bar_y_mm = 150.2 }]\n'
    )
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    assert "Printer hall: x 1.0040, y 0.9987" in page.locator(".print").inner_text()


def test_no_file_of_the_sheet_before_is_opened_while_a_new_one_is_computed(
    page: Page, desk: Running
) -> None:
    """Print, pressed too soon, must not print the sheet that stood there before."""
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_text("More choices").click()
    requested: list[str] = []
    opened = len(page.context.pages)
    page.context.on("request", lambda request: requested.append(request.url))
    page.evaluate(
        "() => { window.realFetch = window.fetch;"
        "window.fetch = (...a) => new Promise((go) => { window.goOn = go; })"
        ".then(() => window.realFetch(...a)); }"
    )
    page.get_by_label("Middle of the sheet", exact=True).select_option("none")
    page.locator(".busy", has_text="Computing").wait_for()
    page.get_by_role("button", name="Print").click()
    page.get_by_text("Please wait: the new sheet is being computed").wait_for()
    page.get_by_role("link", name="Open the PDF").click()
    assert len(page.context.pages) == opened
    assert not [url for url in requested if "/api/case." in url]
    page.evaluate("() => { window.fetch = window.realFetch; window.goOn(); }")
    page.wait_for_selector(".view-case:not([aria-busy])")
    check_pdf(download(page, "PDF"), run_json("26", "--no-shift"))


def test_an_age_is_heard_as_it_is_typed(page: Page, desk: Running) -> None:
    open_case(page, desk)
    page.get_by_label("Age", exact=True).press_sequentially("7")
    tooth(page, "85").wait_for()
    tooth(page, "85").click()
    wait_for_sheet(page, "85 (ISO) · lower right primary second molar · restoration")
    check_pdf(download(page, "PDF"), run_json("85", "--age", "7"))


def test_a_tooth_of_another_age_can_be_taken_back(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=45&age=7")
    page.get_by_role("alert").wait_for()
    wait_for_exception(page, "45 to treat: not in this dentition")
    page.get_by_role("button", name="Remove: 45 to treat").click()
    page.locator(".empty").wait_for()
    tooth(page, "85").click()
    wait_for_sheet(page, "85 (ISO) · lower right primary second molar · restoration")


def test_the_case_is_kept_while_another_view_is_looked_at(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26&with=26 broken-down")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_role("link", name="Settings").click()
    page.get_by_role("heading", name="Settings").wait_for()
    page.get_by_role("link", name="Case", exact=True).click()
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    wait_for_exception(page, "26 broken-down")


def test_a_reference_that_cannot_be_printed_is_refused_before_it_is_printed(
    page: Page, desk: Running
) -> None:
    open_case(page, desk, "treat=26&reference=房")
    page.get_by_role("alert").wait_for()
    assert "reference '房': the font has no glyph" in page.get_by_role("alert").inner_text()
    assert page.get_by_role("button", name="Print").count() == 0


def test_nobody_is_three_hundred_years_old(page: Page, desk: Running) -> None:
    page.goto(f"{desk.url}#/case?age=300")
    page.get_by_role("alert").wait_for()
    assert "must be 0 to 120 completed years" in page.get_by_role("alert").inner_text()


def test_an_unknown_view_is_the_case(page: Page, desk: Running) -> None:
    """Nor is a view, or a choice, what every object of JavaScript has."""
    inherited = ("constructor", "__proto__", "toString")
    page.goto(f"{desk.url}#/nowhere")
    page.wait_for_selector(".view-case .chart .tooth")
    for name in inherited:
        page.evaluate("name => { location.hash = `#/${name}`; }", name)
        page.wait_for_selector(".view-case .chart .tooth")
    for name in inherited:
        page.evaluate("name => { location.hash = `#/case?treat=26&${name}=1`; }", name)
        refusal = f"{name} '1': is not known here"
        page.get_by_role("alert").filter(has_text=refusal).wait_for()
