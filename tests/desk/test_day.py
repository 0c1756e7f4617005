"""The day's list on the page: rows with their problems, the tray, the PDF read back."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from sheetmark.anatomy.arch_model import data_folder
from sheetmark.day.list import read_day
from sheetmark.day.rows import plan_row
from sheetmark.desk.server.day import MOST_BYTES, MOST_ROWS
from sheetmark.jobs.outputs import render_plan
from sheetmark.practice.settings import Practice
from tests.helpers.page_check import check_page
from tests.helpers.paths import ROOT
from tests.helpers.readback import read_first_page, read_pdf
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import FilePayload, Page, Request

EXAMPLE = ROOT / "examples" / "day.csv"
BAD = (
    "time;reference;teeth;exceptions;arch\n"
    "8:30;A;16;;\n"
    "8:45;B;19;;\n"
    "9:00;C;36;;\n"
    '9:15;D;26;"13 facial;\n'
    "8:00;A;26;;\n"
)


def post_list(
    client: TestClient,
    text: str | bytes,
    name: str = "list.csv",
    path: str = "/api/day",
    **more: Any,
) -> Any:
    content = text if isinstance(text, bytes) else text.encode()
    headers = {"Content-Type": "application/octet-stream"}
    return client.post(path, params={"name": name, **more}, content=content, headers=headers)


def plans_of(text: str, rows: set[int] | None = None) -> list[dict[str, Any]]:
    """The plan of each row, by the functions of the command, as its JSON."""
    found = read_day(text.encode(), "list", "csv").rows
    return [
        json.loads(render_plan(plan_row(row, Practice()).plan, "json"))
        for row in found
        if rows is None or row.number in rows
    ]


# ---- the endpoints ----


def test_a_good_list_becomes_rows_and_a_tray(client: TestClient) -> None:
    text = EXAMPLE.read_text("utf-8")
    day = post_list(client, text).json()
    plans = plans_of(text)
    assert day["cases"] == len(day["rows"]) == len(plans) > 5
    assert day["left_out"] == 0
    for row, plan in zip(day["rows"], plans, strict=True):
        assert row["done"]
        assert row["problems"] == []
        assert row["reference"] == plan["case"]["reference"]
        assert [clamp["anchor"] for clamp in row["clamps"]]
    tray = day["tray"]
    assert sum(line["count"] for line in tray["sheets"]) == len(plans)
    assert sum(line["wanted"] for line in tray["clamps"]) == sum(
        len(row["clamps"]) for row in day["rows"]
    )
    assert day["command"] == "sheetmark day list.csv"


def test_each_problem_says_row_column_value_and_what_to_do(client: TestClient) -> None:
    day = post_list(client, BAD).json()
    assert (day["cases"], day["left_out"]) == (3, 2)
    assert [(row["row"], row["done"]) for row in day["rows"]] == [
        (2, True),
        (3, False),
        (4, True),
        (5, False),
        (6, True),
    ]
    _, no_tooth, _, open_quote, backwards = day["rows"]
    (problem,) = no_tooth["problems"]
    assert (problem["column"], problem["value"]) == ("teeth", "19")
    assert "not a tooth in iso notation; use 11-18" in problem["advice"]
    assert (no_tooth["time"], no_tooth["reference"], no_tooth["teeth"]) == ("8:45", "B", "19")
    (problem,) = open_quote["problems"]
    assert problem["column"] == ""
    assert "close every quote" in problem["advice"]
    assert {remark["column"] for remark in backwards["remarks"]} == {"time", "reference"}


def test_a_clash_is_reported_in_plain_text(client: TestClient, own_folder: Path) -> None:
    (own_folder / "practice.toml").write_text(
        'format = "sheetmark-practice/1"\n[[tray]]\nlabel = "the one"\nkind = "molar"\n'
        "winged = true\n",
        "utf-8",
    )
    day = post_list(client, "time,teeth\n8:30,16\n9:00,36\n").json()
    (clash,) = day["tray"]["clashes"]
    assert (clash["row"], clash["time"]) == (3, "9:00")
    assert clash["text"] == (
        "the one: the only one is out, the next is ready at 9:30. No other fits and is free."
    )


def test_the_practice_file_is_used_and_named_where_it_is_not_the_usual_one(
    client: TestClient, own_folder: Path
) -> None:
    (own_folder / "practice.toml").write_text(
        'format = "sheetmark-practice/1"\nnotation = "palmer"\nnumbers = "comma"\n', "utf-8"
    )
    day = post_list(client, "teeth;sheet\nUR6;140.5x130\n").json()
    assert day["rows"][0]["teeth"] == "UR6"
    assert day["rows"][0]["sheet"].startswith("140,5 x 130 mm")
    assert "--practice" not in day["command"]


def test_a_model_file_named_in_a_list_is_never_read(
    client: TestClient, own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file is a good model and lies beside the settings: its row is left out all the same."""
    ours = own_folder / "ours.toml"
    ours.write_bytes((data_folder() / "adult-large.toml").read_bytes())
    opened: list[str] = []
    real = Path.open

    def watched(self: Path, *arguments: Any, **more: Any) -> Any:
        opened.append(str(self))
        return real(self, *arguments, **more)

    monkeypatch.setattr(Path, "open", watched)
    text = f"teeth,arch\n16,{ours}\n16,ours.toml\n16,../{own_folder.name}/ours.toml\n16,\n"
    day = post_list(client, text).json()
    assert [row["done"] for row in day["rows"]] == [False, False, False, True]
    for row in day["rows"][:3]:
        (problem,) = row["problems"]
        assert problem["column"] == "arch"
        assert "unknown; use " in problem["advice"]
    assert not [name for name in opened if "ours" in name]
    pdf = post_list(client, text, path="/api/day.pdf")
    assert len(read_pdf(pdf.content)) == 2


@pytest.mark.parametrize(
    ("text", "name", "wording"),
    [
        (b"", "list.csv", "list.csv: empty; the first line names the columns"),
        (b"", "list.toml", "list.toml: empty; write format"),
        (b"time\n8:30\n", "list.csv", "column teeth is missing"),
        (b"teeth,reference\n16,\xc3\xbc\xe9\n", "list.csv", "line 2 is not UTF-8 text"),
        (b"teeth\n16\n", "list.xlsx", "list.xlsx: no spreadsheet, or broken; open the list"),
        (b"teeth\n16\n", "list.ics", "list.ics: not a calendar file that can be read"),
        (b"teeth\n16\n", "list.xls", "list 'list.xls': must end in .csv"),
        (b"teeth\n16\n", "", "must end in .csv"),
        (b"teeth\n" + b"16\n" * (MOST_ROWS + 1), "list.csv", "501 rows, the page takes 500"),
        (b"# " + b"x" * MOST_BYTES, "list.csv", "more than 1 MB"),
    ],
)
@pytest.mark.parametrize("path", ["/api/day", "/api/day.pdf"])
def test_a_list_that_is_none_is_refused_in_one_line(
    client: TestClient, text: bytes, name: str, wording: str, path: str
) -> None:
    answer = post_list(client, text, name, path)
    assert answer.status_code == 422
    (problem,) = answer.json()["problems"]
    assert wording in problem


def test_the_longest_list_is_done(client: TestClient) -> None:
    day = post_list(client, "teeth\n" + "16\n" * MOST_ROWS).json()
    assert day["cases"] == MOST_ROWS


def test_the_pdf_of_a_good_list_holds_each_case(client: TestClient) -> None:
    text = EXAMPLE.read_text("utf-8")
    answer = post_list(client, text, path="/api/day.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    front, *pages = read_pdf(answer.content)
    # What has no room below its sheet goes on on the case card.
    cases = [page for page in pages if "case card" not in page.text]
    plans = plans_of(text)
    assert len(cases) == len(plans) > 5
    for page, plan in zip(cases, plans, strict=True):
        check_page(page, plan)
    assert "tray plan" in front.text
    with_cards = post_list(client, text, path="/api/day.pdf", cards=True)
    _, *carded = read_pdf(with_cards.content)
    cards = ["case card" in page.text for page in carded]
    assert cards.count(False) == len(plans)
    # A long card takes two pages.
    assert len(plans) <= cards.count(True) <= 2 * len(plans)
    assert all(cards[at + 1] for at, card in enumerate(cards) if not card)


def test_no_row_that_can_be_done_is_no_pdf(client: TestClient) -> None:
    text = "teeth\n19\n99\n"
    day = post_list(client, text).json()
    assert (day["cases"], day["left_out"]) == (0, 2)
    answer = post_list(client, text, path="/api/day.pdf")
    assert answer.status_code == 422
    *rows, last = answer.json()["problems"]
    assert len(rows) == 2
    assert last == "list.csv: no row can be done; nothing written"


def test_what_no_page_can_hold_is_left_out_before_it_is_printed(client: TestClient) -> None:
    text = "teeth,reference\n16,\u6b6f\n26,B\n"
    day = post_list(client, text, "\u6b6f.csv").json()
    assert [row["done"] for row in day["rows"]] == [False, True]
    pdf = post_list(client, text, "\u6b6f.csv", "/api/day.pdf")
    assert pdf.status_code == 200
    assert "Left out: 1 row has no page" in read_first_page(pdf.content).text


@settings(
    max_examples=60,
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    content=st.one_of(
        st.binary(max_size=60),
        st.lists(st.text(max_size=12), min_size=1, max_size=6).map(
            lambda cells: ("teeth;exceptions;age;arch\n" + ";".join(cells)).encode()
        ),
    ),
    name=st.one_of(st.text(max_size=12), st.sampled_from(["a.csv", "a.toml", "a.tsv"])),
    path=st.sampled_from(["/api/day", "/api/day.pdf"]),
)
def test_no_list_breaks_the_desk(client: TestClient, content: bytes, name: str, path: str) -> None:
    answer = post_list(client, content, name, path)
    assert answer.status_code in (200, 422)
    if answer.status_code == 422:
        problems = answer.json()["problems"]
        assert problems
        assert all(problem and "\n" not in problem for problem in problems)


# ---- the page ----


def opened(page: Page, desk: Running, text: str, name: str = "list.csv") -> None:
    page.goto(f"{desk.url}#/day")
    page.get_by_label("Open a day's list").set_input_files(
        {"name": name, "mimeType": "text/csv", "buffer": text.encode()}
    )
    page.locator("#day-summary, .problems").wait_for()


def test_a_list_is_opened_and_its_pdf_is_true_to_it(
    page: Page, desk: Running, tmp_path: Path, axe: Callable[[Page], None]
) -> None:
    text = EXAMPLE.read_text("utf-8")
    opened(page, desk, text)
    plans = plans_of(text)
    assert f"{len(plans)} cases can be printed. No row is left out." in page.inner_text(
        "#day-summary"
    )
    axe(page)
    with page.expect_download() as waiting:
        page.get_by_role("button", name="PDF of the day").click()
    waiting.value.save_as(tmp_path / "day.pdf")
    assert waiting.value.suggested_filename == "day.pdf"
    _, *pages = read_pdf((tmp_path / "day.pdf").read_bytes())
    # What has no room below its sheet goes on on the case card.
    cases = [drawing for drawing in pages if "case card" not in drawing.text]
    assert len(cases) == len(plans) > 5
    for drawing, plan in zip(cases, plans, strict=True):
        check_page(drawing, plan)


def test_a_bad_list_shows_what_is_wrong_and_still_prints_the_rest(
    page: Page, desk: Running, tmp_path: Path, axe: Callable[[Page], None]
) -> None:
    opened(page, desk, BAD)
    summary = page.inner_text("#day-summary")
    assert summary == "3 cases can be printed. 2 rows are left out and will have no page."
    assert page.locator("tr.notes", has_text="Left out.").count() == 2
    assert page.locator("tr.notes", has_text="Check.").count() == 1
    assert "teeth “19”: tooth '19': not a tooth in iso notation" in page.inner_text(".day-result")
    assert page.inner_text("#live") == summary
    axe(page)
    page.get_by_label("Case card behind each sheet").check()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="PDF of the day").click()
    waiting.value.save_as(tmp_path / "day.pdf")
    front, *cases = read_pdf((tmp_path / "day.pdf").read_bytes())
    assert "Left out: 2 rows have no page" in front.text
    assert len(cases) == 6
    for drawing, plan in zip(cases[::2], plans_of(BAD.replace('"', ""), {2, 4, 6}), strict=True):
        check_page(drawing, plan)


def test_nothing_to_print_is_reported_and_a_corrected_list_opens_again(
    page: Page, desk: Running, axe: Callable[[Page], None]
) -> None:
    opened(page, desk, "teeth\n19\n")
    assert page.get_by_role("button", name="PDF of the day").is_disabled()
    assert "No row can be planned" in page.inner_text("#day-summary")
    axe(page)
    page.get_by_label("Open a day's list").set_input_files(
        {"name": "list.csv", "mimeType": "text/csv", "buffer": b"teeth\n16\n"}
    )
    page.get_by_text("1 case can be printed.").first.wait_for()
    assert page.get_by_role("button", name="PDF of the day").is_enabled()
    page.get_by_label("Open a day's list").set_input_files(
        {"name": "list.csv", "mimeType": "text/csv", "buffer": b"patient\n16\n"}
    )
    page.locator(".problems").wait_for()
    assert (
        "column teeth is missing, the headings are 'patient'; name it teeth, or map"
        in page.inner_text(".problems")
    )
    assert page.get_by_role("region", name="Rows").count() == 0


def test_a_list_is_dropped_and_stays_while_another_view_is_looked_at(
    page: Page, desk: Running
) -> None:
    page.goto(f"{desk.url}#/day")
    data = page.evaluate_handle(
        """() => {
            const data = new DataTransfer();
            data.items.add(new File(["teeth\\n16\\n19\\n"], "dropped.csv"));
            return data;
        }"""
    )
    page.locator(".drop").dispatch_event("drop", {"dataTransfer": data})
    page.get_by_text("1 case can be printed.").first.wait_for()
    assert page.locator("caption").first.inner_text() == "dropped.csv, 2 rows"
    page.get_by_role("link", name="Settings").or_(
        page.get_by_role("link", name="Case")
    ).first.click()
    page.locator("#day-summary").wait_for(state="detached")
    page.get_by_role("link", name="Day's list").click()
    page.get_by_text("1 case can be printed.").first.wait_for()


def test_a_list_with_letters_of_markup_is_shown_as_text(page: Page, desk: Running) -> None:
    opened(page, desk, "teeth,reference\n16,<img src=x onerror=alert(1)>\n<b>,x\n")
    assert "<img src=x onerror=alert(1)>" in page.inner_text("table >> nth=0")
    assert page.locator("table img, table b").count() == 0


def test_by_keyboard_alone_from_the_list_to_the_pdf(page: Page, desk: Running) -> None:
    file: FilePayload = {"name": "list.csv", "mimeType": "text/csv", "buffer": b"teeth\n16\n"}
    # Told before the page is there: a chooser asked for later is at times not seen.
    page.on("filechooser", lambda chooser: chooser.set_files(file))
    page.goto(f"{desk.url}#/day")
    page.get_by_label("Open a day's list").wait_for()
    focused = "document.activeElement.id || document.activeElement.textContent"
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate(focused) == "list-file":
            break
    assert page.evaluate(focused) == "list-file"
    page.keyboard.press("Enter")
    page.locator("#day-summary").wait_for()
    for _ in range(4):
        page.keyboard.press("Tab")
        if page.evaluate(focused) == "PDF of the day":
            break
    assert page.evaluate(focused) == "PDF of the day"
    with page.expect_download() as waiting:
        page.keyboard.press("Enter")
    assert waiting.value.suggested_filename == "day.pdf"


def test_the_list_goes_to_the_desk_alone(page: Page, desk: Running) -> None:
    sent: list[Request] = []
    page.on("request", lambda request: sent.append(request) if request.post_data_buffer else None)
    opened(page, desk, "teeth\n16\n")
    assert [request.url.split("?")[0] for request in sent] == [f"{desk.url}api/day"]
