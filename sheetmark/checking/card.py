"""The printer's scale from a bank card on the test page: good enough to refuse a page, not to
correct it.

ISO/IEC 7810 ID-1 (standard): 85.60 x 53.98 mm, 0.76 thick. Only the long side is used. The card's
upper face stands nearer to the lens than the page, and looks larger by its thickness over the
lens's height.
"""

from __future__ import annotations

from math import degrees, fsum
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.base.findings import InputError
from sheetmark.checking.camera import Array, tilt_at
from sheetmark.checking.flat import PITCH_MM, Flat
from sheetmark.checking.layout import card_layout
from sheetmark.checking.look import see_page
from sheetmark.checking.photo import Floats, Photo
from sheetmark.checking.refusal import RefusedError

# ISO/IEC 7810 ID-1 (standard).
CARD_MM = (85.60, 53.98)
CARD_THICK_MM = 0.76
CARD_TILT_LIMIT_DEG = 10.0  # ours
# How sure two such shots are, and from which error on a print is refused (by trials on made
# photographs).
UNCERTAIN = 0.002
REFUSED_FROM = 0.005
Axis = Literal["across", "down"]

# All by trials on made photographs.
_DARKER = 0.15  # how far the card's light differs from the paper's
_ASKEW_DEG = 8.0
_AREA_SHARE = (0.85, 1.15)
_PROFILES_MM = np.arange(-18.0, 18.1, 1.0)


class CardShot(Struct, frozen=True):
    """One photograph: which way the card's long side lies, and the page's scale along it, as what
    1 mm of the page has become."""

    axis: Axis
    scale: float


def card_scale(photo: Photo) -> CardShot:
    """The page's scale along the card's long side. Raises RefusedError where it cannot be seen."""
    page = see_page(photo, card_layout())
    tilt = tilt_at(page.eye, (0.0, 0.0))
    if tilt > CARD_TILT_LIMIT_DEG:
        raise RefusedError(
            "tilt",
            f"taken at {tilt:.0f} degrees, at most {CARD_TILT_LIMIT_DEG:g} for a card; shoot from "
            f"straight above",
        )
    unlike = _unlike_paper(page.flat)
    middle, direction = _card(unlike, page.flat)
    angle = degrees(np.arctan2(direction[1], direction[0])) % 180
    askew = min(abs(angle - right) for right in (0.0, 90.0, 180.0))
    if askew > _ASKEW_DEG:
        raise RefusedError(
            "no-card",
            f"the card lies {askew:.0f} degrees askew, at most {_ASKEW_DEG:g}; lay it straight "
            f"across, then straight down",
        )
    seen = fsum(_edge(unlike, page.flat, middle, way) for way in (direction, -direction))
    length = seen * (1 - CARD_THICK_MM / float(page.eye[2]))
    axis: Axis = "down" if abs(angle - 90.0) < 45.0 else "across"
    return CardShot(axis, CARD_MM[0] / length)


def both_scales(first: CardShot, other: CardShot) -> tuple[float, float]:
    """The scales across and down. Raises InputError for two shots of one direction."""
    if first.axis == other.axis:
        raise InputError(
            f"both photographs show the card {first.axis}; turn it by a quarter for the second one"
        )
    across, down = (first, other) if first.axis == "across" else (other, first)
    return across.scale, down.scale


def scale_text(across: float, down: float) -> str:
    """The two scales as sentences, with what to do about them."""
    shown = " and ".join(
        f"{100 * scale:.1f} % {axis}" for scale, axis in ((across, "across"), (down, "down"))
    )
    text = f"The page came out at {shown} (± {100 * UNCERTAIN:.1f})."
    if max(abs(across - 1), abs(down - 1)) >= REFUSED_FROM:
        return (
            f"{text} That is off by {100 * REFUSED_FROM:g} % or more: do not use overlays of this "
            f"print. Check that it was printed at 100 %; for a correction measure the bars with a "
            f"rule."
        )
    return f"{text} No sign of a wrong scale. For a correction measure the bars with a rule."


def _unlike_paper(flat: Flat) -> Floats:
    """How unlike the paper's light each pixel is, by the channel that differs most.

    The paper's light is a curved surface through the square's border, where no card lies.
    """
    grid = flat.grid
    x = (grid.left_mm + PITCH_MM * np.arange(grid.shape[1]))[None, :] / 60.0
    y = (grid.top_mm - PITCH_MM * np.arange(grid.shape[0]))[:, None] / 60.0
    x, y = (np.broadcast_to(axis, grid.shape) for axis in (x, y))
    border = (np.maximum(np.abs(x), np.abs(y)) > 0.83) & (np.maximum(np.abs(x), np.abs(y)) < 0.97)
    border[::2] = False
    terms = _terms(x[border], y[border])
    unlike = np.zeros(grid.shape, np.float32)
    every = _terms(x.ravel(), y.ravel())
    for channel in range(3):
        values = flat.light[..., channel][border]
        keep = np.ones(len(values), bool)
        for _ in range(3):
            surface = np.linalg.lstsq(terms[keep], values[keep], rcond=None)[0]
            off = values - terms @ surface
            keep = np.abs(off) < max(2.5 * float(np.median(np.abs(off))), 0.003)
        paper = np.maximum(every @ surface, 1e-3).reshape(grid.shape)
        unlike = np.maximum(unlike, np.abs(1 - flat.light[..., channel] / paper))
    return unlike


def _terms(x: Array, y: Array) -> Array:
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def _card(unlike: Floats, flat: Flat) -> tuple[Array, Array]:
    """The card's middle, mm, and the direction of its long side."""
    from scipy import ndimage

    mask = ndimage.gaussian_filter(unlike, 1.0) > _DARKER
    # The page's own lines are thin.
    mask = ndimage.binary_opening(mask, np.ones((9, 9)))
    mask = ndimage.binary_fill_holes(mask)
    labels, count = ndimage.label(mask)
    areas = np.bincount(labels.ravel(), minlength=count + 1)[1:] * PITCH_MM**2
    wanted = CARD_MM[0] * CARD_MM[1]
    low, high = (share * wanted for share in _AREA_SHARE)
    fitting = [number for number, area in enumerate(areas, start=1) if low <= area <= high]
    if len(fitting) != 1:
        raise RefusedError(
            "no-card",
            "no card is seen inside the square; lay a dark bank card in it, with white all round",
        )
    rows, columns = np.nonzero(labels == fitting[0])
    points = _points(flat, columns, rows)
    middle = points.mean(axis=0)
    _, axes = np.linalg.eigh(np.cov((points - middle).T))
    return middle, axes[:, 1]


def _points(flat: Flat, columns: NDArray[np.int64], rows: NDArray[np.int64]) -> Array:
    x = flat.grid.left_mm + PITCH_MM * columns
    y = flat.grid.top_mm - PITCH_MM * rows
    return np.stack([x, y], axis=1)


def _edge(unlike: Floats, flat: Flat, middle: Array, way: Array) -> float:
    """How far the card's short edge is from its middle, mm: where it is half as unlike paper as
    just inside."""
    from scipy.ndimage import map_coordinates

    side = np.array([-way[1], way[0]])
    along = np.arange(CARD_MM[0] / 2 - 6.0, CARD_MM[0] / 2 + 5.0, 0.05)
    points = middle + along[None, :, None] * way + _PROFILES_MM[:, None, None] * side
    rows = (flat.grid.top_mm - points[..., 1]) / PITCH_MM
    columns = (points[..., 0] - flat.grid.left_mm) / PITCH_MM
    seen = map_coordinates(unlike, (rows, columns), order=1, mode="nearest")
    inside = np.median(seen[:, along < CARD_MM[0] / 2 - 2.5], axis=1)
    outside = np.median(seen[:, along > CARD_MM[0] / 2 + 3.0], axis=1)
    half = (inside + outside) / 2
    last = np.where(seen > half[:, None], np.arange(len(along))[None, :], -1).max(axis=1)
    good = (inside - outside > _DARKER) & (last > 0) & (last < len(along) - 1)
    if good.sum() < len(_PROFILES_MM) / 2:
        raise RefusedError(
            "no-card", "the card's edge is too like the paper; take a darker card, and no shadow"
        )
    return float(np.median(along[last[good]]) + 0.025)
