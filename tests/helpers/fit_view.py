"""A picture of an invented cast, and the view that fits an arch to it.

The picture is drawn from a shipped model's own teeth, at 20 pixels a mm and turned, so that what
the page makes of it can be held against where the teeth really are. mm, but for pixels.
"""

from __future__ import annotations

from functools import cache
from io import BytesIO
from math import cos, dist, radians, sin
from typing import TYPE_CHECKING, Any

from PIL import Image, ImageDraw

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import Jaw, Tooth
from sheetmark.fitting.landmarks import Kind
from tests.helpers.casts import cast
from tests.helpers.running_desk import Running

if TYPE_CHECKING:
    from playwright.sync_api import Page


MODEL = "adult-large"
PIXELS_A_MM = 20.0
WIDTH, HEIGHT = 1600, 1300
TURNED_DEG = 7.0
RULER = ((320.0, 1240.0), (1320.0, 1240.0))  # 50 mm
SEVEN = "1234567"
Pixels = tuple[float, float]
ENDS: dict[Kind, tuple[str, ...]] = {
    "contacts": ("mesial", "distal"),
    "middle": ("middle",),
    "gum line": ("facial", "lingual"),
}
Picked = dict[str, dict[str, Pixels]]


def picked_of(jaw: Jaw = "upper", model: str = MODEL, kind: Kind = "contacts") -> Picked:
    """Where each tooth's points are in the picture, by ISO number."""
    marks = cast(model, jaw, slots=SEVEN, kind=kind)
    ys = [y for mark in marks for _, y in mark.points]
    middle = (min(ys) + max(ys)) / 2
    c, s = cos(radians(TURNED_DEG)), sin(radians(TURNED_DEG))

    def in_picture(point: Pixels) -> Pixels:
        x, y = point[0], point[1] - middle
        return (
            WIDTH / 2 + PIXELS_A_MM * (c * x - s * y),
            HEIGHT / 2 - 60 - PIXELS_A_MM * (s * x + c * y),
        )

    return {
        mark.tooth.iso: dict(zip(ENDS[kind], map(in_picture, mark.points), strict=True))
        for mark in marks
    }


@cache
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


def fit_request(picked: Picked | None = None, **more: Any) -> dict[str, Any]:
    """What the page would send."""
    teeth = [{"tooth": tooth, **ends} for tooth, ends in (picked or picked_of()).items()]
    scale = {"first": RULER[0], "second": RULER[1], "mm": 50.0}
    return {"name": "our-arch", "date": "2026-11-25", "scale": scale, "teeth": teeth, **more}


def centre_errors(model: ArchModel, jaw: Jaw = "upper") -> list[float]:
    """How far the model's tooth centres are from where those of the picture really are."""
    made, true = build_arch(model, jaw), build_arch(load_model(MODEL), jaw)
    teeth = [place.tooth for place in true.places if place.tooth.slot in SEVEN]
    assert len(teeth) == 14
    return [dist(_from_front(made, tooth), _from_front(true, tooth)) for tooth in teeth]


def _from_front(arch: Any, tooth: Tooth) -> Pixels:
    """A centre from the incisal point, so that an arch as a whole may stand elsewhere."""
    x, y = arch.place(tooth).centre
    return (x, y - arch.incisal_y_mm)


def open_picture(page: Page, desk: Running) -> None:
    """Open the fit view and the picture in it."""
    page.goto(f"{desk.url}#/arch")
    page.get_by_label("Open a picture of the cast").set_input_files(
        {"name": "cast.png", "mimeType": "image/png", "buffer": picture()}
    )
    page.locator(".photo-marks path").first.wait_for()


def in_window(page: Page, point: Pixels, *, scroll: bool = False) -> Pixels:
    """Where a pixel of the picture is in the window, scrolled to if need be."""
    x, y, width, height = page.evaluate(
        """(scroll) => {
          if (scroll) document.querySelector(".photo").scrollIntoViewIfNeeded();
          const { x, y, width, height } = document.querySelector(".stage").getBoundingClientRect();
          return [x, y, width, height];
        }""",
        scroll,
    )
    return (x + point[0] * width / WIDTH, y + point[1] * height / HEIGHT)


def click(page: Page, point: Pixels) -> None:
    """Click on a pixel of the picture."""
    page.mouse.click(*in_window(page, point, scroll=True))


def next_point(page: Page) -> str:
    """What the view says is to be picked now."""
    return page.inner_text(".now")


def enter_length(page: Page, mm: str = "50") -> None:
    """Fill in the known length."""
    page.get_by_role("textbox", name="Known length, mm").fill(mm)


def shown_points(page: Page) -> dict[str, list[str]]:
    """The table of points: what stands there, the tooth's name and both points in pixels."""
    return {name: buttons[:2] for name, buttons, _ in table_rows(page)}


def table_rows(page: Page) -> list[tuple[str, list[str], list[str]]]:
    """Each row of the table of points: its head, its buttons and its cells, as they are read."""
    rows: list[tuple[str, list[str], list[str]]] = page.evaluate(
        """() => [...document.querySelectorAll(".points tbody tr")].map((row) => [
          row.querySelector("th").innerText,
          [...row.querySelectorAll("td button")].map((node) => node.innerText),
          [...row.querySelectorAll("td")].map((node) => node.innerText),
        ])"""
    )
    return rows


def press_fit(page: Page, name: str = "our-arch") -> None:
    """Name the model, press the button and wait for a result or problems."""
    page.get_by_label("Name of the model").fill(name)
    page.get_by_role("button", name="Fit the arch").click()
    page.locator(".worst, .fit-result .problems").wait_for()
