"""`sheetmark handout`: teaching pages."""

import typer

app = typer.Typer(help="Teaching pages.")


@app.command("list")
def list_() -> None:
    """."""
