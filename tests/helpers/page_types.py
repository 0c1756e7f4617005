"""The records that desk and page exchange, as JSDoc types made from the desk's OpenAPI.

`desk/server` is the one place that describes them; the type check of the page's scripts reads
them from the file TYPES.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from fastapi import FastAPI

from sheetmark.desk.server.app import make_app
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.guard import Guard
from sheetmark.desk.server.long_work import LongWork
from tests.helpers.paths import ROOT

TYPES = ROOT / "sheetmark" / "desk" / "page" / "shared" / "types.js"
_HEAD = """\
// The records that desk and page exchange, described in desk/server.
// Made by `python -m tests.renew_page_types`.
"""
_BYTES = "application/octet-stream"


def page_types() -> str:
    """The typedefs of every record of the desk's OpenAPI, of its answers and of its bodies."""
    api = _openapi()
    schemas, bodies = api["components"]["schemas"], dict(_bodies(api["paths"]))
    sent = _reached(bodies.values(), schemas)
    parts = [_typedef(name, schema, name in sent) for name, schema in schemas.items()]
    parts += [
        _table("Answers", "What each address answers, as JSON.", dict(_answers(api["paths"]))),
        _table("Bodies", "What is sent to an address.", bodies),
    ]
    return "\n".join([_HEAD, *parts, "export {};\n"])


def _openapi() -> dict[str, Any]:
    guard = make_app(Desk(Path("none.toml"), "", frozenset()))
    assert isinstance(guard, Guard)
    assert isinstance(guard.app, LongWork)
    assert isinstance(guard.app.app, FastAPI)
    return guard.app.app.openapi()


def _answers(paths: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for path, methods in paths.items():
        for method in methods.values():
            content = method["responses"]["200"].get("content", {}).get("application/json", {})
            if content.get("schema"):
                yield path, _type(content["schema"])


def _bodies(paths: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for path, methods in paths.items():
        content = methods.get("post", {}).get("requestBody", {}).get("content", {})
        if _BYTES in content:
            yield path, "ArrayBuffer"
        elif content:
            yield path, _type(content["application/json"]["schema"])


def _reached(names: Iterable[str], schemas: Mapping[str, Any]) -> set[str]:
    """The records of those names, and all records within them."""
    found = {name for name in names if name in schemas}
    while within := set(re.findall(r"schemas/(\w+)", str([schemas[n] for n in found]))) - found:
        found |= within
    return found


def _typedef(name: str, schema: Mapping[str, Any], sent: bool) -> str:
    """A record. What is sent may leave out fields with a default; an answer has all its fields."""
    if not schema.get("properties"):
        return f"/** @typedef {{{_type(schema)}}} {name} */\n"
    needed = schema.get("required", ()) if sent else schema["properties"]
    lines = [f" * @typedef {{object}} {name}"]
    for key, value in schema["properties"].items():
        lines.append(f" * @property {{{_type(value)}}} {key if key in needed else f'[{key}]'}")
    return "\n".join(["/**", *lines, " */\n"])


def _table(name: str, about: str, entries: Mapping[str, str]) -> str:
    lines = [f' *   "{path}": {value},' for path, value in entries.items()]
    return "\n".join(["/**", f" * {about}", " * @typedef {{", *lines, f" * }}}} {name}", " */\n"])


def _type(schema: Mapping[str, Any]) -> str:
    """A JSON schema as a type of TypeScript."""
    match schema:
        case {"$ref": name}:
            written = str(name).rpartition("/")[2]
        case {"anyOf": choices} | {"oneOf": choices}:
            written = " | ".join(dict.fromkeys(_type(choice) for choice in choices))
        case {"enum": values}:
            written = " | ".join(json.dumps(value) for value in values)
        case {"prefixItems": items}:
            written = f"[{', '.join(_type(item) for item in items)}]"
        case {"type": "array", "items": items}:
            written = f"Array<{_type(items)}>"
        case {"type": "object", "additionalProperties": values}:
            written = f"Record<string, {_type(values)}>"
        case {"type": "integer"}:
            written = "number"
        case _:
            written = str(schema["type"])
    return written
