"""An arch fitted to what was measured: its model, the file of it, its picture, where it is kept."""

from __future__ import annotations

from msgspec import Struct

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, ArchModel
from sheetmark.anatomy.teeth import DEFAULT_NOTATION, Notation, write
from sheetmark.base.files import write_all
from sheetmark.base.findings import InputError
from sheetmark.base.one_at_a_time import one_at_a_time
from sheetmark.base.user_folder import is_there, models_folder
from sheetmark.base.version import __version__
from sheetmark.documents.figures.arch_picture import arch_picture
from sheetmark.fitting.fit import JawFit, Origin, own_model
from sheetmark.fitting.measures import MEASURING_POINTS
from sheetmark.fitting.model_file import write_model
from sheetmark.plan.recipe import Written, command_line
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.marks import Document


class FitOptions(Struct, frozen=True, kw_only=True):
    """The options of `sheetmark arch fit`, as typed; of files only the names, without folders."""

    name: str
    date: str
    measure: tuple[str, ...] = ()
    point: str = MEASURING_POINTS[0]
    landmarks: tuple[str, ...] = ()
    scan: tuple[str, ...] = ()
    y_down: bool = False
    jaw: str | None = None
    base: str = DEFAULT_MODEL

    def recipe(self, notation: Notation) -> str:
        """The command line that fits the same arch again, without the files to write."""
        options: Written = {
            "name": self.name,
            "date": self.date,
            "measure": self.measure,
            "point": self.point if self.point != MEASURING_POINTS[0] else "",
            "landmarks": self.landmarks,
            "scan": self.scan,
            "jaw": self.jaw or "",
            "base": self.base if self.base != DEFAULT_MODEL else "",
            "notation": notation if notation != DEFAULT_NOTATION else "",
            "y-down": self.y_down,
        }
        return command_line(["arch", "fit"], options)


class ArchFit(Struct, frozen=True):
    """An arch model of the clinic's own, fitted to what was measured.

    `fits` are the jaws that were measured; `made` is the command line that fits them again.
    """

    name: str
    origin: Origin
    fits: tuple[JawFit, ...]
    made: str

    @property
    def model(self) -> ArchModel:
        """The arch model: the fitted jaws, and the base's for a jaw that was not measured."""
        return own_model(self.name, self.origin, self.fits)

    @property
    def file(self) -> bytes:
        """The model as TOML in UTF-8, with the figures and findings as comments."""
        remarks = [
            "An arch model of the clinic's own. All lengths in mm. "
            "Flags as sheetmark arch show explains them.",
            f"sheetmark {__version__}: {self.made}",
        ]
        for fit in self.fits:
            remarks += [f"{fit.jaw} {figure.sentence}" for figure in fit.figures]
            remarks += [f"{finding.severity}: {finding.line}" for finding in fit.findings]
        return write_model(self.model, remarks).encode()

    def picture(self, practice: Practice) -> Document:
        """The fitted arch at true scale, as pages on the practice's paper."""
        return arch_picture(self.model, self.fits, practice, self.made)


def worst_text(fit: JawFit, notation: Notation) -> str:
    """A sentence: which tooth stands furthest from where the others would put it."""
    seen = fit.seen[0]
    return (
        f"Holes go where the teeth were picked. Furthest from where the others would put it: "
        f"{write(seen.tooth, notation)}, {seen.off_mm:.1f} mm."
    )


def keep(fit: ArchFit, *, replace: bool) -> None:
    """Store the model in the settings folder, where every command finds it by its name.

    Raises InputError where a model of that name is stored already, unless `replace` is set.
    """
    path = models_folder() / f"{fit.name}.toml"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{path.parent}: cannot be used ({error.strerror}); check the folder"
        ) from error
    with one_at_a_time(path):
        if is_there(path) and not replace:
            raise InputError(
                f"name {fit.name!r}: you have an arch model of that name; choose another name, or "
                f"replace it"
            )
        write_all({path: fit.file}, force=replace)
