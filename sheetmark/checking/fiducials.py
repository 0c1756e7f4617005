"""The page's bullseyes in a photograph: which is which, their exact middles, and the camera."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from sheetmark.checking.camera import Array, Camera, fit_camera, four_point, to_units
from sheetmark.checking.candidates import Candidate
from sheetmark.checking.layout import Fiducial, Layout
from sheetmark.checking.photo import Floats
from sheetmark.typesetting.bullseyes import BLACK_BANDS_MM, BULLSEYE_CLEAR_MM, BULLSEYE_MM

LEAST_MARKS = 6  # of ten (ours)
# How far off a bullseye may be where four others put it, of its diameter: the lens
# bends (ours).
_NEAR = 0.6
_OUTER_MM = BULLSEYE_MM / 2
_MASK_MM = _OUTER_MM + BULLSEYE_CLEAR_MM - 0.4
_ROUND_POINTS = np.exp(2j * np.pi * np.arange(32) / 32)


class Registration(Struct, frozen=True):
    """The camera, and for each bullseye used its place and how far off the fit leaves it, mm."""

    camera: Camera
    fiducials: tuple[Fiducial, ...]
    off_mm: tuple[float, ...]
    pixels: tuple[tuple[float, float], ...]
    """The measured middles, pixels."""
    blur_mm: float
    """Spread of the picture's blur as measured at the bullseyes' rims, mm."""

    @property
    def rms_mm(self) -> float:
        """The root of the mean square of what the fit leaves, mm."""
        return float(np.sqrt(np.mean(np.square(self.off_mm))))


class Match(Struct, frozen=True):
    """Bullseyes of a layout and the candidates that stand for them; whether it is mirrored."""

    pairs: tuple[tuple[Fiducial, Candidate], ...]
    homography: Array
    mirrored: bool


def identify(
    candidates: Sequence[Candidate],
    layout: Layout,
    middle: tuple[float, float],
    half_diagonal: float,
) -> Match | None:
    """The way to lay the layout on the candidates that meets most of them; None below four.

    The two open bullseyes and two dotted ones give a homography; the one that most bullseyes
    agree with wins.
    """
    opens = [c for c in candidates if c.kind == "open"]
    dotted = [c for c in candidates if c.kind == "dotted"]
    own_open = [f for f in layout.fiducials if f.kind == "open"]
    own_dotted = [f for f in layout.fiducials if f.kind == "dotted"]
    opens = _largest(opens, 6)
    dotted = _largest(dotted, 14)
    if len(opens) < 2 or len(dotted) < 2:
        return None
    # Two dotted ones far apart in the layout, so that the homography is well held.
    picked = [
        (a, b)
        for a, b in permutations(own_dotted, 2)
        if a.at < b.at and _apart(a, b) > 0.6 * layout.sheet.width_mm
    ]
    plane = to_units(np.array([[f.at for f in (*own_open, a, b)] for a, b in picked]))
    seen = np.array(
        [
            [((c.x - middle[0]) / half_diagonal, (c.y - middle[1]) / half_diagonal) for c in four]
            for four in (
                (*two, *others)
                for two in permutations(opens, 2)
                for others in permutations(dotted, 2)
            )
        ]
    )
    every = four_point(np.repeat(plane, len(seen), axis=0), np.tile(seen, (len(plane), 1, 1)))
    places = to_units(np.array([f.at for f in layout.fiducials]))
    kinds = np.array([f.kind == "open" for f in layout.fiducials])
    at = np.array(
        [
            ((c.x - middle[0]) / half_diagonal, (c.y - middle[1]) / half_diagonal)
            for c in (*opens, *dotted)
        ]
    )
    size = np.array([c.diameter / half_diagonal for c in (*opens, *dotted)])
    is_open = np.array([True] * len(opens) + [False] * len(dotted))
    best = _best(every, places, kinds, at, size, is_open)
    if best is None:
        return None
    homography, chosen = best
    all_found = (*opens, *dotted)
    pairs = tuple(
        (fiducial, all_found[index])
        for fiducial, index in zip(layout.fiducials, chosen, strict=True)
        if index >= 0
    )
    camera = Camera(homography, 0.0, middle, half_diagonal)
    return Match(pairs, homography, camera.jacobian_sign_and_area((0.0, 0.0)) > 0)


def _largest(found: list[Candidate], most: int) -> list[Candidate]:
    return sorted(found, key=lambda c: -c.diameter)[:most]


def _apart(a: Fiducial, b: Fiducial) -> float:
    return float(np.hypot(a.at.x - b.at.x, a.at.y - b.at.y))


def _best(
    every: Array,
    places: Array,
    kinds: NDArray[np.bool_],
    at: Array,
    size: Array,
    is_open: NDArray[np.bool_],
) -> tuple[Array, NDArray[np.int64]] | None:
    """The homography that most candidates agree with, and the candidate of each place or -1."""
    ones = np.ones((len(places), 1))
    best: tuple[float, Array, NDArray[np.int64]] | None = None
    for start in range(0, len(every), 2000):
        part = every[start : start + 2000]
        mapped = np.einsum("nij,pj->npi", part, np.concatenate([places, ones], axis=1))
        depth = mapped[..., 2]
        in_front = (depth > 0.05 * np.abs(depth).max(axis=1, keepdims=True)).all(axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            where = mapped[..., :2] / depth[..., None]
        off = np.linalg.norm(where[:, :, None, :] - at[None, None], axis=-1) / size
        off[:, kinds[:, None] != is_open[None, :]] = np.inf
        nearest = off.min(axis=2)
        # Each place and each candidate counts once.
        score = np.minimum(_agreement(nearest), _agreement(off.min(axis=1)))
        score[~in_front] = 0.0
        top = int(np.argmax(score))
        if best is None or score[top] > best[0]:
            best = (float(score[top]), part[top], _chosen(off[top]))
    if best is None or (best[2] >= 0).sum() < 4:
        return None
    return best[1], best[2]


def _agreement(nearest: Array) -> Array:
    """Of each row of distances: how many are near, the nearer the better."""
    return np.asarray(np.where(nearest < _NEAR, 1.0 - 0.5 * nearest / _NEAR, 0.0).sum(axis=1))


def _chosen(off: Array) -> NDArray[np.int64]:
    """For each place its candidate, each one once, or -1."""
    from scipy.optimize import linear_sum_assignment

    chosen = np.full(len(off), -1)
    rows, columns = linear_sum_assignment(np.minimum(off, 10.0 * _NEAR))
    near = off[rows, columns] < _NEAR
    chosen[rows[near]] = columns[near]
    return chosen


def register(
    light: Floats, match: Match, middle: tuple[float, float], half_diagonal: float
) -> Registration:
    """Exact middles of the matched bullseyes, and the camera that fits them.

    A middle is the centre of gravity of the black, compared with where the camera so far sees
    that of a printed bullseye: a circle's middle is not the middle of its picture.
    """
    fiducials = [fiducial for fiducial, _ in match.pairs]
    plane = np.array([f.at for f in fiducials])
    seen = np.array([(c.x, c.y) for _, c in match.pairs])
    camera = fit_camera(plane, seen, match.homography, middle, half_diagonal)
    blur: list[float] = []
    for _ in range(2):
        blur = []
        for number, fiducial in enumerate(fiducials):
            measured = _centre_of_black(light, camera, fiducial)
            if measured is not None:
                seen[number] = measured[0]
                blur.append(measured[1])
        camera = fit_camera(plane, seen, camera.homography, middle, half_diagonal)
    residual = np.linalg.norm(camera.to_picture(plane) - seen, axis=1)
    scale = [camera.pixels_per_mm(f.at) for f in fiducials]
    off = tuple(float(r / s) for r, s in zip(residual, scale, strict=True))
    pixels = tuple((float(x), float(y)) for x, y in seen)
    return Registration(
        camera, tuple(fiducials), off, pixels, float(np.median(blur)) if blur else 0.0
    )


def _centre_of_black(
    light: Floats, camera: Camera, fiducial: Fiducial
) -> tuple[Array, float] | None:
    """Where the bullseye's middle is in the picture, and the blur of its rim in mm."""
    ring = _circle(camera, fiducial, _MASK_MM)
    low = np.floor(ring.min(axis=0)).astype(int) - 1
    high = np.ceil(ring.max(axis=0)).astype(int) + 2
    if (low < 0).any() or high[0] > light.shape[1] or high[1] > light.shape[0]:
        return None
    patch = light[low[1] : high[1], low[0] : high[0]].astype(np.float64)
    rows, columns = np.mgrid[low[1] : high[1], low[0] : high[0]]
    points = np.stack([columns.ravel(), rows.ravel()], axis=1).astype(np.float64)
    local = (points - ring.mean(axis=0)) @ _to_plane(camera, fiducial)
    radius = np.hypot(local[:, 0], local[:, 1])
    values = patch.ravel()
    rim = (radius > _OUTER_MM + 0.35) & (radius < _MASK_MM + 0.2)
    inside = radius < _MASK_MM
    if rim.sum() < 12:
        return None
    terms = np.column_stack([np.ones(len(points)), local])
    white = terms @ np.linalg.lstsq(terms[rim], values[rim], rcond=None)[0]
    ratio = values / np.maximum(white, 1e-4)
    ink = np.percentile(ratio[inside], 8)
    black = np.clip((1 - ratio) / max(1 - ink, 0.05), -0.2, 1.2)
    black[~inside] = 0.0
    total = black.sum()
    if total <= 0:
        return None
    gravity = (points * black[:, None]).sum(axis=0) / total
    middle = camera.to_picture(np.array([fiducial.at]))[0]
    expected = _expected_gravity(camera, fiducial)
    return gravity - (expected - middle), _rim_blur(black, radius)


def _rim_blur(black: Array, radius: Array) -> float:
    """The spread of the outer rim, mm: from 0.8 down to 0.2 a Gaussian edge takes 1.683 spreads."""
    steps = np.arange(_OUTER_MM - 0.6, _OUTER_MM + 0.8, 0.1)
    which = np.digitize(radius, steps)
    means = np.array(
        [black[which == i].mean() if (which == i).any() else np.nan for i in range(1, len(steps))]
    )
    at = (steps[1:] + steps[:-1]) / 2
    known = ~np.isnan(means)
    if known.sum() < 4:
        return 0.0
    means, at = np.minimum.accumulate(means[known]), at[known]
    crossings = np.interp([-0.8, -0.2], -means, at)
    return float(crossings[1] - crossings[0]) / 1.683


def _circle(camera: Camera, fiducial: Fiducial, radius: float) -> Array:
    around = radius * _ROUND_POINTS
    return camera.to_picture(
        np.stack([fiducial.at.x + around.real, fiducial.at.y + around.imag], axis=1)
    )


def _to_plane(camera: Camera, fiducial: Fiducial) -> Array:
    """The linear map from picture to plane offsets near a bullseye, for row vectors."""
    x, y = fiducial.at
    a, b, c = camera.to_picture(np.array([[x, y], [x + 1, y], [x, y + 1]]))
    return np.linalg.inv(np.stack([b - a, c - a]))


def _expected_gravity(camera: Camera, fiducial: Fiducial) -> Array:
    """Where the picture of a printed bullseye has its centre of gravity."""
    total, moment = 0.0, np.zeros(2)
    for bounds in BLACK_BANDS_MM[fiducial.kind]:
        for radius, sign in zip(bounds, (-1, 1), strict=True):
            if radius:
                area, centre = _area_and_centre(_circle(camera, fiducial, radius / 2))
                total += sign * area
                moment = moment + sign * area * centre
    return moment / total


def _area_and_centre(points: Array) -> tuple[float, Array]:
    after = np.roll(points, -1, axis=0)
    cross = points[:, 0] * after[:, 1] - after[:, 0] * points[:, 1]
    area = cross.sum() / 2
    return abs(float(area)), ((points + after) * cross[:, None]).sum(axis=0) / (6 * area)
