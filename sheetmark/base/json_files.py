"""JSON files for other programs: how they are written, and the schema that each of them names."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Annotated, Any, TypedDict

from msgspec import Meta

# A file beside the JSON, as an editor looks for it; `sheetmark schema` prints it.
Schemed = TypedDict(
    "Schemed", {"$schema": Annotated[str, Meta(description="File name of this file's schema.")]}
)
Length = Annotated[float, Meta(gt=0, description="mm")]
Point = Annotated[list[float], Meta(min_length=2, max_length=2, description="x and y in mm")]


def schema_name(form: str) -> str:
    """The file name of the schema of a form, such as `sheetmark-plan/1`."""
    return f"{form.replace('/', '-')}.schema.json"


def schema_of(record: type, title: str, form: str) -> dict[str, Any]:
    """The JSON schema of a file, made from the TypedDict of its content."""
    from msgspec.json import schema

    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": schema_name(form),
        "title": title,
        **schema(record),
    }


def why_broken(error: ValueError | RecursionError) -> str:
    """Why JSON or TOML could not be read, without what only a programmer can do."""
    if isinstance(error, RecursionError):
        return "lists or tables within each other to too many levels"
    if str(error).startswith("Exceeds the limit"):  # Python's own, for whole numbers
        return "a whole number with thousands of digits"
    return str(error)


def json_bytes(data: Mapping[str, Any]) -> bytes:
    """The bytes of a file."""
    return (json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
