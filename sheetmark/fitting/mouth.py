"""Between an arch in the mouth frame and the quantities that `predict` works with. mm."""

from __future__ import annotations

from math import fsum

from msgspec.structs import replace

from sheetmark.anatomy.arch_model import FIRST_MOLAR, ArchModel, load_model
from sheetmark.anatomy.gum_line_table import gum_line_table
from sheetmark.anatomy.jaw import Arch, Place
from sheetmark.anatomy.teeth import Jaw, Tooth
from sheetmark.base.frames import MouthPoint
from sheetmark.fitting.predict import ArchPoint, Mouth, Prior
from sheetmark.fitting.spread import spread

# Where a model has no SD of a tooth's width, that of these is taken.
_LENDERS = ("adult-mean", "primary")


def backwards(jaw: Jaw) -> float:
    """The sign that turns the mouth frame's y into the arch's own, which grows backwards."""
    return -1.0 if jaw == "upper" else 1.0


def prior_of(arch: Arch, model: ArchModel) -> Prior:
    """The arch before anything is measured. Its axes' origin is the mouth's."""
    sign = backwards(arch.jaw)
    rows = {int(row.tooth): row for row in gum_line_table().jaw(arch.jaw).lingual}
    places = arch.places
    centres = tuple(ArchPoint(p.centre.x, sign * p.centre.y) for p in places)
    contacts = (ArchPoint(p.contact.x, sign * p.contact.y) for p in places)
    facial = (tuple(place.facial) for place in places)
    return Prior(
        jaw=arch.jaw,
        along=tuple(place.tooth.along for place in places),
        centres=centres,
        facial=tuple(ArchPoint(x, sign * y) for x, y in facial),
        to_contact=tuple(
            contact.plus(centre, -1.0) for contact, centre in zip(contacts, centres, strict=True)
        ),
        contact_sd_mm=tuple(rows[place.tooth.position].sd_mm for place in places),
        widths_mm=tuple(place.size.mesiodistal_mm for place in places),
        width_sd_mm=tuple(_width_sd_mm(place.tooth, model) for place in places),
    )


def arch_with(arch: Arch, mouth: Mouth) -> Arch:
    """The arch with its teeth where and as wide as the mouth has them; the first molars, where it
    has both, stay as far forward as they were."""
    sign = backwards(arch.jaw)
    centres = [MouthPoint(x, sign * y) for x, y in mouth.centres]
    back = [n for n, place in enumerate(arch.places) if place.tooth.slot == FIRST_MOLAR]
    on = 0.0
    if len(back) == 2:
        on = fsum(arch.places[n].centre.y - centres[n].y for n in back) / 2
    moved = tuple(
        _moved(place, MouthPoint(centre.x, centre.y + on), width)
        for place, centre, width in zip(arch.places, centres, mouth.widths_mm, strict=True)
    )
    # The incisal point goes with the teeth beside the midline.
    nearest = sorted(range(len(moved)), key=lambda n: abs(moved[n].tooth.along))[:2]
    forward = fsum(moved[n].centre.y - arch.places[n].centre.y for n in nearest) / len(nearest)
    return replace(arch, places=moved, incisal_y_mm=arch.incisal_y_mm + forward, missed_mm=())


def _moved(place: Place, centre: MouthPoint, width_mm: float) -> Place:
    dx, dy = centre.x - place.centre.x, centre.y - place.centre.y
    return replace(
        place,
        centre=centre,
        contact=MouthPoint(place.contact.x + dx, place.contact.y + dy),
        size=replace(place.size, mesiodistal_mm=width_mm),
    )


def _width_sd_mm(tooth: Tooth, model: ArchModel) -> float:
    for known in (model, *map(load_model, _LENDERS)):
        for row in known.jaw(tooth.jaw).mesiodistal:
            if row.tooth == tooth.slot and row.sd_mm is not None:
                return row.sd_mm
    return spread().errors.tooth_mm.value
