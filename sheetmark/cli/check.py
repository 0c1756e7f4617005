"""`sheetmark check`: the check page, and each hole's error from a photograph taken on it."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sheetmark.base.files import listed, outputs, pdf_path, read_file, write_all
from sheetmark.base.findings import InputError
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.options import CASE, Force, PdfOutput, TeethArgument, refuse_typed, takes
from sheetmark.cli.progress import working
from sheetmark.cli.talk import detail, note
from sheetmark.cli.unnamed import Unnamed
from sheetmark.jobs.choices import (
    arch_name,
    cases_chosen,
    files_read,
    model_chosen,
    plan_chosen,
    practice_chosen,
    shift_chosen,
)
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options
from sheetmark.practice.settings import PAPERS, Practice
from sheetmark.practice.tolerance import check_tolerance

if TYPE_CHECKING:
    from sheetmark.checking.result import Check
    from sheetmark.checking.wanted import Wanted

_ENDINGS = (".pdf", ".json", ".png")

_PHOTO = "photo"


class _PhotoFirst(Unnamed):
    """`check PHOTO 16` is `check photo PHOTO 16`: what is no command is a photograph."""

    unnamed = _PHOTO


app = typer.Typer(cls=_PhotoFirst, help="What was punched: each hole's error from a photograph.")


@app.command("page")
@takes(*options("sheet", "paper", "practice"))
def page(
    output: PdfOutput,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Write the check page: lay the punched sheet on it and photograph both."""
    path = pdf_path(output, read=files_read(choices), force=force)
    practice = practice_chosen(choices)
    from sheetmark.documents.check_page import check_page
    from sheetmark.documents.correction import corrected
    from sheetmark.render.pdf import render_pdf

    document = check_page(PAPERS[practice.paper], practice.sheet)
    content = render_pdf(corrected(document, practice))
    write_all({path: content}, read=files_read(choices), force=force)
    if practice.printer_in_use:
        note(practice.numerals(practice.printer_in_use.summary))
    note(f"wrote {path}")


@app.command(_PHOTO)
@takes(*CASE)
def photo(
    photograph: Annotated[
        str,
        typer.Argument(
            metavar="PHOTO", help="A photograph: JPEG, PNG or HEIC; with --exercise also a folder."
        ),
    ],
    teeth: TeethArgument = [],  # noqa: B006  typer wants a list and never changes it
    plan: Annotated[
        str | None,
        typer.Option(metavar="FILE.json", help="The plan's JSON file, in place of teeth."),
    ] = None,
    exercise: Annotated[
        str | None,
        typer.Option(metavar="FILE.json", help="Mark drawn exercises by the exercise's file."),
    ] = None,
    tolerance: Annotated[
        float | None,
        typer.Option(
            parser=typed_number,
            metavar="MM",
            help="How far off its place a hole may be, mm (default: the practice's, usually 2).",
        ),
    ] = None,
    output: Annotated[
        list[str],
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help=f"Report: {listed(_ENDINGS)}, or .csv of exercises; repeatable.",
        ),
    ] = [],  # noqa: B006
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Check a punched sheet on its check page: where each hole is, and where it should be."""
    if exercise is not None:
        if teeth or plan or choices.get("case"):
            raise InputError(f"exercise {exercise}: it has its own teeth; leave out teeth and plan")
        refuse_typed(CASE, choices, "with --exercise")
        if tolerance is not None:
            raise InputError(
                f"exercise {exercise}: it has its own tolerance; leave out --tolerance, or make "
                f"the exercise with another"
            )
        _mark_exercises(Path(photograph), Path(exercise), output, force=force)
        return
    read = [Path(photograph), *files_read(choices), *([Path(plan)] if plan else [])]
    files = outputs(output, _ENDINGS, kind="check", read=read, force=force)
    practice = practice_chosen(choices)
    wanted = _wanted(teeth, plan, choices, practice)
    # Loaded here: numpy and SciPy are no part of a plain overlay, nor of bad input.
    from sheetmark.jobs.check import check_photo, photo_content, render_check

    within = practice.tolerance_mm if tolerance is None else tolerance
    check_tolerance(within)
    path = Path(photograph)
    with working("reading the photograph"):
        done = check_photo(photo_content(path), path.name, wanted, within)
    write_all(
        {out: render_check(done, ending, practice) for out, ending in files.items()},
        read=read,
        force=force,
    )
    _print_check(done.check, practice)
    fit = done.seen.page.registration
    detail(f"marks found: {len(fit.fiducials)}, left by the fit {fit.rms_mm:.3f} mm")
    for out in files:
        note(f"wrote {out}")


def _mark_exercises(photographs: Path, file: Path, output: list[str], *, force: bool) -> None:
    """The marks of a class's pages: a table on stdout, and as .csv with a picture of each."""
    files = outputs(output, (".csv",), kind="marks", read=[file], force=force)
    from sheetmark.checking.exercise import read_exercise
    from sheetmark.checking.json_input import MOST_BYTES
    from sheetmark.jobs.exercises import (
        MIRRORED,
        mark_files,
        marks_csv,
        page_picture,
        photographs_in,
    )

    exercise = read_exercise(read_file(file, str(file), MOST_BYTES), file.name)
    paths = photographs_in(photographs)
    marked, contents = [], {}
    for marked_file in mark_files(paths, exercise):
        marked.append(marked_file)
        if marked_file.done is None:
            print(marked_file.problem, file=sys.stderr)
            continue
        done = marked_file.done
        line = (
            f"{marked_file.name}: {done.page.name}: {done.in_place} of {len(done.holes)} in place"
        )
        print(line if done.straight else f"{marked_file.name}: {done.page.name}: {MIRRORED}")
        if done.unsure:
            print(f"  for the teacher: {done.teeth('unsure')}")
        for out in files:
            folder = out.with_name(f"{out.stem}-pictures")
            contents[folder / f"{marked_file.name}.png"] = page_picture(done, exercise.tolerance_mm)
    _make_folders(contents)
    contents |= {out: marks_csv(marked) for out in files}
    write_all(contents, read=[file, *paths], force=force)
    for out in files:
        pictures = (
            f", and a picture of each page in {out.stem}-pictures" if len(contents) > 1 else ""
        )
        note(f"wrote {out}{pictures}")
    if all(sheet.done is None for sheet in marked):
        raise InputError("no photograph could be marked; the reasons stand above")


def _make_folders(paths: Iterable[Path]) -> None:
    for folder in {path.parent for path in paths}:
        try:
            folder.mkdir(exist_ok=True)
        except OSError as error:
            raise InputError(f"{folder}: cannot be made ({error.strerror})") from error


def _wanted(teeth: list[str], plan: str | None, choices: Choices, practice: Practice) -> Wanted:
    """The plan to check against: of the teeth and options, or of its file."""
    from sheetmark.checking.wanted import read_wanted, wanted_of

    if plan is not None:
        if teeth or choices.get("case"):
            raise InputError(f"plan {plan}: name either a plan, or teeth or a case, not both")
        from sheetmark.checking.json_input import MOST_BYTES

        return read_wanted(read_file(Path(plan), plan, MOST_BYTES), Path(plan).name)
    cases = cases_chosen(teeth, choices, practice)
    if len(cases) > 1:
        raise InputError("teeth of both jaws have a sheet each: check one jaw at a time")
    (case,) = cases
    model, shift = model_chosen(choices, case), shift_chosen(choices)
    return wanted_of(plan_chosen(case, model, practice, shift, arch_name(choices)))


def _print_check(check: Check, practice: Practice) -> None:
    from sheetmark.checking.wording import headline, place_text, remarks, size_text, where

    print(practice.numerals(headline(check)))
    print(f"{'tooth':<7}{'off mm':<12}{'own mm':<9}{'place':<17}{'hole mm':<9}{'planned':<9}size")
    for hole in check.holes:
        tooth = check.wanted.written(hole.wanted.tooth)
        planned = f"{hole.wanted.diameter_mm:g}"
        if hole.found is None or hole.off_mm is None or hole.distance_mm is None:
            what = "in a slit, not judged" if hole.cut else "missing"
            print(practice.numerals(f"{tooth:<7}{'':<21}{what:<26}{planned}"))
            continue
        off = f"{hole.distance_mm:.1f} ± {hole.uncertain_mm:.1f}"
        own = "" if hole.own_mm is None else f"{hole.own_mm:.1f}"
        line = (
            f"{tooth:<7}{off:<12}{own:<9}{place_text(check, hole):<17}"
            f"{hole.found.diameter_mm:<9.1f}{planned:<9}{size_text(hole)}"
        )
        print(practice.numerals(line))
        if hole in check.misplaced:
            print(practice.numerals(f"       {where(hole.off_mm)}"))
    for remark in remarks(check):
        print(practice.numerals(remark))
