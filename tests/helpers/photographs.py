"""Made photographs of a page: a camera, a lens, light, rubber that stands up, and a sensor.

No real photograph is behind them. The model, all from a seed or from stated figures:

- camera: a pinhole above the page, `height_mm` away, looking at the page's middle from `tilt_deg`
  off the vertical, from the side `from_deg`, turned by `roll_deg`; focal length as of 35 mm film;
- lens: radial distortion k1 and k2 at the half diagonal, which grow from the ideal place outwards;
- page: the finished PDF as PDFium draws it, bent as a cylinder if wanted (`bend_mm` at the middle);
- rubber: a colour that lets some paper through, cut to its sheet, laid with a shift and a turn,
  standing up by `lift_mm` as a whole and `curl_mm` more at its corners; pen marks, punched holes;
- light: a slope, a shadow with a soft edge, vignetting, bright spots;
- sensor: Gaussian blur and a motion blur in pixels, shot and read noise, sRGB, JPEG.

Heights are small beside the camera's, so they shift what is seen in the page's plane (parallax).
All figures of colour, light and noise are assumptions of ours. Pixels: x right, y down.
"""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO
from math import cos, radians, sin
from typing import Any

import cv2
import numpy as np
import pypdfium2
from msgspec import Struct
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import uniform_filter1d

Floats = NDArray[np.floating[Any]]

TEXTURE_PER_MM = 8
_THIN = 8
PAPER = 0.82
# Reflectances, red, green, blue, linear: assumptions.
RUBBERS: dict[str, tuple[float, float, float]] = {
    "green": (0.08, 0.30, 0.14),
    "blue": (0.07, 0.16, 0.38),
    "black": (0.03, 0.03, 0.035),
    "grey": (0.25, 0.25, 0.26),
    "purple": (0.25, 0.12, 0.30),
    "natural": (0.62, 0.50, 0.32),
}
INK = 0.04
TABLE = 0.35  # what lies round the page


class Camera(Struct, frozen=True, kw_only=True):
    """Where the phone is and what its lens does."""

    tilt_deg: float = 5.0
    from_deg: float = 30.0
    roll_deg: float = 0.0
    height_mm: float = 400.0
    focal_35: float = 26.0
    k1: float = 0.03
    k2: float = 0.0
    megapixels: float = 2.0
    aim_mm: tuple[float, float] = (0.0, 0.0)
    """What stands in the picture's middle, from the sheet's place."""
    exif: bool = True
    mirrored: bool = False


class Light(Struct, frozen=True, kw_only=True):
    """Light, focus and sensor."""

    slope: float = 0.15
    slope_deg: float = 40.0
    shadow: float = 0.0
    shadow_soft_mm: float = 8.0
    shadow_at_mm: float = 20.0
    shadow_deg: float = 70.0
    blur_px: float = 0.7
    motion_px: float = 0.0
    noise: float = 0.006
    quality: int = 90
    glare: int = 0


USUAL_CAMERA = Camera(height_mm=300.0, megapixels=1.6, k1=0.04, tilt_deg=6.0)
USUAL_LIGHT = Light(shadow=0.3, noise=0.008)


class Rubber(Struct, frozen=True, kw_only=True):
    """The sheet that lies on the page. Holes: x, y, diameter, in the sheet's own frame, mm."""

    size_mm: tuple[float, float] = (152.0, 152.0)
    colour: str = "green"
    opacity: float = 0.95
    shift_mm: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    face_down: bool = False
    lift_mm: float = 0.0
    curl_mm: float = 0.0
    holes: tuple[tuple[float, float, float], ...] = ()
    pen: tuple[tuple[tuple[float, float], tuple[float, float], float], ...] = ()
    """Pen strokes: from, to, width."""
    specks: int = 0


class Scene(Struct, frozen=True, kw_only=True):
    """One photograph. `sheet_at_mm` is the place's middle on the page, from its lower left."""

    pdf: bytes
    sheet_at_mm: tuple[float, float]
    rubber: Rubber | None = None
    pen_on_paper: tuple[tuple[tuple[float, float], tuple[float, float], float], ...] = ()
    camera: Camera = Camera()
    light: Light = Light()
    bend_mm: float = 0.0
    covered_mm: tuple[tuple[float, float, float], ...] = ()
    """Fingers: x, y, radius from the sheet's place."""
    seed: int = 1


def photograph(scene: Scene) -> bytes:
    """The scene as a JPEG."""
    rng = np.random.default_rng(scene.seed)
    view = _View(scene.camera)
    picture = _seen(_texture(scene, view, rng), scene)
    light = scene.light
    picture *= _light(scene.camera, light)[..., None]
    if light.blur_px:
        picture = _blurred(picture, light.blur_px)
    if light.motion_px >= 1:
        picture = uniform_filter1d(picture, max(2, round(light.motion_px)), axis=1)
    noise = rng.standard_normal(picture.shape, dtype=np.float32)
    picture += noise * light.noise * np.sqrt(np.maximum(picture, 0.0) + 0.02)
    values = (_srgb(picture) * 255 + 0.5).astype(np.uint8)
    if scene.camera.mirrored:
        values = values[:, ::-1]
    image, out = Image.fromarray(values), BytesIO()
    exif = Image.Exif()
    if scene.camera.exif:
        exif.get_ifd(0x8769)[0xA405] = round(scene.camera.focal_35)
    image.save(out, "JPEG", quality=light.quality, exif=exif)
    return out.getvalue()


def _blurred(picture: Floats, sd_px: float) -> Floats:
    reach = int(4 * sd_px + 0.5)
    kernel = cv2.getGaussianKernel(2 * reach + 1, sd_px, cv2.CV_64F)
    return np.asarray(cv2.sepFilter2D(picture, -1, kernel, kernel, borderType=cv2.BORDER_REFLECT))


def _srgb(linear: Floats) -> Floats:
    clipped = np.clip(linear, 0.0, 1.0)
    return np.where(clipped < 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)


class _View:
    """Camera geometry: picture to the page's plane, origin at the sheet's place, y up."""

    def __init__(self, camera: Camera) -> None:
        self.camera = camera
        pixels = camera.megapixels * 1e6
        self.height, self.width = round((pixels * 4 / 3) ** 0.5), round((pixels * 3 / 4) ** 0.5)
        self.half_diagonal = np.hypot(self.width, self.height) / 2
        # 43.27 mm is the diagonal of 35 mm film.
        self.focal = camera.focal_35 / 43.27 * 2 * self.half_diagonal
        tilt, side, roll = map(radians, (camera.tilt_deg, camera.from_deg, camera.roll_deg))
        out = np.array([sin(tilt) * cos(side), sin(tilt) * sin(side), cos(tilt)])
        self.eye = out * camera.height_mm + np.array([*camera.aim_mm, 0.0])
        up = np.array([sin(roll), cos(roll), 0.0])
        right = np.cross(up, out)
        right /= np.linalg.norm(right)
        self.axes = np.array([right, np.cross(out, right), out])

    def on_plane(self) -> tuple[Floats, Floats]:
        """For each pixel the point of the page's plane that it sees, x and y in mm."""
        y, x = np.mgrid[: self.height, : self.width].astype(np.float32)
        dx = (x - (self.width - 1) / 2) / np.float32(self.half_diagonal)
        dy = (y - (self.height - 1) / 2) / np.float32(self.half_diagonal)
        u, v = self._undistorted(dx, dy)
        rays = (
            u[..., None] * self.axes[0] * (self.half_diagonal / self.focal)
            - v[..., None] * self.axes[1] * (self.half_diagonal / self.focal)
            - self.axes[2]
        ).astype(np.float32)
        far = -self.eye[2] / rays[..., 2]
        return (
            (self.eye[0] + far * rays[..., 0]).astype(np.float32),
            (self.eye[1] + far * rays[..., 1]).astype(np.float32),
        )

    def _undistorted(self, dx: Floats, dy: Floats) -> tuple[Floats, Floats]:
        u, v = dx, dy
        for _ in range(5):
            r2 = u * u + v * v
            factor = 1 + self.camera.k1 * r2 + self.camera.k2 * r2 * r2
            u, v = dx / factor, dy / factor
        return u, v

    def parallax(self, x: Floats, y: Floats, height: float | Floats) -> tuple[Floats, Floats]:
        """Of plane points as seen, what stands `height` mm above the plane there."""
        share = height / self.eye[2]
        return (
            x + (self.eye[0] - x) * share,
            y + (self.eye[1] - y) * share,
        )


@lru_cache(maxsize=2)  # most photographs are of a few cameras
def _on_plane(camera: Camera) -> tuple[Floats, Floats]:
    return _View(camera).on_plane()


def _seen(texture: Floats, scene: Scene) -> Floats:
    """The picture of a texture of the page, before light."""
    x, y = _on_plane(scene.camera)
    left, low = scene.sheet_at_mm
    columns = (x + left) * TEXTURE_PER_MM - 0.5
    rows = texture.shape[0] - (y + low) * TEXTURE_PER_MM - 0.5
    return _sampled(texture, columns, rows, cv2.BORDER_CONSTANT)


def _sampled(texture: Floats, columns: Floats, rows: Floats, border: int) -> Floats:
    """The texture at places between its pixels, going straight from one to the next."""
    at = (np.asarray(columns, np.float32), np.asarray(rows, np.float32))
    table = (TABLE, TABLE, TABLE)
    return np.asarray(cv2.remap(texture, *at, cv2.INTER_LINEAR, None, border, table))


@lru_cache(maxsize=2)
def _light(camera: Camera, light: Light) -> Floats:
    """What each pixel gets of the light."""
    x, y = _on_plane(camera)
    turn = radians(light.slope_deg)
    value = 0.9 * (1 + light.slope * (x * cos(turn) + y * sin(turn)) / 150)
    if light.shadow:
        turn = radians(light.shadow_deg)
        across = x * cos(turn) + y * sin(turn) - light.shadow_at_mm
        value *= 1 - light.shadow / (
            1 + np.exp(np.clip(-across / (light.shadow_soft_mm / 4), -40, 40))
        )
    view = _View(camera)
    rows, columns = np.ogrid[: view.height, : view.width]
    r2 = (rows - view.height / 2) ** 2 + (columns - view.width / 2) ** 2
    value *= 1 - 0.2 * r2 / view.half_diagonal**2
    return np.asarray(value, np.float32)


@lru_cache(maxsize=8)
def _raster(pdf: bytes) -> Floats:
    page = pypdfium2.PdfDocument(pdf)[0]
    # PDFium rounds the number of pixels up, and stretches the page to it.
    scale = 2 * TEXTURE_PER_MM * 25.4 / 72 * (1 - 1e-6)
    drawn = page.render(scale=scale, grayscale=True).to_numpy()
    grey = np.asarray(drawn, np.float32).reshape(drawn.shape[:2]) / 255
    h, w = grey.shape[0] // 2 * 2, grey.shape[1] // 2 * 2
    small = grey[:h, :w].reshape(h // 2, 2, w // 2, 2).mean((1, 3))
    return np.asarray(INK + (PAPER - INK) * small, np.float32)


def _texture(scene: Scene, view: _View, rng: np.random.Generator) -> Floats:
    flat = _raster(scene.pdf).copy()
    left, low = scene.sheet_at_mm
    _strokes(flat, scene.pen_on_paper, (left, low), 0.12)
    texture = np.repeat(flat[..., None], 3, axis=2)
    if scene.rubber is not None:
        _lay(texture, scene.rubber, scene, view, rng)
    for x, y, radius in scene.covered_mm:
        _blob(texture, (left + x, low + y), radius, (0.45, 0.28, 0.2))
    if scene.bend_mm:
        texture = _bent(texture, scene, view)
    return texture


def _grid(
    texture: Floats, at: tuple[float, float], half: tuple[float, float]
) -> tuple[slice, slice, Floats, Floats]:
    """The rows and columns of a rectangle round a page point, and its points from there, mm."""
    k, height, width = TEXTURE_PER_MM, texture.shape[0], texture.shape[1]
    columns = slice(max(0, int((at[0] - half[0]) * k)), min(width, int((at[0] + half[0]) * k) + 1))
    top, bottom = height - (at[1] + half[1]) * k, height - (at[1] - half[1]) * k
    rows = slice(max(0, int(top)), min(height, int(bottom) + 1))
    x = (np.arange(columns.start, columns.stop, dtype=np.float32) + 0.5) / k - at[0]
    y = (height - np.arange(rows.start, rows.stop, dtype=np.float32) - 0.5) / k - at[1]
    return rows, columns, x[None, :], y[:, None]


def _soft(distance: Floats) -> Floats:
    """1 inside (negative distance, mm), 0 outside, over one texture pixel."""
    return np.asarray(np.clip(0.5 - distance * TEXTURE_PER_MM, 0.0, 1.0))


def _blob(
    texture: Floats, at: tuple[float, float], radius: float, colour: tuple[float, float, float]
) -> None:
    rows, columns, x, y = _grid(texture, at, (radius + 1, radius + 1))
    share = _soft(np.hypot(x, y) - radius)[..., None]
    texture[rows, columns] += share * (np.array(colour, np.float32) - texture[rows, columns])


def _to_segment(
    x: Floats, y: Floats, start: tuple[float, float], end: tuple[float, float]
) -> Floats:
    dx, dy = end[0] - start[0], end[1] - start[1]
    along = ((x - start[0]) * dx + (y - start[1]) * dy) / max(dx * dx + dy * dy, 1e-9)
    along = np.clip(along, 0.0, 1.0)
    return np.asarray(np.hypot(x - start[0] - along * dx, y - start[1] - along * dy))


def _near(
    x: Floats, y: Floats, ends: tuple[tuple[float, float], tuple[float, float]], width: float
) -> tuple[slice, slice]:
    """Rows and columns that hold all of a stroke: every eighth of them, a mm, is looked at."""
    (x0, x1), (y0, y1) = (sorted(end[i] for end in ends) for i in (0, 1))
    x, y, reach = x[::_THIN, ::_THIN], y[::_THIN, ::_THIN], width + 2.0
    inside = (x > x0 - reach) & (x < x1 + reach) & (y > y0 - reach) & (y < y1 + reach)
    rows, columns = (_THIN * np.flatnonzero(inside.any(axis=axis)) for axis in (1, 0))
    if not len(rows):
        return slice(0), slice(0)
    return (
        slice(max(0, rows[0] - _THIN), rows[-1] + _THIN + 1),
        slice(max(0, columns[0] - _THIN), columns[-1] + _THIN + 1),
    )


def _strokes(
    flat: Floats,
    strokes: tuple[tuple[tuple[float, float], tuple[float, float], float], ...],
    middle: tuple[float, float],
    ink: float,
) -> None:
    for start, end, width in strokes:
        at = (middle[0] + (start[0] + end[0]) / 2, middle[1] + (start[1] + end[1]) / 2)
        half = (abs(start[0] - end[0]) / 2 + width + 1, abs(start[1] - end[1]) / 2 + width + 1)
        rows, columns, x, y = _grid(flat, at, half)
        to_start = ((start[0] - end[0]) / 2, (start[1] - end[1]) / 2)
        to_end = (-to_start[0], -to_start[1])
        share = _soft(_to_segment(x, y, to_start, to_end) - width / 2)
        flat[rows, columns] += share * (ink - flat[rows, columns])


def _lay(
    texture: Floats, rubber: Rubber, scene: Scene, view: _View, rng: np.random.Generator
) -> None:
    w, h = rubber.size_mm[0] / 2, rubber.size_mm[1] / 2
    rows, columns, x, y = _grid(texture, scene.sheet_at_mm, (max(w, h) + 6, max(w, h) + 6))
    x, y = np.broadcast_arrays(x, y)
    sx, sy = _on_sheet(x, y, rubber)
    if rubber.lift_mm or rubber.curl_mm:
        # Each place as high as the one that is seen there would be on a flat sheet.
        corner = (np.abs(sx) / w) ** 4 * (np.abs(sy) / h) ** 4
        lift = rubber.lift_mm + rubber.curl_mm * np.minimum(corner, 1.5)
        px, py = view.parallax(x, y, lift.astype(np.float32))
        sx, sy = _on_sheet(px, py, rubber)
    if rubber.face_down:
        sx = -sx
    there = _soft(np.maximum(np.abs(sx) - w, np.abs(sy) - h))
    colour = np.array(RUBBERS[rubber.colour], np.float32)
    below = texture[rows, columns]
    sheet = rubber.opacity * colour + (1 - rubber.opacity) * PAPER * np.ones(3, np.float32)
    surface = np.broadcast_to(sheet, below.shape).copy()
    shine = rng.standard_normal((x.shape[0] // 40 + 2, x.shape[1] // 40 + 2))
    surface *= 1 + 0.02 * _enlarged(shine, x.shape)[..., None]
    seen = 1.0 if not rubber.face_down else 1 - rubber.opacity
    for start, end, width in rubber.pen:
        near = _near(sx, sy, (start, end), width)
        share = _soft(_to_segment(sx[near], sy[near], start, end) - width / 2)[..., None]
        surface[near] += seen * share * (INK - surface[near])
    for _ in range(rubber.specks):
        px, py = rng.uniform(-0.9, 0.9, 2) * (w, h)
        radius = rng.uniform(0.1, 0.5)
        near = _near(sx, sy, ((px, py), (px, py)), radius)
        share = _soft(np.hypot(sx[near] - px, sy[near] - py) - radius)[..., None]
        surface[near] -= share * 0.5 * surface[near]
    for _ in range(scene.light.glare):
        at, long = rng.uniform(-0.9, 0.9, 2) * (w, h), rng.uniform(3.0, 12.0)
        bright = np.exp(-(((sx - at[0]) / long) ** 2) - ((sy - at[1]) / (long / 3)) ** 2)
        surface += 0.25 * bright[..., None]
    for hx, hy, diameter in rubber.holes:
        near = _near(sx, sy, ((hx, hy), (hx, hy)), diameter)
        punched = _soft(np.hypot(sx[near] - hx, sy[near] - hy) - diameter / 2)
        there[near] = np.minimum(there[near], 1 - punched)
    texture[rows, columns] = below + there[..., None] * (surface - below)


def _on_sheet(x: Floats, y: Floats, rubber: Rubber) -> tuple[Floats, Floats]:
    turn = radians(rubber.turn_deg)
    dx, dy = x - rubber.shift_mm[0], y - rubber.shift_mm[1]
    return dx * cos(turn) + dy * sin(turn), dy * cos(turn) - dx * sin(turn)


def _enlarged(coarse: NDArray[np.float64], shape: tuple[int, ...]) -> Floats:
    """A coarse picture between whose pixels the values go straight."""
    down, across = (_shares(*sizes) for sizes in zip(coarse.shape, shape, strict=True))
    return np.asarray(down @ coarse.astype(np.float32) @ across.T)


def _shares(few: int, many: int) -> Floats:
    """For each of many places the share of each of a few."""
    at = np.linspace(0, few - 1, many, dtype=np.float32)
    return np.asarray(np.maximum(0, 1 - np.abs(at[:, None] - np.arange(few, dtype=np.float32))))


def _bent(texture: Floats, scene: Scene, view: _View) -> Floats:
    """The page as a shallow cylinder along y: its middle stands `bend_mm` above the table."""
    left, low = scene.sheet_at_mm
    height, width = texture.shape[:2]
    x = (np.arange(width, dtype=np.float32) + 0.5) / TEXTURE_PER_MM - left
    y = (height - np.arange(height, dtype=np.float32) - 0.5) / TEXTURE_PER_MM - low
    gx, gy = np.broadcast_arrays(x[None, :], y[:, None])
    half = width / TEXTURE_PER_MM / 2
    up = scene.bend_mm * (1 - (gx / half) ** 2)
    px, py = view.parallax(gx, gy, up.astype(np.float32))
    columns = (px + left) * TEXTURE_PER_MM - 0.5
    rows = height - (py + low) * TEXTURE_PER_MM - 0.5
    return _sampled(texture, columns, rows, cv2.BORDER_REPLICATE)
