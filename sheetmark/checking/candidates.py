"""Shapes of a photograph that look like bullseyes: a round black ring, with a dot in it or open.

Found by a threshold below the white round them, connected areas, and their moments.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.checking.photo import Floats
from sheetmark.typesetting.bullseyes import BullseyeKind

# All by trials on made photographs.
_SEARCH_SIDE = 1700
_WHITE_WINDOW = 1 / 14  # of the longer side: wider than any bullseye
_BLACK_BELOW = 0.42  # of the white round it, in light
_LEAST_PX = 11
_MOST_SHARE = 0.09  # of the longer side
_ROUND = (0.93, 1.06)
_CENTRED = 0.1
_HOLE_SHARES: dict[BullseyeKind, tuple[float, float]] = {
    "dotted": (0.22, 0.68),
    "open": (0.05, 0.4),
}
_DOT_SHARE = (0.25, 0.55)  # of the ring's diameter; 3 of 8 as printed


class Candidate(Struct, frozen=True):
    """Middle and diameter in pixels of the photograph."""

    x: float
    y: float
    diameter: float
    kind: BullseyeKind


def find_candidates(light: Floats) -> list[Candidate]:
    """What looks like a bullseye in a picture's light."""
    from scipy import ndimage

    step = max(1, -(-max(light.shape) // _SEARCH_SIDE))
    small = _reduced(light, step)
    black = small < _BLACK_BELOW * _white(small)
    labels, count = ndimage.label(black, np.ones((3, 3)))
    if not count:
        return []
    most = _MOST_SHARE * max(small.shape)
    found = []
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        h, w = box[0].stop - box[0].start, box[1].stop - box[1].start
        if not (min(h, w) >= _LEAST_PX and max(h, w) <= most and max(h, w) < 2.2 * min(h, w)):
            continue
        own = labels[box] == number
        shape = _shape(own, labels[box] != 0)
        if shape:
            x, y, diameter, kind = shape
            at = ((x + box[1].start + 0.5) * step - 0.5, (y + box[0].start + 0.5) * step - 0.5)
            found.append(Candidate(*at, diameter * step, kind))
    return found


def _reduced(light: Floats, step: int) -> Floats:
    if step == 1:
        return light
    h, w = light.shape[0] // step * step, light.shape[1] // step * step
    parts = light[:h, :w].reshape(h // step, step, w // step, step)
    return np.asarray(parts.mean((1, 3)), np.float32)


def _white(light: Floats) -> Floats:
    """The brightest light near each pixel, from blocks of pixels."""
    from scipy import ndimage

    block = max(2, round(max(light.shape) * _WHITE_WINDOW / 8))
    rows, columns = -(-light.shape[0] // block), -(-light.shape[1] // block)
    padded = np.pad(
        light,
        ((0, rows * block - light.shape[0]), (0, columns * block - light.shape[1])),
        mode="edge",
    )
    # The mean of a block's brighter half is calmer than its brightest pixel.
    blocks = np.partition(
        padded.reshape(rows, block, columns, block).swapaxes(1, 2).reshape(rows, columns, -1),
        -block,
        axis=-1,
    )[..., -block:].mean(-1)
    near = ndimage.gaussian_filter(ndimage.maximum_filter(blocks, 7), 1.0)
    wide = np.repeat(np.repeat(near, block, axis=0), block, axis=1)
    return np.asarray(wide[: light.shape[0], : light.shape[1]], np.float32)


def _shape(
    own: NDArray[np.bool_], black: NDArray[np.bool_]
) -> tuple[float, float, float, BullseyeKind] | None:
    """Middle and diameter in the box's pixels and kind, where a black area is a bullseye's ring."""
    from scipy import ndimage

    filled = ndimage.binary_fill_holes(own)
    area, whole = int(own.sum()), int(filled.sum())
    rows, columns = np.nonzero(filled)
    x, y = columns.mean(), rows.mean()
    spread = np.cov(np.stack([columns, rows])) + np.eye(2) / 12
    ellipse = 4 * np.pi * float(np.linalg.det(spread)) ** 0.5
    diameter = 2 * (whole / np.pi) ** 0.5
    if not _ROUND[0] <= whole / ellipse <= _ROUND[1] or whole == area:
        return None
    hole_rows, hole_columns = np.nonzero(filled & ~own)
    off = np.hypot(hole_columns.mean() - x, hole_rows.mean() - y)
    if off > _CENTRED * diameter:
        return None
    dot = filled & black & ~own
    dot_size = 2 * (int(dot.sum()) / np.pi) ** 0.5 / diameter
    kind: BullseyeKind = "dotted" if dot_size > _DOT_SHARE[0] / 2 else "open"
    if kind == "dotted":
        dot_rows, dot_columns = np.nonzero(dot)
        dot_off = np.hypot(dot_columns.mean() - x, dot_rows.mean() - y)
        if dot_off > _CENTRED * diameter or dot_size > _DOT_SHARE[1]:
            return None
    low, high = _HOLE_SHARES[kind]
    if not low <= 1 - area / whole <= high:
        return None
    return float(x), float(y), float(diameter), kind
