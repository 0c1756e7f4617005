"""A photograph as pixels: read, turned as its EXIF says, and bounded in size.

Pixels are counted x to the right and y down from the middle of the upper left one.
"""

from __future__ import annotations

import warnings
from io import BytesIO
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.base.findings import InputError
from sheetmark.checking.refusal import RefusedError

Floats = NDArray[np.floating[Any]]
Bytes = NDArray[np.uint8]

# Above this a file is no phone's photograph, and would fill the memory (assumption).
MOST_MEGAPIXELS = 80.0
MOST_BYTES = 60_000_000
# Photographs are halved until the longer side is at most this; more brings nothing (by trials).
WORKING_SIDE = 2900
LEAST_SIDE = 800
ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
# The diagonal of 35 mm film, mm, to which EXIF focal lengths are compared (definition).
FILM_DIAGONAL_MM = 43.27
_EXIF_IFD, _FOCAL_35 = 0x8769, 0xA405


class Photo(Struct, frozen=True):
    """Rows of red, green, blue, sRGB coded; the focal length as of 35 mm film, None if unknown."""

    rgb: Bytes
    focal_35_mm: float | None

    @property
    def half_diagonal(self) -> float:
        """Half the picture's diagonal, pixels."""
        return float(np.hypot(*self.rgb.shape[:2])) / 2

    @property
    def middle(self) -> tuple[float, float]:
        """The picture's middle, x and y in pixels."""
        return (self.rgb.shape[1] - 1) / 2, (self.rgb.shape[0] - 1) / 2


def read_photo(data: bytes, name: str) -> Photo:
    """The photograph of a JPEG, PNG or HEIC file. Raises InputError for any other file."""
    if len(data) > MOST_BYTES:
        raise InputError(
            f"{name}: {len(data) / 1e6:.0f} MB; a photograph must be at most "
            f"{MOST_BYTES / 1e6:.0f} MB"
        )
    from PIL import Image, ImageOps

    _let_heic_in(name)
    try:
        with warnings.catch_warnings():
            # Pillow warns above our own bound, which names the size.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            opened = Image.open(BytesIO(data), formats=_formats(name))
        with opened as image:
            _check_size(image.size, name)
            focal = image.getexif().get_ifd(_EXIF_IFD).get(_FOCAL_35)
            longest = max(image.size)
            halvings = 0
            while longest / 2**halvings > WORKING_SIDE:
                halvings += 1
            if halvings:  # a JPEG is decoded at half or a quarter of its size at once
                image.draft("RGB", (image.width >> halvings, image.height >> halvings))
            turned = ImageOps.exif_transpose(image)
            left = round(max(turned.size) / (longest / 2**halvings))
            if left > 1:
                turned = turned.reduce(left)
            rgb = np.asarray(turned.convert("RGB"))
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise RefusedError(
            "not-a-photograph",
            f"{name}: cannot be read as a photograph ({_short(error)}); use JPEG, PNG or HEIC",
        ) from error
    return Photo(np.ascontiguousarray(rgb), _focal(focal))


def _formats(name: str) -> tuple[str, ...]:
    return ("JPEG", "PNG", *(("HEIF",) if name.lower().endswith((".heic", ".heif")) else ()))


def _let_heic_in(name: str) -> None:
    if name.lower().endswith((".heic", ".heif")):
        from pillow_heif import register_heif_opener

        register_heif_opener()


def _check_size(size: tuple[int, int], name: str) -> None:
    if size[0] * size[1] > MOST_MEGAPIXELS * 1e6:
        raise InputError(
            f"{name}: {size[0]} x {size[1]} pixels; a photograph must have at most "
            f"{MOST_MEGAPIXELS:.0f} million pixels"
        )
    if min(size) < LEAST_SIDE:
        raise InputError(
            f"{name}: {size[0]} x {size[1]} pixels; each side must be at least {LEAST_SIDE}: send "
            f"the photograph itself, not a small copy"
        )


def _focal(value: Any) -> float | None:
    try:
        focal = float(value)
    except (TypeError, ValueError):
        return None
    return focal if 10 <= focal <= 300 else None


def _short(error: Exception) -> str:
    from PIL import UnidentifiedImageError

    if isinstance(error, UnidentifiedImageError):  # it names no more than its place in memory
        return "no picture of these kinds"
    return " ".join(str(error).split())[:80] or type(error).__name__


_LINEAR = np.array(
    [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in np.arange(256) / 255],
    np.float32,
)
"""What an sRGB value of 0 to 255 stands for, 0 to 1 (IEC 61966-2-1)."""


def linear(values: Bytes) -> Floats:
    """sRGB values as light, 0 to 1."""
    return _LINEAR[values]


def grey(photo: Photo) -> Floats:
    """The picture's light, 0 to 1: the green half of it, which is the sharpest."""
    return 0.25 * _LINEAR[photo.rgb[..., 0]] + 0.75 * _LINEAR[photo.rgb[..., 1]]
