"""Arch model files for the tests: a shipped one, changed in one place."""

from __future__ import annotations

import re
from pathlib import Path

from sheetmark.anatomy.arch_model import data_folder


def shipped(name: str = "adult-mean") -> str:
    return (data_folder() / f"{name}.toml").read_text("utf-8")


def changed(text: str, old: str, new: str) -> str:
    """The text with the first `old` replaced; a test whose place is gone fails here."""
    assert old in text, f"{old!r} is not in the model file"
    return text.replace(old, new, 1)


def without_curves(text: str) -> str:
    stripped, count = re.subn(r"(?ms)^\[(upper|lower)\.curve\]\n.*?(?=^\[|\Z)", "", text)
    assert count == 2
    return stripped


def written(folder: Path, content: str | bytes, name: str = "model.toml") -> str:
    """The path of a model file with that content."""
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return str(path)
