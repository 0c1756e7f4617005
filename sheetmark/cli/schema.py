"""`sheetmark schema`: the JSON schemas of what is written for other programs."""

from __future__ import annotations

from typing import Annotated

import typer

from sheetmark.base.json_files import json_bytes, schema_name
from sheetmark.jobs.schemas import SCHEMAS, json_schema


def command(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="NAME",
            help="The kind of file; without one, all are listed.",
            autocompletion=lambda: list(SCHEMAS),
        ),
    ] = None,
) -> None:
    """Print the JSON schema of a kind of JSON file that is written. Each such file names its own.

    Files that people write have theirs as well: practice schema, case schema.
    """
    if name is not None:
        print(json_bytes(json_schema(name)).decode(), end="")
        return
    width = max(map(len, SCHEMAS))
    longest = max(len(schema_name(form)) for _, _, form in SCHEMAS.values())
    for known, (_, title, form) in SCHEMAS.items():
        print(f"{known:<{width}}  {schema_name(form):<{longest}}  {title}")
