"""Mouths drawn from the mean arches of real ones, and not from sheetmark's own spread.

Their mean is no model's, other causes move their teeth, and their teeth are a little larger than
the tables have them. Arch axes, mm: x to the patient's left, y backwards; teeth 7 to 1 of the
right, then 1 to 7 of the left. How large the causes are is an assumption, chosen so that an average
overlay is about as far off as on real mouths.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.chords import ArchPoint
from sheetmark.anatomy.gum_line import gum_line
from sheetmark.anatomy.teeth import Jaw
from tests.helpers.mean_arches import DATA, sample

Array = NDArray[np.float64]

ALONG = (*range(-7, 0), *range(1, 8))
_SIDE = np.sign(np.array(ALONG, float))[:, None]
# SDs of the widths across: of the landmarks' sample (P), places 1 and 2 an assumption.
_ACROSS = {
    "upper": (0.5, 1.3, 1.92, 2.04, 3.01, 2.36, 3.15),
    "lower": (0.35, 1.2, 2.11, 2.13, 2.99, 2.77, 3.28),
}
_NEIGHBOURS = 0.85
# mm: each tooth along each axis, a link, the front's lean, one side ahead, a point.
_OWN, _LINK, _LEAN, _AHEAD, _POINT = 0.25, 0.4, 1.5, 0.9, 0.3
_TEETH, _PAIR, _LARGER = 0.5, 0.8, 1.03
_TURNED_DEG = 6.0


class Mouths(Struct, frozen=True):
    """Many mouths of one jaw: a mouth, a tooth, and for points x and y."""

    centres: Array
    """Gum-line centres."""
    widths: Array
    """Mesiodistal widths."""
    contacts: Array
    """Contact middles."""
    mesial: Array
    """Mesial contact points."""
    distal: Array
    """Distal contact points."""

    def __len__(self) -> int:
        return len(self.centres)


def draw(jaw: Jaw, count: int, seed: int) -> Mouths:
    """That many mouths, always the same for a seed."""
    dice = np.random.default_rng(seed)
    centres, size = _centres(jaw, count, dice)
    widths = _widths(jaw, size, dice)
    facial = _facial(jaw)
    rows = np.array(DATA["lingual"][jaw])
    mean, sd = (np.concatenate([rows[::-1, n], rows[:, n]]) for n in (0, 1))
    common, own = dice.standard_normal((count, 1)), dice.standard_normal((count, 14))
    offset = mean + sd * (common + own) * np.sqrt(0.5)
    contacts = centres + offset[..., None] * facial
    angle = np.radians(_TURNED_DEG) * dice.standard_normal((count, 14))
    c, s = np.cos(angle), np.sin(angle)
    turned = np.stack(
        [c * facial[:, 0] - s * facial[:, 1], s * facial[:, 0] + c * facial[:, 1]], -1
    )
    distal = np.stack([-turned[..., 1], turned[..., 0]], -1) * _SIDE * widths[..., None] / 2
    return Mouths(centres, widths, contacts, contacts - distal, contacts + distal)


def worst(holes: Array, teeth: Array) -> Array:
    """The largest distance from a hole to its tooth, the sheet moved and turned as best it fits;
    holes and teeth have a mouth, a tooth, and x and y."""
    h, t = (points[..., 0] + 1j * points[..., 1] for points in (holes, teeth))
    h, t = h - h.mean(-1, keepdims=True), t - t.mean(-1, keepdims=True)
    turn = (h.conj() * t).sum(-1, keepdims=True)
    off: Array = np.abs(t - h * turn / np.abs(turn)).max(-1)
    return off


def _centres(jaw: Jaw, count: int, dice: np.random.Generator) -> tuple[Array, Array]:
    """Gum-line centres, and the size of each mouth's teeth in SDs."""
    mean, places = np.array(sample("gum-line", jaw)), np.arange(7)
    half = np.array(_ACROSS[jaw]) / 2
    spread = np.sqrt(np.maximum(half**2 - _OWN**2 / 2, 0.05))
    root = np.linalg.cholesky(_NEIGHBOURS ** np.abs(places[:, None] - places))
    out = dice.standard_normal((count, 7)) @ root.T * spread
    size = dice.standard_normal((count, 1))
    link = _LINK * (np.sqrt(0.7) * size + np.sqrt(0.3) * dice.standard_normal((count, 6)))
    back = np.concatenate([np.zeros((count, 1)), np.cumsum(link, axis=1)], axis=1)
    # A wider front is flatter.
    back -= 0.3 * out[:, 2:3] * np.array([0, 0.4, 1, 1, 1, 1, 1])
    back += _LEAN * dice.standard_normal((count, 1)) * np.array([0, 0.25, 0.7, 1, 1, 1, 1])
    ahead = _AHEAD * 0.8 * dice.standard_normal((count, 1)) * mean[:, 1] / mean[-1, 1]
    sides = []
    for sign in (-1, 1):
        own = _OWN * dice.standard_normal((count, 7, 2))
        x, y = sign * (mean[:, 0] + out), mean[:, 1] + back + sign * ahead
        points = np.stack([x, y], axis=-1) + own
        sides.append(points[:, ::-1] if sign < 0 else points)
    return np.concatenate(sides, axis=1), size


def _widths(jaw: Jaw, size: Array, dice: np.random.Generator) -> Array:
    model, count = load_model("adult-mean"), len(size)
    rows = [model.width(jaw, str(place))[0] for place in range(1, 8)]
    mean = _LARGER * np.array([row.mm for row in rows])
    sd = np.array([row.sd_mm for row in rows], float)
    pair = np.sqrt(_PAIR - _TEETH) * dice.standard_normal((count, 7))
    sides = [
        mean
        + sd
        * (np.sqrt(_TEETH) * size + pair + np.sqrt(1 - _PAIR) * dice.standard_normal((count, 7)))
        for _ in range(2)
    ]
    return np.concatenate([sides[0][:, ::-1], sides[1]], axis=1)


def _facial(jaw: Jaw) -> Array:
    """Out of the mouth at each tooth of the mean arch."""
    slopes = np.array(gum_line([ArchPoint(x, y) for x, y in sample("gum-line", jaw)]).slopes)
    half = np.stack([slopes, -np.ones(7)], axis=1) / np.hypot(1, slopes)[:, None]
    facial: Array = np.concatenate([half[::-1] * [-1, 1], half])
    return facial
