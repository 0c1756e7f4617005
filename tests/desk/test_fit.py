"""An arch from a picture of a cast: points to a model, by mouse, touch and keyboard, with errors.

The picture is drawn here from a shipped model's own teeth, at 20 pixels a mm and turned, so that
what the page makes of it can be held against where the teeth really are. mm, but for pixels.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from io import BytesIO
from math import cos, dist, radians, sin
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw
from starlette.testclient import TestClient

from sheetmark.anatomy.arch_model import ArchModel, data_folder, load_model
from sheetmark.anatomy.chords import Point
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import Jaw, Tooth, read
from sheetmark.base.user_folder import models_folder
from sheetmark.cli.app import run
from sheetmark.desk.server import guard
from tests.desk.conftest import Running
from tests.helpers.casts import cast

if TYPE_CHECKING:
    from playwright.sync_api import Browser, FilePayload, Page

MODEL = "adult-large"
PIXELS_A_MM = 20.0
WIDTH, HEIGHT = 1600, 1300
TURNED_DEG = 7.0
RULER = ((320.0, 1240.0), (1320.0, 1240.0))  # 50 mm
SEVEN = "1234567"

Picked = dict[str, dict[str, Point]]


def picked_of(jaw: Jaw = "upper", model: str = MODEL) -> Picked:
    """Where each tooth's points are in the picture, by ISO number."""
    marks = cast(model, jaw, slots=SEVEN)
    ys = [y for mark in marks for _, y in (mark.mesial, mark.distal)]
    middle = (min(ys) + max(ys)) / 2
    c, s = cos(radians(TURNED_DEG)), sin(radians(TURNED_DEG))

    def in_picture(point: Point) -> Point:
        x, y = point[0], point[1] - middle
        return (
            WIDTH / 2 + PIXELS_A_MM * (c * x - s * y),
            HEIGHT / 2 - 60 - PIXELS_A_MM * (s * x + c * y),
        )

    return {
        mark.tooth.iso: {"mesial": in_picture(mark.mesial), "distal": in_picture(mark.distal)}
        for mark in marks
    }


def picture() -> bytes:
    """The crowns as discs with a ruler of 50 mm below them."""
    image = Image.new("RGB", (WIDTH, HEIGHT), (205, 195, 185))
    draw = ImageDraw.Draw(image)
    for ends in picked_of().values():
        (x1, y1), (x2, y2) = ends["mesial"], ends["distal"]
        x, y, r = (x1 + x2) / 2, (y1 + y2) / 2, dist((x1, y1), (x2, y2)) / 2
        draw.ellipse((x - r, y - r, x + r, y + r), fill=(245, 240, 225), outline=(80, 70, 50))
    (left, y), (right, _) = RULER
    draw.line((left, y, right, y), fill=(0, 0, 0), width=3)
    for mm in range(51):
        x = left + mm * PIXELS_A_MM
        draw.line((x, y, x, y - (40 if mm % 5 == 0 else 20)), fill=(0, 0, 0), width=2)
    content = BytesIO()
    image.save(content, "PNG")
    return content.getvalue()


def body(picked: Picked | None = None, **more: Any) -> dict[str, Any]:
    """What the page would send."""
    teeth = [{"tooth": tooth, **ends} for tooth, ends in (picked or picked_of()).items()]
    scale = {"one": RULER[0], "other": RULER[1], "mm": 50.0}
    return {"name": "our-arch", "date": "2026-11-25", "scale": scale, "teeth": teeth, **more}


def centre_errors(model: ArchModel, jaw: Jaw = "upper") -> list[float]:
    """How far the model's tooth centres are from where those of the picture really are."""
    made, true = build_arch(model, jaw), build_arch(load_model(MODEL), jaw)
    teeth = [place.tooth for place in true.places if place.tooth.slot in SEVEN]
    assert len(teeth) == 14
    return [dist(_from_front(made, tooth), _from_front(true, tooth)) for tooth in teeth]


def _from_front(arch: Any, tooth: Tooth) -> Point:
    """A centre from the incisal point, so that an arch as a whole may stand elsewhere."""
    x, y = arch.place(tooth).centre
    return (x, y - arch.incisal_y_mm)


# ---- the endpoints ----


def test_what_a_fit_may_start_from(client: TestClient, own_folder: Path) -> None:
    start = client.get("/api/arch/start").json()
    bases = {base["value"]: base for base in start["bases"]}
    assert {"adult-mean", "age-6"} <= set(bases)
    assert (start["usual_base"], start["own"], start["problems"]) == ("adult-mean", [], [])
    usual = [one["tooth"] for one in bases["adult-mean"]["upper"] if one["usual"]]
    assert usual == [*(f"1{n}" for n in range(7, 0, -1)), *(f"2{n}" for n in range(1, 8))]
    assert "55" in [one["tooth"] for one in bases["age-6"]["upper"] if one["usual"]]
    models_folder().mkdir()
    (models_folder() / "broken.toml").write_text("x", "utf-8")
    start = client.get("/api/arch/start").json()
    assert start["own"] == ["broken"]
    assert start["problems"][0].startswith("broken.toml: ")
    assert len(start["bases"]) == len(bases)


@pytest.mark.parametrize("jaw", ["upper", "lower"])
def test_exact_points_give_back_the_model_that_they_were_drawn_from(
    client: TestClient, tmp_path: Path, jaw: Jaw
) -> None:
    fitted = client.post("/api/arch/fit", json=body(picked_of(jaw))).json()
    path = tmp_path / "our-arch.toml"
    path.write_text(fitted["model"], "utf-8")
    # Measured: 4e-14 mm.
    assert max(centre_errors(load_model(str(path)), jaw)) < 1e-9
    assert fitted["findings"] == []
    offs = [
        max(abs(one["mesial_mm"]), abs(one["distal_mm"]), one["centre_mm"])
        for one in fitted["residuals"]
    ]
    assert len(offs) == 14
    assert max(offs) < 1e-9
    assert offs == sorted(offs, reverse=True)
    assert fitted["worst"].startswith(f"Worst tooth: {fitted['residuals'][0]['name']}, ")
    assert fitted["picture"].startswith("<?xml")


def test_the_points_and_the_recipe_make_the_same_model_again(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fitted = client.post("/api/arch/fit", json=body(base="adult-male")).json()
    monkeypatch.chdir(tmp_path)
    Path("our-arch.csv").write_text(fitted["landmarks"], "utf-8")
    program, *words = fitted["command"].split()
    assert program == "sheetmark"
    assert run([*words, "-o", "again.toml"]) == 0
    assert Path("again.toml").read_text("utf-8") == fitted["model"]


def test_a_point_that_is_off_is_the_worst_and_is_said_first(client: TestClient) -> None:
    picked = picked_of()
    x, y = picked["24"]["mesial"]
    picked["24"]["mesial"] = (x + 2.5 * PIXELS_A_MM, y)
    fitted = client.post("/api/arch/fit", json=body(picked)).json()
    assert fitted["residuals"][0]["tooth"] == "24"
    assert not fitted["residuals"][0]["mesial_kept"]
    assert fitted["worst"].startswith("Worst tooth: 24, its mesial point off the curve by ")
    assert fitted["findings"][0]["severity"] == "warning"
    assert fitted["findings"][0]["words"].startswith("24")


def test_teeth_are_written_as_the_practice_writes_them(
    client: TestClient, own_folder: Path
) -> None:
    (own_folder / "practice.toml").write_text(
        'format = "sheetmark-practice/1"\nnotation = "palmer"\nnumbers = "comma"\n', "utf-8"
    )
    fitted = client.post("/api/arch/fit", json=body()).json()
    assert {one["name"] for one in fitted["residuals"]} >= {"UR6", "UL6"}
    assert {one["tooth"] for one in fitted["residuals"]} >= {"16", "26"}
    assert "," in fitted["figures"][0]["fitted"]
    assert fitted["landmarks"].splitlines()[1].startswith("UR7,")
    assert "--notation palmer" in fitted["command"]


def test_a_kept_model_is_known_by_its_name_everywhere(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    fitted = client.post("/api/arch/fit", json=body()).json()
    kept = client.post("/api/arch/save", json=body())
    assert kept.json() == {"name": "our-arch", "title": fitted["title"]}
    path = models_folder() / "our-arch.toml"
    assert path.read_text("utf-8") == fitted["model"]
    assert run(["arch", "show", "our-arch"]) == 0
    assert capsys.readouterr().out.startswith("our-arch: Upper jaw measured 2026-11-25")
    case = client.get("/api/case", params={"treat": ["16"], "arch": "our-arch"}).json()
    assert "--arch our-arch" in case["sheet"]["command"]
    assert client.get("/api/arch/start").json()["own"] == ["our-arch"]


def test_a_kept_model_is_replaced_only_when_asked(client: TestClient) -> None:
    path = models_folder() / "our-arch.toml"
    assert client.post("/api/arch/save", json=body()).status_code == 200
    first = path.read_bytes()
    other = body(date="2026-11-26")
    refused = client.post("/api/arch/save", json=other)
    assert refused.status_code == 422
    assert refused.json()["problems"] == [
        "name 'our-arch': you keep an arch model of that name; choose another name, or say that "
        "it shall be replaced"
    ]
    assert path.read_bytes() == first
    assert client.post("/api/arch/save", json=other | {"replace": True}).status_code == 200
    assert b"2026-11-26" in path.read_bytes()
    assert [file.name for file in models_folder().iterdir()] == ["our-arch.toml"]


@pytest.mark.parametrize(
    "name", ["", "../our-arch", "our/arch", "Our", "x" * 41, "adult-mean", "a.toml", "C:\\a", "\0"]
)
def test_a_name_that_will_not_do_writes_nothing(
    client: TestClient, own_folder: Path, name: str
) -> None:
    answer = client.post("/api/arch/save", json=body(name=name, replace=True))
    assert answer.status_code == 422
    assert answer.json()["problems"]
    assert [file.name for file in own_folder.parent.rglob("*")] == [own_folder.name]


def test_a_folder_that_cannot_be_had_is_said(client: TestClient, own_folder: Path) -> None:
    models_folder().write_text("a file in its place", "utf-8")
    answer = client.post("/api/arch/save", json=body())
    assert answer.status_code == 422
    (problem,) = answer.json()["problems"]
    assert "arch_models: cannot be used" in problem


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"base": "ours.toml"}, "arch model 'ours.toml': there is none of that name"),
        ({"base": "../ours"}, "there is none of that name"),
        ({"date": "25.11.2026"}, "not a date"),
        ({"teeth": []}, "landmarks: none"),
        ({"scale": {"one": [0, 0], "other": [0, 0], "mm": 50}}, "both points are the same"),
        ({"scale": {"one": [0, 0], "other": [9, 0], "mm": 50}}, "9 pixels apart, at least 100"),
        ({"scale": {"one": [0, 0], "other": [999, 0], "mm": 5000}}, "limits 5 to 500 mm"),
        ({"scale": {"one": [0, 0], "other": [2000, 0], "mm": 50}}, "scale the picture to mm"),
        ({"teeth": [{"tooth": "19", "mesial": [0, 0], "distal": [9, 9]}]}, "not a tooth in iso"),
        ({"teeth": [{"tooth": "16", "mesial": [0], "distal": [9, 9]}]}, "teeth.0.mesial.1"),
        ({"teeth": None}, "teeth None"),
        ({"picture": "x"}, "picture 'x'"),
    ],
)
def test_what_cannot_be_fitted_is_refused_in_one_line(
    client: TestClient, own_folder: Path, more: dict[str, Any], words: str
) -> None:
    (own_folder / "ours.toml").write_bytes((data_folder() / "adult-large.toml").read_bytes())
    for path in ("/api/arch/fit", "/api/arch/save"):
        answer = client.post(path, json=body(**more))
        assert answer.status_code == 422
        (problem,) = answer.json()["problems"]
        assert words in problem
        assert "\n" not in problem
    assert not models_folder().exists()


NUMBERS = st.one_of(
    st.floats(-100, 3000),
    st.sampled_from([float("nan"), float("inf"), 1e308, -0.0, 0, 10**400]),
)
POINTS = st.tuples(NUMBERS, NUMBERS)


@settings(
    max_examples=60,
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    changes=st.dictionaries(
        st.tuples(st.sampled_from(list(picked_of())), st.sampled_from(["mesial", "distal"])),
        POINTS,
        max_size=8,
    ),
    more=st.fixed_dictionaries(
        {},
        optional={
            "name": st.text(max_size=8),
            "date": st.text(max_size=8),
            "base": st.text(max_size=8),
            "scale": st.fixed_dictionaries({"one": POINTS, "other": POINTS, "mm": NUMBERS}),
        },
    ),
)
def test_no_points_break_the_desk(
    client: TestClient, changes: dict[tuple[str, str], Point], more: dict[str, Any]
) -> None:
    picked = picked_of()
    for (tooth, end), point in changes.items():
        picked[tooth][end] = point
    headers = {"Content-Type": "application/json"}
    answer = client.post("/api/arch/fit", content=json.dumps(body(picked, **more)), headers=headers)
    assert answer.status_code in (200, 422)
    if answer.status_code == 422:
        assert answer.json()["problems"]


# ---- the page ----


@pytest.fixture
def bodies(monkeypatch: pytest.MonkeyPatch) -> list[bytes]:
    """Every body that reaches the desk, whatever it was sent as."""
    seen: list[bytes] = []
    real = guard._whole

    async def watched(receive: Any) -> bytes:
        whole = await real(receive)
        if whole:
            seen.append(whole)
        return whole

    monkeypatch.setattr(guard, "_whole", watched)
    return seen


def opened(page: Page, desk: Running) -> None:
    page.goto(f"{desk.url}#/fit")
    page.get_by_label("Open a picture of the cast").set_input_files(
        {"name": "cast.png", "mimeType": "image/png", "buffer": picture()}
    )
    page.locator(".photo-marks path").first.wait_for()


def at(page: Page, point: Point) -> Point:
    """Where a pixel of the picture is in the window."""
    box = page.locator(".stage").bounding_box()
    assert box is not None
    return (
        box["x"] + point[0] * box["width"] / WIDTH,
        box["y"] + point[1] * box["height"] / HEIGHT,
    )


def click(page: Page, point: Point) -> None:
    page.locator(".photo").scroll_into_view_if_needed()
    page.mouse.click(*at(page, point))


def now(page: Page) -> str:
    return page.inner_text(".now")


def length(page: Page, mm: str = "50") -> None:
    page.get_by_role("textbox", name="Known length, mm").fill(mm)


def shown_points(page: Page) -> dict[str, list[str]]:
    """The table of points: what stands there, the tooth's name and both points in pixels."""
    rows = page.locator(".points tbody tr").all()
    return {
        row.locator("th").inner_text(): row.locator("td button").all_inner_texts()[:2]
        for row in rows
    }


def fit(page: Page, name: str = "our-arch") -> None:
    page.get_by_label("Name of the model").fill(name)
    page.get_by_role("button", name="Fit the arch").click()
    page.locator(".worst, .fit-result .problems").wait_for()


def test_clicked_points_make_a_model_that_the_command_finds(
    page: Page,
    desk: Running,
    bodies: list[bytes],
    axe: Callable[[Page], None],
    capsys: pytest.CaptureFixture[str],
) -> None:
    opened(page, desk)
    axe(page)
    assert page.get_by_role("application", name="Picture cast.png").is_visible()
    assert now(page) == "Now: first end of the known length"
    for point in RULER:
        click(page, point)
    length(page)
    for tooth, ends in picked_of().items():
        for end, point in ends.items():
            assert now(page) == f"Now: {tooth}, {end}"
            click(page, point)
    assert now(page) == "All picked. Fit the arch below."
    fit(page)
    axe(page)
    page.get_by_role("button", name="Keep as our-arch").click()
    page.get_by_text("Kept as our-arch.").first.wait_for()

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


def move(page: Page, start: Point, end: Point) -> Point:
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


def test_by_keyboard_alone_from_the_picture_to_the_kept_model(page: Page, desk: Running) -> None:
    file: FilePayload = {"name": "cast.png", "mimeType": "image/png", "buffer": picture()}
    # Told before the page is there: a chooser asked for later is at times not seen.
    page.on("filechooser", lambda chooser: chooser.set_files(file))
    page.goto(f"{desk.url}#/fit")
    page.get_by_label("Open a picture of the cast").wait_for()
    tab_to(page, "picture-file")
    page.keyboard.press("Enter")
    page.locator(".photo-marks path").first.wait_for()
    assert page.evaluate("document.activeElement.className") == "photo"
    cross: Point = (WIDTH / 2, HEIGHT / 2)
    for point in RULER:
        cross = move(page, cross, point)
        page.keyboard.press("Enter")
    picked = picked_of()
    # 16 and 22 are left out: what was picked on the other side stands for them.
    for tooth in (tooth for tooth in picked if tooth not in ("16", "22")):
        while now(page) != f"Now: {tooth}, mesial":
            tab_to(page, "Skip this tooth")
            page.keyboard.press("Enter")
        for end in ("mesial", "distal"):
            cross = move(page, cross, picked[tooth][end])
            page.keyboard.press("Enter")
    assert now(page) == "All picked. Fit the arch below."
    tab_to(page, "known-length", backwards=True)
    page.keyboard.type("50")
    tab_to(page, "model-name")
    page.keyboard.press("Control+a")
    page.keyboard.type("by-keys")
    tab_to(page, "Fit the arch")
    page.keyboard.press("Enter")
    page.locator(".worst").wait_for()
    tab_to(page, "Keep as by-keys")
    page.keyboard.press("Enter")
    page.get_by_text("Kept as by-keys.").first.wait_for()
    # The cross falls on whole pixels of the picture: half of one is 0.025 mm. Measured: worst
    # centre 0.016 mm off, mean 0.010.
    assert max(centre_errors(load_model("by-keys"))) < 0.04


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
    opened(page, desk)
    for point in (*RULER, (300, 900), (350, 800)):
        click(page, point)
    before = shown_points(page)["17"]
    page.get_by_role("button", name="17, distal: move").click()
    assert now(page) == "Moving: 17, distal"
    axe(page)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    mesial, distal = shown_points(page)["17"]
    x, y = (int(number) for number in before[1].split(", "))
    assert (mesial, distal) == (before[0], f"{x + 1}, {y + 10}")
    page.keyboard.press("Enter")
    assert now(page) == "Now: 16, mesial"
    page.get_by_role("button", name="Undo").click()
    assert shown_points(page)["17"] == before

    page.get_by_label("Go to tooth").select_option("23")
    assert now(page) == "Now: 23, mesial"
    click(page, (1200, 300))
    assert now(page) == "Now: 23, distal"
    page.get_by_label("Go to tooth").select_option("16")
    page.get_by_role("button", name="Skip this tooth").click()
    assert now(page) == "Now: 15, mesial"
    teeth = page.get_by_label("Go to tooth").locator("option")
    assert {"16 (skipped)", "17 (picked)", "23 (one point)"} <= set(teeth.all_inner_texts())
    page.get_by_role("button", name="Undo").click()
    assert now(page) == "Now: 16, mesial"
    assert "16" in teeth.all_inner_texts()
    page.get_by_role("button", name="Delete 17").click()
    assert set(shown_points(page)) == {"Length", "23"}
    assert now(page) == "Now: 17, mesial"
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Undo").click()
    assert shown_points(page)["17"] == before

    page.get_by_label("lower").check()
    assert now(page) == "Now: 47, mesial"
    assert set(shown_points(page)) == {"Length"}
    page.get_by_label("upper").check()
    assert set(shown_points(page)) == {"Length", "17", "23"}


def test_a_click_means_the_same_pixel_at_every_zoom(page: Page, desk: Running) -> None:
    opened(page, desk)
    wanted = (430.0, 250.0)
    x, y = at(page, wanted)
    page.mouse.move(x, y)
    for _ in range(14):
        page.mouse.wheel(0, -120)
    page.wait_for_function("parseInt(document.querySelector('.zoomed').textContent) > 150")
    click(page, wanted)
    shown = shown_points(page)["Length"][0]
    assert dist([float(number) for number in shown.split(", ")], wanted) < 1.5
    under = at(page, wanted)
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
    opened(page, desk)
    for _ in range(6):
        page.get_by_role("button", name="Larger").click()
    box = page.locator(".stage").bounding_box()
    assert box is not None
    assert box["width"] > 2 * width
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    # The cross stays in sight, in the middle of the frame's own scrolling.
    frame = page.locator(".photo").bounding_box()
    assert frame is not None
    x, y = at(page, (WIDTH / 2, HEIGHT / 2))
    assert frame["x"] < x < frame["x"] + frame["width"]
    assert frame["y"] < y < frame["y"] + frame["height"]


def test_a_tap_places_a_point(browser: Browser, desk: Running) -> None:
    context = browser.new_context(viewport={"width": 768, "height": 1024}, has_touch=True)
    tablet = context.new_page()
    opened(tablet, desk)
    for point in RULER:
        tablet.touchscreen.tap(*at(tablet, point))
    assert now(tablet) == "Now: 17, mesial"
    (x, y) = (float(number) for number in shown_points(tablet)["Length"][1].split(", "))
    assert dist((x, y), RULER[1]) < 3
    context.close()


def test_what_is_missing_or_wrong_is_said(page: Page, desk: Running) -> None:
    page.goto(f"{desk.url}#/fit")
    page.get_by_label("Open a picture of the cast").set_input_files(
        {"name": "notes.txt", "mimeType": "image/png", "buffer": b"no picture"}
    )
    page.locator(".problems").wait_for()
    assert "notes.txt cannot be opened as a picture" in page.inner_text(".problems")
    opened(page, desk)
    fit(page)
    assert page.locator(".problems li").all_inner_texts() == [
        "Pick both ends of the known length.",
        "Give the known length in mm, such as 50.",
    ]
    click(page, (100, 100))
    click(page, (150, 100))
    length(page, "50,5")
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
    opened(page, desk)
    for point in RULER:
        click(page, point)
    length(page)
    for ends in picked_of().values():
        for point in ends.values():
            click(page, point)
    fit(page)
    page.get_by_role("button", name="Keep as our-arch").click()
    page.locator(".kept .problems").wait_for()
    assert "you keep an arch model of that name" in page.inner_text(".kept .problems")
    assert ours.read_bytes() == old
    page.get_by_label("Replace the our-arch that is kept").check()
    page.get_by_role("button", name="Keep as our-arch").click()
    page.get_by_text("Kept as our-arch.").first.wait_for()
    assert ours.read_bytes() != old

    # A change after the fit asks for a new one; another view in between loses nothing.
    points = shown_points(page)
    page.get_by_role("link", name="Case", exact=True).click()
    page.locator(".photo").wait_for(state="detached")
    page.get_by_role("link", name="Own arch").click()
    page.locator(".worst").wait_for()
    assert shown_points(page) == points
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("What you picked has changed. Fit the arch again.").wait_for()
    assert page.get_by_role("button", name="Keep as our-arch").count() == 0


def test_the_start_of_a_child(page: Page, desk: Running) -> None:
    opened(page, desk)
    page.get_by_label("Start from").select_option("age-6")
    for point in RULER:
        click(page, point)
    first = now(page).removeprefix("Now: ").removesuffix(", mesial")
    assert read(first, "iso").side == "right"
    options = page.get_by_label("Go to tooth").locator("option").all_inner_texts()
    assert {"55", "65"} <= set(options)
