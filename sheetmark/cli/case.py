"""`sheetmark case`: the schema of case files."""

from __future__ import annotations

import json

import typer

from sheetmark.case.file import case_schema

app = typer.Typer(help="Case files.")


@app.command("schema")
def schema() -> None:
    """Print the JSON schema of a case file, for editors that check and complete by it."""
    print(json.dumps(case_schema(), indent=1))
