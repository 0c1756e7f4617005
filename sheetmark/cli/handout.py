"""`sheetmark handout`: teaching pages, and a list of them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model
from sheetmark.base.choice import pick
from sheetmark.base.files import listed, outputs, write_all
from sheetmark.base.findings import InputError
from sheetmark.cli.numbers import typed_number
from sheetmark.cli.options import SETTINGS, Force, refuse_typed, takes
from sheetmark.cli.progress import working
from sheetmark.cli.talk import note
from sheetmark.documents.handouts.names import HANDOUTS
from sheetmark.jobs.choices import files_read, practice_chosen
from sheetmark.plan.option_records import Choices
from sheetmark.plan.options import options
from sheetmark.plan.recipe import document_line
from sheetmark.practice.settings import Practice

if TYPE_CHECKING:
    from sheetmark.documents.handouts.exercise import ExerciseSet
    from sheetmark.documents.handouts.lesson import Lesson

# Options that only some handouts have.
_OWN = {
    "exercise": (
        "cases",
        "seed",
        "tolerance",
        "topic",
        "level",
        "find-faults",
        "case",
        "list",
        "key",
    ),
    "why-the-middle-moves": ("tooth",),
}
_PICTURES = (".pdf", ".svg", ".png")
_FOR_CHECK = ".json"

# Settings that some handouts show nothing of.
_OF_SHEETS = ("sheet", "punch", "material", "row", "hold", "sizing", "ease", "shifted")
_WITHOUT = {
    "arch-map": _OF_SHEETS,
    "numbering": _OF_SHEETS,
    "hole-size": ("sheet", "row", "hold", "ease", "shifted"),
}


@takes(replace(*options("arch"), usual=DEFAULT_MODEL), *SETTINGS)
def command(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help=f"{', '.join(HANDOUTS)}; or list, to describe them.",
            autocompletion=lambda: [*HANDOUTS, "list"],
        ),
    ],
    output: Annotated[
        list[str],
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help=f"File to write: {listed(_PICTURES)}, of an exercise also .json; repeatable. "
            "Pictures are a file a page.",
        ),
    ] = [],  # noqa: B006  typer wants a list and never changes it
    cases: Annotated[
        int | None, typer.Option(metavar="COUNT", help="exercise: how many cases (default 3).")
    ] = None,
    seed: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="exercise: which cases (default 1).")
    ] = None,
    tolerance: Annotated[
        float | None,
        typer.Option(
            parser=typed_number,
            metavar="MM",
            help="exercise: how far off a hole may be, mm (default: the practice's, usually 2).",
        ),
    ] = None,
    topic: Annotated[
        str | None,
        typer.Option(
            metavar="TOPIC", help="exercise: usual (default), fronts, gaps, bridge or children."
        ),
    ] = None,
    level: Annotated[
        int | None,
        typer.Option(
            metavar="NUMBER",
            help="exercise: 1 easy to 3 hard (default 2); of --find-faults how many faults.",
        ),
    ] = None,
    find_faults: Annotated[
        bool | None,
        typer.Option("--find-faults", help="exercise: sheets with faults, named in the key."),
    ] = None,
    case: Annotated[
        list[str],
        typer.Option(metavar="FILE.toml", help="exercise: an own case file; repeatable."),
    ] = [],  # noqa: B006
    list_file: Annotated[
        str | None,
        typer.Option("--list", metavar="LIST", help="exercise: own cases, a list as of `day`."),
    ] = None,
    key: Annotated[
        str | None,
        typer.Option(metavar="FILE.pdf", help="exercise: the key here, not behind the questions."),
    ] = None,
    tooth: Annotated[
        str | None,
        typer.Option(
            metavar="TOOTH", help="why-the-middle-moves: the tooth to treat (default ISO 16)."
        ),
    ] = None,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Write a teaching page, true to scale where it shows a sheet."""
    if name == "list":
        for known, description in HANDOUTS.items():
            print(f"{known:<22}{description}")
        return
    name = pick("handout", name, tuple(HANDOUTS))
    own = _typed(
        name,
        {
            "cases": cases,
            "seed": seed,
            "tolerance": tolerance,
            "topic": topic,
            "level": level,
            "find-faults": find_faults,
            "case": case or None,
            "list": list_file,
            "key": key,
            "tooth": tooth,
        },
    )
    _check_effect(name, choices)
    if not output:
        raise InputError(f"handout {name}: no file to write; add -o {name}.pdf")
    endings = (*_PICTURES, *([_FOR_CHECK] if name == "exercise" else []))
    read = [*files_read(choices), *map(Path, case), *([Path(list_file)] if list_file else [])]
    files = outputs(output, endings, kind="exercise", read=read, force=force)
    keys = outputs(filter(None, [key]), (".pdf",), "key", read=read, force=force)
    practice = practice_chosen(choices)
    lesson = _lesson(name, choices["arch"], practice, own)
    if name == "exercise":
        title, contents = _exercise(lesson, files, own, choices["arch"], next(iter(keys), None))
    else:
        title, contents = _plain(name, lesson, files, own)
    write_all(contents, read=read, force=force)
    note(title)
    for path in contents:
        note(f"wrote {path}")


def _typed(name: str, typed: dict[str, Any]) -> dict[str, Any]:
    """What was typed, by the options' names. Raises InputError for one of another handout."""
    own = {key: value for key, value in typed.items() if value is not None}
    for key in own:
        if key not in _OWN.get(name, ()):
            raise InputError(f"--{key}: has no meaning for the handout {name}; leave it out")
    if ("case" in own or "list" in own) and (clash := {"cases", "topic"} & own.keys()):
        raise InputError(f"--{min(clash)}: has no meaning beside own cases; leave it out")
    return own


def _check_effect(name: str, choices: Choices) -> None:
    """Raises InputError for a setting of which the handout shows nothing."""
    refuse_typed(options(*_WITHOUT.get(name, ())), choices, f"on the handout {name}")


def _lesson(name: str, arch: str, practice: Practice, own: dict[str, Any]) -> Lesson:
    """What the handout is made from; its recipe leaves out the folders of files."""
    from sheetmark.documents.handouts.lesson import Lesson
    from sheetmark.jobs.teaching import set_by_practice

    named = {**own, **set_by_practice(name, practice), **own}
    if "case" in named:
        named["case"] = [Path(file).name for file in named["case"]]
    named |= {option: Path(named[option]).name for option in ("list", "key") if option in named}
    written = {
        key: value if isinstance(value, bool | list) else str(value) for key, value in named.items()
    }
    written["arch"] = Path(arch).name if arch != DEFAULT_MODEL else ""
    made = document_line(["handout", name], written, practice)
    return Lesson(load_model(arch), practice, made)


def _plain(
    name: str, lesson: Lesson, files: dict[Path, str], own: dict[str, Any]
) -> tuple[str, dict[Path, bytes]]:
    from sheetmark.documents.handouts.all import draw_handout
    from sheetmark.jobs.teaching import render_handout

    with working(f"drawing {name}"):
        document = draw_handout(name, lesson, **own)
    contents: dict[Path, bytes] = {}
    for path, ending in files.items():
        contents |= render_handout(document, path, ending, lesson.practice)
    return f"{document.title}, pages: {len(document.pages)}", contents


def _exercise(
    lesson: Lesson, files: dict[Path, str], own: dict[str, Any], arch: str, key: Path | None
) -> tuple[str, dict[Path, bytes]]:
    from sheetmark.checking.exercise import exercise_json
    from sheetmark.jobs.teaching import render_handout

    made = _made(lesson, own, arch)
    if key in files:
        raise InputError(f"--key {key}: the questions go there too; name another file")
    document = made.question_document if key else made.whole
    contents: dict[Path, bytes] = {}
    for path, ending in files.items():
        if ending == _FOR_CHECK:
            contents[path] = exercise_json(made.for_check)
        else:
            contents |= render_handout(document, path, ending, lesson.practice)
    if key:
        contents |= render_handout(made.key_document, key, ".pdf", lesson.practice)
    return f"{document.title}, pages: {len(document.pages)}", contents


def _made(lesson: Lesson, own: dict[str, Any], arch: str) -> ExerciseSet:
    from sheetmark.documents.handouts.exercise import Wish, exercise_set
    from sheetmark.documents.handouts.exercise_cases import TOPICS
    from sheetmark.jobs.teaching import own_plans

    topic = pick("topic", own.get("topic", "usual"), tuple(TOPICS))
    plans = own_plans(
        own.get("case", ()),
        own.get("list"),
        None if arch == DEFAULT_MODEL else lesson.model,
        lesson.practice,
    )
    usual = Wish()
    return exercise_set(
        lesson,
        Wish(
            count=own.get("cases", usual.count),
            seed=own.get("seed", usual.seed),
            tolerance_mm=own.get("tolerance", usual.tolerance_mm),
            topic=topic,
            level=own.get("level", usual.level),
            find_faults=own.get("find-faults", False),
            own=plans,
        ),
    )
