"""Makes the examples again: `python examples/make.py`, or with a folder to write to.

Each invented case goes through the command line to PDF, SVG and JSON; the picture is the PDF's
first page. The guide's pictures of callipers are those of the chairside page. The schemas are what
`sheetmark schema` prints. A test remakes them and compares: run this after a change that is meant
to show.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pypdfium2

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.json_files import json_bytes, schema_name
from sheetmark.case.case import Case, Procedure
from sheetmark.cli.app import run
from sheetmark.documents.figures.callipers import calliper_picture, callipers
from sheetmark.jobs.schemas import SCHEMAS, json_schema
from sheetmark.plan.make import make_plan
from sheetmark.render.svg import render_svg

CASES = {
    "16-restoration": ["16"],
    "11-restoration": ["11"],
    "36-root-canal": ["36", "--for", "root-canal"],
    # Universal 12 is the upper left first premolar, 24 in ISO 3950.
    "universal-12-restoration": ["12", "--notation", "universal"],
}
# By the tooth to treat: a row on one side, a front, a full arch.
CALLIPERS: dict[str, tuple[Tooth, Procedure]] = {
    "callipers-row": (Tooth(1, 6), "restoration"),
    "callipers-front": (Tooth(1, 1), "restoration"),
    "callipers-arch": (Tooth(1, 6), "full-arch"),
}
PICTURE_DPI = 100


def main(arguments: list[str]) -> int:
    """Write every example; 0 when all were made."""
    folder = Path(arguments[0]) if arguments else Path(__file__).parent
    for name, typed in CASES.items():
        files = {ending: folder / f"{name}.{ending}" for ending in ("pdf", "svg", "json")}
        outputs = [word for path in files.values() for word in ("-o", str(path))]
        code = run(["overlay", *typed, *outputs])
        if code:
            return code
        _picture(files["pdf"], folder / f"{name}.png")
    (folder / "guide").mkdir(exist_ok=True)
    for name, (tooth, procedure) in CALLIPERS.items():
        plan = make_plan(Case(treat=(tooth,), procedure=procedure))
        row = plan.isolation.row
        picture = calliper_picture(plan.arch, row, callipers(plan), plan.command)
        (folder / "guide" / f"{name}.svg").write_bytes(render_svg(picture, inline=True))
    (folder / "schemas").mkdir(exist_ok=True)
    for name, (_, _, form) in SCHEMAS.items():
        (folder / "schemas" / schema_name(form)).write_bytes(json_bytes(json_schema(name)))
    return 0


def _picture(pdf: Path, png: Path) -> None:
    """The first page in 16 greys, small enough for a README."""
    page = pypdfium2.PdfDocument(pdf)[0]
    image = page.render(scale=PICTURE_DPI / 72, grayscale=True).to_pil()
    image.quantize(16).save(png, optimize=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
