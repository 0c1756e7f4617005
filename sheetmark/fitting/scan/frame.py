"""Where a scan's teeth point, where its front is: the view from above.

View frame, mm: z out of the occlusal plane towards the one who looks at the teeth, y towards the
incisors, x to the right, right-handed. In the upper jaw x is then the patient's left; in the lower
jaw the patient's left is at -x, so its mouth frame is the view turned by half a turn: both jaws
are seen from the occlusal side, and nothing is mirrored.
"""

from __future__ import annotations

from math import cos, radians, sin
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from sheetmark.anatomy.teeth import Jaw
from sheetmark.base.findings import InputError
from sheetmark.fitting.scan.height_map import HeightMap, height_map
from sheetmark.fitting.scan.mesh import Floats, Mesh, area_vectors, rim_vertices

CROWN_MM = 5.0  # how far below the occlusal plane crowns are looked for (assumption)
_COARSE = 2.0  # pixels per mm


class ScanFrame(Struct, frozen=True):
    """`axes`: rows are the view's x, y, z in the scanner's axes. `origin`: scanner's axes, mm.

    up_sure, front_sure: 0..1, how sure the direction of the teeth and the front are.
    """

    axes: Floats
    origin: Floats
    up_sure: float = 1.0
    front_sure: float = 1.0

    def view(self, mesh: Mesh) -> Mesh:
        """The mesh in the view frame."""
        return Mesh((mesh.vertices - self.origin) @ self.axes.T, mesh.faces)

    def turned(self, about: Literal["x", "y", "z"], angle_deg: float) -> ScanFrame:
        """The frame turned by hand about one of its own axes, right-handed."""
        c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
        k = "xyz".index(about)
        i, j = (k + 1) % 3, (k + 2) % 3
        axes = self.axes.copy()
        axes[i] = c * self.axes[i] + s * self.axes[j]
        axes[j] = c * self.axes[j] - s * self.axes[i]
        return replace(self, axes=axes)

    def upside_down(self) -> ScanFrame:
        """For a scan that is seen from the gum side: turned over, front kept."""
        return self.turned("y", 180.0)


def in_mouth(points_mm: Floats, jaw: Jaw) -> Floats:
    """(n, 2) points of the view in the jaw's mouth axes (x the patient's left, y to the nose)."""
    return points_mm if jaw == "upper" else -points_mm


def find_frame(mesh: Mesh) -> ScanFrame:
    """The occlusal plane, the side on which the teeth are, and the front, of one jaw's mesh.

    Raises InputError when the crowns show no arch that is open at the back.
    """
    up, up_sure = _direction_up(mesh)
    try:
        return _frame_with(mesh, up, up_sure)
    except InputError:
        try:  # a surface that was exported inside out shows its arch from the other side
            return _frame_with(mesh, -up, 1.0 - up_sure)
        except InputError:
            pass
        raise


def _frame_with(mesh: Mesh, up: Floats, up_sure: float) -> ScanFrame:
    axes, origin = _rest_on_cusps(mesh, _any_axes(up))
    frame = ScanFrame(axes, origin, up_sure)
    frame, front_sure = _face_front(mesh, frame)
    return replace(frame, front_sure=front_sure)


def _any_axes(z: Floats) -> Floats:
    """Three axes, the last along z."""
    side = np.eye(3)[int(np.abs(z).argmin())]
    x = np.cross(side, z)
    x /= np.linalg.norm(x)
    return np.stack([x, np.cross(z, x), z])


def _direction_up(mesh: Mesh) -> tuple[Floats, float]:
    """Roughly the way the teeth point, and how sure its sign is (0.5 to 1).

    Three signs that know nothing of each other: which way the surface faces (an open scan is seen
    from its teeth), where its rim lies (at the gum), and which side is rough (cusps and grooves).
    """
    vectors = area_vectors(mesh)
    areas = np.linalg.norm(vectors, axis=1)
    facing = vectors.sum(axis=0) / areas.sum()
    middles = mesh.vertices[mesh.faces].mean(axis=1)
    centre = np.average(middles, axis=0, weights=areas)
    strength = float(np.linalg.norm(facing))
    if strength > 0.2:
        up = facing / strength
    else:
        spread = (middles - centre).T @ ((middles - centre) * areas[:, None])
        up = np.asarray(np.linalg.eigh(spread)[1][:, 0])
    votes = 3.0 * np.clip(float(facing @ up) / 0.4, -1, 1)
    rim = rim_vertices(mesh)
    if len(rim) > 30 and strength > 0.05:
        lower = float((centre - mesh.vertices[rim].mean(axis=0)) @ up)
        votes += 2.0 * np.clip(lower / 4.0, -1, 1)
    axes = _any_axes(up)
    above, below = (_roughness(Mesh(mesh.vertices @ a.T, mesh.faces)) for a in (axes, -axes))
    votes += 2.5 * np.clip((above - below) / (0.25 * max(above, below)), -1, 1)
    sure = 1.0 / (1.0 + float(np.exp(-0.8 * abs(votes))))
    return (up if votes >= 0 else -up), sure


def _roughness(view: Mesh) -> float:
    """Mean bend of the surface as seen from above (1/mm), away from its edges."""
    from scipy.ndimage import binary_erosion, gaussian_filter, laplace

    seen = height_map(view, 3.0)
    inner = binary_erosion(seen.seen, iterations=4)
    if not inner.any():
        return 0.0
    z = gaussian_filter(np.where(seen.seen, seen.heights_mm, 0.0), 1.0)
    bend = np.abs(laplace(z)[inner]) * 9.0
    return float(np.minimum(bend, 1.5).mean())


def _rest_on_cusps(mesh: Mesh, axes: Floats) -> tuple[Floats, Floats]:
    """Axes and origin with z = 0 on the plane through the cusp tips, like a cast on a table."""
    from scipy.ndimage import maximum_filter

    for round_number in range(7):
        seen = height_map(Mesh(mesh.vertices @ axes.T, mesh.faces), _COARSE)
        z = seen.heights_mm
        peaks = seen.seen & (z >= maximum_filter(z, size=7))
        pixels = np.argwhere(peaks).astype(np.float64)
        tips = np.column_stack([seen.point_of(pixels), z[peaks]])
        normal = _upper_plane(tips, 0.95 if round_number < 4 else 0.85)
        old = axes
        axes = _any_axes(normal @ axes)
        # Keep the turn about z, so that rounds differ by tilt only.
        x = old[0] - (old[0] @ axes[2]) * axes[2]
        axes = np.stack([x / np.linalg.norm(x), np.cross(axes[2], x / np.linalg.norm(x)), axes[2]])
    heights = mesh.vertices @ axes.T
    seen = height_map(Mesh(heights, mesh.faces), _COARSE)
    z = seen.heights_mm
    peaks = z[seen.seen & (z >= maximum_filter(z, size=7))]
    level = float(np.median(peaks[peaks > np.percentile(peaks, 95) - 4.0]))
    crowns = seen.point_of(np.argwhere(z > level - CROWN_MM).astype(np.float64))
    middle = (crowns.min(axis=0) + crowns.max(axis=0)) / 2.0
    return axes, np.asarray([*middle, level]) @ axes


def _upper_plane(tips: Floats, share: float) -> Floats:
    """Unit normal of the plane with only the rest of the tips above it (expectile, then trim)."""
    design = np.column_stack([tips[:, :2] - tips[:, :2].mean(axis=0), np.ones(len(tips))])
    weights: Floats = np.ones(len(tips))
    plane: Floats = np.zeros(3)
    over: Floats = tips[:, 2]
    for _ in range(40):
        root = np.sqrt(weights)
        plane = np.asarray(np.linalg.lstsq(design * root[:, None], tips[:, 2] * root)[0])
        over = tips[:, 2] - design @ plane
        weights = np.where(over > 0, share, 1 - share)
    near = np.abs(over) < 2.5
    if near.sum() >= 8:
        plane = np.asarray(np.linalg.lstsq(design[near], tips[near, 2])[0])
    normal = np.array([-plane[0], -plane[1], 1.0])
    return np.asarray(normal / np.linalg.norm(normal))


def crown_mask(seen: HeightMap, depth_mm: float = CROWN_MM) -> NDArray[np.bool_]:
    """Pixels less than `depth_mm` under the occlusal plane, specks left out."""
    from scipy.ndimage import label

    mask = seen.heights_mm > -depth_mm
    labels, count = label(mask)
    sizes = np.bincount(labels.ravel(), minlength=count + 1) / seen.pixels_per_mm**2
    sizes[0] = 0.0
    return np.asarray(sizes[labels] >= 3.0)


def _face_front(mesh: Mesh, frame: ScanFrame) -> tuple[ScanFrame, float]:
    """The frame turned about z so that y is the arch's axis of symmetry, open end behind."""
    seen = height_map(frame.view(mesh), _COARSE)
    mask = crown_mask(seen)
    points = seen.point_of(np.argwhere(mask).astype(np.float64))
    if len(points) < 400:
        raise InputError("scan: no crowns found above the gum; turn the scan by hand")
    back_deg, gap_deg = _open_end(points)
    sure = float(np.clip((gap_deg - 25.0) / 45.0, 0.0, 1.0))
    if gap_deg < 25.0:
        raise InputError(
            f"scan: the arch is open by {gap_deg:.0f}° at most, a jaw by 40° or more; "
            "scan one whole jaw, or turn it by hand"
        )
    frame = frame.turned("z", back_deg + 90.0)  # y away from the open end
    frame = _symmetric(mesh, frame)
    return frame, sure


def _open_end(points: Floats) -> tuple[float, float]:
    """Direction of the widest sector without crowns, as seen from the middle, and its width."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(points)
    ring = points[hull.vertices]
    nxt = np.roll(ring, -1, axis=0)
    cross = ring[:, 0] * nxt[:, 1] - ring[:, 1] * nxt[:, 0]
    middle = ((ring + nxt) * cross[:, None]).sum(axis=0) / (3.0 * cross.sum())
    away = points - middle
    angles = np.sort(np.degrees(np.arctan2(away[:, 1], away[:, 0])))
    gaps = np.diff(np.append(angles, angles[0] + 360.0))
    widest = int(gaps.argmax())
    return float(angles[widest] + gaps[widest] / 2.0), float(gaps[widest])


def _symmetric(mesh: Mesh, frame: ScanFrame) -> ScanFrame:
    """The frame turned a little and moved so that left and right crowns mirror best."""
    from scipy.optimize import minimize
    from scipy.spatial import cKDTree

    seen = height_map(frame.view(mesh), 1.0)
    points = seen.point_of(np.argwhere(crown_mask(seen)).astype(np.float64))
    tree = cKDTree(points)

    def mismatch(turn: Floats) -> float:
        normal = np.array([cos(float(turn[0])), sin(float(turn[0]))])
        across = points @ normal - float(turn[1])
        mirrored = points - 2.0 * across[:, None] * normal
        away = np.sort(tree.query(mirrored, distance_upper_bound=6.0)[0])
        # The worst quarter may lie beside a missing tooth or a molar that one side alone has.
        return float(np.minimum(away[: 3 * len(away) // 4], 6.0).mean())

    starts = [(radians(a), b) for a in range(-30, 31, 6) for b in (-4.0, 0.0, 4.0)]
    best = min(starts, key=lambda s: mismatch(np.asarray(s)))
    found = minimize(mismatch, best, method="Nelder-Mead", options={"xatol": 1e-3, "fatol": 1e-3})
    angle, shift = (float(value) for value in found.x)
    turned = frame.turned("z", float(np.degrees(angle)))
    return replace(turned, origin=turned.origin + shift * turned.axes[0])
