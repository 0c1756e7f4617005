"""Two examples for the help of each command; a test runs every one of them."""

from __future__ import annotations

EXAMPLES: dict[str, tuple[str, str]] = {
    "": ("sheetmark overlay 16 -o case.pdf", "sheetmark day list.csv -o day.pdf"),
    "overlay": (
        "sheetmark overlay 16 -o case.pdf",
        'sheetmark overlay 36 --for root-canal --with "35 missing" -o case.pdf -o case.json',
    ),
    "day": ("sheetmark day list.csv -o day.pdf", "sheetmark day list.csv --strict -q -o day.pdf"),
    "day map": (
        "sheetmark day map list.csv",
        'sheetmark day map --heading "Beh.-Art=procedure" --word "SKF=restoration"',
    ),
    "day template": (
        "sheetmark day template -o empty.csv",
        "sheetmark day template --practice practice.toml -o today.csv",
    ),
    "drawer": (
        "sheetmark drawer -o drawer.pdf",
        "sheetmark drawer --for crown --sheet 127 -o crowns.pdf",
    ),
    "handout": (
        "sheetmark handout steps -o steps.pdf",
        "sheetmark handout exercise -o exercise.pdf",
    ),
    "desk": ("sheetmark desk", "sheetmark desk --port 0 --no-browser"),
    "strain": (
        "sheetmark strain 16 -o strain.pdf",
        'sheetmark strain 16 --frame "width 150" --show best -o strain.svg',
    ),
    "arch": ("sheetmark arch list", "sheetmark arch show adult-mean"),
    "arch list": ("sheetmark arch list", "sheetmark arch list > models.txt"),
    "arch show": ("sheetmark arch show adult-mean", "sheetmark arch show adult-mean --curve beta"),
    "arch fit": (
        'sheetmark arch fit --measure "upper canines 33,1" --date 2026-11-25 -o mine.toml',
        "sheetmark arch fit --landmarks points.csv --date 2026-11-25 -o cast.toml",
    ),
    "arch coverage": (
        "sheetmark arch coverage --patients 2000",
        "sheetmark arch coverage adult-mean --patients 2000 -o coverage.pdf",
    ),
    "case": ("sheetmark case schema", "sheetmark case schema > case-schema.json"),
    "case schema": ("sheetmark case schema", "sheetmark case schema > case-schema.json"),
    "practice": ("sheetmark practice init", "sheetmark practice show"),
    "practice init": (
        "sheetmark practice init",
        'sheetmark practice init --yes --notation universal --sheet "152 latex" -o practice.toml',
    ),
    "practice show": ("sheetmark practice show", "sheetmark practice show --sheet 127"),
    "practice tray": (
        "sheetmark practice tray clamps.csv",
        "sheetmark practice tray clamps.csv --practice practice.toml",
    ),
    "practice check": (
        "sheetmark practice check",
        "sheetmark practice check --practice practice.toml",
    ),
    "practice schema": (
        "sheetmark practice schema",
        "sheetmark practice schema > practice-schema.json",
    ),
    "schema": ("sheetmark schema plan", "sheetmark schema day > sheetmark-day-plan-1.schema.json"),
    "help": ("sheetmark help anchor", "sheetmark help"),
    "printer": (
        "sheetmark printer page -o test.pdf",
        "sheetmark printer set --x 149,6 --y 149.8",
    ),
    "printer page": (
        "sheetmark printer page -o test.pdf",
        "sheetmark printer page --paper letter -o test.pdf",
    ),
    "printer set": (
        "sheetmark printer set --x 149,6 --y 149.8",
        "sheetmark printer set --x 149.6 --y 149.8 --name front-desk",
    ),
    "printer card": (
        "sheetmark printer card across.jpg down.jpg",
        "sheetmark printer card across.jpg down.jpg --practice practice.toml",
    ),
    "printer list": (
        "sheetmark printer list",
        "sheetmark printer list --practice practice.toml",
    ),
    "printer remove": (
        "sheetmark printer remove front-desk",
        "sheetmark printer remove front-desk --practice practice.toml",
    ),
    "check": (
        "sheetmark check page -o check.pdf",
        "sheetmark check sheet.jpg 16",
    ),
    "check photo": (
        "sheetmark check photo sheet.jpg 16 -o report.pdf",
        "sheetmark check photo sheet.jpg --plan case.json --tolerance 1,5 -o report.png",
    ),
    "check page": (
        "sheetmark check page -o check.pdf",
        "sheetmark check page --sheet 127 -o check.pdf",
    ),
}


def epilog(command: str) -> str | None:
    """The examples as the end of a command's help, each on a line of its own."""
    lines = EXAMPLES.get(command)
    return None if lines is None else "\b\nExamples:\n" + "\n".join(f"  {line}" for line in lines)
