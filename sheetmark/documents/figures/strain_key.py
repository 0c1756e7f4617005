"""What explains the picture of a stretched sheet: its colours, and the figures beside it."""

from __future__ import annotations

from sheetmark.base.frames import PagePoint
from sheetmark.plan.holes import TWO_STRETCHES
from sheetmark.studies.membrane.report import Report
from sheetmark.studies.membrane.strain import Strain
from sheetmark.typesetting.lettering import lettered
from sheetmark.typesetting.marks import Mark, Polygon
from sheetmark.typesetting.paragraphs import SMALL_MM, Column, Paragraph, set_blocks

LEVELS = (1.1, 1.25, 1.5, 2.0, 3.0, 4.5)
# From light to dark in even steps of lightness, along yellow and blue.
COLOURS = (
    (1.00, 0.97, 0.80),
    (0.93, 0.86, 0.62),
    (0.72, 0.75, 0.66),
    (0.52, 0.63, 0.69),
    (0.33, 0.49, 0.68),
    (0.16, 0.33, 0.58),
    (0.04, 0.15, 0.38),
)
LABEL_MM = 2.7
BODY_MM = 2.9


def legend(report: Report, column: Column, top: float) -> list[Mark]:
    """The colours with the stretch at which each begins."""
    marks: list[Mark] = []
    title = lettered(
        PagePoint(column.left, top - 3.4),
        "Largest stretch (length over length at rest)",
        3.2,
        "legend",
    )
    marks.append(title)
    x = column.left + title.width + 5.0
    for number, colour in enumerate(COLOURS):
        box = (
            PagePoint(x, top - 4.2),
            PagePoint(x + 18.0, top - 4.2),
            PagePoint(x + 18.0, top),
            PagePoint(x, top),
        )
        marks.append(Polygon(box, 0.15, f"legend-{number}", filled=True, colour=colour))
        marks.append(Polygon(box, 0.15, f"legend-{number}"))
        if number:
            word = report.plan.practice.numerals(f"{LEVELS[number - 1]:g}")
            marks.append(lettered(PagePoint(x, top - 7.4), word, LABEL_MM, "legend", "middle"))
        x += 18.0
    return marks


def figures(report: Report, column: Column) -> list[Mark]:
    """The three placements side by side."""
    rows: list[tuple[str, list[str]]] = [("", ["centred", "by the rule", "most even"])]
    strains = list(report.strains.items())

    def row(head: str, values: list[str]) -> None:
        rows.append((head, values))

    row("Middle of the sheet, x and y, mm", [_xy(s) for _, s in strains])
    row("Unevenness of the pull: SD over mean", [f"{s.evenness:.2f}" for _, s in strains])
    row("Pull at a frame point, N", [_least_most(s) for _, s in strains])
    row("Pull on the right, on the left, N", [_sides(s) for _, s in strains])
    row("Largest stretch", [f"{s.largest_stretch:.1f}" for _, s in strains])
    row(
        "Stretch at break over it (under 1: breaks)",
        [report.margin_shown(placed) for placed, _ in strains],
    )
    row("Sheet that is slack, wrinkled", [_loose(s) for _, s in strains])
    marks: list[Mark] = []
    size, step = BODY_MM, (column.width - 62.0) / 3
    y = column.top - size
    for number, (head, values) in enumerate(rows):
        marks.append(lettered(PagePoint(column.left, y), head, size, "figure-head"))
        for place, word in enumerate(values):
            x = column.left + 62.0 + (place + 1) * step
            shown = report.plan.practice.numerals(word)
            marks.append(
                lettered(PagePoint(x, y), shown, size, "figure", "right", bold=number == 0)
            )
        y -= size * 1.45
    rubber = report.rubber
    sheet = (
        f"Sheet {report.plan.sheet.name} mm, {rubber.thickness_mm:g} mm thick, modulus "
        f"{rubber.modulus_mpa:g} MPa (from memory): pulls grow with both, the shape stays the same."
    )
    notes = [
        Paragraph(report.plan.practice.numerals(sheet), size=SMALL_MM),
        Paragraph(TWO_STRETCHES, size=SMALL_MM, name="two-stretches"),
    ]
    more, _, left_over = set_blocks(notes, column.below(y + size * 0.6))
    assert not left_over, "the notes fit below the figures"
    return marks + more


def _xy(strain: Strain) -> str:
    return ", ".join(f"{round(at, 1) + 0.0:.1f}" for at in strain.shift_mm)


def _least_most(strain: Strain) -> str:
    pulls = [pull.newton for pull in strain.pull]
    return f"{min(pulls):.1f} to {max(pulls):.1f}"


def _sides(strain: Strain) -> str:
    return f"{strain.side_pull(-1):.1f}, {strain.side_pull(1):.1f}"


def _loose(strain: Strain) -> str:
    slack, wrinkled = strain.slack_mm2 / strain.sheet_mm2, strain.wrinkled_mm2 / strain.sheet_mm2
    return f"{100 * slack:.0f} %, {100 * wrinkled:.0f} %"
