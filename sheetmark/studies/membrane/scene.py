"""From a plan to the membrane's problem: openings in the sheet, and where their rims go.

A scene knows no placement: openings are in the mouth frame, and the sheet may be laid with its
middle anywhere. Two cases with the same scene have the same answer.
"""

from __future__ import annotations

from math import atan2, cos, hypot, pi, radians, sin

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.jaw import Place
from sheetmark.base.frames import MouthPoint, SheetPoint, sheet_to_mouth
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Sheet
from sheetmark.studies.membrane.contact import Columns
from sheetmark.studies.membrane.energy import Floats
from sheetmark.studies.membrane.frame import Frame


class Neck(Struct, frozen=True):
    """A tooth's neck as an ellipse in the plane of the arch, mouth frame, mm: its centre, its two
    half axes, and the direction of the first."""

    centre: MouthPoint
    half_axes: tuple[float, float]
    angle: float
    start: float  # direction in which rubber and neck are matched first, radians

    @property
    def mirrored(self) -> Neck:
        """The neck on the other side of x = 0."""
        return replace(
            self,
            centre=MouthPoint(-self.centre.x + 0.0, self.centre.y),
            angle=_axis(pi - self.angle),
            start=_axis(pi - self.start),
        )

    def outline(self, points: int = 720) -> Floats:
        """Points round the neck, anticlockwise, at even distances from the start direction."""
        a, b = self.half_axes
        relative = self.start - self.angle
        first = atan2(a * sin(relative), b * cos(relative))
        angle = first + 2 * pi * np.arange(4 * points + 1) / (4 * points)
        fine = np.stack([a * np.cos(angle), b * np.sin(angle)], axis=1)
        turn = np.array([[cos(self.angle), sin(self.angle)], [-sin(self.angle), cos(self.angle)]])
        return np.asarray(_evenly(fine @ turn, points) + np.array(self.centre))


class Rim(Struct, frozen=True):
    """An opening in the mouth frame, mm: centre line, radius at rest, and the necks it holds."""

    line: tuple[MouthPoint, ...]
    radius_mm: float
    necks: tuple[Neck, ...]

    @property
    def mirrored(self) -> Rim:
        """The rim on the other side of x = 0."""
        return Rim(
            tuple(MouthPoint(-x + 0.0, y) for x, y in self.line),
            self.radius_mm,
            tuple(neck.mirrored for neck in self.necks),
        )


class Scene(Struct, frozen=True):
    """A sheet, its openings and the frame; `incisal_y_mm` is the jaw's incisal point."""

    sheet: Sheet
    frame: Frame
    rims: tuple[Rim, ...]
    incisal_y_mm: float

    @property
    def mirrored(self) -> Scene:
        """The scene on the other side of x = 0."""
        return replace(self, rims=tuple(rim.mirrored for rim in reversed(self.rims)))

    @property
    def is_second(self) -> bool:
        """Whether its mirror image is the one to solve, so that both get one answer."""
        return self.mirrored.openings < self.openings

    @property
    def openings(self) -> list[tuple[tuple[MouthPoint, ...], float]]:
        """The line, mouth frame, and the radius of each rim, mm."""
        return [(rim.line, rim.radius_mm) for rim in self.rims]

    def in_space(self, points: Floats) -> Floats:
        """Points of the arch's plane (n, 2) in frame coordinates (n, 3), tilted back."""
        tilt = radians(self.frame.tilt_deg)
        behind = abs(self.incisal_y_mm) - np.copysign(1.0, self.incisal_y_mm) * points[:, 1]
        z = -(self.frame.incisors_behind_mm + behind * sin(tilt))
        return np.stack([points[:, 0], points[:, 1] * cos(tilt), z], axis=1)


def columns_of(scene: Scene) -> Columns:
    """The teeth that come through, as solid columns at right angles to the arch's plane."""
    necks = [neck for rim in scene.rims for neck in rim.necks]
    flat = np.array([neck.centre for neck in necks])
    origin = scene.in_space(np.zeros((1, 2)))
    first = [(cos(neck.angle), sin(neck.angle)) for neck in necks]
    u = scene.in_space(np.array(first)) - origin
    v = scene.in_space(np.array([(-y, x) for x, y in first])) - origin
    half = [(*neck.half_axes, scene.frame.crown_mm) for neck in necks]
    return Columns(scene.in_space(flat), np.stack([u, v, np.cross(u, v)], axis=1), np.array(half))


def teeth_of(plan: Plan) -> tuple[tuple[str, ...], ...]:
    """The teeth at each opening of the plan's scene, in ISO notation."""
    groups: list[tuple[str, ...]] = []
    joined = {tooth: slot.teeth for slot in plan.slots for tooth in slot.teeth}
    for planned in plan.holes:
        teeth = joined.get(planned.tooth, (planned.tooth,))
        if planned.tooth == teeth[0]:
            groups.append(tuple(tooth.iso for tooth in teeth))
    return tuple(groups)


def scene_of(plan: Plan, frame: Frame) -> Scene:
    """The plan's openings; slits join theirs."""
    rims: list[Rim] = []
    joined = {tooth: slot for slot in plan.slots for tooth in slot.teeth}
    for planned in plan.holes:
        slot = joined.get(planned.tooth)
        neck = _neck(plan.standing(planned.tooth))
        centre = _to_mouth(plan, planned.centre_mm)
        if slot is None:
            rims.append(Rim((centre,), planned.hole.diameter_mm / 2, (neck,)))
        elif planned.tooth == slot.teeth[0]:
            necks = tuple(_neck(plan.standing(tooth)) for tooth in slot.teeth)
            line = tuple(_to_mouth(plan, point) for point in slot.centres)
            rims.append(Rim(line, slot.width_mm / 2, necks))
    return Scene(plan.sheet, frame, tuple(rims), plan.arch.incisal_y_mm)


def _to_mouth(plan: Plan, point: SheetPoint) -> MouthPoint:
    x, y = sheet_to_mouth(point, plan.shift_mm)
    return MouthPoint(_tidy(x), _tidy(y))


def _neck(place: Place) -> Neck:
    along = atan2(place.leftward[1], place.leftward[0])
    return Neck(
        MouthPoint(_tidy(place.centre.x), _tidy(place.centre.y)),
        (place.size.neck_mesiodistal_mm / 2, place.size.neck_labiolingual_mm / 2),
        _axis(along + radians(place.turned_deg)),
        _axis(along),
    )


def _axis(angle: float) -> float:
    """An axis has no sense: between -90 and 90 degrees."""
    return _tidy((angle + pi / 2) % pi - pi / 2)


def _tidy(number: float) -> float:
    """To a millionth, so that the same mouth gives the same scene whatever the shift."""
    return round(number, 6) + 0.0


def rim_target(rim: Rim, rest: Floats) -> Floats:
    """Where points on the opening's rim at rest (n, 2, mouth frame) go round its necks (n, 2).

    The rim keeps its evenness: equal lengths of it go to equal lengths of the neck. Several necks
    in one slot are held by a taut band round them all.
    """
    if len(rim.necks) == 1 and len(rim.line) == 1:
        neck = rim.necks[0]
        offset = rest - np.array(rim.line[0])
        share = (np.arctan2(offset[:, 1], offset[:, 0]) - neck.start) / (2 * pi) % 1.0
        return _on(neck.outline(), share)
    from shapely import LinearRing, LineString, MultiPoint
    from shapely import Point as ShapelyPoint

    band = LinearRing(
        MultiPoint(np.concatenate([neck.outline(180) for neck in rim.necks])).convex_hull.exterior
    )
    slot = LinearRing(LineString(rim.line).buffer(rim.radius_mm, quad_segs=64).exterior)
    # Matched first at the slot's end, where the line runs out.
    (ax, ay), (bx, by) = rim.line[-2:]
    length = hypot(bx - ax, by - ay)
    far = (bx + 100 * (bx - ax) / length, by + 100 * (by - ay) / length)
    slot_first, band_first = (
        ring.project(ShapelyPoint(far), normalized=True) for ring in (slot, band)
    )
    shares = [
        (slot.project(ShapelyPoint(*point), normalized=True) - slot_first) % 1.0 for point in rest
    ]
    if slot.is_ccw != band.is_ccw:
        shares = [-share for share in shares]
    at = [band.interpolate((band_first + share) % 1.0, normalized=True) for share in shares]
    return np.array([(point.x, point.y) for point in at])


def _evenly(line: Floats, points: int) -> Floats:
    """A closed line (its first point repeated last) as that many points at even distances."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = length[-1] * np.arange(points) / points
    return np.stack([np.interp(at, length, line[:, i]) for i in (0, 1)], axis=1)


def _on(outline: Floats, share: Floats) -> Floats:
    """Points at shares of the way round an even outline."""
    closed = np.concatenate([outline, outline[:1]])
    at = np.arange(len(closed)) / len(outline)
    return np.stack([np.interp(share, at, closed[:, i]) for i in (0, 1)], axis=1)
