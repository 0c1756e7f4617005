"""The row of crowns unrolled: a smooth curve along the arch, and heights on a band along it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.fitting.scan.frame import crown_mask
from sheetmark.fitting.scan.height_map import EMPTY, HeightMap
from sheetmark.fitting.scan.mesh import Floats, Mask

STEP_MM = 0.25  # along the curve and across it
HALF_WIDTH_MM = 9.0  # half a molar, and a crowded tooth's displacement (assumption)
LOOSE_END_MM, RUN_MM = 6.0, 10.0  # each end: replaced by a straight line, as this run before it
END_MM = 4.0  # the band goes on beyond the last crowns
LOWEST_CROWN_MM = 2.0  # how much lower than the row a group of crowns may end (assumption)
TOP_MM = 4.0  # how much of the crowns' height is looked at (assumption)


class Band(Struct, frozen=True):
    """`curve`: (n, 2) points of the view, mm, STEP_MM apart, from small x over the front to large.

    `normals`: (n, 2) outwards. `across_mm`: (k,) distances outwards from the curve.
    `heights_mm`: (n, k) over the occlusal plane, EMPTY where the scan has nothing.
    `tops_mm`: (n,) a smooth line through the crowns' tops.
    """

    curve: Floats
    normals: Floats
    across_mm: Floats
    heights_mm: Floats
    tops_mm: Floats

    @property
    def upper_part_mm(self) -> Floats:
        """(n, k) height over the level TOP_MM under the crowns' tops, 0 below it."""
        return np.maximum(self.heights_mm - self.tops_mm[:, None] + TOP_MM, 0.0)

    def point(self, along: Floats, across_mm: Floats) -> Floats:
        """(m, 2) points of the view at fractional steps along and mm across."""
        steps = np.arange(len(self.curve), dtype=np.float64)
        columns = [
            np.interp(along, steps, self.curve[:, k])
            + across_mm * np.interp(along, steps, self.normals[:, k])
            for k in range(2)
        ]
        return np.column_stack(columns)


def unroll(seen: HeightMap) -> Band:
    """The band along the crowns of one jaw, from its view.

    Raises InputError when the crowns make no row that can be followed.
    """
    mask = crown_mask(seen)
    points = seen.point_of(np.argwhere(mask).astype(np.float64))
    curve: Floats = _first_curve(points)
    for _ in range(4):
        curve, normals = _even_steps(curve)
        heights = _sample(seen, curve, normals)
        inside = (heights > -5.0) & (np.abs(_across()) <= 7.0)
        curve = _longer(curve + (_middle_line(inside)[:, None] * normals), 0.0)
    curve, normals = _even_steps(_longer(curve, END_MM))
    heights = _sample(seen, curve, normals)
    return Band(curve, normals, _across(), heights, _tops(heights))


def _across() -> Floats:
    count = round(HALF_WIDTH_MM / STEP_MM)
    return np.asarray(np.arange(-count, count + 1) * STEP_MM, dtype=np.float64)


def _first_curve(points: Floats) -> Floats:
    """Middle radius by direction, smoothed, about a point between the molars."""
    low, high = points[:, 1].min(), points[:, 1].max()
    centre = np.array([0.0, low + 0.3 * (high - low)])
    away = points - centre
    angles = np.arctan2(away[:, 0], away[:, 1])
    radii = np.hypot(away[:, 0], away[:, 1])
    edges = np.radians(np.arange(-178.0, 179.0, 4.0))
    found = []
    for start, end in pairwise(edges):
        inside = radii[(angles >= start) & (angles < end)]
        if len(inside) > 20:
            found.append(((start + end) / 2, (inside.min() + inside.max()) / 2, len(inside)))
    directions, middles, counts = np.array(found).T
    if len(found) < 20:
        raise InputError(
            f"scan: crowns in {4 * len(found)}° of the arch, at least 80° are needed; "
            "scan the whole jaw"
        )
    terms = 4
    orders = np.arange(1, terms + 1)

    def design(theta: Floats) -> Floats:
        return np.column_stack(
            [np.ones_like(theta), np.cos(np.outer(theta, orders)), np.sin(np.outer(theta, orders))]
        )

    weights = np.minimum(counts, np.median(counts)) ** 0.5
    matrix = design(directions) * weights[:, None]
    ridge = np.diag(np.r_[0.0, orders**2.0, orders**2.0]) * 0.03 * weights.mean()
    target = np.r_[middles * weights, np.zeros(len(ridge))]
    series = np.linalg.lstsq(np.vstack([matrix, ridge]), target)[0]
    theta = np.linspace(directions[0], directions[-1], 400)
    radius = np.clip(design(theta) @ series, 5.0, None)
    circle = np.column_stack([np.sin(theta), np.cos(theta)])
    return np.asarray(centre + radius[:, None] * circle, dtype=np.float64)


def _even_steps(curve: Floats) -> tuple[Floats, Floats]:
    """The curve in even steps, and its normals, outwards."""
    lengths = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(curve, axis=0), axis=1))]
    steps = np.arange(0.0, lengths[-1], STEP_MM)
    even = np.column_stack([np.interp(steps, lengths, curve[:, k]) for k in range(2)])
    along = np.gradient(_smooth(even, 2.0), axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    return even, np.column_stack([-along[:, 1], along[:, 0]])


def _smooth(values: Floats, sd_mm: float) -> Floats:
    """Gaussian along the first axis; ends go on in their direction, so that nothing shrinks."""
    from scipy.ndimage import gaussian_filter1d

    size = min(len(values) - 1, int(4 * sd_mm / STEP_MM))
    head = 2 * values[0] - values[size:0:-1]
    tail = 2 * values[-1] - values[-2 : -size - 2 : -1]
    long = np.concatenate([head, values, tail])
    smooth = gaussian_filter1d(long, sd_mm / STEP_MM, axis=0)
    return np.asarray(smooth[size : size + len(values)])


def _sample(seen: HeightMap, curve: Floats, normals: Floats) -> Floats:
    across = _across()
    points = curve[:, None, :] + across[None, :, None] * normals[:, None, :]
    pixels = np.rint(seen.pixel_of(points.reshape(-1, 2))).astype(np.int64)
    rows, columns = seen.heights_mm.shape
    inside = ((pixels >= 0) & (pixels < [rows, columns])).all(axis=1)
    heights = np.full(len(pixels), EMPTY)
    heights[inside] = seen.heights_mm[pixels[inside, 0], pixels[inside, 1]]
    return heights.reshape(len(curve), len(across))


def _middle_line(inside: Mask) -> Floats:
    """(n,) smoothed distance from the curve to the middle of the crowns, mm."""
    weight = inside.sum(axis=1).astype(np.float64)
    first = (inside * _across()).sum(axis=1)
    share = _smooth(weight, 5.0)
    return np.where(share > 1.0, _smooth(first, 5.0) / np.maximum(share, 1.0), 0.0)


def _longer(curve: Floats, by_mm: float) -> Floats:
    """The curve with straight ends, `by_mm` longer at each: the last crown alone bends no row."""
    cut, run = round(LOOSE_END_MM / STEP_MM), round(RUN_MM / STEP_MM)
    ends = []
    for end, inner in ((curve[cut], curve[cut + run]), (curve[-1 - cut], curve[-1 - cut - run])):
        direction = (end - inner) / np.linalg.norm(end - inner)
        reach = np.arange(STEP_MM, LOOSE_END_MM + by_mm + STEP_MM / 2, STEP_MM)
        ends.append(end + reach[:, None] * direction)
    return np.vstack([ends[0][::-1], curve[cut : -cut - 1], ends[1]])


def _tops(heights: Floats) -> Floats:
    from scipy.ndimage import percentile_filter

    highest = np.clip(heights.max(axis=1), -8.0, None)
    near, far = (
        np.asarray(percentile_filter(highest, 80, size=round(window / STEP_MM)))
        for window in (10.0, 40.0)
    )
    # In a long gap the gum is the highest there is: it is not the crowns' top.
    return _smooth(np.maximum(near, far - LOWEST_CROWN_MM), 3.0)
