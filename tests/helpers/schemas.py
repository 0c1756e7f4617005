"""Files held against the schemas as the program prints them, by an outside validator."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator

from sheetmark.base.json_files import json_bytes
from sheetmark.jobs.schemas import SCHEMAS, json_schema

NAMES = {form: name for name, (_, _, form) in SCHEMAS.items()}


@cache
def _validator(name: str) -> Draft202012Validator:
    schema = json.loads(json_bytes(json_schema(name)))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def wrong(name: str, data: Any) -> list[str]:
    """What the schema of that name finds wrong, a line each."""
    return [f"{error.json_path}: {error.message}" for error in _validator(name).iter_errors(data)]


def check_schema(data: Any) -> None:
    """Raises AssertionError unless a JSON file names its schema and fits it."""
    name = NAMES[data["format"]]
    assert data["$schema"] == json_schema(name)["$id"]
    assert wrong(name, data) == []
