"""The case view where something changes under it: late answers, steps back, the focus."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.helpers.browser import hold, let_draw, wait_until
from tests.helpers.case_view import open_case, tooth, wait_for_exception, wait_for_sheet
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Page

LESIONS = "treat=13&with=13 lesion&with=14 lesion"


def focused(page: Page) -> str:
    return str(
        page.evaluate(
            """(({ariaLabel, value, localName, textContent, dataset}) =>
            dataset.tooth ?? ariaLabel ?? value ?? `${localName} ${textContent}`)(
            document.activeElement)"""
        )
    )


def test_going_back_leaves_the_menu_of_a_tooth(page: Page, desk: Running) -> None:
    page.goto(f"{desk.url}#/settings")
    page.wait_for_selector("form.settings")
    page.get_by_role("link", name="Case", exact=True).click()
    tooth(page, "26").click(button="right")
    page.wait_for_selector("dialog[open]")
    page.go_back()
    page.wait_for_selector("form.settings")
    assert page.locator("dialog").count() == 0
    page.go_forward()
    page.wait_for_selector(".chart .tooth")
    tooth(page, "26").click(button="right")
    page.get_by_label("Missing").check()
    page.get_by_role("button", name="Done").click()
    wait_for_exception(page, "26 missing")


def test_an_address_that_changes_before_the_first_answer_is_followed(
    page: Page, desk: Running
) -> None:
    routes = hold(page, "**/api/case?treat=16", most=1)
    with page.expect_request("**/api/case?treat=16"):
        page.goto(f"{desk.url}#/case?treat=16")
    wait_until(page, lambda: len(routes) == 1)
    page.evaluate("location.hash = '#/case?treat=26'")
    let_draw(page)
    routes[0].continue_()
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.evaluate("location.hash = '#/'")
    page.locator(".empty").wait_for()


def test_a_refusal_that_comes_too_late_is_not_shown(page: Page, desk: Running) -> None:
    """Its words are still on their way when the choice that is refused is taken back."""
    page.add_init_script(
        """const real = fetch;
        window.late = 0; // refusals whose words have not come
        window.fetch = async (path, options) => {
          const answer = await real(path, options);
          if (answer.status === 422) answer.json = () => new Promise((_, refuse) => {
            window.late += 1;
            options.signal.addEventListener("abort", () =>
              refuse(new DOMException("no longer wanted", "AbortError")));
          });
          return answer;
        };"""
    )
    open_case(page, desk, "treat=16")
    wait_for_sheet(page, "16 (ISO) · upper right first molar · restoration")
    routes = hold(page, "**/api/case?treat=16", most=1)
    age = page.get_by_label("Age", exact=True)
    with page.expect_response("**/api/case?treat=16&age=999"):
        age.fill("999")
        age.press("Tab")
    page.wait_for_function("late === 1")
    age.fill("")
    age.press("Tab")
    wait_until(page, lambda: len(routes) == 1)
    let_draw(page)
    assert page.get_by_role("alert").count() == 0
    routes[0].continue_()
    wait_for_sheet(page, "16 (ISO) · upper right first molar · restoration")


def test_two_are_taken_back_before_the_first_answer(page: Page, desk: Running) -> None:
    open_case(page, desk, LESIONS)
    wait_for_exception(page, "14 lesion")
    routes = hold(page, "**/api/case?*", most=1)
    page.get_by_role("button", name="Remove: 13 lesion").click()
    page.get_by_role("button", name="Remove: 14 lesion").click()
    routes[0].continue_()
    page.locator(".differences").wait_for(state="detached")
    wait_for_sheet(page, "13 (ISO) · upper right canine · restoration")
    assert page.url.endswith("#/case?treat=13")


def test_the_menu_knows_what_was_marked_a_moment_ago(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=13")
    wait_for_sheet(page, "13 (ISO) · upper right canine · restoration")
    routes = hold(page, "**/api/case?*", most=1)
    tooth(page, "14").click(button="right")
    page.get_by_label("Gumline lesion", exact=True).check()
    page.get_by_role("button", name="Done").click()
    page.wait_for_selector("dialog", state="detached")
    tooth(page, "14").click(button="right")
    routes[0].continue_()
    page.wait_for_selector("dialog[open]")
    assert page.get_by_label("Gumline lesion", exact=True).is_checked()
    page.get_by_label("Broken down", exact=True).check()
    page.get_by_role("button", name="Done").click()
    wait_for_exception(page, "14 lesion, broken-down")


def test_the_focus_stays_where_something_is_taken_back(page: Page, desk: Running) -> None:
    open_case(page, desk, f"{LESIONS}&anchor=15")
    wait_for_exception(page, "Clamp on 15")
    for wording in ("13 lesion", "14 lesion", "Clamp on 15"):
        remove = page.get_by_role("button", name=f"Remove: {wording}")
        if wording == "13 lesion":
            remove.focus()
        assert focused(page) == f"Remove: {wording}"
        page.keyboard.press("Enter")
        remove.wait_for(state="detached")
    assert page.evaluate("document.activeElement.id") == "main"


def test_the_focus_stays_on_how_the_sheet_is_shown(page: Page, desk: Running) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_label("on its own").focus()
    page.keyboard.press("ArrowDown")
    page.locator('.picture [data-name="sheet-centred"]').first.wait_for(state="attached")
    assert focused(page) == "arch"
    page.keyboard.press("ArrowUp")
    page.locator('.picture [data-name="sheet-centred"]').first.wait_for(state="detached")
    assert focused(page) == "sheet"


def test_the_focus_goes_to_the_tooth_that_stands_there_instead(page: Page, desk: Running) -> None:
    open_case(page, desk)
    tooth(page, "15").focus()
    page.keyboard.press("Shift+F10")
    page.get_by_label("Primary tooth, still there").check()
    page.keyboard.press("Enter")
    tooth(page, "55").wait_for()
    assert focused(page) == "55"


@pytest.mark.parametrize("name", ["Procedure", "Material"])
def test_the_focus_stays_on_a_choice_that_is_taken_back(
    page: Page, desk: Running, name: str
) -> None:
    open_case(page, desk, "treat=26")
    wait_for_sheet(page, "26 (ISO) · upper left first molar · restoration")
    page.get_by_text("More choices").click()
    page.get_by_label(name, exact=True).focus()
    before = focused(page)
    page.keyboard.press("ArrowDown")
    assert not page.url.endswith("#/case?treat=26")
    page.go_back()
    page.wait_for_url("**/#/case?treat=26")
    let_draw(page)
    page.wait_for_selector(".view-case:not([aria-busy])")
    assert page.get_by_label(name, exact=True).evaluate("node => node === document.activeElement")
    assert focused(page) == before


def test_the_menu_of_a_tooth_that_is_not_drawn_has_its_own_jaw(page: Page, desk: Running) -> None:
    open_case(page, desk, "with=15 missing&with=55 present")
    assert tooth(page, "15").count() == 0
    page.get_by_role("button", name="Change: 15 missing").click()
    offered = (
        page.get_by_label("Bridge from here to", exact=True).locator("option").all_inner_texts()
    )
    assert "14" in offered
    assert "44" not in offered
    page.keyboard.press("Escape")
