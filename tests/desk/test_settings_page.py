"""The settings view in a real browser: what is typed, saved, refused and undone."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from sheetmark.practice.file.check import check_text
from sheetmark.practice.printer import Printer
from tests.helpers.running_desk import Running
from tests.helpers.settings_view import (
    OWN,
    TEXT,
    field,
    fold,
    open_settings,
    press_save,
    tab_to,
    unfold,
    wait_for_state,
)

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_what_is_saved_is_in_the_file_and_there_after_a_reload(view: Page, file: Path) -> None:
    wait_for_state(view, "Nothing to save.")
    field(view, "name").fill("Quay 7")
    field(view, "page.margin_mm").fill("10,5")
    field(view, "page.paper").select_option("letter")
    wait_for_state(view, "3 changes, not saved yet.")
    assert file.read_text("utf-8") == OWN, "nothing is saved but by the button"
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    changed = (
        OWN.replace('name = "Example practice"', 'name = "Quay 7"')
        .replace("margin_mm = 10 #", "margin_mm = 10.5 #")
        .replace('paper = "a4"', 'paper = "letter"')
    )
    assert file.read_text("utf-8") == changed
    view.reload()
    view.wait_for_selector(".save-bar")
    assert field(view, "name").input_value() == "Quay 7"
    assert field(view, "page.margin_mm").input_value() == "10,5"
    assert field(view, "page.paper").input_value() == "letter"


def test_every_kind_of_field_can_be_changed(view: Page, file: Path) -> None:
    unfold(view)
    field(view, "punch.diameters_mm").fill("0,5; 1; 1,75")
    field(view, "punch.labels").fill("a; b; c;")
    field(view, "placement.shift").uncheck()
    field(view, "placement.upper_edge_above_incisal_mm").fill("5")
    field(view, "marks.kind").select_option("two-dots")
    field(view, "holes.ease_mm").fill("")
    field(view, "sheets[1].thickness").fill("0,22")
    field(view, "sheets[2].thickness").fill("heavy")
    field(view, "sheets[3].see_through").uncheck()
    field(view, "tray[1].span_mm").fill("7")
    field(view, "tray[1].span_mm1").fill("10.5")
    field(view, "tray[2].winged").select_option("true")
    field(view, "tray[2].count").fill("9")
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    wanted = tomllib.loads(OWN)
    wanted["punch"] = {"diameters_mm": [0.5, 1, 1.75], "labels": ["a", "b", "c"]}
    wanted["placement"] |= {"shift": False, "upper_edge_above_incisal_mm": [5, 30]}
    wanted["marks"]["kind"] = "two-dots"
    del wanted["holes"]["ease_mm"]
    wanted["sheets"][0]["thickness"] = 0.22
    wanted["sheets"][1]["thickness"] = "heavy"
    wanted["sheets"][2]["see_through"] = False
    wanted["tray"][0]["span_mm"] = [7, 10.5]
    wanted["tray"][1] |= {"winged": True, "count": 9}
    assert tomllib.loads(file.read_text("utf-8")) == wanted
    assert field(view, "holes.ease_mm").input_value() == "0", "the default that holds now"


def test_a_bad_value_is_shown_beside_its_field_and_nothing_is_saved(
    view: Page, file: Path, axe: Callable[[Page], None]
) -> None:
    margin, ease = field(view, "page.margin_mm"), field(view, "holes.ease_mm")
    margin.fill("4")
    ease.evaluate("(input) => { input.value = 'much'; }")  # folded away
    field(view, "name").fill("Quay")
    press_save(view)
    box = view.locator(".to-correct")
    box.wait_for()
    assert box.evaluate("(node) => node === document.activeElement")
    assert box.get_by_role("heading").inner_text() == "Nothing was saved: 2 problems"
    limit = "must be a number of 10 to 40 mm; correct it, or leave it out for 10"
    links = box.get_by_role("link")
    assert links.all_inner_texts() == [
        f"practice.toml: Paper and printer, Page margin (4): {limit}",
        'practice.toml: How holes are chosen and spaced, Ease ("much"): must be a number of '
        "0 to 5 mm; correct it, or leave it out for 0",
    ]
    assert file.read_text("utf-8") == OWN
    for control in (margin, ease):
        assert control.get_attribute("aria-invalid") == "true"
    ids = str(margin.get_attribute("aria-describedby")).split()
    problem = view.locator(f'[id="{ids[-1]}"]')
    assert problem.is_visible()
    assert problem.inner_text().endswith(limit)
    assert ease.is_visible(), "what has a problem is unfolded"
    links.nth(1).focus()
    view.keyboard.press("Enter")
    assert ease.evaluate("(node) => node === document.activeElement")
    axe(view)
    margin.fill("11")
    ease.fill("0,5")
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    assert view.locator(".to-correct").count() == 0
    assert margin.get_attribute("aria-invalid") is None
    data = tomllib.loads(file.read_text("utf-8"))
    assert (data["page"]["margin_mm"], data["holes"]["ease_mm"], data["name"]) == (11, 0.5, "Quay")


def test_a_problem_of_a_row_is_reported_at_the_row(view: Page, file: Path) -> None:
    field(view, "page.margin_mm").fill("30")
    view.get_by_role("button", name="Add a sheet").click()
    press_save(view)
    view.locator(".to-correct").wait_for()
    row = view.get_by_role("group", name="Sheet 1", exact=True)
    assert "is too large at true scale by" in row.inner_text()
    for key in ("width_mm", "height_mm"):
        assert field(view, f"sheets[4].{key}").get_attribute("aria-invalid") == "true"
    assert file.read_text("utf-8") == OWN


def test_settings_by_keyboard_alone(view: Page, file: Path) -> None:
    """A name, a sheet added and moved to be the first, one removed, saved: no mouse."""
    keyboard = view.keyboard
    tab_to(view, field(view, "name"))
    keyboard.press("Control+A")
    keyboard.type("Quay")
    tab_to(view, view.get_by_role("button", name="Add a sheet"))
    keyboard.press("Enter")
    assert field(view, "sheets[4].width_mm").evaluate("(node) => node === document.activeElement")
    keyboard.type("100")
    keyboard.press("Tab")
    keyboard.type("90,5")
    tab_to(view, view.get_by_role("button", name="Move up sheet 4"))
    for number in (3, 2, 1):
        keyboard.press("Enter")
        assert field(view, f"sheets[{number}].width_mm").input_value() == "100"
    assert view.locator("#live").inner_text() == "Now sheet 1 of 4."
    # At the top the focus goes to the button that still does something.
    assert view.evaluate("document.activeElement.textContent") == "Move down sheet 1"
    tab_to(view, view.get_by_role("button", name="Remove sheet 3"))
    keyboard.press("Enter")
    assert view.evaluate("document.activeElement.textContent").startswith("Sheet 3")
    tab_to(view, view.get_by_role("button", name="Save to practice.toml"))
    keyboard.press("Enter")
    wait_for_state(view, "Saved to practice.toml.")
    data, before = tomllib.loads(file.read_text("utf-8")), tomllib.loads(OWN)
    assert data["name"] == "Quay"
    old = before["sheets"]
    assert data["sheets"] == [{"width_mm": 100, "height_mm": 90.5}, old[0], old[2]]
    rest = ("name", "sheets")
    assert {k: v for k, v in data.items() if k not in rest} == {
        k: v for k, v in before.items() if k not in rest
    }


def test_a_clamp_that_moves_takes_its_remark_along(view: Page, file: Path) -> None:
    unfold(view)
    view.get_by_role("button", name="Move down clamp 1").click()
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    tray = file.read_text("utf-8").split("[[tray]]")
    assert 'label = "molar wingless"\n' in tray[1]
    assert 'label = "molar winged" # upper drawer\n' in tray[2]
    assert [row["label"] for row in tomllib.loads(file.read_text("utf-8"))["tray"]][:3] == [
        "molar wingless",
        "molar winged",
        "premolar winged",
    ]


def test_new_rows_must_be_given_what_the_file_must_say(view: Page, file: Path) -> None:
    unfold(view)
    view.get_by_role("button", name="Add a clamp").click()
    field(view, "tray[7].label").fill("new")
    press_save(view)
    links = view.locator(".to-correct").get_by_role("link")
    links.first.wait_for()
    keys = [line.partition(": ")[2].partition(":")[0] for line in links.all_inner_texts()]
    assert keys == ["Clamp 7, Made for", "Clamp 7, Winged"]
    for key in ("kind", "winged"):
        assert field(view, f"tray[7].{key}").locator("option").first.text_content() == "choose"
    assert field(view, "tray[7].version").locator("option").first.text_content() == "not set"
    field(view, "tray[7].kind").select_option("front")
    field(view, "tray[7].winged").select_option("false")
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    assert tomllib.loads(file.read_text("utf-8"))["tray"][6] == {
        "label": "new",
        "kind": "front",
        "winged": False,
    }


def test_undo_goes_back_to_the_file(view: Page, file: Path) -> None:
    field(view, "name").fill("x")
    view.get_by_role("button", name="Remove sheet 1").click()
    wait_for_state(view, "2 changes, not saved yet.")
    view.get_by_role("button", name="Undo changes").click()
    wait_for_state(view, "Changes undone.")
    assert field(view, "name").input_value() == "Example practice"
    assert field(view, "sheets[3].width_mm").input_value() == "152"
    press_save(view)
    wait_for_state(view, "Nothing has changed, so nothing was saved.")
    assert file.read_text("utf-8") == OWN


def test_a_file_changed_by_another_is_not_overwritten(view: Page, file: Path) -> None:
    field(view, "name").fill("Quay")
    file.write_text(TEXT, encoding="utf-8")
    press_save(view)
    view.locator(".to-correct", has_text="changed since this page read it").wait_for()
    assert file.read_text("utf-8") == TEXT
    view.get_by_role("button", name="Undo changes").click()
    wait_for_state(view, "Changes undone.")
    assert view.locator(".to-correct").count() == 0
    field(view, "name").fill("Quay")
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    assert file.read_text("utf-8") == TEXT.replace("Example practice", "Quay")


def test_leaving_with_changes_is_confirmed(view: Page, file: Path) -> None:
    dialogs: list[str] = []
    answers: Iterator[bool] = iter([False, True])

    def answer(dialog: Any) -> None:
        dialogs.append(dialog.type)
        if next(answers):
            dialog.accept()
        else:
            dialog.dismiss()

    view.on("dialog", answer)
    case = view.get_by_role("link", name="Case", exact=True)
    field(view, "name").fill("Quay")
    case.click()
    assert dialogs == ["confirm"]
    assert view.url.endswith("#/settings")
    case.click()
    view.wait_for_selector(".view-case")
    assert dialogs == ["confirm", "confirm"]
    view.go_back()
    wait_for_state(view, "Not saved yet: your changes are still here.")
    assert field(view, "name").input_value() == "Quay"
    answers = iter([True])
    view.reload()
    assert dialogs[2:] == ["beforeunload"]
    view.wait_for_selector(".save-bar")
    assert field(view, "name").input_value() == "Example practice"
    # Without changes nothing is asked.
    case.click()
    view.wait_for_selector(".view-case")
    assert len(dialogs) == 3
    assert file.read_text("utf-8") == OWN


def test_the_printer_is_measured_and_stored(view: Page, file: Path) -> None:
    link = view.get_by_role("link", name="Open the test page")
    assert link.get_attribute("href") == "/api/printer-page.pdf"
    assert "100 % (actual size)" in view.locator(".printer ol").inner_text()
    field(view, "printer-name").fill("attic")
    field(view, "printer-x").fill("144,8")
    field(view, "printer-y").fill("150")
    store = view.get_by_role("button", name="Store the correction")
    store.click()
    problem = view.locator('[id="f-printer-x-problem"]')
    problem.wait_for()
    assert problem.inner_text().endswith(
        "bar x 144.8 mm: must be 147 to 153 mm; nothing was stored; printed at 0.965: the print "
        "queue fills the paper with the page: print at 100 % (actual size)"
    )
    assert field(view, "printer-x").get_attribute("aria-invalid") == "true"
    assert view.evaluate("document.activeElement.id") == "f-printer-x"
    assert field(view, "printer-y").get_attribute("aria-invalid") is None
    assert file.read_text("utf-8") == OWN
    field(view, "printer-x").fill("149,4")
    field(view, "name").fill("Quay")
    store.click()
    view.locator(".printer .problems", has_text="save or undo your changes above first").wait_for()
    assert file.read_text("utf-8") == OWN
    field(view, "name").fill("Example practice")
    store.click()
    view.locator("#stored", has_text="Printer attic: x 1,0040, y 1,0000; in use").wait_for()
    assert view.evaluate("document.activeElement.id") == "stored"
    practice = check_text(file.read_text("utf-8"), "x").practice
    assert practice.printer_in_use is not None
    assert practice.printer_in_use.bar_x_mm == 149.4
    assert field(view, "page.printer").input_value() == "attic"
    # A refusal does not stand beside the praise of the bars before.
    field(view, "printer-name").fill("attic")
    field(view, "printer-x").fill("145")
    field(view, "printer-y").fill("150")
    store.click()
    view.locator('[id="f-printer-x-problem"]').wait_for()
    assert view.locator("#stored").inner_text() == ""
    # The form goes on from the file as it is now.
    field(view, "name").fill("Quay")
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    assert 'name = "Quay"' in file.read_text("utf-8")


def test_bars_that_look_like_a_fitted_page_are_questioned(
    view: Page, file: Path, axe: Callable[[Page], None]
) -> None:
    before = file.read_bytes()
    field(view, "printer-name").fill("attic")
    field(view, "printer-x").fill("147,5")
    field(view, "printer-y").fill("147,4")
    field(view, "printer-y").press("Enter")
    question = view.locator(".printer .question")
    question.wait_for()
    assert "both printed at 0,983: the viewer or the print queue fits" in question.inner_text()
    assert file.read_bytes() == before
    axe(view)
    assert view.evaluate("document.activeElement.textContent") == "Scaling was off: store them"
    view.keyboard.press("Enter")
    view.locator("#stored", has_text="Printer attic: x 1,0169").wait_for()
    assert question.count() == 0
    practice = check_text(file.read_text("utf-8"), "x").practice
    assert practice.printer_in_use == Printer("attic", 147.5, 147.4)


@pytest.mark.parametrize(("name", "own"), [("none", True), ("attic", False)])
def test_a_problem_of_another_printer_is_not_put_on_this_one(
    page: Page, desk: Running, file: Path, name: str, own: bool
) -> None:
    if not own:
        other = '\n[[printers]]\nname = "\u6e2f"\nbar_x_mm = 150\nbar_y_mm = 150\n'
        file.write_text(OWN + other, encoding="utf-8")
    before = file.read_text("utf-8")
    view = open_settings(page, desk)
    field(view, "printer-name").fill(name)
    field(view, "printer-x").fill("150")
    field(view, "printer-y").fill("150")
    view.get_by_role("button", name="Store the correction").click()
    wording = "this word means no printer" if own else "Printer 2, Name"
    place = '[id="f-printer-name-problem"]' if own else ".printer .problems"
    view.locator(place, has_text=wording).wait_for()
    invalid = field(view, "printer-name").get_attribute("aria-invalid")
    assert invalid == ("true" if own else None)
    assert file.read_text("utf-8") == before


def test_with_no_file_the_view_says_so_and_makes_one(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    view = open_settings(page, desk)
    assert "There is no practice.toml yet" in view.inner_text("form.settings")
    assert field(view, "page.margin_mm").input_value() == "10"
    axe(view)
    field(view, "page.margin_mm").fill("12")
    assert not desk.practice_file.exists()
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    assert tomllib.loads(desk.practice_file.read_text("utf-8"))["page"]["margin_mm"] == 12


def test_a_file_with_problems_is_shown_to_be_put_right(
    page: Page, desk: Running, file: Path
) -> None:
    file.write_text(OWN.replace("count = 4", "count = 0 # none", 1), encoding="utf-8")
    view = open_settings(page, desk)
    box = view.locator(".to-correct")
    assert box.get_by_role("heading").inner_text() == "The file has a problem: 1 problem"
    assert field(view, "tray[1].count").is_visible()
    field(view, "tray[1].count").fill("4")
    press_save(view)
    wait_for_state(view, "Saved to practice.toml.")
    assert file.read_text("utf-8") == OWN.replace("count = 4", "count = 4 # none", 1)


def test_a_problem_is_shown_as_near_as_there_is_a_place(
    page: Page, desk: Running, file: Path
) -> None:
    """Of an entry at its list, of an unknown key at its row, and else in the summary alone."""
    text = OWN.replace('"III", ', '"long", ').replace("width_mm = 127", "width_mm = 127\nsize = 5")
    file.write_text(f"coulour = 1\n{text}", encoding="utf-8")
    view = open_settings(page, desk)
    labels = field(view, "punch.labels")
    ids = str(labels.get_attribute("aria-describedby")).split()
    assert "must be text of 1 to 3 characters" in view.locator(f'[id="{ids[-1]}"]').inner_text()
    row = view.get_by_role("group", name="Sheet 2", exact=True)
    assert "unknown key" in row.inner_text()
    items = view.locator(".to-correct li")
    links = {
        item.inner_text().split(":")[1].strip(): item.locator("a").count() for item in items.all()
    }
    assert links == {
        "“coulour” (1)": 0,
        "Sheet 2, “size” (5)": 1,
        'The punch, Labels on the punch, entry 3 ("long")': 1,
    }
    # What has no field is not lost when the rest is put right.
    labels.fill("A; B; C; D; E; F")
    view.get_by_role("button", name="Move up sheet 2").click()
    press_save(view)
    view.locator(".to-correct", has_text="2 problems").wait_for()
    assert view.locator(".to-correct").inner_text().count("unknown key") == 2
    assert "Sheet 1, “size” (5)" in view.locator(".to-correct").inner_text()


def test_axe_finds_nothing_and_nothing_runs_off_the_side(
    view: Page, axe: Callable[[Page], None]
) -> None:
    for width in (1280, 768, 320):
        view.set_viewport_size({"width": width, "height": 1024})
        fold(view)
        axe(view)
        unfold(view)
        axe(view)
        assert view.evaluate("document.documentElement.scrollWidth") <= width
        small = view.evaluate(
            """[
              ...document.querySelectorAll("main :is(button, select, summary, input[type=text])")
            ].map((node) => node.getBoundingClientRect().height).filter((height) => height < 32)"""
        )
        assert small == [], width


def test_no_field_hides_behind_the_bar(view: Page) -> None:
    """Whichever way it is tabbed to."""
    view.set_viewport_size({"width": 768, "height": 600})
    tab_to(view, field(view, "name"))
    bar = view.locator(".save-bar")
    looked = 0
    for _ in range(30):
        view.keyboard.press("Tab")
        if view.evaluate("document.activeElement.closest('.save-bar, header') !== null"):
            break
        bottom = view.evaluate("document.activeElement.getBoundingClientRect().bottom")
        box = bar.bounding_box()
        assert box is not None
        assert bottom <= box["y"] + 1
        looked += 1
    assert looked > 15
