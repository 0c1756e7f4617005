"""An arch fitted to points picked in a picture of the cast. The picture itself never comes here."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, ArchModel, model_names, own_list
from sheetmark.anatomy.teeth import ALL_TEETH, Jaw, Notation, in_arch_order, read, write
from sheetmark.case.case import THIRD_MOLAR
from sheetmark.desk.server.computing import COMPUTES
from sheetmark.desk.server.desk import DeskOf
from sheetmark.desk.server.findings import FindingShown, findings_shown
from sheetmark.desk.server.models import page_model, unusable
from sheetmark.fitting.figure import Figure
from sheetmark.fitting.fit import JawFit, Origin, predicted_text, read_day, read_name
from sheetmark.fitting.from_landmarks import fit_landmarks
from sheetmark.fitting.landmarks import write_landmarks
from sheetmark.fitting.picture_scale import (
    LENGTH_LIMITS_MM,
    Picked,
    PickedGum,
    PickedMiddle,
    PixelPoint,
    Scale,
    picture_landmarks,
)
from sheetmark.jobs.fit import ArchFit, FitOptions, keep, worst_text
from sheetmark.practice.settings import Practice
from sheetmark.render.svg import render_svg

router = APIRouter()

Pixels = tuple[float, float]
Short = Annotated[str, Field(max_length=60)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid")


class ScaleRequest(_Strict):
    """Two points of the picture in pixels, and the mm between them."""

    first: Pixels
    second: Pixels
    mm: float


class PickedTooth(_Strict):
    """A tooth (ISO 3950) and its points in pixels, counted to the right and downwards."""

    tooth: Short
    mesial: Pixels
    distal: Pixels


class PickedMiddleTooth(_Strict):
    """A tooth (ISO 3950) and its middle in pixels, counted to the right and downwards."""

    tooth: Short
    middle: Pixels


class PickedGumTooth(_Strict):
    """A tooth (ISO 3950) and its gum margin on both sides in pixels, counted to the right and
    downwards."""

    tooth: Short
    facial: Pixels
    lingual: Pixels


def _which_points(tooth: object) -> str:
    """Which points a tooth of a request has, so that a wrong one is refused once, as that kind."""
    names = tooth if isinstance(tooth, dict) else dir(tooth)
    if "middle" in names:
        return "middle"
    return "gum" if "facial" in names or "lingual" in names else "ends"


AnyPicked = Annotated[
    Annotated[PickedTooth, Tag("ends")]
    | Annotated[PickedMiddleTooth, Tag("middle")]
    | Annotated[PickedGumTooth, Tag("gum")],
    Discriminator(_which_points),
]


class FitRequest(_Strict):
    """What was picked, and the name of the new model. `base` lends what was not measured."""

    name: Short
    date: Short
    base: Short = DEFAULT_MODEL
    scale: ScaleRequest
    teeth: Annotated[list[AnyPicked], Field(max_length=64)]


class SaveRequest(FitRequest):
    """The same, to be stored; `replace` where a model of that name is stored already."""

    replace: bool = False


class ToothName(BaseModel):
    """A tooth by ISO 3950 and as the practice writes it; `usual` where the model has it."""

    tooth: str
    name: str
    usual: bool


class Base(BaseModel):
    """A model to start from, and the teeth of each jaw from the patient's right to the left."""

    value: str
    label: str
    upper: list[ToothName]
    lower: list[ToothName]


class ArchStart(BaseModel):
    """What a fit may start from, and the limits of the known length; `own` are the names that are
    taken, and `problems` name own models that cannot be read."""

    bases: list[Base]
    usual_base: str
    own: list[str]
    problems: list[str]
    length_limits_mm: tuple[float, float]


class Residual(BaseModel):
    """How far a tooth stands from where the others would put it, mm: facial and mesial positive.
    `odd` is more than mouths usually show."""

    tooth: str
    name: str
    width_mm: float | None
    facial_mm: float
    mesial_mm: float
    odd: bool


class FigureShown(BaseModel):
    """A figure of the arch as text, mm: measured, fitted, and what the base model has there, with
    the SD among mouths."""

    what: str
    measured: str
    fitted: str
    usual: str


class Fitted(BaseModel):
    """The fit. `residuals` begin with the worst tooth, which `worst` puts into a sentence."""

    name: str
    title: str
    worst: str
    residuals: list[Residual]
    figures: list[FigureShown]
    predicted: str
    findings: list[FindingShown]
    picture: str
    picture_pages: int
    model: str
    landmarks: str
    command: str
    decimal: Literal[".", ","]


class SavedModel(BaseModel):
    """A model that was stored."""

    name: str
    title: str


@router.get("/api/arch/start")
def start(desk: DeskOf) -> ArchStart:
    """What a fit may start from, and the limits of the known length."""
    notation, own = desk.practice().notation, own_list()
    usable = [*map(page_model, model_names()), *(kept.model for kept in own if kept.model)]
    return ArchStart(
        bases=[_base(model, notation) for model in usable],
        usual_base=DEFAULT_MODEL,
        own=[kept.name for kept in own],
        problems=[unusable(kept.name) for kept in own if kept.model is None],
        length_limits_mm=LENGTH_LIMITS_MM,
    )


@router.post("/api/arch/fit", openapi_extra=COMPUTES)
def fit(desk: DeskOf, request: FitRequest) -> Fitted:
    """The arch with its holes at the teeth that were picked, and how far off each stands."""
    practice = desk.practice()
    done, landmarks = _fitted(practice, request)
    (jaw,) = done.fits
    picture, number = done.picture(practice), practice.numerals
    return Fitted(
        name=done.name,
        title=done.model.title,
        worst=number(worst_text(jaw, practice.notation)),
        residuals=_residuals(jaw, practice),
        figures=[_figure(figure, practice) for figure in jaw.figures],
        predicted=predicted_text(jaw, done.origin),
        findings=findings_shown(jaw.findings, practice),
        picture=render_svg(picture, inline=True).decode(),
        picture_pages=len(picture.pages),
        model=done.file.decode(),
        landmarks=landmarks,
        command=done.made,
        decimal="," if practice.numbers == "comma" else ".",
    )


@router.post("/api/arch/save")
def save(desk: DeskOf, request: SaveRequest) -> SavedModel:
    """Keep the model in the settings folder, under its name."""
    done, _ = _fitted(desk.practice(), request)
    keep(done, replace=request.replace)
    return SavedModel(name=done.name, title=done.model.title)


def _fitted(practice: Practice, request: FitRequest) -> tuple[ArchFit, str]:
    """The fit, and its landmarks as the file that the recipe names."""
    name, notation = read_name(request.name), practice.notation
    origin = Origin(page_model(request.base), read_day(request.date), notation)
    scale = Scale(
        PixelPoint(*request.scale.first), PixelPoint(*request.scale.second), request.scale.mm
    )
    picked = [_picked(tooth) for tooth in request.teeth]
    landmarks = picture_landmarks(picked, scale, notation)
    options = FitOptions(
        name=name, date=origin.day, landmarks=(f"{name}.csv",), y_down=True, base=request.base
    )
    jaw = fit_landmarks(landmarks, True, origin)
    done = ArchFit(name, origin, (jaw,), options.recipe(notation))
    return done, write_landmarks(landmarks, notation)


def _picked(
    point: PickedTooth | PickedMiddleTooth | PickedGumTooth,
) -> Picked | PickedMiddle | PickedGum:
    tooth = read(point.tooth, "iso")
    if isinstance(point, PickedGumTooth):
        return PickedGum(tooth, PixelPoint(*point.facial), PixelPoint(*point.lingual))
    if isinstance(point, PickedMiddleTooth):
        return PickedMiddle(tooth, PixelPoint(*point.middle))
    return Picked(tooth, PixelPoint(*point.mesial), PixelPoint(*point.distal))


def _base(model: ArchModel, notation: Notation) -> Base:
    return Base(
        value=model.name,
        label=model.title,
        upper=_teeth(model, "upper", notation),
        lower=_teeth(model, "lower", notation),
    )


def _teeth(model: ArchModel, jaw: Jaw, notation: Notation) -> list[ToothName]:
    """Every tooth that the jaw may have; third molars count as absent until they are named."""
    row = [slot for slot in model.jaw(jaw).row if slot != str(THIRD_MOLAR)]
    return [
        ToothName(tooth=tooth.iso, name=write(tooth, notation), usual=tooth.slot in row)
        for tooth in in_arch_order(tooth for tooth in ALL_TEETH if tooth.jaw == jaw)
    ]


def _residuals(jaw: JawFit, practice: Practice) -> list[Residual]:
    return [
        Residual(
            tooth=seen.tooth.iso,
            name=write(seen.tooth, practice.notation),
            width_mm=seen.width_mm,
            facial_mm=seen.facial_mm,
            mesial_mm=seen.mesial_mm,
            odd=seen.odd,
        )
        for seen in jaw.seen
    ]


def _figure(figure: Figure, practice: Practice) -> FigureShown:
    measured = "" if figure.measured_mm is None else f"{figure.measured_mm:.2f}"
    number = practice.numerals
    return FigureShown(
        what=number(figure.what),
        measured=number(measured),
        fitted=number(f"{figure.fitted_mm:.2f}"),
        usual=number(figure.expected),
    )
