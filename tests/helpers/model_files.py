"""Arch model files for the tests: a shipped one, changed in one place."""

from __future__ import annotations

import os
from pathlib import Path

from sheetmark.anatomy.arch_model import data_folder

# Coefficients of a sixth-order curve for adult-mean's upper teeth, as older files hold them.
SIXTH_ORDER = """form = "sixth-order"
a = 1.3130443089703253e-07  # mm^-5
b = 0.023709396578493747  # mm^-1
source = "moorrees-1957"
flag = "D"
"""


def shipped(name: str = "adult-mean") -> str:
    return (data_folder() / f"{name}.toml").read_text("utf-8")


def changed(text: str, old: str, new: str) -> str:
    """The text with the first `old` replaced; a test whose place is gone fails here."""
    assert old in text, f"{old!r} is not in the model file"
    return text.replace(old, new, 1)


def with_curve(curve: str = SIXTH_ORDER, name: str = "adult-mean") -> str:
    """A shipped file whose upper jaw carries a curve of its own, and the names of two widths, as
    older files do."""
    table = f'solve_from = ["3", "6"]\n\n[upper.curve]\n{curve}\n[lower]\n'
    return changed(shipped(name), "\n[lower]\n", table)


def written(folder: Path, content: str | bytes, name: str = "model.toml") -> str:
    """The path of a model file with that content."""
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return str(path)


# What stands in a folder of own models that is in disorder, as a list shows the names.
BROKEN_MODELS = ["broken", "folder", "foreign", "link", "Loud", "other", "b\\udcff"]


def break_own_models(folder: Path) -> None:
    """A folder of own models with `ours`, which is right, and the broken ones."""
    folder.mkdir(parents=True)
    written(folder, changed(shipped(), 'name = "adult-mean"', 'name = "ours"'), "ours.toml")
    written(folder, "x", "broken.toml")
    written(folder, shipped(), "other.toml")
    written(folder, shipped(), "Loud.toml")
    written(folder, b"\x00\xff\xfe" * 99, "foreign.toml")
    (folder / "folder.toml").mkdir()
    (folder / "link.toml").symlink_to(folder / "gone")
    written(folder, "x", os.fsdecode(b"b\xff.toml"))
