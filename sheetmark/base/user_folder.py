"""The user's settings folder: where the practice file and the clinic's own arch models are kept."""

from __future__ import annotations

from pathlib import Path

from sheetmark.base.findings import InputError

PRACTICE_FILE = "practice.toml"
_MODELS = "arch_models"


def settings_folder() -> Path:
    """The folder that the system keeps for this program's settings; it need not be there."""
    from platformdirs import user_config_path

    return user_config_path("sheetmark", appauthor=False)


def default_path() -> Path:
    """Where a practice file is looked for when none is named."""
    return settings_folder() / PRACTICE_FILE


def practice_path(named: str | None) -> Path | None:
    """The practice file that is meant: the one named, or the user's own if there is one."""
    if named is not None:
        return Path(named)
    path = default_path()
    try:
        path.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError:
        pass  # reading it will say what is wrong; it is never passed over
    return path


def make_folder(path: Path) -> None:
    """The settings folder, if that file goes there; other folders are the user's own."""
    if path != default_path():
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{path.parent}: cannot be made ({error.strerror}); name another file"
        ) from error


def models_folder() -> Path:
    """Where the clinic's own arch models are kept, a file each, named as its model is."""
    return settings_folder() / _MODELS


def own_models() -> dict[str, Path]:
    """The clinic's own arch models by name; none where there is no such folder."""
    try:
        files = sorted(models_folder().glob("*.toml"))
    except OSError:
        return {}
    return {path.stem: path for path in files}
