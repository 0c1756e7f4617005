"""Drawn scans for tests: crowns with cusps and grooves, gum, palate, tilt, noise. No real mouth.

A scan is a surface over a grid, seen from the teeth as a scanner sees it; undercuts are filled.
Coordinates before the last turn are the view's: z towards the viewer, y towards the incisors.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.jaw import Place, build_arch
from sheetmark.anatomy.teeth import Jaw, Tooth, tooth_at
from sheetmark.fitting.scan.frame import in_mouth
from sheetmark.fitting.scan.mesh import Floats, Mesh, merged

HEIGHTS_MM = (9.5, 8.5, 9.0, 7.5, 6.8, 6.3, 5.8, 5.3)  # cusp to gum (assumption)


class DrawnTooth(Struct, frozen=True):
    """One crown in the view frame, mm. `facing_deg`: direction of its facial side, from x; `tip`:
    slopes of its top."""

    tooth: Tooth
    x_mm: float
    y_mm: float
    z_mm: float
    facing_deg: float
    width_mm: float
    depth_mm: float
    height_mm: float
    tip: tuple[float, float] = (0.0, 0.0)


class Recipe(Struct, frozen=True):
    """What a drawn mouth is like: the arch model's crowns, moved and changed at random.

    crowding: 0 none, 1 as before orthodontic treatment. spaces, missing: how many.
    """

    jaw: Jaw
    seed: int = 0
    model: str = "adult-mean"
    crowding: float = 0.3
    spaces: int = 0
    missing: int = 0
    third_molars: float = 0.2
    triangles: int = 120_000
    gum: bool = True
    palate: bool = True
    noise_mm: float = 0.03
    blur_mm: float = 0.2
    turned: bool = True


class DrawnScan(Struct, frozen=True):
    """The mesh, in the scanner's axes, and each crown's centre there (x, y, z, mm)."""

    mesh: Mesh
    centres: dict[Tooth, Floats]
    up: Floats
    front: Floats


def draw_teeth(recipe: Recipe) -> list[DrawnTooth]:
    """Teeth of a random mouth: sizes, arch, displacement, turns, spaces and gaps."""
    random = np.random.default_rng(recipe.seed)
    usual = _usual_places(recipe)
    points = _arch_points(recipe.jaw, usual) * random.normal(1.0, 0.04, 2)
    size = random.normal(1.0, 0.045)
    places = [(p, s) for s in (-1, 1) for p in (range(8, 0, -1) if s < 0 else range(1, 9))]
    absent = {place for place in places if place[0] == 8 and random.random() > recipe.third_molars}
    candidates = [place for place in places if place[0] in {1, 2, 4, 5, 6, 7}]
    for k in random.choice(len(candidates), recipe.missing, replace=False):
        absent.add(candidates[int(k)])
    widths, depths = {}, {}
    for p in range(1, 9):
        crown = usual[min(p, len(usual) - 1)].size
        shared = random.normal(0, 0.05)
        for s in (-1, 1):
            own = size * (1 + shared + random.normal(0, 0.025))
            widths[p, s] = crown.mesiodistal_mm * own
            depths[p, s] = crown.labiolingual_mm * own * random.normal(1, 0.04)
    gaps = set(random.choice(13, recipe.spaces, replace=False).tolist())
    placed: dict[tuple[int, int], float] = {}
    for s in (-1, 1):
        along = 0.0
        for p in range(1, 9):
            place = (p, s)
            if place in absent and p < 8:
                along += widths[place] * random.choice([1.0, 0.8, 0.3])
                continue
            space = random.uniform(0.8, 2.5) if (p - 1 + (7 if s > 0 else 0)) in gaps else 0.0
            along += space - 0.5 * recipe.crowding * random.random() * (p < 6)
            placed[place] = s * (along + widths[place] / 2)
            along += widths[place]
    curve = _Curve(points)
    teeth = []
    for place in places:
        if place in absent:
            continue
        p, s = place
        (x, y), facing = curve.at(placed[place])
        spread = 0.25 + 0.6 * recipe.crowding * (1.4 if p < 6 else 0.6)
        across, turn = random.normal(0, spread), random.normal(0, 4 + 14 * recipe.crowding)
        direction = np.radians(facing)
        x, y = x + across * np.cos(direction), y + across * np.sin(direction)
        spee = -0.012 * (y + 18) ** 2 / 10 + random.normal(0, 0.35)
        teeth.append(
            DrawnTooth(
                tooth=tooth_at(recipe.jaw, p * s if recipe.jaw == "upper" else -p * s),
                x_mm=float(x),
                y_mm=float(y),
                z_mm=float(spee),
                facing_deg=float(facing + turn),
                width_mm=widths[place],
                depth_mm=depths[place],
                height_mm=HEIGHTS_MM[p - 1] * random.normal(1, 0.07),
                tip=(float(random.normal(0, 0.08)), float(random.normal(0, 0.12))),
            )
        )
    return teeth


def _usual_places(recipe: Recipe) -> dict[int, Place]:
    """The arch model's left teeth by position, 1 to 7 or 8."""
    arch = build_arch(load_model(recipe.model), recipe.jaw)
    return {p.tooth.position: p for p in arch.places if p.tooth.side == "left"}


def _arch_points(jaw: Jaw, usual: dict[int, Place]) -> Floats:
    """(n, 2) the crowns' middles in the view, from small x to large, the front at y = 0."""
    points = np.array([tuple(usual[p].contact) for p in sorted(usual)])
    half = np.abs(in_mouth(points - [0.0, points[0, 1]], jaw))
    return np.vstack([half[::-1] * [-1, -1], half * [1, -1]])


class _Curve:
    """A smooth curve through points, by arc length from its front."""

    def __init__(self, points: Floats) -> None:
        from scipy.interpolate import make_smoothing_spline

        chord = np.r_[0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
        chord -= chord[-1] / 2
        parameter = np.linspace(chord[0] - 14, chord[-1] + 14, 2000)
        inner = np.clip(parameter, chord[0], chord[-1])
        splines = [make_smoothing_spline(chord, points[:, k], lam=3.0) for k in range(2)]
        line = np.column_stack([f(inner) for f in splines])
        slope = np.column_stack([f.derivative()(inner) for f in splines])
        self.line = line + slope * (parameter - inner)[:, None]
        length = np.r_[0, np.cumsum(np.linalg.norm(np.diff(self.line, axis=0), axis=1))]
        self.length = length - np.interp(0.0, parameter, length)

    def at(self, along: float) -> tuple[Floats, float]:
        """Point and direction outwards in degrees."""
        points = [
            np.array([np.interp(a, self.length, self.line[:, k]) for k in range(2)])
            for a in (along, along - 0.5, along + 0.5)
        ]
        step = points[2] - points[1]
        return points[0], float(np.degrees(np.arctan2(step[0], -step[1])))


def make_scan(teeth: list[DrawnTooth], recipe: Recipe) -> DrawnScan:
    """The surface of given teeth, with gum and palate as the recipe says."""
    random = np.random.default_rng(recipe.seed + 1)
    low = np.array([min(t.x_mm for t in teeth), min(t.y_mm for t in teeth)]) - 12.0
    high = np.array([max(t.x_mm for t in teeth), max(t.y_mm for t in teeth)]) + 12.0
    pitch = _pitch(teeth, recipe, low, high)
    xs, ys = (np.arange(low[k], high[k], pitch) for k in range(2))
    x, y = np.meshgrid(xs, ys)
    gum, wanted = _gum(teeth, recipe, x, y, pitch)
    z = gum.copy() if recipe.gum else np.full_like(x, -np.inf)
    owner = np.full(x.shape, -1)
    centres = {}
    for k, tooth in enumerate(teeth):
        crown, box = _crown(tooth, random, x, y)
        own = np.isfinite(crown)
        rise = np.gradient(np.where(own, crown, tooth.z_mm - tooth.height_mm), pitch)
        area = np.where(own, np.sqrt(1 + rise[0] ** 2 + rise[1] ** 2), 0.0)
        area = np.minimum(area, 6.0)
        centre = [float((area * grid[box]).sum() / area.sum()) for grid in (x, y)]
        level = float(crown[own].mean())
        centres[tooth.tooth] = np.array([*centre, level])
        better = crown > z[box]
        z[box][better] = crown[better]
        owner[box][better] = k
    if recipe.gum:
        z = _blurred(z, recipe.blur_mm / pitch)
        mesh = _surface(x, y, z + random.normal(0, recipe.noise_mm, z.shape), wanted)
    else:
        z = np.where(owner >= 0, z, 0.0) + random.normal(0, recipe.noise_mm, z.shape)
        mesh = _closed(x, y, z, owner, [t.z_mm - t.height_mm for t in teeth])
    turn = _turn(random) if recipe.turned else np.eye(3)
    shift = random.normal(0, 30, 3) if recipe.turned else np.zeros(3)
    moved = replace(mesh, vertices=mesh.vertices @ turn.T + shift)
    return DrawnScan(
        moved, {n: turn @ c + shift for n, c in centres.items()}, turn[:, 2], turn[:, 1]
    )


def draw_scan(recipe: Recipe) -> DrawnScan:
    """A whole random scan."""
    return make_scan(draw_teeth(recipe), recipe)


def _pitch(teeth: list[DrawnTooth], recipe: Recipe, low: Floats, high: Floats) -> float:
    """Grid pitch that gives about the number of triangles asked for."""
    coarse = 1.0
    x, y = np.meshgrid(np.arange(low[0], high[0], coarse), np.arange(low[1], high[1], coarse))
    area = float(_gum(teeth, recipe, x, y, coarse)[1].sum())
    if not recipe.gum:
        area = sum(1.6 * t.width_mm * t.depth_mm for t in teeth)
    return float(np.sqrt(2 * area / recipe.triangles))


def _turn(random: np.random.Generator) -> Floats:
    """A random turn in space."""
    q, r = np.linalg.qr(random.normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    if np.linalg.det(q) < 0:
        q[:, 0] *= -1
    return np.asarray(q, dtype=np.float64)


def _blurred(z: Floats, sd: float) -> Floats:
    from scipy.ndimage import gaussian_filter

    return np.asarray(gaussian_filter(z, sd)) if sd > 0.2 else z


def _gum(
    teeth: list[DrawnTooth], recipe: Recipe, x: Floats, y: Floats, pitch: float
) -> tuple[Floats, NDArray[np.bool_]]:
    """Height of gum and palate, and which cells the scan covers."""
    from scipy.ndimage import distance_transform_edt

    centres = np.array([[t.x_mm, t.y_mm] for t in teeth])
    order = np.argsort(np.arctan2(centres[:, 0], centres[:, 1] - centres[:, 1].min() - 10))
    line = centres[order]
    steps = np.linspace(0, len(line) - 1, 600)
    dense = np.column_stack([np.interp(steps, np.arange(len(line)), line[:, k]) for k in range(2)])
    row = np.ones(x.shape, dtype=bool)
    cells = [
        np.clip(np.rint((dense[:, k] - axis.min()) / pitch).astype(int), 0, size - 1)
        for k, (axis, size) in enumerate(((x, x.shape[1]), (y, x.shape[0])))
    ]
    row[cells[1], cells[0]] = False
    away = distance_transform_edt(row) * pitch
    # Inside the arch: between the legs, or behind the front.
    half = np.interp(y, dense[_order_y(dense)][:, 1], np.abs(dense[_order_y(dense)][:, 0]))
    inside = (np.abs(x) < half) & (y < dense[:, 1].max() - 1)
    margin = np.interp(np.hypot(x, y - centres[:, 1].max()), [0, 45], [-8.8, -5.8])
    outer = margin - 0.6 * np.maximum(away - 4.5, 0) - 0.06 * np.maximum(away - 4.5, 0) ** 2
    if recipe.jaw == "upper" and recipe.palate:
        vault = margin - 10.0 * (1 - np.exp(-np.maximum(away - 5.5, 0) / 6.0))
        wanted = (away < 8.5) | (inside & (y > centres[:, 1].min() - 4))
    else:
        vault = margin - 1.6 * np.maximum(away - 4.5, 0)
        wanted = away < 8.5
    return np.where(inside, vault, outer), wanted


def _order_y(points: Floats) -> NDArray[np.int64]:
    """Numbers of the points from small y to large."""
    return np.argsort(points[:, 1])


def _crown(
    tooth: DrawnTooth, random: np.random.Generator, x: Floats, y: Floats
) -> tuple[Floats, tuple[slice, slice]]:
    """Heights of one crown on its own window of the grid, -inf outside of it."""
    reach = 0.75 * max(tooth.width_mm, tooth.depth_mm)
    columns = np.flatnonzero(np.abs(x[0] - tooth.x_mm) < reach)
    rows = np.flatnonzero(np.abs(y[:, 0] - tooth.y_mm) < reach)
    box = (slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1))
    direction = np.radians(tooth.facing_deg)
    dx, dy = x[box] - tooth.x_mm, y[box] - tooth.y_mm
    v = (dx * np.cos(direction) + dy * np.sin(direction)) / (tooth.depth_mm / 2)
    u = (-dx * np.sin(direction) + dy * np.cos(direction)) / (tooth.width_mm / 2)
    position = tooth.tooth.position
    taper = {1: 0.40, 2: 0.40, 3: 0.35, 4: 0.08}.get(position, 0.0) * random.uniform(0.6, 1.2)
    exponent = random.uniform(2.2, 3.0)
    narrow = u / np.clip(1 - taper * np.clip(0.3 - v, 0, 1.5), 0.2, 1)
    rho = (np.abs(narrow) ** exponent + np.abs(v) ** exponent) ** (1 / exponent)
    top = _top(position, tooth, random, u, v)
    shoulder = random.uniform(1.6, 2.6)
    wall = -shoulder * np.minimum(rho, 1) ** 6 - np.maximum(rho - 1, 0) / 0.10 * tooth.height_mm
    z = top + wall + tooth.tip[0] * u * tooth.width_mm / 2 + tooth.tip[1] * v * tooth.depth_mm / 2
    bumps = sum(
        random.normal(0, 0.10) * np.cos(random.normal(0, 3) * u + random.normal(0, 3) * v + phase)
        for phase in random.uniform(0, 6, 4)
    )
    z = z + bumps
    z = np.where((rho < 1.1) & (z > -tooth.height_mm), z, -np.inf)
    return z + tooth.z_mm, box


def _top(
    position: int, tooth: DrawnTooth, random: np.random.Generator, u: Floats, v: Floats
) -> Floats:
    """The chewing surface, 0 at the tips: edges, cusps and grooves."""
    if position <= 2:
        edge = random.uniform(0.25, 0.45)
        lingual = np.clip((edge - v) / (1 + edge), 0, 1)
        return np.asarray(
            -0.75 * tooth.height_mm * lingual ** random.uniform(0.75, 1.0)
            - 4.0 * np.clip(v - edge - 0.15, 0, 1)
        )
    if position == 3:
        tip = random.uniform(0.1, 0.3)
        lingual = np.clip((tip - v) / (1 + tip), 0, 1)
        return np.asarray(
            -1.8 * np.abs(u) ** 1.2 - 0.65 * tooth.height_mm * lingual
            - 3.0 * np.clip(v - tip - 0.1, 0, 1)
        )  # fmt: skip
    if position <= 5:
        cusps = [(random.normal(0, 0.08), 0.45, 0.0), (random.normal(0, 0.1), -0.5, -0.8)]
        floor = -2.4
    else:
        cusps = [
            (
                su * random.uniform(0.38, 0.5),
                sv * random.uniform(0.42, 0.55),
                -random.uniform(0, 0.7),
            )
            for su in (-1, 1)
            for sv in (-1, 1)
        ]
        floor = -2.2
    z = np.full(u.shape, floor)
    for cu, cv, level in cusps:
        away = np.hypot((u - cu) / 0.55, (v - cv) / 0.55)
        z = np.maximum(z, level + (floor - level) * np.minimum(away, 1.5) ** 1.3)
    ridge = floor + 1.0 * np.exp(-(((np.abs(u) - 0.8) / 0.15) ** 2))
    return np.asarray(np.maximum(z, ridge), dtype=np.float64)


def _surface(x: Floats, y: Floats, z: Floats, wanted: NDArray[np.bool_]) -> Mesh:
    """Two triangles for each wanted cell, seen anticlockwise from above."""
    count = x.shape[1]
    number = np.arange(x.size).reshape(x.shape)
    cell = wanted[:-1, :-1] & wanted[1:, :-1] & wanted[:-1, 1:] & wanted[1:, 1:]
    a = number[:-1, :-1][cell]
    faces = np.vstack(
        [
            np.column_stack([a, a + 1, a + count + 1]),
            np.column_stack([a, a + count + 1, a + count]),
        ]
    )
    vertices = np.column_stack([x.ravel(), y.ravel(), z.ravel()])
    used, numbers = np.unique(faces, return_inverse=True)
    return merged(vertices[used], numbers.reshape(-1, 3))


def _closed(x: Floats, y: Floats, z: Floats, owner: NDArray[np.int64], floors: list[float]) -> Mesh:
    """Each crown by itself, with a flat underside and upright sides."""
    pieces, faces, offset = [], [], 0
    for k, floor in enumerate(floors):
        top = _surface(x, y, z, owner == k)
        under = top.vertices.copy()
        under[:, 2] = floor - 0.01 * k
        pieces += [top.vertices, under]
        a, b = _rim(top.faces).T
        low = len(under)
        walls = np.vstack(
            [np.column_stack([b, a, a + low]), np.column_stack([b, a + low, b + low])]
        )
        faces += [top.faces + offset, top.faces[:, ::-1] + offset + low, walls + offset]
        offset += 2 * len(under)
    return merged(np.vstack(pieces), np.vstack(faces))


def _rim(faces: NDArray[np.int64]) -> NDArray[np.int64]:
    """(n, 2) edges that one face only has, in its direction."""
    edges = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    keys = np.sort(edges, axis=1)
    first, counts = np.unique(keys, axis=0, return_index=True, return_counts=True)[1:]
    return np.asarray(edges[first[counts == 1]], dtype=np.int64)
