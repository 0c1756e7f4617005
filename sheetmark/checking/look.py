"""From a photograph to what lies on its page: the camera, the sheet as it lies, holes, pen marks.

A photograph that cannot be judged is refused, with the reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import radians, tan

import numpy as np
from msgspec import Struct

from sheetmark.base.frames import SheetPoint
from sheetmark.checking.camera import Array, tilt_at
from sheetmark.checking.candidates import Candidate, find_candidates
from sheetmark.checking.edges import LaidSheet, find_edges
from sheetmark.checking.fiducials import LEAST_MARKS, Registration, identify, register
from sheetmark.checking.flat import Flat, flatten, openness
from sheetmark.checking.layout import Layout
from sheetmark.checking.openings import Opening, find_openings, find_pen_marks
from sheetmark.checking.photo import Floats, Photo, grey
from sheetmark.checking.refusal import RefusedError

# Above this the picture's lift error is more than a third of what stands up (ours).
TILT_LIMIT_DEG = 20.0
# By trials on made photographs: what a flat page leaves is below 0.05.
BENT_LIMIT_MM = 0.15
BLUR_LIMIT_MM = 0.5
# The picture's blur where no bullseye is known, as a share of its longer side.
_BLUR_SHARE = 1 / 650


class Page(Struct, frozen=True):
    """A page in a photograph: where its marks are, where the lens was (sheet frame, mm), and the
    sheet's place seen from straight above."""

    layout: Layout
    registration: Registration
    eye: Array
    flat: Flat


class Found(Struct, frozen=True):
    """What is judged of a photograph: holes and pen marks in the sheet's frame as it lies, mm, how
    large the sheet is by its edges, and where the lens was."""

    openings: tuple[Opening, ...]
    pen_marks: tuple[SheetPoint, ...]
    sheet_size_mm: tuple[float, float]
    eye_mm: tuple[float, float, float]

    def tilt_deg(self, at: SheetPoint) -> float:
        """How far off the vertical a point was seen from, degrees."""
        return tilt_at(np.array(self.eye_mm), at)


class Seen(Struct, frozen=True):
    """A photograph of a sheet on its check page, and what was found in it."""

    page: Page
    laid: LaidSheet
    found: Found


def see_sheet(photo: Photo, layout: Layout, others: Sequence[Layout] = ()) -> Seen:
    """The sheet on its check page. Raises RefusedError for a photograph that cannot be judged."""
    page = see_page(photo, layout, others)
    shown = openness(page.flat, layout.sheet)
    laid = find_edges(shown, layout.sheet)
    blur = page.registration.blur_mm
    eye = page.eye
    found = Found(
        openings=find_openings(shown, laid, layout.sheet, blur),
        pen_marks=find_pen_marks(shown, laid, layout.sheet),
        sheet_size_mm=(laid.width_mm, laid.height_mm),
        eye_mm=(float(eye[0]), float(eye[1]), float(eye[2])),
    )
    return Seen(page, laid, found)


def see_page(photo: Photo, layout: Layout, others: Sequence[Layout] = ()) -> Page:
    """The page of a layout; `others` are pages that it may be taken for.

    Raises RefusedError: too few marks, blurred, mirrored, another page, bent, seen from aside.
    """
    light = grey(photo)
    candidates = find_candidates(light)
    found = _registered(light, photo, candidates, layout)
    if found is None:
        _refuse_other_page(light, photo, candidates, layout, others, least=BENT_LIMIT_MM)
        raise _too_few(light, candidates, layout)
    eye = found.camera.eye(photo.focal_35_mm)
    tilt = tilt_at(eye, (0.0, 0.0))
    worst = max(found.off_mm)
    # On a bent page the rims seem soft, since they lie elsewhere; its edges are sharp all the same.
    soft = worst <= BENT_LIMIT_MM or _edges_over_limit(light) > 0.5
    if found.blur_mm > BLUR_LIMIT_MM and soft:
        raise _blurred()
    if worst > BENT_LIMIT_MM:
        _refuse_other_page(light, photo, candidates, layout, others, least=found.rms_mm / 2)
    if tilt > TILT_LIMIT_DEG:
        raise RefusedError(
            "tilt",
            f"taken at {tilt:.0f} degrees, at most {TILT_LIMIT_DEG:g}: 1 mm of lift counts "
            f"{tan(radians(tilt)):.1f} mm; shoot from straight above",
        )
    if worst > BENT_LIMIT_MM:
        raise RefusedError(
            "page-bent",
            f"the page is bent: its marks lie up to {worst:.2f} mm off a flat page, at most "
            f"{BENT_LIMIT_MM:g}; lay it on a hard, flat table",
        )
    return Page(layout, found, eye, flatten(photo, found.camera, layout.sheet))


def _registered(
    light: Floats, photo: Photo, candidates: Sequence[Candidate], layout: Layout
) -> Registration | None:
    match = identify(candidates, layout, photo.middle, photo.half_diagonal)
    if match is None or len(match.pairs) < LEAST_MARKS:
        return None
    found = register(light, match, photo.middle, photo.half_diagonal)
    if not match.mirrored:
        return found
    if len(match.pairs) > LEAST_MARKS and max(found.off_mm) < BENT_LIMIT_MM:
        raise RefusedError(
            "mirrored",
            "the photograph is mirrored, as of a front camera; take it with the main camera, or "
            "switch mirroring off",
        )
    return None


def _refuse_other_page(
    light: Floats,
    photo: Photo,
    candidates: Sequence[Candidate],
    layout: Layout,
    others: Sequence[Layout],
    *,
    least: float,
) -> None:
    """Raises RefusedError where another page fits better than `least` mm."""
    for other in others:
        found = _registered(light, photo, candidates, other) if other != layout else None
        if found is not None and found.rms_mm < least and max(found.off_mm) < BENT_LIMIT_MM:
            raise RefusedError(
                "other-page",
                f"this is the {other.name}, and the case needs the {layout.name}; lay the sheet on "
                f"that page",
            )


def _too_few(light: Floats, candidates: Sequence[Candidate], layout: Layout) -> RefusedError:
    if _edges_over_limit(light) > 1:
        return _blurred()
    seen = min(len(candidates), len(layout.fiducials))
    return RefusedError(
        "too-few-marks",
        f"too few of the round marks are seen (about {seen} of {len(layout.fiducials)}, at least "
        f"{LEAST_MARKS}, both open ones among them); uncover them and take the whole page",
    )


def _blurred() -> RefusedError:
    return RefusedError(
        "blur", "the photograph is blurred; hold still, tap on the page to focus, use more light"
    )


def _edges_over_limit(light: Floats) -> float:
    return edge_blur_px(light) / (_BLUR_SHARE * float(max(light.shape)))


def edge_blur_px(light: Floats) -> float:
    """The spread of the sharpest edges, pixels, in the direction where they are softer.

    An edge of spread s, smoothed by t, has a slope that goes with 1 / sqrt(s² + t²), so two
    smoothings tell s.
    """
    from scipy.ndimage import gaussian_filter

    narrow, wide = 1.5, 4.0
    spreads = []
    steep = [gaussian_filter(light, t) for t in (narrow, wide)]
    for axis in (0, 1):
        small, large = (float(np.quantile(np.abs(np.diff(s, axis=axis)), 0.999)) for s in steep)
        ratio = (small / max(large, 1e-9)) ** 2
        if ratio <= 1.001:
            return float("inf")
        spreads.append(max(0.0, (wide**2 - ratio * narrow**2) / (ratio - 1)) ** 0.5)
    return float(max(spreads))
