"""Changing the clinic's practice file, or making it where there is none."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from sheetmark.base.files import write_all
from sheetmark.base.one_at_a_time import one_at_a_time
from sheetmark.base.user_folder import default_path, make_folder, practice_path


def change_practice(named: str | None, values: Mapping[str, object]) -> Path:
    """Stores these values, as `practice.file.edit.store_settings` takes them, and says where.

    `named` is the practice file that the person named; else the user's own is changed or made.
    """
    from sheetmark.practice.file.check import read_text
    from sheetmark.practice.file.edit import store_settings
    from sheetmark.typesetting.lettering import unwritable

    path = practice_path(named) or default_path()
    make_folder(path)
    with one_at_a_time(path):
        there = practice_path(named) is not None
        text = read_text(path) if there else None
        content = store_settings(text, values, path.name, unwritable).encode()
        write_all({path: content}, force=True)  # it was read as a practice file
    return path
