"""Both jaws as the arch model lays them, for the page to draw and a finger to hit.

Picture frame: the mouth frame with y downwards, mm, and the jaws moved apart until none of their
teeth touch: a picture to point at, from which nothing is measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from pydantic import BaseModel

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.jaw import Place, build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Notation, Tooth, name_of, tooth_at, write
from sheetmark.base.frames import MouthPoint
from sheetmark.case.case import ToothState
from sheetmark.case.exceptions import state_terms
from sheetmark.documents.case.sheet import tooth_outline
from sheetmark.plan.dentition import jaw_of

_LABEL_OFF_MM = 3.4
_EDGE_MM = 4.5
_LAST_PRIMARY = 5
_JAWS_APART_MM = 5.0

# In the picture frame; a plain tuple, since it leaves as JSON.
PicturePoint = tuple[float, float]


class ChartTooth(BaseModel):
    """A tooth or a gap, by its ISO number.

    `label` is the practice's number, `name` the tooth's name; outline and place of the label are
    in the picture frame, mm. `stands`: present in the mouth. `different` lists what differs from
    the usual, `instead` is the tooth of the other dentition that may be there instead.
    """

    tooth: str
    label: str
    name: str
    outline: list[PicturePoint]
    label_at: PicturePoint
    stands: bool
    different: list[str]
    instead: str | None


class Chart(BaseModel):
    """The teeth of both jaws, each from the patient's right to the left; `box` is left, top, width
    and height of all, mm."""

    upper: list[ChartTooth]
    lower: list[ChartTooth]
    box: tuple[float, float, float, float]


@lru_cache(maxsize=64)  # the same mouth, click after click
def chart(
    states: tuple[ToothState, ...], age: int | None, model: ArchModel, notation: Notation
) -> Chart:
    """Both jaws of a mouth, to draw and to hit; teeth are written in `notation`.

    Raises InputError where the teeth do not fit on the model's curve.
    """
    known = {state.tooth: state for state in states}
    jaws: dict[str, list[ChartTooth]] = {}
    for jaw in JAWS:
        row = jaw_of(jaw, age, known.values(), model)
        places = build_arch(model, jaw, row.right, row.left).places
        down = max(0.0, _JAWS_APART_MM / 2 - _to_other_jaw(places)) * (1 if jaw == "lower" else -1)
        jaws[jaw] = [
            _tooth(place, known.get(place.tooth, ToothState(place.tooth)), notation, down)
            for place in places
        ]
    points = [p for teeth in jaws.values() for t in teeth for p in (*t.outline, t.label_at)]
    left, top = (min(p[i] for p in points) - _EDGE_MM for i in (0, 1))
    right, bottom = (max(p[i] for p in points) + _EDGE_MM for i in (0, 1))
    box = (round(left, 2), round(top, 2), round(right - left, 2), round(bottom - top, 2))
    return Chart(upper=jaws["upper"], lower=jaws["lower"], box=box)


def other_jaw(
    states: Iterable[ToothState], age: int | None, model: ArchModel, tooth: Tooth
) -> list[Place]:
    """The teeth present in the jaw that bites on the tooth's jaw."""
    jaw: Jaw = "lower" if tooth.jaw == "upper" else "upper"
    known = {state.tooth: state for state in states}
    row = jaw_of(jaw, age, known.values(), model)
    places = build_arch(model, jaw, row.right, row.left).places
    return [place for place in places if known.get(place.tooth, ToothState(place.tooth)).stands]


def _to_other_jaw(places: Sequence[Place]) -> float:
    """How near the jaw comes to the height half way between the jaws, mm; negative beyond it."""
    up = 1 if places[0].tooth.jaw == "upper" else -1
    return min(up * y for place in places for _, y in tooth_outline(place))


def _tooth(place: Place, state: ToothState, notation: Notation, down: float) -> ChartTooth:
    tooth = place.tooth
    where = place.moved(
        facial_mm=state.facial_mm, mesial_mm=state.mesial_mm, turned_deg=state.rotated_deg
    )
    off = place.size.labiolingual_mm / 2 + _LABEL_OFF_MM
    label = MouthPoint(
        where.contact[0] + off * place.facial[0], where.contact[1] + off * place.facial[1]
    )
    other = None
    if tooth.position <= _LAST_PRIMARY:
        other = tooth_at(tooth.jaw, tooth.along, primary=not tooth.primary).iso
    return ChartTooth(
        tooth=tooth.iso,
        label=write(tooth, notation),
        name=name_of(tooth),
        outline=[_drawn(point, down) for point in tooth_outline(where)],
        label_at=_drawn(label, down),
        stands=state.stands,
        different=state_terms(state),
        instead=other,
    )


def _drawn(point: MouthPoint, down: float) -> PicturePoint:
    return (round(point[0], 2), round(down - point[1], 2))
