"""Between an arch in the mouth frame and the quantities that `predict` works with. mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import fsum

import numpy as np

from sheetmark.anatomy.arch_model import FIRST_MOLAR, ArchModel, load_model
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.jaw import Arch, Place
from sheetmark.anatomy.teeth import Jaw, Tooth
from sheetmark.base.frames import MouthPoint
from sheetmark.fitting.predict import Mouth, Prior
from sheetmark.fitting.spread import Array, spread

# Where a model has no SD of a tooth's width, that of these is taken.
_LENDERS = ("adult-mean", "primary")


def backwards(jaw: Jaw) -> float:
    """The sign that turns the mouth frame's y into the arch's own, which grows backwards."""
    return -1.0 if jaw == "upper" else 1.0


def prior_of(arch: Arch, model: ArchModel) -> Prior:
    """The arch before anything is measured. Its axes' origin is the mouth's."""
    sign = np.array([1.0, backwards(arch.jaw)])
    rows = {int(row.tooth): row for row in gum_line_table().jaw(arch.jaw).lingual}
    places = arch.places
    centres = _points({p.tooth: p.centre for p in places}) * sign
    contacts = _points({p.tooth: p.contact for p in places}) * sign
    return Prior(
        jaw=arch.jaw,
        along=tuple(place.tooth.along for place in places),
        centres=centres,
        facial=np.array([tuple(place.facial) for place in places]) * sign,
        to_contact=contacts - centres,
        contact_sd_mm=np.array([rows[place.tooth.position].sd_mm for place in places]),
        widths_mm=np.array([place.size.mesiodistal_mm for place in places]),
        width_sd_mm=np.array([_width_sd_mm(place.tooth, model) for place in places]),
    )


def arch_with(arch: Arch, mouth: Mouth) -> Arch:
    """The arch with its teeth where and as wide as the mouth has them; the first molars, where it
    has both, stay as far forward as they were."""
    centres = mouth.centres * [1.0, backwards(arch.jaw)]
    back = [n for n, place in enumerate(arch.places) if place.tooth.slot == FIRST_MOLAR]
    if len(back) == 2:
        was = np.array([arch.places[number].centre.y for number in back])
        centres[:, 1] += was.mean() - centres[back, 1].mean()
    moved = tuple(
        _moved(place, centre, float(width))
        for place, centre, width in zip(arch.places, centres, mouth.widths_mm, strict=True)
    )
    # The incisal point goes with the teeth beside the midline.
    nearest = sorted(range(len(moved)), key=lambda n: abs(moved[n].tooth.along))[:2]
    forward = fsum(moved[n].centre.y - arch.places[n].centre.y for n in nearest) / len(nearest)
    return replace(arch, places=moved, incisal_y_mm=arch.incisal_y_mm + forward, missed_mm=())


def _moved(place: Place, centre: Array, width_mm: float) -> Place:
    x, y = map(float, centre)
    dx, dy = x - place.centre.x, y - place.centre.y
    return replace(
        place,
        centre=MouthPoint(x, y),
        contact=MouthPoint(place.contact.x + dx, place.contact.y + dy),
        size=replace(place.size, mesiodistal_mm=width_mm),
    )


def _points(points: Mapping[Tooth, MouthPoint]) -> Array:
    return np.array([tuple(point) for point in points.values()])


def _width_sd_mm(tooth: Tooth, model: ArchModel) -> float:
    for known in (model, *map(load_model, _LENDERS)):
        for row in known.jaw(tooth.jaw).mesiodistal:
            if row.tooth == tooth.slot and row.sd_mm is not None:
                return row.sd_mm
    return spread().errors.tooth_mm.value
