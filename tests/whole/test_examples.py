"""The committed examples are what the program makes today."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import StreamObject

from tests.helpers.paths import ROOT

EXAMPLES = ROOT / "examples"
NAMES = ("16-restoration", "11-restoration", "36-root-canal", "universal-12-restoration")
AGAIN = "python examples/make.py, then look at the difference"


@pytest.fixture(scope="module")
def remade(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("examples")
    script = EXAMPLES / "make.py"
    subprocess.run([sys.executable, script, folder], check=True, capture_output=True)
    return folder


def test_no_example_is_without_its_case(remade: Path) -> None:
    endings = ("pdf", "svg", "json", "png")
    made = {path.name for path in remade.iterdir() if path.is_file()}
    assert made == {f"{name}.{ending}" for name in NAMES for ending in endings}
    assert made == {path.name for end in endings for path in EXAMPLES.glob(f"*.{end}")}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("ending", ["svg", "json"])
def test_the_file_is_the_same_to_the_byte(remade: Path, name: str, ending: str) -> None:
    kept, made = (folder / f"{name}.{ending}" for folder in (EXAMPLES, remade))
    assert kept.read_bytes() == made.read_bytes(), AGAIN


def test_the_guides_pictures_are_those_of_today(remade: Path) -> None:
    kept, made = (sorted((f / "guide").glob("*.svg")) for f in (EXAMPLES, remade))
    assert [path.name for path in kept] == [path.name for path in made]
    for first, other in zip(kept, made, strict=True):
        assert first.read_bytes() == other.read_bytes(), AGAIN


def test_the_schemas_are_those_of_today(remade: Path) -> None:
    kept, made = (
        {path.name: path.read_bytes() for path in (folder / "schemas").iterdir()}
        for folder in (EXAMPLES, remade)
    )
    assert kept == made, AGAIN


def unpacked(path: Path) -> list[tuple[str, bytes]]:
    """Every object of a PDF, streams unpacked: their packed bytes differ from zlib to zlib."""
    reader = PdfReader(path)
    objects = []
    for number in range(1, int(reader.trailer["/Size"])):  # type: ignore[call-overload]
        found = reader.get_object(number)
        if isinstance(found, StreamObject):
            about = {key: value for key, value in found.items() if key != "/Length"}
            objects.append((_typed(about), found.get_data()))
        else:
            objects.append((_typed(found), b""))
    return objects


def _typed(found: object) -> str:
    """As text, references by their number: the reader's own address is no part of the file."""
    return re.sub(r"IndirectObject\((\d+), 0, \d+\)", r"\1 R", repr(found))


@pytest.mark.parametrize("name", NAMES)
def test_the_pdf_is_the_same_object_by_object(remade: Path, name: str) -> None:
    kept, made = (unpacked(folder / f"{name}.pdf") for folder in (EXAMPLES, remade))
    assert len(kept) > 10
    assert any(len(data) > 1000 for _, data in kept)
    assert kept == made, AGAIN


@pytest.mark.parametrize("name", NAMES)
def test_the_picture_shows_the_page_of_today(remade: Path, name: str) -> None:
    """Not to the byte, since another version of the rasteriser shades edges differently."""
    kept = EXAMPLES / f"{name}.png"
    assert kept.stat().st_size < 60_000
    shades = [np.asarray(Image.open(f / kept.name).convert("L")) for f in (EXAMPLES, remade)]
    assert shades[0].shape == shades[1].shape
    apart = np.abs(shades[0].astype(int) - shades[1].astype(int))
    assert (apart > 100).mean() < 1e-4, AGAIN
