"""Makes the pictures of the chairside page again: `python examples/screens.py`.

Needs Chromium, as the page's own tests do. No test compares them: another browser draws letters
otherwise. Look at them after a change that is meant to show.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from io import BytesIO
from pathlib import Path

from msgspec import Struct
from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from tests.helpers.browser import CHROMIUM_ARGUMENTS, chromium

FOLDER = Path(__file__).parent / "screens"
WIDE, TALL = (1280, 800), (768, 1024)
SHADES = 32


class Screen(Struct, frozen=True):
    """A view by its address, the screen in pixels, what must be there before the picture is taken,
    and the file that is opened first."""

    address: str
    size: tuple[int, int]
    there: str
    opened: str = ""


SCREENS = {
    "case": Screen("#/case?treat=26", WIDE, ".picture"),
    "child-on-the-arch": Screen("#/case?treat=85&age=7&view=arch", TALL, ".picture"),
    "day": Screen("#/day", WIDE, "tbody", "day.csv"),
    "settings": Screen("#/settings", WIDE, "fieldset"),
}


def main() -> int:
    """Write every picture; 0 when all were made."""
    path = chromium()
    if path is None:
        print("no chromium on this machine: install it first", file=sys.stderr)
        return 2
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as settings:
        wording = [sys.executable, "-m", "sheetmark", "desk", "--no-browser", "--port", "0"]
        environment = os.environ | {"XDG_CONFIG_HOME": settings}
        desk = subprocess.Popen(wording, stderr=subprocess.PIPE, text=True, env=environment)
        assert desk.stderr is not None
        address = desk.stderr.readline().split()[3]
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_ARGUMENTS)
            for name in SCREENS:
                _picture(browser, address, name)
            browser.close()
        desk.terminate()
        desk.wait(10)
    return 0


def _picture(browser: Browser, address: str, name: str) -> None:
    screen = SCREENS[name]
    width, height = screen.size
    page = browser.new_page(viewport={"width": width, "height": height})
    page.goto(address + screen.address)
    if screen.opened:
        page.set_input_files("input[type=file]", FOLDER.parent / screen.opened)
    page.wait_for_selector(screen.there)
    page.evaluate("document.fonts.ready")
    image = Image.open(BytesIO(page.screenshot())).convert("RGB")
    image.quantize(SHADES).save(FOLDER / f"{name}.png", optimize=True)
    page.close()


if __name__ == "__main__":
    sys.exit(main())
