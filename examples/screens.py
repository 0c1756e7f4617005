"""Makes the pictures of the chairside page again: `python examples/screens.py`.

Needs Chromium, as the page's own tests do. No test compares them: another browser draws letters
otherwise. Look at them after a change that is meant to show.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

FOLDER = Path(__file__).parent / "screens"
# Name: address, screen in pixels, and what must be there before the picture is taken.
SCREENS = {
    "case": ("#/case?treat=26", (1280, 800), ".picture"),
    "child-on-the-arch": ("#/case?treat=85&age=7&view=arch", (768, 1024), ".picture"),
}
SHADES = 32


def main() -> int:
    """Write every picture; 0 when all were made."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        print("no chromium on this machine: install it first", file=sys.stderr)
        return 2
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as settings:
        words = [sys.executable, "-m", "sheetmark", "desk", "--no-browser", "--port", "0"]
        environment = os.environ | {"XDG_CONFIG_HOME": settings}
        desk = subprocess.Popen(words, stderr=subprocess.PIPE, text=True, env=environment)
        assert desk.stderr is not None
        address = desk.stderr.readline().split()[3]
        arguments = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=arguments)
            for name in SCREENS:
                _picture(browser, address, name)
            browser.close()
        desk.terminate()
        desk.wait(10)
    return 0


def _picture(browser: Browser, address: str, name: str) -> None:
    where, (width, height), there = SCREENS[name]
    page = browser.new_page(viewport={"width": width, "height": height})
    page.goto(address + where)
    page.wait_for_selector(there)
    page.evaluate("document.fonts.ready")
    image = Image.open(BytesIO(page.screenshot())).convert("RGB")
    image.quantize(SHADES).save(FOLDER / f"{name}.png", optimize=True)
    page.close()


if __name__ == "__main__":
    sys.exit(main())
