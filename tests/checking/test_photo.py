"""Photographs as files: JPEG, PNG and HEIC, turned as their EXIF says, and bounded."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from sheetmark.base.findings import InputError
from sheetmark.checking.photo import WORKING_SIDE, read_photo

WIDTH, HEIGHT = 1200, 900


def half_white() -> Image.Image:
    """White on the left half, black on the right."""
    values = np.zeros((HEIGHT, WIDTH, 3), np.uint8)
    values[:, : WIDTH // 2] = 255
    return Image.fromarray(values)


def jpeg(image: Image.Image, **exif: int) -> bytes:
    tags = Image.Exif()
    if "orientation" in exif:
        tags[0x0112] = exif["orientation"]
    if "focal" in exif:
        tags.get_ifd(0x8769)[0xA405] = exif["focal"]
    out = BytesIO()
    image.save(out, "JPEG", exif=tags, quality=95)
    return out.getvalue()


def test_exif_turns_the_picture_and_tells_the_focal_length() -> None:
    plain = read_photo(jpeg(half_white(), focal=27), "a.jpg")
    assert plain.focal_35_mm == 27
    assert plain.rgb.shape == (HEIGHT, WIDTH, 3)
    assert plain.rgb[450, 100].min() > 200 > plain.rgb[450, 1100].max()
    # 6: the picture's left edge is what the camera had at the bottom; shown turned clockwise.
    turned = read_photo(jpeg(half_white(), orientation=6), "a.jpg")
    assert turned.rgb.shape == (WIDTH, HEIGHT, 3)
    assert turned.rgb[100, 450].min() > 200 > turned.rgb[1100, 450].max()
    assert turned.focal_35_mm is None


def test_a_large_picture_is_halved_until_it_is_workable() -> None:
    large = half_white().resize((6000, 4500))
    photo = read_photo(jpeg(large), "a.jpg")
    assert max(photo.rgb.shape) <= WORKING_SIDE
    assert max(photo.rgb.shape) > WORKING_SIDE / 2


def test_png_and_heic_are_read() -> None:
    out = BytesIO()
    half_white().save(out, "PNG")
    assert read_photo(out.getvalue(), "a.png").rgb[0, 0].tolist() == [255, 255, 255]
    packed = BytesIO()
    pillow_heif.from_pillow(half_white()).save(packed, quality=90)
    photo = read_photo(packed.getvalue(), "a.HEIC")
    assert photo.rgb.shape == (HEIGHT, WIDTH, 3)
    assert photo.rgb[450, 100].min() > 200 > photo.rgb[450, 1100].max()


def empty_png(width: int, height: int) -> bytes:
    """A PNG that says it is of this size and holds no pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "wording"),
    [
        (empty_png(12_000, 9_000), "must have at most 80 million pixels"),
        (empty_png(60_000, 60_000), "cannot be read as a photograph"),
        (empty_png(1000, 700), "each side must be at least 800"),
        (empty_png(1000, 1000), "cannot be read as a photograph"),
        (b"GIF89a", "cannot be read as a photograph"),
        (b"", "cannot be read as a photograph"),
    ],
)
def test_what_is_no_photograph_is_refused_in_a_line(data: bytes, wording: str) -> None:
    with pytest.raises(InputError, match=wording) as refused:
        read_photo(data, "a.png")
    assert len(refused.value.problems) == 1
