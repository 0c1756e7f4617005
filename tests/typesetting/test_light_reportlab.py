"""ReportLab loads without pillow, and draws pictures all the same where one is wanted."""

from __future__ import annotations

import subprocess
import sys

import pytest

LETTERS = "from sheetmark.typesetting.lettering import text_width; text_width('a', 3.0)"
PICTURE = """
from io import BytesIO
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
picture = Image.new('L', (3, 2))
canvas = Canvas(BytesIO())
canvas.drawImage(ImageReader(picture), 0, 0)
canvas.save()
print(ImageReader(picture).getSize())
"""
THREAD = "from threading import Event, Thread; Thread(target=Event().wait, daemon=True).start()"
LOADED = "import sys; print([name for name in sys.modules if name.partition('.')[0] == 'PIL'])"


def lines(*programs: str) -> list[str]:
    typed = [sys.executable, "-c", "\n".join(programs)]
    done = subprocess.run(typed, capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


def test_letters_load_no_pillow_and_pictures_do() -> None:
    loaded, size, then = lines(LETTERS, LOADED, PICTURE, LOADED)
    assert (loaded, size) == ("[]", "(3, 2)")
    assert "'PIL.Image'" in then


@pytest.mark.parametrize("first", ["import PIL.Image", THREAD])
def test_where_pillow_is_loaded_or_may_be_the_real_one_is_taken(first: str) -> None:
    program = "import reportlab.lib.utils, PIL.Image; print(reportlab.lib.utils.Image is PIL.Image)"
    assert lines(first, LETTERS, program) == ["True"]
