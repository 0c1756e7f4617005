"""An arch model as TOML text that `anatomy.arch_model.load_model` reads back as the same model."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

import msgspec

from sheetmark.anatomy.arch_model import ArchModel, JawModel
from sheetmark.anatomy.teeth import JAWS


def write_model(model: ArchModel, remarks: Iterable[str] = ()) -> str:
    """The model's file, in the order of the shipped ones; remarks come first, as comments."""
    lines = [f"# {_printable(remark)}" for remark in remarks]
    head: dict[str, Any] = {"format": model.format, "name": model.name, "title": model.title}
    if model.ages:
        head["ages"] = model.ages
    if model.widths_from:
        head["widths_from"] = model.widths_from
    lines += _pairs(head)
    lines += ["", "[sources]", *_pairs(model.sources)]
    for jaw in JAWS:
        lines += ["", f"[{jaw}]", *_jaw(model.jaw(jaw), jaw)]
    return "\n".join(lines) + "\n"


def _jaw(jaw: JawModel, name: str) -> Iterable[str]:
    yield f"row = {_value(jaw.row)}  # from the midline outwards"
    for key in ("mesiodistal", "spaces", "centre_widths", "placed", "worst_hole"):
        rows: tuple[msgspec.Struct, ...] = getattr(jaw, key)
        # Centre widths may be empty but never left out.
        if rows or key == "centre_widths":
            yield f"{key} = ["
            for row in rows:
                fields = {k: v for k, v in _fields(row).items() if v not in (None, "")}
                yield f"  {{ {', '.join(_pairs(fields))} }},"
            yield "]"
    if jaw.solve_from is not None:
        yield f"solve_from = {_value(jaw.solve_from)}"
    if jaw.curve is not None:
        yield ""
        yield f"[{name}.curve]"
        yield from _pairs({"form": jaw.curve.__struct_config__.tag, **_fields(jaw.curve)})


def _fields(row: msgspec.Struct) -> dict[str, Any]:
    """The row's fields, what identifies it first."""
    fields = {key: getattr(row, key) for key in row.__struct_fields__}
    first = [
        key for key in ("tooth", "after", "row", "a", "b", "mm", "sd_mm", "x_mm") if key in fields
    ]
    return {key: fields[key] for key in first} | fields


def _printable(remark: str) -> str:
    """One line that a TOML comment may hold."""
    text = " ".join(remark.split())
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _pairs(values: Mapping[str, Any]) -> list[str]:
    return [f"{_key(key)} = {_value(value)}" for key, value in values.items()]


def _key(key: str) -> str:
    bare = key.replace("-", "").replace("_", "")
    return key if bare.isascii() and bare.isalnum() else _value(key)


def _value(value: Any) -> str:
    if isinstance(value, str):
        # A JSON string is a TOML one but for DEL, which TOML wants escaped.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, tuple):
        return f"[{', '.join(_value(item) for item in value)}]"
    return repr(value)
