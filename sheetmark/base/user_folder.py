"""The user's settings folder: where the practice file and the clinic's own arch models are kept."""

from __future__ import annotations

import os
from pathlib import Path

from sheetmark.base.findings import InputError

PRACTICE_FILE = "practice.toml"
_MODELS = "arch_models"


def settings_folder() -> Path:
    """The folder that the system has for this program's settings; it may not exist yet."""
    from platformdirs import user_config_path

    return user_config_path("sheetmark", appauthor=False)


def default_path() -> Path:
    """The path of the practice file that is used when none is named."""
    return settings_folder() / PRACTICE_FILE


def practice_path(named: str | None) -> Path | None:
    """The practice file to use: the one named, else the user's own, None where there is none."""
    if named is not None:
        return Path(named)
    path = default_path()
    return path if is_there(path) else None


def is_there(path: Path) -> bool:
    """Whether anything has that name, be it a link to nothing or what nobody may look at, or lies
    behind such a thing: reading it reports what is wrong, and it is never passed over."""
    try:
        path.lstat()
    except (FileNotFoundError, NotADirectoryError):
        folder = path.parent
        # A folder that is not there yet has no such file; one that leads to a lost share may.
        return folder != path and not folder.is_dir() and is_there(folder)
    except (OSError, ValueError):
        return True
    return True


def make_folder(path: Path) -> None:
    """Make the settings folder for a file that goes there; other folders are left to the user.

    Raises InputError where the folder cannot be made.
    """
    if path != default_path():
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{path.parent}: cannot be made ({error.strerror}); name another file"
        ) from error


def models_folder() -> Path:
    """The folder of the clinic's own arch models: a file for each, named after its model."""
    return settings_folder() / _MODELS


def own_models() -> dict[str, Path]:
    """The clinic's own arch models by name, as their files are called; none where there is no such
    folder. Raises InputError where it cannot be looked into."""
    folder = models_folder()
    try:
        with os.scandir(folder) as entries:
            names = sorted(entry.name for entry in entries)
    except OSError as error:
        if not is_there(folder):
            return {}
        raise InputError(
            f"{folder}: cannot be read ({error.strerror}); check the folder and its permissions"
        ) from error
    found = [name for name in names if name.endswith(".toml") and not name.startswith(".")]
    return {name.removesuffix(".toml"): folder / name for name in found}
