"""What is dark on white paper: drawn ink, as sharp as strokes are, and the page's printed code."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sheetmark.checking.exercise import Rectangle
from sheetmark.checking.flat import PITCH_MM, Flat
from sheetmark.checking.photo import Floats
from sheetmark.practice.settings import Sheet
from sheetmark.typesetting.bullseyes import CODE_CELL_MM, CODE_CELLS, CODE_LEFT_MM, read_cells

# All by trials on made photographs.
_BLOCK = 16
_SHARP_MM, _NOISE = 0.15, 0.02
_EDGE_MM = 2.5  # the sheet's printed outline and its corners


def darkness(
    flat: Flat, tone: Floats, sheet: Sheet, ignore_mm: Sequence[Rectangle], blur_mm: float
) -> Floats:
    """How dark each pixel is, 0 as paper to 1 black, as sharp as if the photograph's blur were not
    `blur_mm`; 0 outside the sheet's place and where the page itself has ink."""
    dark = _as_sharp(1 - tone, blur_mm)
    return np.asarray(np.where(_looked_at(flat, sheet, ignore_mm), dark, 0.0))


def tone_of(flat: Flat) -> Floats:
    """Light over that of the paper round it: the darkest channel, so that any pen is seen."""
    from scipy import ndimage

    light = flat.light
    rows, columns = light.shape[0] // _BLOCK, light.shape[1] // _BLOCK
    blocks = light[: rows * _BLOCK, : columns * _BLOCK].reshape(rows, _BLOCK, columns, _BLOCK, 3)
    paper = np.quantile(blocks.swapaxes(1, 2).reshape(rows, columns, -1, 3), 0.8, axis=2)
    paper = ndimage.median_filter(paper, (5, 5, 1), mode="nearest")
    zoom = (light.shape[0] / rows, light.shape[1] / columns, 1)
    wide = ndimage.zoom(paper, zoom, order=1, mode="nearest", grid_mode=True)
    return np.asarray((light / np.maximum(wide, 1e-3)).min(axis=2))


def _as_sharp(dark: Floats, blur_mm: float) -> Floats:
    """The picture with a blur of _SHARP_MM in place of its own, so that strokes are as wide as
    drawn and do not run together. Wiener's filter: what the blur took away whole stays away."""
    from scipy.fft import fftfreq, irfft2, next_fast_len, rfft2, rfftfreq

    wide = [(_BLOCK, next_fast_len(n + 2 * _BLOCK, real=True) - n - _BLOCK) for n in dark.shape]
    padded = np.pad(dark, wide, mode="reflect")
    down, across = fftfreq(padded.shape[0], PITCH_MM), rfftfreq(padded.shape[1], PITCH_MM)
    waves = -2 * np.pi**2 * (down[:, None] ** 2 + across[None, :] ** 2)
    own, wanted = (np.exp(waves * spread**2) for spread in (blur_mm, _SHARP_MM))
    gain = wanted * own * (1 + _NOISE) / (own**2 + _NOISE)
    back = irfft2(rfft2(padded) * gain.astype(np.float32), s=padded.shape)
    rows, columns = dark.shape
    return np.asarray(back[_BLOCK : _BLOCK + rows, _BLOCK : _BLOCK + columns])


def _looked_at(flat: Flat, sheet: Sheet, ignore_mm: Sequence[Rectangle]) -> NDArray[np.bool_]:
    grid = flat.grid
    x = grid.left_mm + PITCH_MM * np.arange(grid.shape[1])[None, :]
    y = grid.top_mm - PITCH_MM * np.arange(grid.shape[0])[:, None]
    seen = (np.abs(x) < sheet.width_mm / 2 - _EDGE_MM) & (
        np.abs(y) < sheet.height_mm / 2 - _EDGE_MM
    )
    for left, low, right, high in ignore_mm:
        seen &= ~((x >= left) & (x <= right) & (y >= low) & (y <= high))
    return np.asarray(seen)


def read_code(flat: Flat, tone: Floats, sheet: Sheet, gap_mm: float) -> int | None:
    """The number of the code below the sheet's place; None where none can be read."""
    y = -(sheet.height_mm / 2 + gap_mm)
    quarter = CODE_CELL_MM / 4
    rows = slice(round(flat.grid.row(y + quarter)), round(flat.grid.row(y - quarter)) + 1)
    cells = []
    for place in range(CODE_CELLS):
        x = CODE_LEFT_MM + (place + 0.5) * CODE_CELL_MM
        columns = slice(
            round(flat.grid.column(x - quarter)), round(flat.grid.column(x + quarter)) + 1
        )
        cells.append(bool(np.median(tone[rows, columns]) < 0.5))
    return read_cells(tuple(cells))
