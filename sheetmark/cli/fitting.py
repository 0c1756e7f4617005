"""What `sheetmark arch fit` does: read the measurements, fit each jaw, write and report."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.teeth import JAWS, Jaw, Notation, write
from sheetmark.base.choice import pick
from sheetmark.base.files import outputs, read_file, write_all
from sheetmark.base.findings import InputError
from sheetmark.base.remark_lines import remarks_counted
from sheetmark.cli.progress import working
from sheetmark.cli.report import print_findings
from sheetmark.cli.talk import note, table
from sheetmark.fitting.fit import JawFit, Origin, predicted_text, read_day, read_name
from sheetmark.fitting.from_callipers import fit_callipers
from sheetmark.fitting.from_landmarks import fit_landmarks
from sheetmark.fitting.landmarks import MOST_BYTES, jaw_of, read_landmarks, remark_lines
from sheetmark.fitting.measures import MEASURING_POINTS, read_measures
from sheetmark.jobs.fit import ArchFit, FitOptions
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.marks import Document

if TYPE_CHECKING:
    from sheetmark.fitting.scan.jaw import ScannedJaw

PICTURES = (".svg", ".pdf", ".png")
_UNNAMED = "my-arch"


class Request(Struct, frozen=True):
    """The command's options, as they were typed."""

    date: str
    output: str | None
    name: str | None
    measure: tuple[str, ...]
    point: str
    landmarks: tuple[str, ...]
    scan: tuple[str, ...]
    y_down: bool
    jaw: str | None
    base: str
    picture: tuple[str, ...]


def fit_and_write(
    request: Request, practice: Practice, *, read: Collection[Path], force: bool
) -> None:
    """Fit each jaw that was measured, write the files, report; `read` are the files of the
    settings. Raises InputError."""
    meant = None if request.jaw is None else pick("jaw", request.jaw, JAWS)
    measured = map(Path, (request.base, *request.landmarks, *request.scan))
    read = [*read, *measured]
    models = outputs(
        filter(None, [request.output]), (".toml",), kind="arch", read=read, force=force
    )
    path = next(iter(models), None)
    pictures = list(outputs(request.picture, PICTURES, "picture", read=read, force=force))
    origin = Origin(load_model(request.base), read_day(request.date), practice.notation)
    name = read_name(request.name or (path.stem if path else _UNNAMED))
    with working("finding the teeth of the scan") if request.scan else nullcontext():
        scans = _scans(request, pictures, origin.notation, meant)
    with working("fitting the arch"):
        fits = _fits(request, scans, origin, meant)
    done = ArchFit(name, origin, tuple(fits), _options(request, name).recipe(practice.notation))
    contents = {path: done.file} if path else {}
    if drawn := [picture for picture in pictures if not _of_scan(picture)]:
        contents |= _pictures(drawn, done.picture(practice), practice)
    if views := [picture for picture in pictures if _of_scan(picture)]:
        from sheetmark.fitting.scan.jaw import scan_picture

        contents |= {
            view: scan_picture(scanned, origin.notation)
            for view, scanned in zip(views, scans.values(), strict=True)
        }
    write_all(contents, read=read, force=force)
    for line in (*_scan_report(scans, origin), *_report(done.model, fits, origin)):
        table(practice.numerals(line))
    for fit in fits:
        print_findings(fit.findings, practice)
    for written in contents:
        note(f"wrote {written}")
    if path is None:
        print("no model file written; add -o my-arch.toml", file=sys.stderr)


def _of_scan(picture: Path) -> bool:
    return picture.suffix.lower() == ".png"


def _scans(
    request: Request, pictures: Sequence[Path], notation: Notation, meant: Jaw | None
) -> dict[str, ScannedJaw]:
    """The scans by their file names, in their order."""
    views = sum(map(_of_scan, pictures))
    if views not in (0, len(request.scan)):
        raise InputError(
            f"picture: PNG files: {views}, scans: {len(request.scan)}; a PNG shows one scan, so "
            f"name one for each scan, or .svg or .pdf for the arch"
        )
    if not request.scan:
        return {}
    from sheetmark.fitting.scan.jaw import scanned_jaw
    from sheetmark.fitting.scan.read import scan_content

    return {
        name: scanned_jaw(scan_content(Path(name)), Path(name).name, notation, meant)
        for name in request.scan
    }


def _fits(
    request: Request, scans: Mapping[str, ScannedJaw], origin: Origin, meant: Jaw | None
) -> list[JawFit]:
    point = pick("point", request.point, MEASURING_POINTS)
    measures = read_measures(request.measure, origin.notation, meant, point)
    fits = [
        fit_callipers(jaw, own, origin)
        for jaw in JAWS
        if (own := [measure for measure in measures if measure.jaw == jaw])
    ]
    for csv in request.landmarks:
        content = _content(csv)
        landmarks = read_landmarks(content, csv, origin.notation)
        if counted := remarks_counted(remark_lines(content, csv)):
            note(f"{csv}: {counted}")
        _check_jaw(csv, jaw_of(landmarks), [fit.jaw for fit in fits], meant)
        fits.append(fit_landmarks(landmarks, request.y_down, origin))
    for name, scanned in scans.items():
        from sheetmark.fitting.scan.jaw import scan_landmarks

        _check_jaw(name, scanned.proposals.jaw, [fit.jaw for fit in fits], meant)
        fit = fit_landmarks(scan_landmarks(scanned.proposals.teeth), False, origin)
        fits.append(replace(fit, findings=(*scanned.findings, *fit.findings)))
    if not fits:
        raise InputError(
            'nothing measured: add --measure "upper canines 33.1", --landmarks FILE or --scan FILE'
        )
    return sorted(fits, key=lambda fit: JAWS.index(fit.jaw))


def _options(request: Request, name: str) -> FitOptions:
    """The options that a recipe repeats."""
    return FitOptions(
        name=name,
        date=request.date,
        measure=request.measure,
        point=request.point,
        landmarks=tuple(Path(csv).name for csv in request.landmarks),
        scan=tuple(Path(scan).name for scan in request.scan),
        y_down=request.y_down,
        jaw=request.jaw,
        base=Path(request.base).name,
    )


def _content(name: str) -> bytes:
    return read_file(Path(name), name, MOST_BYTES)


def _check_jaw(csv: str, found: Jaw, before: Sequence[Jaw], meant: Jaw | None) -> None:
    if found in before:
        raise InputError(f"{csv}: the {found} jaw was measured already; use one way for each jaw")
    if meant not in (None, found):
        raise InputError(f"{csv}: teeth of the {found} jaw, but --jaw {meant}; correct one")


def _pictures(paths: Sequence[Path], document: Document, practice: Practice) -> dict[Path, bytes]:
    contents = {}
    for path in paths:
        if path.suffix.lower() == ".pdf":
            from sheetmark.documents.correction import corrected
            from sheetmark.render.pdf import render_pdf

            contents[path] = render_pdf(corrected(document, practice))
        else:
            from sheetmark.render.svg import render_svg

            contents[path] = render_svg(document)
            if len(document.pages) > 1:
                print(f"warning: {path} holds the first page; a PDF holds all", file=sys.stderr)
    return contents


def _scan_report(scans: Mapping[str, ScannedJaw], origin: Origin) -> Iterator[str]:
    """The teeth proposed in each scan, and how sure each of them is."""
    for name, scanned in scans.items():
        found = scanned.proposals
        sure = " as given" if found.jaw_named else f" ({found.jaw_sure:.0%} sure)"
        yield f"{name}: {found.jaw} jaw{sure}; teeth found: {len(found.teeth)}"
        yield "  tooth  sure"
        for tooth in found.teeth:
            yield f"  {origin.write(tooth.tooth):<7}{tooth.sure:.0%}"


def _report(model: ArchModel, fits: Sequence[JawFit], origin: Origin) -> Iterator[str]:
    """The figures as lines of text."""
    yield f"{model.name}: {model.title}. Lengths in mm."
    for fit in fits:
        yield f"\n{fit.jaw} jaw"
        yield f"  {'':<24}{'measured':<10}{'arch':<16}{'off':<8}usual"
        for figure in fit.figures:
            measured, off, arch = "-", "-", f"{figure.fitted_mm:.2f}"
            if figure.measured_mm is not None:
                measured = f"{figure.measured_mm:.2f}"
                off = f"{round(figure.fitted_mm - figure.measured_mm, 2) + 0.0:+.2f}"
            if figure.sd_mm is not None:
                arch += f" (SD {figure.sd_mm:.1f})"
            yield f"  {figure.what:<24}{measured:<10}{arch:<16}{off:<8}{figure.expected}"
        if fit.seen:
            yield from _landmark_table(fit, origin.notation)
        if predicted := predicted_text(fit, origin):
            yield f"  {predicted}"
    for other in (jaw for jaw in JAWS if jaw not in [fit.jaw for fit in fits]):
        yield f"\n{other} jaw\n  from {origin.base.name}: all of it"


def _landmark_table(fit: JawFit, notation: Notation) -> Iterator[str]:
    """Each tooth seen, and how far it stands from where the others would put it."""
    yield "  holes go where the teeth were seen; off: from where the other teeth would put it"
    yield "  tooth  width  facial  mesial  off"
    for seen in fit.seen:
        width = "-" if seen.width_mm is None else f"{seen.width_mm:.2f}"
        facial, mesial = (f"{round(mm, 2) + 0.0:+.2f}" for mm in (seen.facial_mm, seen.mesial_mm))
        tooth, mark = write(seen.tooth, notation), "*" if seen.odd else ""
        yield f"  {tooth:<7}{width:<7}{facial:<8}{mesial:<8}{seen.off_mm:.2f}{mark}"
    if any(seen.odd for seen in fit.seen):
        yield "  * more than mouths usually show"
